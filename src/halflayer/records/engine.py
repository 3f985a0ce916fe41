"""Opens the database: its settings, tables brought up to date, one clear error when it cannot be used."""

from __future__ import annotations

import json
import sqlite3
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, TypeVar

from sqlalchemy import Connection, Engine, create_engine, event
from sqlalchemy.engine import make_url
from sqlalchemy.exc import ArgumentError, DBAPIError, IntegrityError, NoSuchModuleError
from sqlalchemy.orm import Session

from halflayer.base.errors import HalflayerError
from halflayer.records import migrate
from halflayer.records.migrate import WRITES
from halflayer.records.place import database_url, shown

# Our choice: longer than any transaction of ours takes, short enough that a person still waits for it.
BUSY_SECONDS = 30.0

T = TypeVar("T")


class StoreError(HalflayerError):
    """The database cannot be opened or used; the text says which one and why."""


def open_store(url: str | None = None) -> Engine:
    """An engine for `url` (default: `place.database_url`) whose tables are there and up to date.

    Safe to call from several processes at once, also on the first use. Raises StoreError.
    """
    text = url or database_url()
    engine = _engine(text)
    try:
        with usable(text):
            migrate.bring_up_to_date(engine)
    except BaseException:
        engine.dispose()
        raise
    return engine


@contextmanager
def usable(url: str) -> Iterator[None]:
    """Turn what the database or its driver says into one StoreError that names the database.

    A broken constraint passes: whoever writes knows what it means.
    """
    try:
        yield
    except IntegrityError:
        raise
    except migrate.TooNew as error:
        raise StoreError(f"the records at {shown(url)} {error}") from None
    except (DBAPIError, sqlite3.Error, OSError) as error:
        cause = getattr(error, "orig", None) or error
        raise StoreError(
            f"the records at {shown(url)} cannot be used: {str(cause).strip()}"
            " (HALFLAYER_DB or HALFLAYER_HOME choose another place)"
        ) from error


def writer(engine: Engine) -> Session:
    """A session whose transactions write.

    On SQLite they take the write lock at their start. A transaction that reads first and then wants to write
    would be refused at once when another one wrote in between, whatever the busy timeout.
    """
    return Session(engine.execution_options(**{WRITES: True}))


def _engine(text: str) -> Engine:
    try:
        url = make_url(text)
        if url.get_backend_name() == "sqlite":
            if url.database and url.database != ":memory:":
                Path(url.database).expanduser().absolute().parent.mkdir(parents=True, exist_ok=True)
            engine = create_engine(url, json_serializer=_dump, connect_args={"timeout": BUSY_SECONDS})
            event.listen(engine, "connect", _on_sqlite_connect)
            event.listen(engine, "begin", _on_sqlite_begin)
            return engine
        return create_engine(url, json_serializer=_dump)
    except (ArgumentError, NoSuchModuleError, ModuleNotFoundError, ValueError) as error:
        raise StoreError(
            f"HALFLAYER_DB is not a database that can be used: {shown(text)} ({error});"
            " accepted: a SQLAlchemy URL such as sqlite:////home/me/halflayer.sqlite"
        ) from error
    except OSError as error:
        raise StoreError(f"the folder of the records cannot be made: {error}") from error


def _dump(value: Any) -> str:
    """JSON without NaN: a figure that is not known is null, anything else is a bug that must show here."""
    return json.dumps(value, ensure_ascii=False, allow_nan=False, separators=(",", ":"))


def _on_sqlite_connect(connection: Any, _record: Any) -> None:
    # None: sqlite3 opens no transactions on its own. Left to itself it commits before every CREATE TABLE,
    # which would leave half a migration behind when the process is killed.
    connection.isolation_level = None
    cursor = connection.cursor()
    try:
        cursor.execute("PRAGMA foreign_keys = ON")
        # FULL: a plan that was said to be saved is on the disk, also after a power cut.
        cursor.execute("PRAGMA synchronous = FULL")
        _retry(lambda: _write_ahead(cursor))
    finally:
        cursor.close()


def _write_ahead(cursor: Any) -> None:
    if cursor.execute("PRAGMA journal_mode").fetchone()[0] not in ("wal", "memory"):
        cursor.execute("PRAGMA journal_mode = WAL")


def _retry(step: Callable[[], T]) -> T:
    """Change of the journal mode ignores the busy timeout: two first uses at once need a second try."""
    until = time.monotonic() + BUSY_SECONDS
    while True:
        try:
            return step()
        except sqlite3.OperationalError as error:
            if "locked" not in str(error) or time.monotonic() > until:
                raise
            time.sleep(0.02)


def _on_sqlite_begin(connection: Connection) -> None:
    writes = connection.get_execution_options().get(WRITES, False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")
