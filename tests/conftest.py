"""Puts this folder on the path for the shared helpers, and keeps tests out of the user's own records."""

from __future__ import annotations

import os
from collections.abc import Iterator

import pytest


@pytest.fixture(scope="session", autouse=True)
def _own_records(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    before = {name: os.environ.get(name) for name in ("HALFLAYER_HOME", "HALFLAYER_DB")}
    os.environ["HALFLAYER_HOME"] = str(tmp_path_factory.mktemp("home"))
    os.environ.pop("HALFLAYER_DB", None)
    yield
    for name, value in before.items():
        if value is None:
            os.environ.pop(name, None)
        else:
            os.environ[name] = value
