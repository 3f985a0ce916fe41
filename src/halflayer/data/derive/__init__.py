"""Scripts that made the derived tables from the published files; not used when planning."""
