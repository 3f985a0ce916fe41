"""Puts this folder on the path for the shared helpers, and keeps tests out of the user's own records."""

from __future__ import annotations

import os
from collections.abc import Iterator

import pytest

from halflayer.order.models import Order
from halflayer.order.read import read_order
from order_cases import EXAMPLE


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


@pytest.fixture(scope="session")
def example() -> Order:
    """The example order as shipped; frozen, so that one serves all tests."""
    return read_order(EXAMPLE)
