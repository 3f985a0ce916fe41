"""Where beams go in plan, and how far lost shielding reaches: by hand."""

from __future__ import annotations

import math
from types import SimpleNamespace
from typing import Any, cast

import pytest
from test_stuck_source import ORDER

from halflayer.scene import beam_bearings
from halflayer.sheet import beam_points, lost_reach
from halflayer.sheet.figures import Show
from halflayer.sheet.number_words import runs
from halflayer.shielding import rope_planned
from halflayer.shielding.safety_result import RopePoint

USV_H = 1e-6 / 3600


def test_exposures_in_a_row_are_told_from_to() -> None:
    assert runs([1, 2]) == "1, 2"
    assert runs([6, 7, 8, 10]) == "6–8, 10"


def test_a_beam_goes_away_from_its_source(monkeypatch: pytest.MonkeyPatch) -> None:
    """A level pipe along site x, source at clock 90 (site -y): the beam goes to +y; from the top it has no bearing."""
    weld = ORDER.welds[0].model_copy(update={"runs": "horizontal", "heading_rad": 0.0})
    head = ORDER.heads[0]
    monkeypatch.setattr(
        beam_bearings, "beam", lambda *_: SimpleNamespace(aim=(0.0, 0.0, -1.0), is_open=False)
    )
    shots = [SimpleNamespace(source_clock_rad=math.radians(c)) for c in (0.0, 90.0, 95.0, 270.0)]
    candidate = cast(
        Any,
        SimpleNamespace(arrangement="legs", head=head.id, aperture=head.apertures[0].id, shots=shots),
    )
    found = beam_bearings.bearings(ORDER, weld, candidate)
    assert [numbers for numbers, _ in found] == [(2, 3), (4,)]
    assert [math.degrees(turn) for _, turn in found] == pytest.approx([90.0, 270.0])


def test_lost_shielding_tells_where_the_limit_holds_again() -> None:
    """74 uSv/h at 10.3 m: at 7.5 uSv/h 32.4 m off; the farther reach counts, not the higher rate."""
    order = ORDER.model_copy(
        update={"places": (), "limits": ORDER.limits.model_copy(
            update={"barrier": ORDER.limits.barrier.model_copy(update={"rate_Sv_s": 7.5 * USV_H})}
        )}
    )  # fmt: skip
    near = SimpleNamespace(
        name="shroud open", barrier_upper_Sv_s=80 * USV_H, barrier_where="barrier rope 75 deg, 2 m"
    )
    far = SimpleNamespace(
        name="one plate missing",
        barrier_upper_Sv_s=74 * USV_H,
        barrier_where="barrier rope 270 deg, 10.3 m; another",
    )
    w = cast(Any, SimpleNamespace(weld=order.welds[0].id, safety=None))
    told = lost_reach.words(order, w, cast(Any, SimpleNamespace(cases=(near, far))), Show())
    assert told == f"one plate missing: limit again at 33 m ({lost_reach.COUNTED})"
    assert not lost_reach.words(order, w, cast(Any, SimpleNamespace(cases=())), Show())


def _ring(deg: float, *rates: float) -> tuple[float, Any]:
    turn = math.radians(deg)
    at = ORDER.welds[0].at
    return turn, SimpleNamespace(
        at=(at[0] + 9.0 * math.cos(turn), at[1] + 9.0 * math.sin(turn), 1.0),
        by_exposure_Sv_s=tuple(r * USV_H for r in rates),
        upper_Sv_s=1.5 * max(rates) * USV_H,
        turn_back_Sv_s=1.4 * max(rates) * USV_H,
    )


def test_a_rope_point_in_a_beam_reads_what_the_next_direction_reads_in_that_exposure() -> None:
    """9 m ring, rope at 6 m: 0.4 x 2.25 expected; turn back at 1.5 times, the bound of that direction."""
    corner = RopePoint(math.radians(120.0), 5.0, 6.0, None)
    beams = (((1,), math.radians(90.0)), ((2,), math.radians(270.0)))
    ring = [_ring(135.0, 0.4, 0.8), _ring(240.0, 5.0, 5.0)]
    like = rope_planned.alike(ring, corner.direction_rad, (1,), math.radians(90.0), beams)
    found = beam_points._point(
        ORDER, cast(Any, SimpleNamespace(weld=ORDER.welds[0].id)), corner, (1,), like, 7.5 * USV_H
    )
    assert found.expected_Sv_s == pytest.approx(0.9 * USV_H)
    assert found.turn_back_Sv_s == pytest.approx(1.35 * USV_H)


def test_without_a_next_direction_it_is_that_as_far_off_another_beam_else_the_planned_bound() -> None:
    corner = RopePoint(math.radians(120.0), 5.0, 6.0, None)
    beams = (((1,), math.radians(90.0)), ((2,), math.radians(270.0)))
    w = cast(Any, SimpleNamespace(weld=ORDER.welds[0].id))
    like = rope_planned.alike([_ring(240.0, 5.0, 0.8)], corner.direction_rad, (1,), math.radians(90.0), beams)
    assert [shots for _, shots in like] == [(2,)]
    assert beam_points._point(ORDER, w, corner, (1,), like, 7.5 * USV_H).expected_Sv_s == pytest.approx(
        1.8 * USV_H
    )
    bare = beam_points._point(ORDER, w, corner, (1,), [], 7.5 * USV_H)
    assert bare.expected_Sv_s is None and bare.turn_back_Sv_s == pytest.approx(7.5 * USV_H * (5 / 6) ** 2)
