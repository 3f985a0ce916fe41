"""What exposures cover of a weld: growth against worked examples, ends by film, beam and density, gaps, findings."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from exposure_cases import MOMENT, built, candidate, order
from halflayer.base.serial import from_json, to_json
from halflayer.exposure import covered, paths, scatter, whole_weld
from halflayer.exposure.covered import FARTHER, STEP_RAD, TURN, gaps
from halflayer.exposure.result import Coverage, Covered, Exposure
from halflayer.exposure.time import expose
from halflayer.exposure.whole_weld import shots_needed, with_more_shots, with_rule
from halflayer.order.models import Order
from halflayer.order.weld import Override
from halflayer.sheet.unrolled import unrolled
from halflayer.technique.choose import choose_technique
from halflayer.technique.result import Candidate
from order_factory import one_weld

DEG = math.pi / 180
WIDE = (0.6, 4.4)  # densities that end nothing here


@pytest.fixture(autouse=True)
def no_monte_carlo(monkeypatch: pytest.MonkeyPatch) -> None:
    """Stands in for the Monte Carlo: scatter half of the primary in the middle, everywhere."""

    def half(shot: Any, scene: Any, points: Any, lines: Any, *, seed: int, batches: int, **_: Any) -> Any:
        at = np.array([p.at for p in points])
        primary = paths.primary_kerma(scene, shot.source_at, at, *lines)
        return np.full(len(points), 0.5 * float(np.median(primary))), np.zeros(len(points))

    monkeypatch.setattr(scatter, "film_scatter", half)


def run(made: Order, way: Candidate) -> Exposure:
    return expose(made, made.welds[0], way, built(made, way), moment=MOMENT)


def pipe(**more: Any) -> Order:
    return order(od_m=0.1683, wall_m=0.00711, cap_m=0.001, **{"sheet": (0.1, 0.6)} | more)


def strap(made: Order, shots: int = 5, **more: Any) -> Candidate:
    way = candidate(
        made,
        "strap",
        standoff_m=0.4317,
        shots=shots,
        evaluated_rad=2 * math.pi / shots,
        aperture="a40",
        density=WIDE,
    )
    return replace(way, **more)


@pytest.mark.parametrize(("growth", "half_deg"), [(0.2, 36.9), (0.1, 27.2)], ids=["N4 class A", "N4 class B"])
def test_N4_source_432_mm_outside(growth: float, half_deg: float) -> None:
    """OD 168.3, t 7.11, source 432 mm outside: half angle 36.9 (A), 27.2 degrees (B), geometry of Annex A's basis.

    Tolerance: the step of two degrees to which a stretch is known (it ends at its last covered place).
    """
    got = run(pipe(), strap(pipe(), growth_max=growth)).coverage
    assert got is not None
    one = got.covered[0]
    assert one.ends == ("growth of the crossed wall",) * 2
    assert half_deg - 2.0 <= one.length_rad / 2 / DEG <= half_deg + 0.05


def test_N4_number_of_exposures_closes_the_turn_and_one_less_does_not() -> None:
    """The same example: five exposures (A)."""
    made = pipe()
    five = run(made, strap(made, 5, growth_max=0.2)).coverage
    four = run(made, strap(made, 4, growth_max=0.2))
    assert five is not None and five.uncovered == ()
    assert four.coverage is not None and len(four.coverage.uncovered) == 4
    (stop,) = (f for f in four.findings if "covered by no exposure" in f.text)
    assert stop.level == "stop" and "growth of the crossed wall" in stop.text
    assert stop.relax[0].startswith("5 exposures in place of 4, 72 degrees apart")


def test_a_person_may_set_the_whole_weld_aside_with_a_reason() -> None:
    """Then the weld is planned, with a warning that tells what is not examined and who answers for it."""
    aside = Override(rule="whole weld shown", reason="spot examination by contract", by="level 3 examiner")
    made = pipe()
    weld = made.welds[0].model_copy(update={"overrides": (aside,)})
    four = strap(made, 4, growth_max=0.2)
    got = expose(made, weld, four, built(made, four), moment=MOMENT)
    assert not [f for f in got.findings if f.level == "stop"]
    (warning,) = (f for f in got.findings if "covered by no exposure" in f.text)
    assert warning.level == "warn" and "level 3 examiner: spot examination by contract" in warning.text
    rule = with_rule(weld, four, got).rules[-1]
    assert (rule.rule, rule.verdict) == ("whole weld shown", "overridden")
    assert "spot examination" in rule.reached and "degrees by none" in rule.reached
    whole = with_rule(weld, strap(made, growth_max=0.2), run(made, strap(made, growth_max=0.2))).rules[-1]
    assert whole.verdict == "holds" and whole.reached.startswith("the whole turn, judged sectors lap by ")


def test_no_number_of_exposures_helps_where_the_first_shows_nothing() -> None:
    """A film that is too dark everywhere is not mended by turning it: the finding names films instead."""
    made = order(od_m=0.0603, wall_m=0.012, sheet=(0.1, 0.24))
    way = candidate(made, "over")
    nothing = Coverage((), ((0.0, TURN),), STEP_RAD)
    assert shots_needed(way, nothing) is None
    (stop,) = whole_weld.findings(made.welds[0], way, nothing, on_film=True)
    assert any("two films" in r for r in stop.relax) and not any(
        "exposures in place" in r for r in stop.relax
    )


def test_double_images_are_turned_over_half_a_turn() -> None:
    """Two arcs of 70 degrees, opposite: by hand three exposures 60 degrees apart close the turn, two leave gaps."""
    way = candidate(order(), "over")
    arcs = tuple(Covered(1, w, a * DEG, 70 * DEG, ("", "")) for w, a in (("near", 325), ("far", 145)))
    found = Coverage(arcs, gaps([(c.start_rad, c.length_rad) for c in arcs]), STEP_RAD)
    one = replace(way, technique="DWDI in plane", shots=way.shots[:1])
    assert shots_needed(one, found) == 3
    single = replace(found, covered=arcs[:1])
    assert shots_needed(replace(one, technique="DWSI contact"), single) == 6  # one image: over the whole turn


def test_the_order_may_ask_for_more_exposures_than_the_code() -> None:
    """A code's count is the least; with `exposures` a strap and an ellipse take as many as the order says."""
    ways = choose_technique(*one_weld(exposures=5)).admissible
    assert ways and all(len(c.shots) >= 5 for c in ways) and len(ways[0].shots) == 5
    turns = np.diff([c.source_clock_rad for c in ways[0].shots]) % math.pi
    assert turns == pytest.approx(np.full(4, math.pi / 5), abs=1e-9)
    assert len(choose_technique(*one_weld()).admissible[0].shots) == 2


def test_a_short_sheet_ends_it() -> None:
    made = pipe(sheet=(0.06, 0.08))
    got = run(made, strap(made, growth_max=0.2)).coverage
    assert got is not None
    one = got.covered[0]
    # The ray through the crown falls on the film 4 mm farther out than the pipe: within two steps of half the sheet.
    assert one.ends == ("film", "film")
    assert one.length_rad / 2 == pytest.approx(0.04 / 0.0882, abs=2 * STEP_RAD)


def test_a_narrow_beam_ends_it() -> None:
    made = pipe()
    way = strap(made, growth_max=0.2)
    shots = built(made, way)
    narrow = [replace(b, half_angle_rad=4 * DEG) for b in shots]
    got = expose(made, made.welds[0], way, narrow, moment=MOMENT).coverage
    assert got is not None
    assert got.covered[0].ends == ("beam", "beam")
    # A ray 4 degrees off the axis passes it at 516 sin 4 = 36 mm: exit angle 4 + asin(36/84.15).
    exit_rad = 4 * DEG + math.asin(0.51585 * math.sin(4 * DEG) / 0.08415)
    assert got.covered[0].length_rad / 2 == pytest.approx(exit_rad, abs=2 * STEP_RAD)


def test_a_turned_exposure_is_looked_at_like_the_first() -> None:
    made = pipe()
    way = strap(made, growth_max=0.2)
    got = run(made, way).coverage
    assert got is not None
    for c in got.covered[1:]:
        turn = way.shots[c.exposure - 1].detector_clock_rad - way.shots[0].detector_clock_rad
        assert c.length_rad == got.covered[0].length_rad
        assert math.cos(c.start_rad - got.covered[0].start_rad - turn) == pytest.approx(1.0)


def test_a_turned_exposure_gives_the_same_when_looked_at_by_itself(monkeypatch: pytest.MonkeyPatch) -> None:
    made = pipe()
    way = strap(made, growth_max=0.2)
    quick = run(made, way).coverage
    monkeypatch.setattr(covered, "_alike", lambda one, other: False)
    slow = run(made, way).coverage
    assert quick is not None and slow is not None
    for a, b in zip(quick.covered, slow.covered, strict=True):
        assert (a.exposure, a.wall, a.ends) == (b.exposure, b.wall, b.ends)
        assert a.length_rad == pytest.approx(b.length_rad)
        assert math.cos(a.start_rad - b.start_rad) == pytest.approx(1.0)


def test_double_image_covers_both_walls_about_the_beam() -> None:
    made = order(wall_m=0.003)
    way = candidate(made, "over", shots=3, density=WIDE)
    got = run(made, way).coverage
    assert got is not None and got.uncovered == ()
    first = [c for c in got.covered if c.exposure == 1]
    assert {c.wall for c in first} == {"source-side wall", "film-side wall"}
    for c in first:
        assert c.length_rad >= 60 * DEG - 1e-9  # what each of three judges on each wall
        middle = c.start_rad + c.length_rad / 2
        assert abs(math.sin(middle)) < 0.05  # about the beam: clock 0 and 180


def test_density_ends_it_and_is_said() -> None:
    """2.0 to 2.4 is narrower than crown and flank of one place differ here: nothing is covered."""
    made = order(cap_m=0.003)
    got = run(made, candidate(made, "over", density=(2.0, 2.05)))
    assert got.coverage is not None
    assert sum(length for _, length in got.coverage.uncovered) == pytest.approx(2 * math.pi)


def test_a_panoramic_shot_covers_the_turn() -> None:
    made = order(od_m=0.3238, wall_m=0.0103)
    got = run(made, candidate(made, "bore", standoff_m=0.0, shots=1)).coverage
    assert got is not None
    assert [(c.wall, c.length_rad, c.ends) for c in got.covered] == [("wall", 2 * math.pi, ("", ""))]
    assert got.uncovered == ()


def test_result_survives_json() -> None:
    got = run(pipe(), strap(pipe(), 4, growth_max=0.2))
    assert from_json(Exposure, to_json(got)) == got


def test_an_exposure_ends_where_it_was_not_looked_at_farther() -> None:
    got = run(pipe(), strap(pipe(), 8)).coverage
    assert got is not None and got.covered[0].ends == (FARTHER, FARTHER)
    assert got.covered[0].length_rad / DEG == pytest.approx(45 + 2 * 30, abs=3.0)


class TestGaps:
    def test_none(self) -> None:
        assert gaps([(0.0, 2 * math.pi)]) == ()
        assert gaps([(5.0, 4.0), (2.0, 3.5)]) == ()

    def test_all(self) -> None:
        assert gaps([]) == ((0.0, 2 * math.pi),)

    def test_over_zero(self) -> None:
        """Covered 10 to 350 degrees: the gap of 20 degrees begins at 350."""
        ((start, length),) = gaps([(10 * DEG, 340 * DEG)])
        assert (start / DEG, length / DEG) == pytest.approx((350.0, 20.0))

    def test_lengths_make_up_the_turn(self) -> None:
        rng = np.random.default_rng(7)
        for _ in range(200):
            arcs = [(float(rng.uniform(0, 7)), float(rng.uniform(0, 2))) for _ in range(4)]
            clock = np.linspace(0, 2 * math.pi, 7201)[:-1]
            inside = np.zeros(len(clock), dtype=bool)
            for a, length in arcs:
                inside |= (clock - a) % (2 * math.pi) <= length
            left = sum(length for _, length in gaps(arcs))
            assert left == pytest.approx(2 * math.pi * (1 - inside.mean()), abs=0.02)


def test_the_drawing_shows_what_is_covered_and_what_is_not() -> None:
    way = strap(pipe(), 4, growth_max=0.2)
    got = run(pipe(), way).coverage
    drawn, height = unrolled(way, got, width_mm=90.0)
    plain, lower = unrolled(way, width_mm=90.0)
    assert drawn.count('class="uncovered"') >= 4 and 'class="uncovered"' not in plain
    assert drawn.count('class="covered"') >= 4 and height > lower


def test_the_same_way_is_offered_with_as_many_exposures_as_close_the_turn() -> None:
    """Each exposure shows 50 degrees about its own film: with laps of 10 mm on 168.3 mm, 6.81 degrees, nine close the
    turn (360 / (50 - 6.81) = 8.3), by hand."""
    made, weld = one_weld(od=168.3, wall=7.1)
    way = next(c for c in choose_technique(made, weld).admissible if c.technique == "DWSI contact")
    arcs = tuple(
        Covered(n, "wall", (s.detector_clock_rad - 25 * DEG) % TURN, 50 * DEG, ("too light", "too light"))
        for n, s in enumerate(way.shots, start=1)
    )
    found = Coverage(arcs, gaps([(c.start_rad, c.length_rad) for c in arcs]), STEP_RAD)
    assert found.uncovered and len(way.shots) < 9
    exposure = replace(run(pipe(), strap(pipe())), coverage=found)
    more = with_more_shots(made, weld, way, exposure)
    assert more is not None and len(more.shots) == 9
    assert (more.arrangement, more.head, more.detector) == (way.arrangement, way.head, way.detector)
    whole = tuple(Covered(n, "wall", 0.0, TURN, ("", "")) for n in range(1, len(way.shots) + 1))
    assert with_more_shots(made, weld, way, replace(exposure, coverage=Coverage(whole, (), STEP_RAD))) is None
