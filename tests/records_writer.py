"""A process of its own that forks writers of the records: to kill them, or to start several at once.

Run as `records_writer.py kill PATH KILLS SEED LONGEST_S` or `records_writer.py first FOLDER TIMES PROCESSES`.
It forks, so that imports and first steps are paid once, checks the database itself and fails by assertion.
"""

from __future__ import annotations

import os
import random
import signal
import sqlite3
import sys
import tempfile
import time
from pathlib import Path

from halflayer.records.store import Store
from small_plan import small_plan


def write_for_ever(path: Path, name: str, said: int) -> None:
    """Save one plan after the other and tell the pipe `said` every number that was said to be saved."""
    with Store(f"sqlite:///{path}") as store:
        for n in range(1_000_000):
            saved = store.save(small_plan(order=f"{name}-{n}"), source_text=f"{name} {n}")
            os.write(said, f"{saved.id}\n".encode())


def kill_one(path: Path, name: str, after_s: float) -> list[int]:
    """Fork a writer, kill it with SIGKILL and return the numbers that it said before it died."""
    reads, writes = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(reads)
        write_for_ever(path, name, writes)
        os._exit(0)
    os.close(writes)
    time.sleep(after_s)
    os.kill(child, signal.SIGKILL)  # nothing of the writer runs after it
    _, status = os.waitpid(child, 0)
    assert os.WIFSIGNALED(status), "the writer ended by itself"
    with os.fdopen(reads) as pipe:
        return [int(line) for line in pipe if line.endswith("\n")]


def check(path: Path, said: list[int]) -> int:
    """Assert that the database is whole and holds every plan that was said to be saved; number of plans."""
    with sqlite3.connect(path) as database:

        def one(question: str) -> object:
            return database.execute(question).fetchone()[0]

        if not one("SELECT count(*) FROM sqlite_master WHERE name = 'alembic_version'"):
            assert one("SELECT count(*) FROM sqlite_master") == 0, "half a migration"
            assert said == []
            return 0
        assert one("PRAGMA integrity_check") == "ok"
        assert database.execute("PRAGMA foreign_key_check").fetchall() == []
        there = {row[0] for row in database.execute("SELECT id FROM plans")}
        assert set(said) <= there, "a plan that was said to be saved is gone"
        assert one("SELECT count(*) FROM orders WHERE id NOT IN (SELECT order_id FROM plans)") == 0
        assert (
            one(
                "SELECT count(*) FROM plans p WHERE weld_count != "
                "(SELECT count(*) FROM weld_plans w WHERE w.plan_id = p.id)"
            )
            == 0
        )
        # the made-up plan has one finding a weld, and figures for its ready weld
        assert (
            one(
                "SELECT count(*) FROM weld_plans w WHERE 1 != "
                "(SELECT count(*) FROM findings f WHERE f.weld_plan_id = w.id)"
            )
            == 0
        )
        assert (
            one(
                "SELECT count(*) FROM weld_plans w WHERE w.status = 'ready' AND 5 > "
                "(SELECT count(*) FROM figures f WHERE f.weld_plan_id = w.id)"
            )
            == 0
        )
        return len(there)


def kill(path: Path, kills: int, seed: int, longest_s: float) -> None:
    """Kill writers at random moments, the first ones also while they make the tables."""
    chance = random.Random(seed)
    said: list[int] = []
    plans = 0
    for n in range(kills):
        said += kill_one(path, f"K{n}", chance.uniform(0.0, longest_s))
        plans = check(path, said)
    print(f"{kills} kills, {len(said)} said, {plans} there")
    assert plans > kills, "hardly anything was written between the kills"


def first(path: Path, processes: int) -> None:
    """Open records that do not exist yet from several processes at the same moment."""
    reads, writes = os.pipe()
    children = []
    for _ in range(processes):
        child = os.fork()
        if child == 0:
            os.close(writes)
            os.read(reads, 1)  # returns for all at once, when the parent closes its end
            try:
                Store(f"sqlite:///{path}").close()
            except BaseException as error:
                print(f"{type(error).__name__}: {error}", file=sys.stderr)
                os._exit(1)
            os._exit(0)
        children.append(child)
    os.close(reads)
    time.sleep(0.1)
    os.close(writes)
    for child in children:
        _, status = os.waitpid(child, 0)
        assert status == 0
    with sqlite3.connect(path) as database:
        assert database.execute("SELECT count(*) FROM alembic_version").fetchone() == (1,)


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as scratch, Store(f"sqlite:///{scratch}/warm.sqlite") as warm:
        warm.save(small_plan())  # imports the migrations and builds the forms once, before the forks
    if sys.argv[1] == "kill":
        kill(Path(sys.argv[2]), int(sys.argv[3]), int(sys.argv[4]), float(sys.argv[5]))
    else:
        for turn in range(int(sys.argv[3])):
            first(Path(sys.argv[2]) / f"plans{turn}.sqlite", int(sys.argv[4]))
