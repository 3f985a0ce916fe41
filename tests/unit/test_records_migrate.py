"""Migrations make the tables that the models describe, once, also when several processes come at once."""

from __future__ import annotations

import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest
from alembic import command
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import inspect, text

from halflayer.plan import Condition
from halflayer.records import migrate
from halflayer.records.engine import StoreError, _engine, open_store
from halflayer.records.models import Base
from halflayer.records.store import Store
from small_plan import ready, small_plan

OPEN = "import sys; from halflayer.records.engine import open_store; open_store(sys.argv[1]).dispose()"


@pytest.fixture
def url(tmp_path: Path) -> str:
    return f"sqlite:///{tmp_path / 'plans.sqlite'}"


def test_the_migrations_make_what_the_models_say(url: str) -> None:
    engine = open_store(url)
    with engine.connect() as connection:
        context = MigrationContext.configure(connection, opts={"compare_type": True})
        assert compare_metadata(context, Base.metadata) == []
        found = inspect(connection)
        for table in Base.metadata.sorted_tables:
            assert all(c["name"] for c in found.get_check_constraints(table.name))
            assert all(c["name"] for c in found.get_unique_constraints(table.name))
            assert all(c["name"] for c in found.get_foreign_keys(table.name))
    engine.dispose()


def test_head_is_the_newest_revision_of_the_folder() -> None:
    engine = _engine("sqlite://")
    with engine.connect() as connection:
        scripts = ScriptDirectory.from_config(migrate.settings(connection))
        assert scripts.get_heads() == [migrate.HEAD]


def test_down_and_up_again(url: str) -> None:
    engine = open_store(url)
    with engine.begin() as connection:
        command.downgrade(migrate.settings(connection), "base")
    with engine.connect() as connection:
        assert inspect(connection).get_table_names() == ["alembic_version"]
        assert migrate.revision(connection) is None
    migrate.bring_up_to_date(engine)
    with engine.connect() as connection:
        assert migrate.revision(connection) == migrate.HEAD
    engine.dispose()


def test_an_open_of_a_current_database_imports_no_alembic(url: str) -> None:
    open_store(url).dispose()
    code = OPEN + "; assert 'alembic' not in sys.modules"
    subprocess.run([sys.executable, "-c", code, url], check=True, timeout=60)


def test_records_of_a_newer_version_are_refused_and_left_alone(url: str) -> None:
    engine = open_store(url)
    with engine.begin() as connection:
        connection.execute(text("UPDATE alembic_version SET version_num = '9999'"))
    with pytest.raises(StoreError, match="newer version"):
        open_store(url)
    with engine.connect() as connection:
        assert migrate.revision(connection) == "9999"
    engine.dispose()


def test_a_migration_that_fails_leaves_the_database_empty(url: str, monkeypatch: pytest.MonkeyPatch) -> None:
    from alembic import op

    def refuse(*_args: object, **_more: object) -> None:
        raise OSError("no room left on the disk")

    monkeypatch.setattr(op, "create_index", refuse)  # after the first table was made
    with pytest.raises(StoreError, match="no room left"):
        open_store(url)
    engine = _engine(url)
    with engine.connect() as connection:
        assert inspect(connection).get_table_names() == []
    engine.dispose()


def test_a_folder_with_odd_letters_works(tmp_path: Path) -> None:
    folder = tmp_path / "100% of ünits; #1 ?"
    url = f"sqlite:///{folder}/plans.sqlite".replace("%", "%25").replace("?", "%3F")
    engine = open_store(url)
    with engine.connect() as connection:
        assert migrate.revision(connection) == migrate.HEAD
    engine.dispose()


def test_plans_kept_before_are_counted_as_page_1_counts(url: str) -> None:
    """A plan of a ready weld, one that is ready only if and a stopped one, written by the first revision: 1 of 3."""
    open_at = replace(ready("W1"), conditions=(Condition("all sentries found", "two at the gate", "a test"),))
    plan = small_plan(welds=(ready("W0"), open_at, *small_plan().welds[1:]))
    with Store(url) as store:
        store.save(plan)
        (now,) = store.plans()
    assert (now.welds, now.only_if, now.stopped) == (3, 1, 1)
    engine = _engine(url)
    with engine.execution_options(**{migrate.WRITES: True}).begin() as connection:
        command.downgrade(migrate.settings(connection), "0001")
    with engine.connect() as connection:
        assert "only_if_count" not in {c["name"] for c in inspect(connection).get_columns("plans")}
    engine.dispose()
    with Store(url) as store:
        (again,) = store.plans()
    assert again == now
