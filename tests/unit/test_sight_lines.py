"""Lines of sight past boxes, many at once, against each way alone and against points all along them."""

from __future__ import annotations

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from halflayer.order.weld import Obstacle
from halflayer.shielding.contour import crossed
from halflayer.shielding.sight_lines import bodies_of, crossings, in_any, near_any, seen

coordinate = st.floats(-10.0, 10.0).map(lambda v: round(v, 2))
size = st.floats(0.1, 6.0).map(lambda v: round(v, 2))
spots = st.lists(st.tuples(coordinate, coordinate, st.just(1.0)), min_size=1, max_size=4)
boxes = st.lists(st.tuples(coordinate, coordinate, size, size), max_size=4)


def body(n: int, x: float, y: float, wide: float, deep: float) -> Obstacle:
    at, across = (f"{x} m", f"{y} m", "1 m"), (f"{wide} m", f"{deep} m", "4 m")
    return Obstacle.model_validate(
        {"id": f"B{n}", "name": f"body {n}", "material": "concrete", "centre": at, "size": across}
    )


@given(boxes, spots, spots)
@settings(max_examples=60, deadline=None)
def test_many_ways_pass_what_each_of_them_passes_alone(
    some: list[tuple[float, float, float, float]],
    starts: list[tuple[float, float, float]],
    ends: list[tuple[float, float, float]],
) -> None:
    bodies = [body(n, *b) for n, b in enumerate(some)]
    near, far = crossings(bodies_of(bodies), np.array(starts), np.array(ends))
    for i, start in enumerate(starts):
        for j, end in enumerate(ends):
            alone = {o.name: (a, b) for a, b, o in crossed(bodies, start, end)}
            for n, o in enumerate(bodies):
                if o.name in alone:
                    np.testing.assert_allclose((near[i, j, n], far[i, j, n]), alone[o.name], rtol=1e-9)
                else:
                    assert np.isnan(near[i, j, n])


@given(boxes, spots, spots)
@settings(max_examples=60, deadline=None)
def test_a_spot_is_hidden_where_a_line_to_it_crosses_a_body(
    some: list[tuple[float, float, float, float]],
    starts: list[tuple[float, float, float]],
    ends: list[tuple[float, float, float]],
) -> None:
    """By points all along the line; what only grazes a corner between two of them is left out."""
    bodies = bodies_of([body(n, *b) for n, b in enumerate(some)])
    told = seen(bodies, np.array(starts), np.array(ends), np.zeros((0, 3)), 0.6)
    share = np.linspace(0.0, 1.0, 2001)[1:-1, None]
    for i, start in enumerate(np.array(starts)):
        for j, end in enumerate(np.array(ends)):
            inside = int(in_any(bodies, start + share * (end - start)).sum())
            if inside > 1:
                assert not told[i, j]
            wider = bodies_of([body(n, x, y, w + 0.05, d + 0.05) for n, (x, y, w, d) in enumerate(some)])
            if not in_any(wider, start + share * (end - start)).any():
                assert told[i, j]


def test_a_line_through_an_open_way_in_is_not_hidden_by_its_wall() -> None:
    wall = bodies_of([body(0, 0.0, 0.0, 0.2, 10.0)])
    start, ends = np.array([(-3.0, 0.0, 1.0)]), np.array([(3.0, 0.0, 1.0), (3.0, 6.0, 1.0)])
    ways = np.array([(0.0, 0.0, 1.0)])
    assert seen(wall, start, ends, ways, 0.6).tolist() == [[True, False]]
    assert seen(wall, start, ends, np.zeros((0, 3)), 0.6).tolist() == [[False, False]]


def test_near_and_inside() -> None:
    tank = bodies_of([body(0, 0.0, 0.0, 2.0, 2.0)])
    at = np.array([(0.5, 0.5, 1.0), (1.5, 0.0, 1.0), (1.5, 0.0, 9.0), (2.5, 2.5, 1.0)])
    assert in_any(tank, at).tolist() == [True, False, False, False]
    assert near_any(tank, at, 0.6).tolist() == [True, True, False, False]
    assert not in_any(bodies_of([]), at).any() and not near_any(bodies_of([]), at, 0.6).any()
