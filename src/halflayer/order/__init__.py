"""What is asked: the work order read from YAML, checked whole, in SI units."""
