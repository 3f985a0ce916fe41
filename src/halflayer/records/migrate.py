"""Brings the tables to the revision that this version knows, in one transaction, one process at a time."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from sqlalchemy import Connection, Engine, inspect, text

if TYPE_CHECKING:
    from alembic.config import Config

HEAD = "0002"  # newest revision in migrations/versions; a test holds the two together
WRITES = "halflayer_writes"  # execution option of transactions that write, see `engine`
FOLDER = Path(__file__).parent / "migrations"
ADVISORY_LOCK = 0x48414C46  # our choice: any number, the same for all processes


class TooNew(Exception):
    """The database was written by a newer version than this one."""


def revision(connection: Connection) -> str | None:
    """The revision of the tables; None for an empty database."""
    if not inspect(connection).has_table("alembic_version"):
        return None
    row = connection.execute(text("SELECT version_num FROM alembic_version")).first()
    return None if row is None else str(row[0])


def bring_up_to_date(engine: Engine) -> None:
    """Run the migrations that are missing. Raises TooNew when the tables are of a newer version.

    Migrations run in one transaction that holds the database's write lock, and the revision is read again
    inside it: of two processes that come at once, one migrates and the other finds it done.
    """
    with engine.begin() as connection:
        if revision(connection) == HEAD:
            return
    with engine.execution_options(**{WRITES: True}).begin() as connection:
        if connection.dialect.name == "postgresql":
            connection.execute(text("SELECT pg_advisory_xact_lock(:key)"), {"key": ADVISORY_LOCK})
        found = revision(connection)
        if found == HEAD:
            return
        # alembic takes a third of a second to import: only when there is something to do.
        from alembic import command
        from alembic.script import ScriptDirectory

        config = settings(connection)
        known = {script.revision for script in ScriptDirectory.from_config(config).walk_revisions()}
        if found is not None and found not in known:
            raise TooNew(f"were written by a newer version (revision {found}; this version knows {HEAD})")
        command.upgrade(config, "head")


def settings(connection: Connection) -> Config:
    """Alembic's settings for the migrations that ship inside the package, on an open connection."""
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(FOLDER).replace("%", "%%"))
    config.set_main_option("path_separator", "os")
    config.attributes["connection"] = connection
    return config
