"""Generated orders: whatever is written ends in an order or in one InputError, and orders survive JSON."""

from __future__ import annotations

import copy
import json
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from halflayer.base.errors import InputError
from halflayer.order import yaml_read
from halflayer.order.check import notes
from halflayer.order.models import Order
from halflayer.order.read import parse_order
from order_cases import EXAMPLES, SMALL

SMALL_DATA = yaml_read.parse(SMALL, file="t.yaml").data
FULL_DATA = yaml_read.read(EXAMPLES / "tarn-mill.yaml").data

QUANTITIES = st.builds(
    lambda number, unit: f"{number:g} {unit}",
    st.one_of(st.floats(-1e3, 1e6), st.sampled_from([0.0, 1e-9, 1e300, -1.0, float("inf"), float("nan")])),
    st.sampled_from(
        ["mm", "m", "in", "TBq", "Ci", "uSv/h", "mrem", "deg", "kg/m2", "s", "%", "mGy", "", "x"]
    ),
)
WORDS = st.sampled_from(
    [
        "",
        "Se-75",
        "steel",
        "lead",
        "air",
        "W1",
        "wall",
        "SE-1",
        "strap",
        "bore",
        "A",
        "vertical",
        "uk barrier",
    ]
    + ["2026-02-30", "2026-11-13T22:00Z", "0001-01-01", "9999-12-31", "XXS", "1/0", "{x}", "%", "\u2028", "é"]
)
SCALARS = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(),
    st.floats(allow_nan=False),
    WORDS,
    QUANTITIES,
    st.text(max_size=12),
)
VALUES = st.recursive(
    SCALARS,
    lambda inner: st.one_of(
        st.lists(inner, max_size=4),
        st.dictionaries(st.one_of(WORDS, st.text(max_size=8)), inner, max_size=4),
    ),
    max_leaves=8,
)


def paths(value: Any, at: tuple = ()) -> list[tuple]:
    """Every path in a document, the top left out."""
    found = [at] if at else []
    if isinstance(value, dict):
        for key, inner in value.items():
            found += paths(inner, (*at, key))
    elif isinstance(value, list):
        for n, inner in enumerate(value):
            found += paths(inner, (*at, n))
    return found


SMALL_PATHS, FULL_PATHS = paths(SMALL_DATA), paths(FULL_DATA)


def changed_at(data: Any, path: tuple, value: Any, how: str) -> None:
    """Replace, drop, rename or double what stands at a path, where it still stands."""
    for step in path[:-1]:
        try:
            data = data[step]
        except (KeyError, IndexError, TypeError):
            return
    last = path[-1]
    if isinstance(data, dict) and last in data:
        if how == "replace":
            data[last] = value
        elif how == "drop":
            del data[last]
        else:
            data[f"{last}_"] = data[last] if how == "double" else data.pop(last)
    elif isinstance(data, list) and isinstance(last, int) and last < len(data):
        if how == "replace":
            data[last] = value
        elif how == "drop":
            del data[last]
        else:
            data.append(copy.deepcopy(data[last]))


def outcome(text: str) -> None:
    """Read a text; anything but an order or an InputError with printable problems is a fault."""
    try:
        order = parse_order(text, file="t.yaml")
    except InputError as error:
        assert error.problems  # noqa: PT017
        assert all(p.line is None or p.line >= 1 for p in error.problems)  # noqa: PT017
        assert str(error)  # noqa: PT017
        json.dumps([p.as_json() for p in error.problems])
        return
    assert Order.from_json(json.loads(json.dumps(order.as_json()))) == order
    assert all(f.text for f in notes(order))


CHANGES = st.sampled_from(["replace", "replace", "replace", "drop", "rename", "double"])


@settings(max_examples=25, deadline=None)
@given(st.lists(st.tuples(st.sampled_from(SMALL_PATHS), VALUES, CHANGES), min_size=1, max_size=4))
def test_changed_small_orders(changes: list[tuple[tuple, Any, str]]) -> None:
    data = copy.deepcopy(SMALL_DATA)
    for path, value, how in changes:
        changed_at(data, path, value, how)
    outcome(json.dumps(data))


@settings(max_examples=4, deadline=None)
@given(st.lists(st.tuples(st.sampled_from(FULL_PATHS), VALUES, CHANGES), min_size=1, max_size=3))
def test_changed_example_orders(changes: list[tuple[tuple, Any, str]]) -> None:
    data = copy.deepcopy(FULL_DATA)
    for path, value, how in changes:
        changed_at(data, path, value, how)
    outcome(json.dumps(data, indent=1))


@settings(max_examples=40, deadline=None)
@given(st.dictionaries(st.sampled_from(list(Order.model_fields)), VALUES, max_size=6))
def test_random_documents(data: dict[str, Any]) -> None:
    outcome(json.dumps(data))


@settings(max_examples=40, deadline=None)
@given(st.data())
def test_text_with_damage(data: st.DataObject) -> None:
    """A few characters of the small order are replaced, as by a slip of the hand."""
    text = SMALL
    for _ in range(data.draw(st.integers(1, 4))):
        at = data.draw(st.integers(0, len(text) - 1))
        text = text[:at] + data.draw(st.text(max_size=3)) + text[at + data.draw(st.integers(0, 3)) :]
    outcome(text)


LENGTHS = st.floats(1e-4, 100.0)


@settings(max_examples=25, deadline=None)
@given(
    activity=st.floats(1e6, 1e15),
    point=st.tuples(LENGTHS, LENGTHS, st.floats(10.0, 20.0)),
    thickness=st.floats(1e-4, 0.1),
    share=st.floats(0.0, 1.0),
    rate=st.floats(1e-9, 1.0),
    heading=st.floats(-360.0, 360.0),
    year=st.integers(2024, 2028),
)
def test_stored_orders_come_back_without_loss(
    activity: float, point: tuple, thickness: float, share: float, rate: float, heading: float, year: int
) -> None:
    data = copy.deepcopy(SMALL_DATA)
    data["sources"][0] |= {"activity": f"{activity!r} Bq", "on": f"{year}-05-06T07:08:09.012345+02:00"}
    data["places"][0] |= {"at": [f"{x!r} m" for x in point], "occupancy": share}
    data["kit"]["plates"][0] |= {"thickness": f"{thickness!r} m", "tolerance": share}
    data["limits"]["crew"] = {"rate": f"{rate!r} Sv/h", "basis": "generated"}
    data["welds"][0]["heading"] = f"{heading!r} deg"
    order = parse_order(json.dumps(data), file="t.yaml")
    again = Order.from_json(json.loads(json.dumps(order.as_json())))
    assert again == order
    assert again.sources[0].activity_Bq == activity
    assert again.places[0].at == point
