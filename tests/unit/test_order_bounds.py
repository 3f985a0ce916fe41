"""Sizes that contradict each other, angles beyond a turn, points in matter, dates in disorder: one message each.

What is expected is arithmetic on the figures of the small order of `order_cases`; which of them contradict each
other is geometry or the calendar, where not said otherwise.
"""

from __future__ import annotations

import math
import re

import pytest

import order_factory as of
from halflayer.order.models import Order
from halflayer.technique.placements.stand import hole_count
from order_cases import order, refusal

KIT = "kit:\n"
LEGS = (
    "id: LG, reach_min: 150 mm, reach_max: 450 mm, hole_pitch: 25 mm, lean_max: 32 deg, lean_step: 2 deg, "
    "carries: 40 kg, mass: 6 kg"
)
CLAMP = "id: CL, diameter_min: 20 mm, diameter_max: 70 mm, from_weld: 140 mm, width: 40 mm, mass: 2 kg"
GUIDE = "id: GT, material: lead, wall: 4 mm, bore: 12 mm, length: 5 m, speed: 1 m/s, bend_radius: 600 mm, mass: 9 kg"
SHROUD = (
    "id: SH, form: skewed, material: lead, wall: 8 mm, inner: [180 mm, 260 mm], length: 400 mm, mass: 24 kg, "
    "lean: 12 deg, slot_gap: 5 mm"
)
PLATE = (
    "digital: [{id: IP, kind: imaging plate, basic_resolution: 0.1 mm, snr_n: 90, snr_n_dose: 5 mGy, "
    "snr_n_most: 250, saturates_at: 60 mGy, dose_uncertainty: 20 %, basis: invented, sheet: [100 mm, 240 mm]}]\n"
)
HEIGHT = "    height: 1.3 m\n"
LEAKAGE = "leakage: {activity: 3 TBq, at_1m: 4 uSv/h"
FLOOR = "floors: [{id: up, name: Upstairs, level: 3.5 m, area: [[1 m, 2 m], [5 m, 6 m]]}]\n"
SIGNED = (
    "agreements: [iqi-relief-gamma]\nsigned: [{agreement: iqi-relief-gamma, by: [Level 3], on: 2026-11-13}]\n"
)
SECOND = """  - id: W2
    pipe: {outer_diameter: 60.3 mm, wall: 5.54 mm, material: steel}
    cap: {width: 9 mm, height: 2 mm}
    at: [0.3 m, 0 m]
    height: 1.3 m
    left: {distance: 1 m}
    right: {distance: 1 m}
"""


def kit(name: str, item: str, *edits: tuple[str, str]) -> tuple[str, str]:
    """One more list of the kit; each edit must stand there once."""
    for old, new in edits:
        assert item.count(old) == 1, old
        item = item.replace(old, new)
    return KIT, f"{KIT}  {name}: [{{{item}}}]\n"


def top(text: str, *edits: tuple[str, str]) -> tuple[str, str]:
    """Fields at the top of the order, before its kit."""
    for old, new in edits:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return KIT, text + KIT


def weld(text: str) -> tuple[str, str]:
    return HEIGHT, f"{HEIGHT}    {text}\n"


LAST = "    right: {kind: elbow, distance: 400 mm}\n"
TWO = (LAST, LAST + SECOND)


def test_what_the_cases_below_change_is_accepted() -> None:
    order(kit("legs", LEGS), weld("guide_from: [2 m, 1 m, 0.3 m]"), TWO)
    order(kit("clamps", CLAMP), weld("guide_from: [2 m, 0 m, 0.3 m]\n    guide_by: [[0.7 m, 0 m, 1.3 m]]"))
    order(kit("guides", GUIDE), weld("heading: -360 deg"))
    order(kit("shrouds", SHROUD), weld("heading: 360 deg"))
    order(top(PLATE + FLOOR + SIGNED))
    order((LEAKAGE, LEAKAGE + ", surface: 400 uSv/h, stored_surface: 150 uSv/h, stored_at_1m: 1.5 uSv/h"))
    order(("    mass: 14 kg\n", "    mass: 14 kg\n    shell_material: tungsten\n    shell: 45 mm\n"))


CASES: dict[str, tuple[list[tuple[str, str]], str]] = {
    "legs swapped": (
        [kit("legs", LEGS, ("150 mm", "950 mm"))],
        "kit.legs[LG].reach_min: the shortest reach is more than the longest; given: 950 mm; "
        "accepted: up to reach_max, 450 mm",
    ),
    "a pitch beyond the reach": (
        [kit("legs", LEGS, ("25 mm", "25 in"))],
        "kit.legs[LG].hole_pitch: the second hole lies beyond the longest reach; given: 25 in; "
        "accepted: up to 300 mm, from reach_min to reach_max",
    ),
    "legs that lie down": (
        [kit("legs", LEGS, ("32 deg", "95 deg"))],
        "kit.legs[LG].lean_max: the value is too large; given: 95 deg; accepted: at most 80°",
    ),
    "a lean to nowhere": (
        [kit("legs", LEGS, ("32 deg", "-5 deg"))],
        "kit.legs[LG].lean_max: the value is too small; given: -5 deg; accepted: at least 0",
    ),
    "a step beyond the lean": (
        [kit("legs", LEGS, ("lean_step: 2 deg", "lean_step: 40 deg"))],
        "kit.legs[LG].lean_step: the first step leans further than the legs do; given: 40 deg; "
        "accepted: up to lean_max, 32°",
    ),
    "no step": (
        [kit("legs", LEGS, ("lean_step: 2 deg", "lean_step: 0 deg"))],
        "kit.legs[LG].lean_step: the value is too small; given: 0 deg; accepted: above 0",
    ),
    "clamp swapped": (
        [kit("clamps", CLAMP, ("20 mm", "200 mm"))],
        "kit.clamps[CL].diameter_min: the least diameter is more than the most; given: 200 mm; "
        "accepted: up to diameter_max, 70 mm",
    ),
    "a clamp on the weld": (
        [kit("clamps", CLAMP, ("140 mm", "20 mm"))],
        "kit.clamps[CL].from_weld: the clamp would stand on the weld; given: 20 mm; "
        "accepted: above 20 mm, half the clamp's width",
    ),
    # 20 m and 1 m lower is 20.02 m; half the pipe is 30.15 mm, the collimator's body 140 mm and at most 100 mm off
    "a container out of the tube's reach": (
        [
            kit("guides", GUIDE),
            weld("guide_from: [20 m, 0 m, 0.3 m]"),
            ("placements: [over, lean-out]", "placements: [over, strap-guided]"),
        ],
        "welds[W1].guide_from: the container stands farther from the weld than a guide tube reaches: 19.8 m straight, "
        "at least; given: ['20 m', '0 m', '0.3 m']; accepted: within 5 m of it, the length of GT, or a longer tube in "
        "kit: guides",
    ),
    "a bend tighter than the bore": (
        [kit("guides", GUIDE, ("600 mm", "11 mm"))],
        "kit.guides[GT].bend_radius: the tube cannot be bent so tight; given: 11 mm; accepted: at least 12 mm",
    ),
    "a bend that folds a thick wall": (
        [kit("guides", GUIDE, ("600 mm", "15 mm"), ("wall: 4 mm", "wall: 12 mm"))],
        "kit.guides[GT].bend_radius: the tube cannot be bent so tight; given: 15 mm; accepted: at least 18 mm",
    ),
    "a shroud on its side": (
        [kit("shrouds", SHROUD, ("12 deg", "120 deg"))],
        "kit.shrouds[SH].lean: the value is too large; given: 120 deg; accepted: at most 80°",
    ),
    "a slot as wide as the shroud": (
        [kit("shrouds", SHROUD, ("5 mm", "90 mm"))],
        "kit.shrouds[SH].slot_gap: the gap round the pipe is wider than half the shroud; given: 90 mm; "
        "accepted: below 90 mm",
    ),
    "a head knocked over": (
        [(KIT, "kit:\n  head_turn: 60 deg\n")],
        "kit.head_turn: the value is too large; given: 60 deg; accepted: at most 34.4°",
    ),
    "a changer that leaks less at its surface": (
        [kit("changers", "id: CH, stored: {activity: 3 TBq, surface: 4 uSv/h, at_1m: 6 uSv/h}")],
        "kit.changers[CH].stored.surface: the reading at the surface is below the one at 1 m; given: 4 uSv/h; "
        "accepted: at least that at 1 m, 6 µSv/h",
    ),
    "a head that leaks less at its surface": (
        [(LEAKAGE, LEAKAGE + ", surface: 1 uSv/h")],
        "heads[H1].leakage.surface: the reading at the surface is below the one at 1 m; given: 1 uSv/h; "
        "accepted: at least that at 1 m, 4 µSv/h",
    ),
    "the same with the source stored": (
        [(LEAKAGE, LEAKAGE + ", stored_surface: 1 uSv/h, stored_at_1m: 2 uSv/h")],
        "heads[H1].leakage.stored_surface: the reading at the surface is below the one at 1 m; given: 1 uSv/h; "
        "accepted: at least that at 1 m, 2 µSv/h",
    ),
    "stored readings twice": (
        [
            (LEAKAGE, LEAKAGE + ", stored_at_1m: 2 uSv/h"),
            ("    mass: 14 kg\n", "    mass: 14 kg\n    stored: {activity: 3 TBq, at_1m: 3 uSv/h}\n"),
        ],
        "heads[H1].stored: the readings with the source stored are stated twice; "
        "given: {activity: ..., at_1m: ...}; accepted: either stored, or stored_... under leakage",
    ),
    "a head for nothing": (
        [("placements: [over, lean-out]", "placements: []")],
        "heads[H1].placements: the list is too short; given: []; accepted: at least 1",
    ),
    "a head for no nuclide": (
        [("nuclides: [Se-75]", "nuclides: []")],
        "heads[H1].nuclides: the list is too short; given: []; accepted: at least 1",
    ),
    # Source 45 mm behind the face of a body of 120 x 110 x 140 mm: a thicker front wall would hold the source itself.
    "a shell beyond the body": (
        [("    mass: 14 kg\n", "    mass: 14 kg\n    shell_material: tungsten\n    shell: 250 mm\n")],
        "heads[H1].shell: the shell does not fit into the head's body with the source; given: 250 mm; "
        "accepted: up to 45 mm",
    ),
    "a shell that leaves no cavity": (
        [
            ("    mass: 14 kg\n", "    mass: 14 kg\n    shell_material: tungsten\n    shell: 50 mm\n"),
            ("source_to_face: 45 mm", "source_to_face: 60 mm"),
        ],
        "heads[H1].shell: the shell does not fit into the head's body with the source; given: 50 mm; "
        "accepted: up to 49.5 mm",
    ),
    "a plate measured where it is saturated": (
        [top(PLATE, ("5 mGy", "80 mGy"))],
        "digital[IP].snr_n_dose: the ratio is measured at a dose at which the plate is saturated; given: 80 mGy; "
        "accepted: below 60 mGy, saturates_at",
    ),
    "a plate of one pixel": (
        [top(PLATE, ("0.1 mm", "0.1 m"))],
        "digital[IP].basic_resolution: the resolution is no finer than the sheet; given: 0.1 m; "
        "accepted: below 100 mm, such as 0.1 mm",
    ),
    "a source in metres": (
        [("diameter: 2 mm", "diameter: 2 m")],
        "sources[SE-1].diameter: the value is too large; given: 2 m; accepted: at most 100 mm",
    ),
    "plates in metres": (
        [("thickness: 4 mm", "thickness: 4 m")],
        "kit.plates[PB].thickness: the value is too large; given: 4 m; accepted: at most 500 mm",
    ),
    "screens in metres": (
        [("front: 0.1 mm", "front: 1 m")],
        "detectors[F1].screens.front: the value is too large; given: 1 m; accepted: at most 500 mm",
    ),
    "a body in metres": (
        [("body: [120 mm, 110 mm, 140 mm]", "body: [120 m, 110 mm, 140 mm]")],
        "heads[H1].body[0]: the value is too large; given: 120 m; accepted: at most 20 m",
    ),
    "a pipe of two names": (
        [
            (
                "outer_diameter: 60.3 mm, wall: 5.54 mm",
                "nps: 4, dn: 50, outer_diameter: 60.3 mm, wall: 5.54 mm",
            )
        ],
        "welds[W1].pipe.dn: the pipe's size is named twice; given: 50; accepted: one of nps and dn",
    ),
    # DN 100 is NPS 4, 4.5 in: 114.3 mm (ASME B36.10M)
    "a diameter of another pipe": (
        [("outer_diameter: 60.3 mm, wall: 5.54 mm", "dn: 100, schedule: 40, outer_diameter: 60.3 mm")],
        "welds[W1].pipe.outer_diameter: the outside diameter is not that of the pipe's name; given: 60.3 mm; "
        "accepted: about 114.3 mm, or no name",
    ),
    "hands in the source": (
        [top("crew_times: {hand_distance: 0 m}\n")],
        "crew_times.hand_distance: the value is too small; given: 0 m; accepted: above 0",
    ),
    "a survey behind the source": (
        [top("crew_times: {survey_distance: -1 m}\n")],
        "crew_times.survey_distance: the value is too small; given: -1 m; accepted: above 0",
    ),
    "a floor without size": (
        [top(FLOOR, ("[5 m, 6 m]", "[1 m, 2 m]"))],
        "floors[up].area: the area has no size: its corners share a coordinate; "
        "given: [['1 m', '2 m'], ['1 m', '2 m']]; accepted: two opposite corners, [[x, y], [x, y]]",
    ),
    "a floor that is a line": (
        [top(FLOOR, ("[5 m, 6 m]", "[1 m, 6 m]"))],
        "floors[up].area: the area has no size: its corners share a coordinate; "
        "given: [['1 m', '2 m'], ['1 m', '6 m']]; accepted: two opposite corners, [[x, y], [x, y]]",
    ),
    "source changes in a wall": (
        [top("source_changes_at: {at: [8 m, 0 m, 1 m]}\n")],
        "source_changes_at.at: the place lies inside the obstacle wall; given: ['8 m', '0 m', '1 m']; "
        "accepted: a point outside the obstacles",
    ),
    "a container in a wall": (
        [weld("guide_from: [8.1 m, 0 m, 1 m]")],
        "welds[W1].guide_from: the container lies inside the obstacle wall; given: ['8.1 m', '0 m', '1 m']; "
        "accepted: a point outside the obstacles",
    ),
    "a container in the pipe": (
        [weld("guide_from: [0.3 m, 0 m, 1.3 m]")],
        "welds[W1].guide_from: the container lies inside the pipe of W1; given: ['0.3 m', '0 m', '1.3 m']; "
        "accepted: a point outside it",
    ),
    "a container in the ground": (
        [weld("guide_from: [2 m, 0 m, -0.3 m]")],
        "welds[W1].guide_from: the container lies inside the weld's floor; given: ['2 m', '0 m', '-0.3 m']; "
        "accepted: z above 0 m",
    ),
    "a bend in a wall": (
        [weld("guide_from: [2 m, 0 m, 1 m]\n    guide_by: [[8 m, 0 m, 1 m]]")],
        "welds[W1].guide_by[0]: the bend lies inside the obstacle wall; given: ['8 m', '0 m', '1 m']; "
        "accepted: a point outside the obstacles",
    ),
    "bends from nowhere": (
        [weld("guide_by: [[2 m, 0 m, 1 m]]")],
        "welds[W1].guide_by: bends of a way that has no beginning; given: [['2 m', '0 m', '1 m']]; "
        "accepted: guide_from, where the container stands, too",
    ),
    "two welds at one spot": (
        [(TWO[0], TWO[1].replace("at: [0.3 m, 0 m]", "at: [0 m, 0 m]"))],
        "welds[W2].at: the weld lies where W1 lies; given: ['0 m', '0 m']; accepted: a spot 9 mm or more from it",
    ),
    "more than once round": (
        [weld("heading: 365 deg")],
        "welds[W1].heading: the value is too large; given: 365 deg; accepted: at most 360°",
    ),
    "a shift of a month": (
        [("ends: 2026-11-14T06:00Z", "ends: 2026-12-14T06:00Z")],
        "shift.ends: the shift lasts longer than a week; given: 2026-12-14T06:00Z; "
        "accepted: within a week of 2026-11-13T22:00:00+00:00",
    ),
    "more shifts of 12 h than a week of 168 h holds": (
        [("ends: 2026-11-14T06:00Z", "ends: 2026-11-14T10:00Z, per_week: 15")],
        "shift.per_week: so many shifts of 12 h do not fit into a week; given: 15; accepted: at most 14",
    ),
    "signed too late": (
        [top(SIGNED, ("on: 2026-11-13", "on: 2026-11-14"))],
        "signed[0].on: the agreement is signed after the shift begins; given: 2026-11-14; "
        "accepted: up to 2026-11-13, or left out",
    ),
    "a week below a shift": (
        [("per_shift: 60 uSv,", "per_shift: 60 uSv, per_week: 50 uSv,")],
        "limits.crew.per_shift: the limit per shift is above the one per week; given: 60 uSv; "
        "accepted: at most that per week, 50 µSv",
    ),
    # UK public: 1 mSv per year (the profile's own figure)
    "a shift above the profile's year": (
        [("limit: {profile: uk public}", "limit: {profile: uk public, per_shift: 2 mSv}")],
        "places[office].limit.per_shift: the limit per shift is above the one per year; given: 2 mSv; "
        "accepted: at most that per year, 1 mSv",
    ),
}


@pytest.mark.parametrize("name", CASES)
def test_one_clear_message(name: str) -> None:
    edits, message = CASES[name]
    place, told = refusal(*edits).split(": ", 1)
    assert re.fullmatch(r"t\.yaml:\d+", place)
    assert told == message


def test_a_dose_of_this_year_may_be_none_yet() -> None:
    read = order(("role: radiographer}", "role: radiographer, dose_this_year: 0 mSv}"))
    assert read.crew[1].dose_this_year_Sv == 0.0
    assert "dose_this_year: the value is too small" in refusal(
        ("role: radiographer}", "role: radiographer, dose_this_year: -1 mSv}")
    )


def test_swapped_legs_are_refused_however_the_order_is_made() -> None:
    legs = of.kit()["legs"][0]
    with pytest.raises(ValueError, match="shortest reach"):
        of.order(kit=of.kit(legs=[{**legs, "reach_min_m": 0.95, "reach_max_m": 0.45}]))


def test_holes_are_counted_within_the_reach() -> None:
    """150 to 500 mm by 10 mm: 36 holes; where both ends are one: 1."""
    made: Order = of.order()
    legs = made.kit.legs[0]
    assert hole_count(legs) == 36
    assert hole_count(legs.model_copy(update={"reach_max_m": 0.15})) == 1
    assert hole_count(legs.model_copy(update={"reach_min_m": 0.95})) == 0
    assert math.isclose(legs.lean_max_rad, math.radians(40))
