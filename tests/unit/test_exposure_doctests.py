"""The examples in the docstrings of the exposure's modules give what they show."""

from __future__ import annotations

import doctest
import importlib
import math
import pkgutil

import pytest

import halflayer.exposure

MODULES = [m.name for m in pkgutil.iter_modules(halflayer.exposure.__path__)]


@pytest.mark.parametrize("name", MODULES)
def test_doctests(name: str) -> None:
    module = importlib.import_module(f"halflayer.exposure.{name}")
    result = doctest.testmod(module, extraglobs={"math": math})
    assert result.failed == 0


def test_some_modules_have_examples() -> None:
    finder = doctest.DocTestFinder()
    shown = sum(
        bool(t.examples)
        for n in MODULES
        for t in finder.find(importlib.import_module(f"halflayer.exposure.{n}"))
    )
    assert shown >= 2
