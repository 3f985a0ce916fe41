"""Tables with their sources; `load.table(name)` is the only reader."""
