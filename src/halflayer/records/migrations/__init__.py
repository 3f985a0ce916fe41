"""Alembic's folder: one module a revision in `versions`, run by `records.migrate`."""
