"""Room round a weld and the clocks chosen for it."""

from __future__ import annotations

import math

import pytest

import order_factory as of
from halflayer.order.weld import Weld
from halflayer.technique import room

R = 0.05
QUARTER, SIXTH, THIRD = math.pi / 2, math.pi / 3, 2 * math.pi / 3


def weld(**more) -> Weld:
    return of.one_weld(od=2000 * R, wall=5, **more)[1]


def tower(height_m: float, half_m: float = 0.05) -> room.Part:
    """Something that stands out from the pipe towards the source."""
    return room.box("tower", centre=(0.0, 0.0, R + height_m / 2), size=(0.1, 2 * half_m, height_m))


def degrees(clocks) -> list[float]:
    return [round(math.degrees(c), 6) for c in clocks]


def chosen(w: Weld, part: room.Part, *, count: int, spacings=(QUARTER,)) -> room.Clocks:
    return room.choose_clocks(w, (part,), count=count, spacings_rad=spacings, unchecked="nothing")


def test_the_floor_bounds_the_room_below() -> None:
    free = room.free_room(weld(height_m=0.4, clearances={"above_m": 0.3}))
    assert free["above"] == (0.3, "stated")
    assert free["below"] == (pytest.approx(0.4 - R), "floor")
    assert free["sides"] is None


def test_under_a_vertical_pipe_the_floor_is_on_the_left() -> None:
    free = room.free_room(weld(height_m=0.4, runs="vertical", clearances={"below_m": 0.2}))
    assert free["left"] == (0.4, "floor")
    assert free["below"] == (0.2, "stated")


@pytest.mark.parametrize(
    ("clock", "above", "below", "sides"),
    [(0, 0.3, -2 * R, 0.0), (90, 0.0, 0.0, 0.3), (180, -2 * R, 0.3, 0.0), (270, 0.0, 0.0, 0.3)],
)
def test_need_at_the_four_quarters(clock: float, above: float, below: float, sides: float) -> None:
    need = room.needed_room((tower(0.3),), (math.radians(clock),), radius_m=R)
    assert need["above"][0] == pytest.approx(above, abs=1e-12)
    assert need["below"][0] == pytest.approx(below, abs=1e-12)
    assert need["sides"][0] == pytest.approx(sides, abs=1e-12)
    assert need["right"][0] == pytest.approx(0.05)


def test_need_between_the_quarters_takes_the_corner() -> None:
    need = room.needed_room((tower(0.3, half_m=0.05),), (math.radians(45),), radius_m=R)
    # Corner at radius R + 0.3 and 0.05 across, turned by 45 degrees.
    assert need["above"][0] == pytest.approx((R + 0.3 + 0.05) / math.sqrt(2) - R)


@pytest.mark.parametrize(
    ("count", "spacings", "wanted"),
    [
        (1, (2 * math.pi,), [0]),
        (2, (QUARTER,), [315, 45]),
        (3, (SIXTH, THIRD), [300, 0, 60]),
        (3, (THIRD,), [0, 120, 240]),
        (4, (QUARTER,), [45, 135, 225, 315]),
    ],
)
def test_sources_as_high_up_as_they_can_be(
    count: int, spacings: tuple[float, ...], wanted: list[float]
) -> None:
    found = chosen(weld(), tower(0.3), count=count, spacings=spacings)
    assert degrees(found.clocks) == wanted
    assert found.room.verdict.verdict == "holds"


def test_a_vertical_pipe_starts_at_its_datum() -> None:
    found = chosen(weld(runs="vertical", height_m=1.0), tower(0.3), count=2)
    assert degrees(found.clocks) == [0, 90]


def test_a_ceiling_turns_the_stand_to_the_side() -> None:
    found = chosen(weld(clearances={"above_m": 0.2}), tower(0.3), count=1, spacings=(2 * math.pi,))
    assert found.room.verdict.verdict == "holds"
    assert degrees(found.clocks) == [60]  # the corner at 45 degrees still needs 0.233 m


def test_the_lack_that_is_named_is_what_lifts_the_verdict() -> None:
    """In a slot no three clocks fit at either spacing; the millimetres named are enough and one less is not."""
    slot = weld(clearances={"sides_m": 0.05})
    found = chosen(slot, tower(0.3), count=3, spacings=(SIXTH, THIRD))
    assert found.room.verdict.verdict == "breaks"
    (relax,) = found.room.relax
    lack = int(relax.split(" mm")[0])
    wider = weld(clearances={"sides_m": 0.05 + lack / 1000})
    again = room.room_check(wider, (tower(0.3),), found.clocks, unchecked="nothing")
    assert again.verdict.verdict == "holds"
    tighter = weld(clearances={"sides_m": 0.05 + (lack - 1) / 1000})
    assert (
        room.room_check(tighter, (tower(0.3),), found.clocks, unchecked="nothing").verdict.verdict == "breaks"
    )


def test_the_verdict_says_what_was_checked_and_what_not() -> None:
    found = chosen(weld(clearances={"above_m": 0.5}), tower(0.3), count=2)
    text = found.room.verdict
    assert "above 500 mm" in text.required
    assert "sides not stated" in text.required
    assert "(floor)" in text.required
    assert "tower" in text.reached
    assert "not checked: nothing" in text.reached


def test_a_leaning_head_keeps_its_distance_to_the_pipes_centre() -> None:
    order = of.order()
    head = order.heads[0]
    lean, to_centre = 0.3, 0.4
    source = (to_centre * math.sin(lean), 0.0, to_centre * math.cos(lean))
    part = room.head_part(head, source=source, lean_rad=lean)
    axis = (math.sin(lean), 0.0, math.cos(lean))
    along = sorted(round(sum(a * c for a, c in zip(axis, corner, strict=True)), 9) for corner in part.corners)
    assert along[0] == pytest.approx(to_centre - head.source_to_face_m)
    assert along[-1] == pytest.approx(to_centre - head.source_to_face_m + head.body[2])
