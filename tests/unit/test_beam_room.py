"""How far a head may be off before its beam leaves what is judged, and a clock before a film is too light.

Rays by hand; common practice, no source: what is judged must lie in the beam.
"""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import plan_factory
from exposure_cases import candidate
from exposure_cases import order as case_order
from halflayer.base.result import Derived
from halflayer.conditions_of_dose import READ_FIRST, head_open
from halflayer.exposure.beam_room import beam_room, judged_points
from halflayer.exposure.judged import DENSITY, GROWTH, LAP, clock_room_rad
from halflayer.exposure.result import Coverage, Covered
from halflayer.order.models import Order
from halflayer.plan import WeldPlan
from halflayer.sheet.figures import Show
from halflayer.sheet.head_place import close_words
from halflayer.sheet.reading import place_words
from halflayer.sheet.sectors import fine_clock
from halflayer.shielding.head_unknown import together
from halflayer.shielding.rope_out import read_instead
from halflayer.shielding.safety_result import Lost, NotHeld, Safety, Tolerance
from halflayer.technique.result import Candidate, Shot
from order_cases import first_way

DEG = math.pi / 180


def little_opened(example: Order) -> Candidate:
    """W4's way with 4.25 mm of opening in place of its own, so that the head has little room by it."""
    way = first_way(example, "W4")
    return replace(way, geometry=replace(way.geometry, opening_m=0.00425))


def test_w1s_beam_ends_where_two_lines_meet_the_wall(example: Order) -> None:
    """Source 51.5 mm along and 141.8 mm over the wall, R10 at 18 degrees: the cone's edges at 28 and 8 degrees meet
    the source-side wall at 51.5 - 141.8 tan 28 = -23.9 and 51.5 - 141.8 tan 8 = 31.6 mm. The zone of 13 mm to either
    side leaves 10.9 mm away from the weld and 18.6 towards it there; round the arc and on the other wall less."""
    weld, c = example.weld("W1"), first_way(example, "W1")
    room = beam_room(example, weld, c)
    assert room is not None
    g = c.geometry
    ends = [g.axial_offset_m - g.standoff_m * math.tan(a * DEG) for a in (28, 8)]
    assert ends[0] * 1e3 == pytest.approx(-23.9, abs=0.1) and ends[1] * 1e3 == pytest.approx(31.6, abs=0.1)
    assert 0.010 < room.away_m < -ends[0] - 0.013 and 0.0 < room.towards_m < ends[1] - 0.013
    assert 0.0 < room.turn_rad < 10 * DEG


def _seen(points, source, lean_rad: float, roll_rad: float = 0.0) -> float:
    """Largest angle from the axis, by the angle between two vectors: another road than the module's."""
    axis = (
        -math.sin(lean_rad) * math.cos(roll_rad),
        math.sin(roll_rad),
        -math.cos(lean_rad) * math.cos(roll_rad),
    )
    worst = 0.0
    for p in points:
        d = [a - b for a, b in zip(p, source, strict=True)]
        worst = max(worst, math.acos(sum(a * b for a, b in zip(d, axis, strict=True)) / math.hypot(*d)))
    return worst


@given(
    reach=st.floats(0.15, 0.6), lean=st.floats(0.0, 25.0), half=st.floats(8.0, 25.0), count=st.integers(2, 4)
)
@settings(max_examples=40, deadline=None)
def test_at_its_end_a_round_beam_touches_what_is_judged(
    reach: float, lean: float, half: float, count: int
) -> None:
    """For any stand: shifted or turned by the room, the farthest place judged lies on the cone; by less, inside it."""
    made = case_order()
    weld = made.welds[0]
    head = made.heads[0]
    hole = head.apertures[0].model_copy(update={"id": "any", "shape": "round", "half_angle_rad": half * DEG})
    made = made.model_copy(
        update={"heads": (head.model_copy(update={"apertures": (hole,)}), *made.heads[1:])}
    )
    middle = reach + weld.pipe.od / 2
    way = replace(
        candidate(made),
        technique="DWDI ellipse",
        head=head.id,
        aperture="any",
        lap_rad=10 * DEG,
        shots=tuple(Shot(n * math.pi / count, n * math.pi / count + math.pi, math.tau) for n in range(count)),
    )
    way = replace(
        way,
        geometry=replace(
            way.geometry,
            axial_offset_m=middle * math.sin(lean * DEG),
            standoff_m=middle * math.cos(lean * DEG) - weld.pipe.od / 2,
            tilt_rad=lean * DEG,
        ),
    )
    points = list(judged_points(made, weld, way))
    source = (way.geometry.axial_offset_m, 0.0, middle * math.cos(lean * DEG))
    room = beam_room(made, weld, way)
    assert room is not None
    if _seen(points, source, lean * DEG) > half * DEG:
        assert (room.towards_m, room.away_m, room.turn_rad) == (0.0, 0.0, 0.0)
        return
    for by, sign in ((room.towards_m, -1), (room.away_m, 1)):
        assert _seen(points, (source[0] + sign * by, 0.0, source[2]), lean * DEG) == pytest.approx(
            half * DEG, abs=1e-4
        )
    turned = [
        *(_seen(points, source, lean * DEG + s * room.turn_rad) for s in (1, -1)),
        *(_seen(points, source, lean * DEG, s * room.turn_rad) for s in (1, -1)),
    ]
    assert max(turned) == pytest.approx(half * DEG, abs=1e-4)


def test_a_source_open_all_round_has_no_edge(example: Order) -> None:
    assert beam_room(example, example.weld("W10"), first_way(example, "W10")) is None


def _looked(turn: float | None, shift: float | None) -> Tolerance:
    return Tolerance(Derived("turn_tolerance", turn, "rad"), Derived("shift_tolerance", shift, "m"))


def test_the_least_of_opening_beam_and_dose_is_printed_with_its_name(example: Order) -> None:
    weld, c = example.weld("W1"), first_way(example, "W1")
    room = beam_room(example, weld, c)
    assert room is not None
    words = place_words(example, weld, c, Show())
    # A film may show a quarter more than one weld width, which is nearer than the beam's edge.
    assert "4 mm (opening; 1.4° of lean) towards the weld, 8 mm (opening; 2.8° of lean) away from it" in words
    assert room.away_m > 0.008 and "4.5 mm or 7.5 mm between the inner edges (log)" in words
    assert "39 mm" not in words
    held = place_words(example, weld, c, Show(), _looked(2 * DEG, 0.005))
    assert held.startswith(
        "along the pipe at most 4 mm (opening; 1.4° of lean) towards the weld, 5 mm (dose) away"
    )
    assert "turned at most 2.0° (dose)" in held and "beam:" not in held
    assert place_words(example, weld, c, Show(), _looked(None, None)) == words
    # single image: the beam alone
    strap = place_words(example, example.weld("W6"), first_way(example, "W6"), Show())
    assert "(beam) off its place" in strap and "opening" not in strap


def test_page_1_warns_where_the_room_is_less_than_a_head_is_off(example: Order) -> None:
    """Opened by 4.25 mm for 6: a quarter less is 3.2, so 1 mm less parts by 88.9 mm, 2.1 mm of the head's place."""
    weld, c = example.weld("W4"), little_opened(example)
    assert close_words(example, weld, c, Show()).startswith(
        "Set the head to 2 mm (opening) towards the weld and 6 mm (opening) away from the weld or"
    )
    assert close_words(example, example.weld("W3"), first_way(example, "W3"), Show()) == ""
    fine = example.kit.model_copy(update={"head_shift_m": 0.001})
    assert close_words(example.model_copy(update={"kit": fine}), weld, c, Show()) == ""


def _ellipse(reserve_deg: float, end: str):
    """Two shots at 90 degrees with a lap of 10: each judges 100 of each wall, and its film shows so much past it."""
    made = case_order()
    shots = tuple(Shot(a, a + math.pi, math.tau) for a in (0.0, math.pi / 2))
    way = replace(candidate(made), technique="DWDI ellipse", shots=shots, lap_rad=10 * DEG)
    arc = (100 + 2 * reserve_deg) * DEG
    covered = tuple(
        Covered(n, wall, (clock - arc / 2) % math.tau, arc, (end, end))
        for n, s in enumerate(shots, start=1)
        for wall, clock in (
            ("source-side wall", s.source_clock_rad),
            ("film-side wall", s.source_clock_rad + math.pi),
        )
    )
    return made, way, Coverage(covered, (), 0.01)


@pytest.mark.parametrize(
    ("reserve", "end", "room", "why"),
    [
        (2.0, "too light", 2.0, DENSITY),  # W4's: half the lap would be 5
        (3.0, "too dark", 3.0, DENSITY),
        (20.0, "too light", 5.0, LAP),
        (1.0, "beam", 1.0, "beam"),
        (0.0, GROWTH, 5.0, LAP),  # of two images no growth is bounded: the usable arc has that end
    ],
)
def test_a_clock_has_the_least_of_half_lap_and_reserve(
    reserve: float, end: str, room: float, why: str
) -> None:
    _, way, shown = _ellipse(reserve, end)
    found = clock_room_rad(way, shown)
    assert found is not None
    assert math.degrees(found[0]) == pytest.approx(room) and found[1] == why


def test_a_density_that_ends_too_soon_is_said_on_page_1() -> None:
    made, way, shown = _ellipse(0.5, "too light")
    tight = made.model_copy(update={"clock_tolerance_rad": 1.0 * DEG})
    weld = made.welds[0]
    said = fine_clock(tight, weld, way, shown, Show())
    assert (
        f"to 0.5° ({math.floor(0.5 * DEG * weld.pipe.od / 2 * 1e5) / 100:g} mm round the pipe) or better"
        in said
    )
    _, _, wide = _ellipse(2.0, "too light")
    assert fine_clock(tight, weld, way, wide, Show()) == ""


def _none_held(turn: NotHeld | None, shift: NotHeld | None) -> Tolerance:
    none = Derived("turn_tolerance", None, "rad"), Derived("shift_tolerance", None, "m")
    return Tolerance(*none, turn_not_held=turn, shift_not_held=shift)


def turned(times: float | None, at: str = "") -> NotHeld:
    return NotHeld(1.5 * DEG, times, at)


def shifted(times: float | None, at: str = "") -> NotHeld:
    return NotHeld(0.005, times, at)


def ready_weld(tolerance: Tolerance) -> WeldPlan:
    lost = Lost(1, (), tolerance, (), (), ())
    made = next(w for w in plan_factory.plan().welds if w.status == "ready")
    return replace(made, safety=Safety((), (), lost=lost))


def test_where_no_dose_holds_that_comes_first_and_the_beam_is_for_the_film_alone(example: Order) -> None:
    """What the beam allows says nothing of the dose: who reads only that sets the head too coarsely."""
    weld, c = example.weld("W11"), first_way(example, "W11")
    none = _none_held(turned(1.4), shifted(1.2))
    words = place_words(example, weld, c, Show(), none)
    assert words.startswith(
        "dose: none known to hold, not even 1.5° / 5 mm: measured first; for the film alone: "
    )
    assert "(beam)" in words.partition("for the film alone")[2] and "at most" not in words.partition(";")[0]
    assert "0.197 in" in place_words(example, weld, c, Show("imperial"), none)
    shroud = close_words(example, example.weld("W4"), little_opened(example), Show(), none)
    assert shroud.startswith(
        "Head: by dose no 1.5° / 5 mm is known to hold; for the film alone 2 mm (opening)"
    )
    # only the shift is open: the turn stands with what its dose allows, outside what is for the film alone
    half = Tolerance(
        Derived("turn_tolerance", 1 * DEG, "rad"), none.shift, shift_not_held=none.shift_not_held
    )
    words = place_words(example, weld, c, Show(), half)
    assert words.startswith(
        "turned at most 1.0° (dose); dose: no shift known to hold, not even 5 mm: measured first"
    )
    assert words.index("(dose)") < words.index("for the film alone: along the pipe")
    # the caution of page 1 never lets more than the dose does
    assert "1.0° (dose)" in close_words(example, weld, c, Show(), _looked(1 * DEG, 0.001))


def test_a_head_whose_dose_is_not_known_to_hold_is_a_condition() -> None:
    """Inverse square from the looks: the larger of both factors; a place that is not at the rope is read first."""
    found = together(_none_held(turned(1.1), shifted(1.4)))
    assert found is not None and found.rope_times == 1.4 and found.least == "1.5° / 5 mm"
    assert together(_looked(0.01, 0.005)) is None and together(None) is None
    asked = head_open(ready_weld(_none_held(None, shifted(None, "Office, east"))))
    assert asked is not None and asked.short == READ_FIRST and "Office, east read before each" in asked.text
    far = head_open(ready_weld(read_instead(_none_held(turned(1.4), None))))
    assert (
        far is not None
        and far.short == READ_FIRST
        and "each survey point of the rope read before" in far.text
    )
    assert head_open(ready_weld(_looked(0.01, 0.005))) is None


def test_the_least_room_of_the_opening_is_told_as_a_lean_of_the_legs_too(example: Order) -> None:
    """W4 opened by 4.25 mm in place of its 8.3: 2 mm towards the weld at some 173 mm over a pipe of 88.9 mm,
    2 / 218 rad: 0.52 degrees; to 7.5 mm, a quarter over the 6 asked, 6 mm: 1.5 degrees."""
    words = place_words(example, example.weld("W4"), little_opened(example), Show())
    assert "at most 2 mm (opening; 0.5° of lean) towards the weld" in words
    assert "6 mm (opening; 1.5° of lean) away from it" in words
    # legs lean in steps of 2 degrees, half of which is more than 0.52; W5's 8 mm of opening leave more
    assert "2 mm is under half a step of the legs (1°): no hole mends it: by steel rule" in words
    other = place_words(example, example.weld("W5"), first_way(example, "W5"), Show())
    assert "half a step" not in other
