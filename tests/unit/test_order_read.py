"""Reading a work order: SI at the door, every kind of wrong entry told with line, field, given and accepted."""

from __future__ import annotations

import time
from datetime import UTC, datetime

import pytest

from halflayer.base.errors import InputError
from halflayer.order import profiles
from halflayer.order.models import Order
from halflayer.order.read import parse_order, read_order
from halflayer.physics import materials
from order_cases import EXAMPLES, SMALL, changed, order, refusal, refusals


def test_small_order_in_si() -> None:
    read = order()
    weld = read.welds[0]
    assert weld.pipe.outer_diameter_m == 0.0603
    assert weld.pipe.wall == 0.00554
    assert weld.right.distance_m == 0.4
    assert read.sources[0].activity_Bq == 2e12
    assert read.sources[0].on == datetime(2026, 11, 2, tzinfo=UTC)
    assert read.limits.barrier.rate_Sv_s == pytest.approx(7.5e-6 / 3600, rel=1e-15)
    assert read.limits.barrier.basis.startswith("UK HSE consent")
    assert read.places[0].limit is not None
    assert read.places[0].limit.per_year_Sv == 1e-3
    assert read.heads[0].apertures[0].half_angle_rad == pytest.approx(0.24434609527920614, rel=1e-15)
    assert read.detectors[0].dose_uncertainty == 0.2


@pytest.mark.parametrize(
    ("edits", "message"),
    [
        pytest.param(
            [("    height: 1.3 m\n", "    height: 1.3 m\n    hieght: 2 m\n")],
            "t.yaml:52: welds[W1].hieght: unknown field, did you mean height or right?; given: 2 m; "
            "accepted: id, kind, pipe, cap, contents, insulation, clearances, at, height, floor_level, "
            "floor_material, floor_thickness, runs, heading, left, right, access_inside, obstacles, code, class, iqi, "
            "sources, placements, barrier_within, density, exposures, overrides, guide_from, guide_by, way_kept_by, "
            "hoist_from, flaws, repair, acceptance, testing, procedure, made, note",
            id="unknown field",
        ),
        pytest.param(
            [("    height: 1.3 m\n", "    height: 1.3 m\n    made: {joint: J1, welder: K4}\n")],
            "t.yaml:52: welds[W1].made.welder: unknown field; given: K4; accepted: joint, spool, stamp",
            id="unknown field of who made a weld",
        ),
        pytest.param(
            [("    height: 1.3 m\n", "    height: 1.3 m\n    made: M9\n")],
            "t.yaml:52: welds[W1].made: fields are wanted; given: M9; "
            "accepted: `name: value` for joint, spool, stamp",
            id="a stamp alone",
        ),
        pytest.param(
            [("welds:\n", "films_read: {by: Ada Brackwater, second: 'Ada Brackwater (invented)'}\nwelds:\n")],
            "t.yaml:46: films_read.second: the second reader is the first one; given: Ada Brackwater (invented); "
            "accepted: another person, or left out",
            id="second reader who is the first",
        ),
        pytest.param(
            [
                (
                    "welds:\n",
                    "hold_points: {report: {by: quality office, kept: 10 years, years: 10}}\nwelds:\n",
                )
            ],
            "t.yaml:46: hold_points.report.years: unknown field; given: 10; "
            "accepted: kind, by, call_by, when, notice, signed, document, written_by, kept",
            id="unknown field of the report",
        ),
        pytest.param(
            [("activity: 2 TBq, on", "activity: 5 mm, on")],
            "t.yaml:18: sources[SE-1].activity: the unit 'mm' does not measure activity; given: 5 mm; "
            "accepted: 2.1 TBq, 850 GBq or 40 Ci",
            id="wrong unit",
        ),
        pytest.param(
            [("activity: 2 TBq, on", "activity: 2, on")],
            "t.yaml:18: sources[SE-1].activity: the unit is missing; given: 2; accepted: 2.1 TBq, 850 GBq or 40 Ci",
            id="no unit",
        ),
        pytest.param(
            [("activity: 2 TBq, on", 'activity: "1,5 TBq", on')],
            "t.yaml:18: sources[SE-1].activity: a decimal comma; write a point; given: 1,5 TBq; "
            "accepted: 2.1 TBq, 850 GBq or 40 Ci",
            id="decimal comma",
        ),
        pytest.param(
            [("    at: [0 m, 0 m]\n", "    at: [0 m, 3,5 m]\n")],
            "t.yaml:50: welds[W1].at: a decimal comma, which parts the value inside [] and {}; write a point; "
            "given: ['0 m', 3, '5 m']; accepted: such as 3.5 m",
            id="decimal comma in a list",
        ),
        pytest.param(
            [("    at: [0 m, 0 m]\n", "    at: [0 m, 3 m, 5 m]\n")],
            "t.yaml:50: welds[W1].at: the list is too long; given: ['0 m', '3 m', '5 m']; accepted: at most 2",
            id="long list",
        ),
        pytest.param(
            [("wall: 5.54 mm", "wall: -5.54 mm")],
            "t.yaml:48: welds[W1].pipe.wall: the value is too small; given: -5.54 mm; accepted: above 0",
            id="negative wall",
        ),
        pytest.param(
            [("wall: 5.54 mm", "wall: 31 mm")],
            "t.yaml:48: welds[W1].pipe.wall: the wall is half the outside diameter or more; given: 31 mm; "
            "accepted: a wall below 30.15 mm",
            id="wall over half the diameter",
        ),
        pytest.param(
            [(" on: 2026-11-02,", "")],
            "t.yaml:18: sources[SE-1].on: the activity has no date; given: nothing; "
            "accepted: the date of the certificate: 2026-03-14, 2026-03-14T22:00Z or 2026-03-14T22:00+01:00",
            id="activity without a date",
        ),
        pytest.param(
            [("on: 2026-11-02", "on: 2026")],
            "t.yaml:18: sources[SE-1].on: no date; given: 2026; "
            "accepted: 2026-03-14, 2026-03-14T22:00Z or 2026-03-14T22:00+01:00",
            id="a year is no date",
        ),
        pytest.param(
            [("on: 2026-11-02", "on: 2046-11-02")],
            "t.yaml:18: sources[SE-1].on: the certificate lies 61 half-lives from the shift; given: 2046-11-02; "
            "accepted: a date within 20 half-lives of 2026-11-13",
            id="a date that cannot be meant",
        ),
        pytest.param(
            [("nuclide: Se-75", "nuclide: Se75")],
            "t.yaml:18: sources[SE-1].nuclide: unknown nuclide; given: Se75; "
            "accepted: Se-75, Ir-192, Co-60, Yb-169, Cs-137",
            id="unknown nuclide",
        ),
        pytest.param(
            [("nuclides: [Se-75]", "nuclides: [Se-75, Xx-1]")],
            "t.yaml:21: heads[H1].nuclides[1]: unknown nuclide; given: Xx-1; "
            "accepted: Se-75, Ir-192, Co-60, Yb-169, Cs-137",
            id="unknown nuclide of a head",
        ),
        pytest.param(
            [("wall: 5.54 mm, material: steel", "wall: 5.54 mm, material: stainless steel 361")],
            "t.yaml:48: welds[W1].pipe.material: unknown material, did you mean stainless steel 321 or stainless steel "
            "316 or stainless steel 304?; given: stainless steel 361; accepted: own rubber, "
            + ", ".join(materials.names()),
            id="unknown material",
        ),
        pytest.param(
            [("outer_diameter: 60.3 mm, wall: 5.54 mm", "dn: 125, schedule: 20")],
            "t.yaml:48: welds[W1].pipe.schedule: NPS 5 / DN 125 has no such schedule; given: 20; accepted: "
            "5 (2.77 mm), 5S (2.77 mm), 10 (3.4 mm), 10S (3.4 mm), 40 (6.55 mm), STD (6.55 mm), 40S (6.55 mm), "
            "80 (9.53 mm), XS (9.53 mm), 80S (9.53 mm), 120 (12.7 mm), 160 (15.88 mm), XXS (19.05 mm)",
            id="schedule not in the table",
        ),
        pytest.param(
            [("    height: 1.3 m\n", "    height: 1.3 m\n    sources: [SE-2]\n")],
            "t.yaml:52: welds[W1].sources[0]: no such id among the order's sources; given: SE-2; accepted: SE-1",
            id="dangling source",
        ),
        pytest.param(
            [("    height: 1.3 m\n", "    height: 1.3 m\n    obstacles: [door]\n")],
            "t.yaml:52: welds[W1].obstacles[0]: no such id among the order's obstacles; given: door; accepted: wall",
            id="dangling obstacle",
        ),
        pytest.param(
            [("ends: 2026-11-14T06:00Z}", "ends: 2026-11-14T06:00Z, breaks: [{before: W9, lasts: 20 min}]}")],
            "t.yaml:10: shift.breaks[0].before: no such id among the order's welds; given: W9; accepted: W1",
            id="break before no weld",
        ),
        pytest.param(
            [("\nshift:", "\nto_sign: [{role: Level 3, name: Noone, phone: extension 1}]\nshift:")],
            "t.yaml:10: to_sign[0].name: nobody of that name signs or decides in the order; given: Noone; accepted: a "
            "name from agreed_by, agreed_for_contractor_by, code_checked_by, films_read.taken_down_accepted_by or "
            "hold_points",
            id="number of who signs nothing",
        ),
        pytest.param(
            [("\nshift:", "\nhold_points: {release: {kind: watch, by: Someone}}\nshift:")],
            "t.yaml:10: hold_points.release.kind: not one of the possible values; given: watch; accepted: hold, "
            "witness",
            id="hold point of no kind",
        ),
        pytest.param(
            [("\nshift:", "\ntesting: {extend: 100 %}\nshift:")],
            "t.yaml:10: testing.extend: unknown field, did you mean extent?; given: 100 %; accepted: grade, "
            "joint_preparation, welding_process, drawing, extent, stage, waiting_time, surface",
            id="unknown field of the testing",
        ),
        pytest.param(
            [("    height: 1.3 m\n", "    height: 1.3 m\n    placements: [bore]\n")],
            "t.yaml:52: welds[W1].placements[0]: no head of the order takes this placement; given: bore; "
            "accepted: lean-out, over",
            id="placement without a head",
        ),
        pytest.param(
            [("ends: 2026-11-14T06:00Z", "ends: 2026-11-13T06:00Z")],
            "t.yaml:10: shift.ends: the shift ends before it starts; given: 2026-11-13T06:00Z; "
            "accepted: after 2026-11-13T22:00:00+00:00",
            id="shift ends first",
        ),
        pytest.param(
            [("at: [10 m, 0 m, 1 m]", "at: [8.1 m, 0 m, 1 m]")],
            "t.yaml:12: places[office].at: the place lies inside the obstacle wall; given: ['8.1 m', '0 m', '1 m']; "
            "accepted: a point outside the obstacles",
            id="place inside an obstacle",
        ),
        pytest.param(
            [("at: [10 m, 0 m, 1 m]", "at: [0.3 m, 0 m, 1.31 m]")],
            "t.yaml:12: places[office].at: the place lies inside the pipe of W1; "
            "given: ['0.3 m', '0 m', '1.31 m']; accepted: a point outside it",
            id="place inside a pipe",
        ),
        pytest.param(
            [("at: [10 m, 0 m, 1 m]", "at: [10 m, 0 m, -2 m]")],
            "t.yaml:12: places[office].at: the place lies inside the floor of W1; given: ['10 m', '0 m', '-2 m']; "
            "accepted: z above 0 m, or the weld's floor_thickness (without it the floor is solid ground)",
            id="place in the ground",
        ),
        pytest.param(
            [("    at: [0 m, 0 m]\n", "    at: [8 m, 0 m]\n")],
            "t.yaml:50: welds[W1].at: the weld lies inside the obstacle wall; given: ['8 m', '0 m']; "
            "accepted: a weld outside the obstacles",
            id="weld inside an obstacle",
        ),
        pytest.param(
            [("height: 1.3 m", "height: 25 mm")],
            "t.yaml:51: welds[W1].height: the pipe would lie in the floor; given: 25 mm; "
            "accepted: the height of the pipe's axis, above 30.1 mm",
            id="pipe in the floor",
        ),
        pytest.param(
            [("width: 9 mm", "width: 90 mm")],
            "t.yaml:49: welds[W1].cap.width: the cap is wider than a weld of this pipe can be; given: 90 mm; "
            "accepted: up to 37.2 mm",
            id="cap too wide",
        ),
        pytest.param(
            [("  barrier: {profile: uk barrier}\n", "  barrier: {profile: barrier}\n")],
            "t.yaml:7: limits.barrier.profile: unknown profile of limits, did you mean us barrier or uk barrier "
            "or weekly barrier?; given: barrier; accepted: " + ", ".join(profiles.names()),
            id="unknown profile",
        ),
        pytest.param(
            [("per_shift: 60 uSv, ", "")],
            "t.yaml:9: limits.crew: a limit needs a value; given: {basis: ...}; "
            "accepted: rate, in_any_hour, per_exposure, per_shift, per_week or per_year; or a profile",
            id="limit without a value",
        ),
        pytest.param(
            [("- id: W1\n", "- id: order\n")],
            "t.yaml:47: welds[order].id: the id of a weld names its sheet, and no file of its own can have this "
            "name; given: order; accepted: another id, such as W1",
            id="weld id that is no file name",
        ),
        pytest.param(
            [("- id: W1\n", "- id: W 1/a\n")],
            "t.yaml:47: welds[W 1/a].id: this is no id; given: W 1/a; accepted: a letter or digit, then letters, "
            "digits and . _ + -; at most 40 characters",
            id="weld id with a slash",
        ),
        pytest.param(
            [("class: A\n", "class: C\n")],
            "t.yaml:5: class: not one of the possible values; given: C; accepted: A, B",
            id="class",
        ),
        pytest.param(
            [("at: [0 m, 0 m]", "at: [0 m]")],
            "t.yaml:50: welds[W1].at: value 2 of the list is missing; given: ['0 m']; accepted: 2 values or more",
            id="short list",
        ),
        pytest.param(
            [("areal_density: 20 kg/m2", "areal_density: 40 kg/m2")],
            "t.yaml:41: kit.blankets[BN].thickness: 40 kg/m2 in 6 mm would be 6667 kg/m3; own rubber without voids "
            "has 4000 kg/m3; given: 6 mm; accepted: at least 10 mm for this mass",
            id="blanket denser than its material",
        ),
        pytest.param(
            [("{W: 0.8, C: 0.15, H: 0.05}", "{W: 0.8, C: 0.5}")],
            "t.yaml:16: materials[0].mass_fractions: mass fractions of 'own rubber' add up to 1.3; accepted is 0.99 "
            "to 1.01; given: {W: ..., C: ...}; accepted: {W: 0.85, C: 0.15}, sum 1 within 1 %",
            id="mass fractions",
        ),
        pytest.param(
            [("half_angle: 14 deg", "half_angle: 95 deg")],
            "t.yaml:23: heads[H1].apertures[R14].half_angle: the value is too large; given: 95 deg; "
            "accepted: at most 80°",
            id="an opening of more than a half space",
        ),
        pytest.param(
            [("plates: [{id: PB,", "plates: [{id: bn,")],
            "t.yaml:41: kit.blankets[BN].id: the id is taken by one of the plates; given: BN; "
            "accepted: ids that differ by more than case",
            id="plates and blankets of one id",
        ),
        pytest.param(
            [("plates: [{id: PB,", "plates: [{id: F1,")],
            "t.yaml:39: kit.plates[F1].id: the id is taken by a film; given: F1; "
            "accepted: ids that differ by more than case",
            id="plates and a film of one id",
        ),
        pytest.param(
            [("density: 4 g/cm3, ", "")],
            "t.yaml:16: materials[0].density: a material of one's own needs its density; given: nothing; "
            "accepted: such as 7.85 g/cm3",
            id="own material without density",
        ),
        pytest.param(
            [("count: 12", "count: twelve")],
            "t.yaml:39: kit.plates[PB].count: a whole number is wanted; given: twelve; "
            "accepted: a whole number such as 12",
            id="count",
        ),
        pytest.param(
            [("kit:\n", "kit: [\n"), ("count: 9}\n", "count: 9}\n]\n")],
            None,
            id="wrong syntax",
        ),
    ],
)
def test_one_clear_message(edits: list[tuple[str, str]], message: str | None) -> None:
    found = refusal(*edits)
    if message is None:
        assert found.startswith("t.yaml:")
        assert "wrong YAML" in found
    else:
        assert found == message


def test_what_a_weld_names_and_is_not_there_is_told_with_its_other_faults() -> None:
    """A source that is not there, in a weld whose cap has no unit and beside a wrong limit: all three at once."""
    found = refusals(
        ("per_shift: 60 uSv, ", "per_shift: 60 blobs, "),
        ("width: 9 mm", "width: 90"),
        ("    height: 1.3 m\n", "    height: 1.3 m\n    sources: [SE-2]\n"),
    )
    assert [str(p).split(": ")[1] for p in found] == [
        "limits.crew.per_shift",
        "welds[W1].cap.width",
        "welds[W1].sources[0]",
    ]


def test_a_reference_that_is_no_id_is_told_once() -> None:
    found = refusals(("    height: 1.3 m\n", "    height: 1.3 m\n    sources: [SE 2]\n"))
    assert ["this is no id" in str(p) for p in found] == [True]


def test_a_decimal_comma_between_braces_is_named() -> None:
    """YAML reads {wall: 5,54 mm} as a bare 5 and a field called `54 mm`: both are told, the second by its cause."""
    unit, comma = map(str, refusals(("wall: 5.54 mm", "wall: 5,54 mm")))
    assert unit.startswith("t.yaml:48: welds[W1].pipe.wall: the unit is missing; given: 5; accepted: 346 mm")
    assert comma == (
        "t.yaml:48: welds[W1].pipe.54 mm: a decimal comma, which parts the value inside [] and {}; write a point; "
        "given: nothing; accepted: such as 3.5 m"
    )


def test_missing_limits_list_the_profiles() -> None:
    limits = SMALL[SMALL.index("limits:\n") : SMALL.index("\nshift:") + 1]
    message = refusal((limits, ""))
    assert message.startswith(
        "t.yaml:1: limits: no limit is stated, and none is assumed; given: nothing; accepted: values with"
    )
    for name in (
        "uk barrier (7.5 µSv/h rate)",
        "us barrier (20 µSv in any hour)",
        "eu public (1 mSv per year)",
    ):
        assert name in message
    one = refusal(("  crew: {per_shift: 60 uSv, basis: LR 1}\n", ""))
    assert one.startswith(
        "t.yaml:6: limits.crew: no limit is stated, and none is assumed; given: nothing; accepted: values with"
    )


def test_a_guess_is_a_question_beside_all_that_is_accepted() -> None:
    told = refusal(("order: T-1\n", "order: T-1\nfoo: 1\n"))
    assert (
        "t.yaml:2: foo: unknown field, did you mean floors?; given: 1; accepted: order, title, revision"
        in told
    )
    assert told.endswith("lap, welds")
    nothing = refusal(("material: steel}", "material: zzzz}"))
    assert "unknown material; given: zzzz; accepted: own rubber, air, vacuum" in nothing


def test_all_problems_at_once_in_the_order_of_the_file() -> None:
    found = refusals(
        ("activity: 2 TBq, on", "activity: 5 mm, on"),
        ("nuclides: [Se-75]", "nuclides: [Xe-75]"),
        ("wall: 5.54 mm", "wall: 60 mm"),
        ("class: A\n", ""),
        ("at: [10 m, 0 m, 1 m]", "at: [8.1 m, 0 m, 1 m]"),
        ("calibrated_until: 2027-03-31", "calibrated_until: soon"),
        ("ends: 2026-11-14T06:00Z", "ends: 2026-11-13T06:00Z"),
    )
    assert [p.field for p in found] == [
        "class",
        "shift.ends",
        "places[office].at",
        "sources[SE-1].activity",
        "heads[H1].nuclides[0]",
        "instruments[SM].calibrated_until",
        "welds[W1].pipe.wall",
    ]
    lines = [p.line or 0 for p in found]
    assert lines == sorted(lines)
    assert all(p.file == "t.yaml" for p in found)


def test_more_than_fifty_problems_are_cut_in_the_message() -> None:
    weld = SMALL[SMALL.index("  - id: W1") :]
    welds = "".join(
        weld.replace("W1", f"W{n}").replace("5.54 mm", "0 mm").replace("400 mm", "4") for n in range(2, 62)
    )
    with pytest.raises(InputError) as error:
        parse_order(SMALL + welds, file="t.yaml")
    assert len(error.value.problems) == 120
    assert str(error.value).count("\n") == 50
    assert str(error.value).endswith("... and 70 more problems")


@pytest.mark.parametrize(
    ("old", "new", "field"),
    [
        ("{id: P2, name: Tom,", "{id: p1, name: Tom,", "crew[p1].id"),
        ("{id: P2, name: Tom,", "{id: P2, name: ADA,", "crew[P2].name"),
    ],
)
def test_names_differ_by_more_than_case(old: str, new: str, field: str) -> None:
    message = refusal((old, new))
    assert message.startswith(
        f"t.yaml:44: {field}: the {field.rsplit('.', 1)[1]} is taken, in line 43; given: "
    )


def test_weld_ids_differ_by_more_than_case() -> None:
    weld = SMALL[SMALL.index("  - id: W1") :].replace("W1", "w1")
    with pytest.raises(InputError) as error:
        parse_order(SMALL + weld, file="t.yaml")
    (problem,) = error.value.problems
    assert (problem.line, problem.field, problem.given) == (54, "welds[w1].id", "w1")
    assert problem.problem == "the id is taken, in line 47"


def test_the_reference_to_a_wrong_item_is_not_told_as_dangling() -> None:
    found = refusals(
        ("activity: 2 TBq, on", "activity: 5 mm, on"),
        ("    height: 1.3 m\n", "    height: 1.3 m\n    sources: [SE-1]\n"),
    )
    assert [p.field for p in found] == ["sources[SE-1].activity"]


def test_numbers_serve_as_ids_and_schedules() -> None:
    read = order(
        ("- id: W1\n", "- id: 101\n"), ("outer_diameter: 60.3 mm, wall: 5.54 mm", "nps: 1/2, schedule: 160")
    )
    assert read.welds[0].id == "101"
    assert (read.welds[0].pipe.schedule, read.welds[0].pipe.outer_diameter_m) == ("160", 0.0213)


def test_a_place_below_a_slab_of_stated_thickness_is_fine() -> None:
    read = order(
        ("at: [10 m, 0 m, 1 m]", "at: [10 m, 0 m, -2 m]"),
        ("    height: 1.3 m\n", "    height: 1.3 m\n    floor_thickness: 0.3 m\n"),
    )
    assert read.places[0].at == (10.0, 0.0, -2.0)


def test_measured_wall_stands_beside_a_named_size() -> None:
    read = order(("outer_diameter: 60.3 mm, wall: 5.54 mm", "dn: 50, schedule: 80, wall: 5.1 mm"))
    assert (read.welds[0].pipe.outer_diameter_m, read.welds[0].pipe.wall_m) == (0.0603, 0.0051)


@pytest.mark.parametrize(
    ("solid", "message"),
    [
        (
            "{shape: sphere, material: lead, outer_radius: 45 mm}",
            "t.yaml:24: heads[H1].solids[0]: the lead stands in the beam between source and front face; given: "
            "{shape: ..., material: ..., outer_radius: ...}; "
            "accepted: a port painted after it, such as a frustum of air along -z",
        ),
        (
            "{shape: sphere, material: lead, outer_radius: 45 mm, wall: 20 mm}",
            "t.yaml:24: heads[H1].solids[0]: the lead stands in the beam between source and front face; given: "
            "{shape: ..., material: ..., outer_radius: ..., wall: ...}; "
            "accepted: a port painted after it, such as a frustum of air along -z",
        ),
        (
            "{shape: tube, material: lead, outer_radius: 60 mm}",
            "t.yaml:24: heads[H1].solids[0]: the sizes do not fit the shape; "
            "given: {shape: ..., material: ..., outer_radius: ...}; "
            "accepted: tube: outer_radius, length and, if hollow, wall",
        ),
        (
            "{shape: tube, material: lead, outer_radius: 60 mm, wall: 70 mm, length: 90 mm}",
            "t.yaml:24: heads[H1].solids[0].wall: the wall is thicker than the radius; given: 70 mm; "
            "accepted: a wall up to 60 mm",
        ),
    ],
)
def test_the_beam_must_leave_the_head(solid: str, message: str) -> None:
    leak = "leakage: {activity: 3 TBq, at_1m: 4 uSv/h}"
    assert refusal((leak, f"solids: [{solid}]")) == message


def test_a_port_lets_the_beam_out() -> None:
    solids = (
        "solids: [{shape: sphere, material: lead, outer_radius: 45 mm}, "
        "{shape: frustum, material: air, centre: [0, 0, -30 mm], axis: [0, 0, -1], radius_start: 2 mm, "
        "radius_end: 16 mm, length: 62 mm}]"
    )
    read = order(("leakage: {activity: 3 TBq, at_1m: 4 uSv/h}", solids))
    assert read.heads[0].solids is not None
    assert len(read.heads[0].solids) == 2


def test_shield_is_stated_once() -> None:
    both = "leakage: {activity: 3 TBq, at_1m: 4 uSv/h}\n    solids: []"
    assert "either as solids or as measured leakage, not both" in refusal(
        ("leakage: {activity: 3 TBq, at_1m: 4 uSv/h}", both)
    )


def test_duplicate_keys_are_told_with_the_rest() -> None:
    found = refusals(("class: A\n", "class: A\nclass: B\n"), ("activity: 2 TBq, on", "activity: 5 mm, on"))
    assert [(p.line, p.field) for p in found] == [(6, "class"), (19, "sources[SE-1].activity")]


def test_json_round_trip() -> None:
    read = order(("outer_diameter: 60.3 mm, wall: 5.54 mm", "dn: 50, schedule: 80"))
    assert Order.from_json(read.as_json()) == read


@pytest.mark.parametrize("name", ["tarn-mill.yaml", "one-weld-imperial.yaml"])
def test_examples_are_read_and_come_back_from_json(name: str) -> None:
    read = read_order(EXAMPLES / name)
    assert Order.from_json(read.as_json()) == read
    assert "invented" in (EXAMPLES / name).read_text(encoding="utf-8").lower()


def test_metric_and_imperial_give_the_same_order() -> None:
    """The conversion factors are exact by definition: inch 25.4 mm, pound 0.45359237 kg, curie 37 GBq."""
    imperial = order(
        ("activity: 2 TBq, on", "activity: 54.054054054054054 Ci, on"),
        ("outer_diameter: 60.3 mm, wall: 5.54 mm", "outer_diameter: 2.375 in, wall: 0.218 in"),
        ("per_shift: 60 uSv", "per_shift: 6 mrem"),
        ("height: 1.3 m", "height: 4 ft 3 in"),
        ("dose_for_density_2: 8 mGy", "dose_for_density_2: 0.8 rad"),
    )
    assert imperial.sources[0].activity_Bq == pytest.approx(2e12, rel=1e-12)
    assert imperial.welds[0].pipe.outer_diameter_m == 0.060325
    assert imperial.welds[0].pipe.wall_m == 0.0055372
    assert imperial.limits.crew.per_shift_Sv == 60e-6
    assert imperial.welds[0].height_m == pytest.approx(51 * 0.0254, rel=1e-15)
    assert imperial.detectors[0].dose_for_density_2_Gy == 8e-3


def test_reading_the_example_is_quick() -> None:
    read_order(EXAMPLES / "tarn-mill.yaml")
    start = time.perf_counter()
    read_order(EXAMPLES / "tarn-mill.yaml")
    assert time.perf_counter() - start < 2.0


def test_changed_helper_is_strict() -> None:
    with pytest.raises(AssertionError):
        changed(("no such text", ""))


@pytest.mark.parametrize("sources", ["[SE-2]", "SE-2"])
def test_an_unknown_source_is_told_with_every_other_fault(sources: str) -> None:
    """A weld that is wrong itself, fields missing and unknown elsewhere, an id without its list: all at once."""
    told = [
        p.field
        for p in refusals(
            ("    height: 1.3 m\n", f"    hieght: 2 m\n    sources: {sources}\n"), ("title:", "titel:")
        )
    ]
    assert {"title", "titel", "welds[W1].height", "welds[W1].hieght"} <= set(told)
    assert "welds[W1].sources[0]" in told
    assert ("welds[W1].sources" in told) is (sources == "SE-2")  # a list is wanted too
