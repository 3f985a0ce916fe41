"""The first film: the window in which work goes on, the factor for another reading, and what the sheet says of both.

Against: gradients of ASTM E1815-08(2013)e1, Table 1 (a stored copy), and by hand.
"""

from __future__ import annotations

import io
import math
import re
from dataclasses import replace

import pytest
from pypdf import PdfReader

import plan_factory
from exposure_cases import candidate, film, order
from halflayer.base.result import Derived
from halflayer.exposure.budget import BudgetStep, TimeBudget, sheet_lap_m, sheets_for
from halflayer.exposure.film import film_curve
from halflayer.exposure.first_film import MOST_FACTOR, FirstFilm, first_film
from halflayer.exposure.result import Density, SecondFilm, ShotTime
from halflayer.exposure.two_films import Loading
from halflayer.order.models import Order
from halflayer.plan import Plan
from halflayer.sheet import pdf
from halflayer.sheet.compose import compose
from halflayer.sheet.figures import Show
from halflayer.sheet.first_film import first_row, first_words
from halflayer.sheet.log_table import log_data

FAST, SLOW = film(), film(id="F2", film_class="C3", dose_for_density_2_Gy=0.026)
BY_FAST, BY_SLOW = film_curve(FAST), film_curve(SLOW)


def shot(
    least: float, most: float, *, slow: tuple[float, float] | None = None, seconds: float = 100.0
) -> ShotTime:
    density = Density(2.5, least, most, 0.2, "weld crown, wall, 40 degrees from the middle", "beside the cap")
    second = SecondFilm("F2", Density(1.6, *slow, 0.2, "here", "there")) if slow else None
    return ShotTime(Derived("exposure_time", seconds, "s", 10.0), density, 1e-4, 0.3, 0.01, second=second)


def of(least: float, most: float, **more: object) -> FirstFilm:
    got = first_film(Loading(FAST, BY_FAST), candidate(order()), shot(least, most, **more))  # type: ignore[arg-type]
    assert got is not None
    return got


def test_at_the_upper_end_the_darkest_place_is_at_the_code_s_most() -> None:
    """From 2.30 to 3.00 the kermas have one ratio whatever the time: that of 4.0 over `most`."""
    got = of(2.3, 3.0)
    assert (got.least, got.planned) == (2.0, 2.3)
    ratio = BY_FAST.kerma_Gy(3.0) / BY_FAST.kerma_Gy(2.3)
    assert got.most is not None
    assert BY_FAST.kerma_Gy(4.0) / BY_FAST.kerma_Gy(got.most) == pytest.approx(ratio, rel=1e-9)
    assert got.goes_on(2.0) and got.goes_on(got.most - 0.01) and not got.goes_on(got.most + 0.01)
    assert not got.goes_on(1.99)


def test_factor_near_the_aim_is_that_of_the_gradient() -> None:
    """C5 has G = 3.8 at net 2 (E1815 Table 1, row II): 2.20 read for 2.25 wanted asks for 10^(0.05/3.8) = 1.031."""
    got = replace(of(2.25, 3.0), aim=2.25)
    assert got.gradient == pytest.approx(3.8)
    assert got.factor(2.20) == pytest.approx(10 ** (0.05 / 3.8), rel=0.002)
    assert got.factor(2.25) == pytest.approx(1.0)
    assert got.factor(1.5) > 1.0 > got.factor(3.5)


def test_a_film_whose_density_doubles_with_the_dose() -> None:
    """Linear film, G = 2.303 D: net 1 read for net 2 asks for twice the time (open training text: density doubles)."""
    straight = film_curve(film(film_class="C1", gradient_at_2=math.log(10) * 2))
    got = replace(of(2.3, 3.0), curve=straight, aim=2.25)
    assert got.factor(1.25) == pytest.approx(2.0, rel=0.03)


def test_two_films_are_bounded_by_the_fast_ones_lightest_and_the_slow_ones_darkest() -> None:
    made = candidate(order())
    loading = Loading(SLOW, BY_SLOW, FAST, BY_FAST)  # whichever the plan names first
    given = replace(shot(1.2, 3.0), second=SecondFilm("F1", Density(2.4, 2.1, 4.8, 0.2, "crown", "wall")))
    got = first_film(loading, made, given)
    assert got is not None and (got.detector, got.slow, got.planned) == ("F1", "F2", 2.1)
    assert got.most is not None
    grown = BY_FAST.kerma_Gy(got.most) / BY_FAST.kerma_Gy(2.1)
    assert float(BY_SLOW.density(BY_SLOW.kerma_Gy(3.0) * grown)) == pytest.approx(4.0, abs=1e-6)


def test_a_range_that_no_time_keeps_has_no_upper_end() -> None:
    got = of(2.0, 4.7)
    assert got.most is None and not got.goes_on(2.5)
    assert first_film(Loading(FAST, BY_FAST), candidate(order()), shot(0.3, 2.0)) is None  # below the curve


def test_factors_are_given_only_where_a_film_can_explain_them() -> None:
    found = of(2.3, 3.0).factors()
    assert found and all(1 / MOST_FACTOR <= f <= MOST_FACTOR for _, f in found)
    assert [f for _, f in found] == sorted((f for _, f in found), reverse=True)


@pytest.fixture(scope="module")
def plan() -> Plan:
    return plan_factory.plan()


def words(plan: Plan, weld: str) -> str:
    """All pages of a weld's sheet."""
    sheet = next(s for s in compose(plan) if s.file == f"{weld}.pdf")
    return " ".join(
        " ".join(p.extract_text().split()) for p in PdfReader(io.BytesIO(pdf.render(sheet))).pages
    )


def test_the_sheet_has_window_rule_and_curve(plan: Plan) -> None:
    on_paper = words(plan, "W-01")
    made = Order.from_json(plan.order)
    used = next(f for f in made.detectors)
    for part in (
        "First film",
        "goes on, the darkest then reads 4 or less",
        f"speed {1 / used.dose_for_density_2_Gy:.3g} per Gy",
        "base and fog 0.25",
        "gradient 4.1 at net 2, 6.8 at net 4",  # C4, E1815 Table 1, row I
        used.basis,
    ):
        assert part in on_paper, part


def test_the_trial_shot_is_named_once_for_a_film(plan: Plan) -> None:
    """The weld that comes first shoots it; the others are told whose factor to take."""
    made = Order.from_json(plan.order)
    budget = TimeBudget(
        (BudgetStep("setting up", 1, 600.0),), (("C4-10x24", 3),), 2, 3.0, True, (), "made up"
    )
    tried = replace(plan, welds=tuple(replace(w, budget=budget) for w in plan.welds))
    first, second = tried.welds[0], tried.welds[1]
    mine, other = first_words(tried, made, first, Show()), first_words(tried, made, second, Show())
    assert mine is not None and other is not None
    assert mine["name"] == "Trial shot" and mine["steps"][0].startswith(
        "Exposure 1 is the trial shot of C4-10x24"
    )
    assert f"is the first shot of {first.weld}: take its factor" in other["steps"][0]
    plain = first_words(plan, made, plan.welds[0], Show())
    assert plain is not None and plain["steps"][0].startswith("No trial shot planned for C4-10x24")
    assert first_row(tried, made, first, Show())[0]["label"] == "Trial shot"


def test_sheets_round_a_pipe_have_one_lap_everywhere(plan: Plan) -> None:
    """W-04, panoramic: n sheets of 240 mm laid evenly over the turn at the film lap by 240 mm less an n-th of it."""
    made = Order.from_json(plan.order)
    (w,) = (w for w in plan.welds if w.weld == "W-04")
    assert w.chosen is not None
    weld = made.weld("W-04")
    n = sheets_for(made, weld, w.chosen)
    turn = 2 * math.pi * (weld.pipe.od / 2 + w.chosen.geometry.object_to_detector_m - weld.pipe.wall)
    lap = sheet_lap_m(made, weld, w.chosen)
    assert n * 0.24 - n * lap == pytest.approx(turn) and lap >= 0.010
    sheet = next(s for s in compose(plan) if s.file == "W-04.pdf")
    film_row = next(r for r in sheet.data["settings"] if r["label"] == "Film")
    marking = {r["subject"]: r["what"] for r in sheet.data["back"]["marking"]}
    told = f"{math.floor(lap * 1000)} mm"
    assert f"{n} sheets" in film_row["note"] and f"lapping {told} each" in film_row["note"]
    assert f"lap {told}, 10 mm asked" in marking["overlap"]


def test_what_a_first_film_may_read_by_the_allowances_of_film_and_certificate() -> None:
    """20 % of the film and 8 % of the certificate are 21.5 % of the kerma. Near net 2 a C5 film rises by 3.8 per decade
    (E1815 Table 1, row II): log10(1.215) x 3.8 = 0.32 up, log10(1 / 0.785) x 3.8 = 0.40 down, to a tenth by hand."""
    low, high = of(2.3, 2.8).expected(0.20, 0.08)
    assert high - 2.3 == pytest.approx(0.32, abs=0.06)
    assert 2.3 - low == pytest.approx(0.40, abs=0.06)
    assert of(2.3, 2.8).expected(0.0) == pytest.approx((2.3, 2.3))


def test_the_sheet_says_which_range_covers_what() -> None:
    plan = plan_factory.plan()
    order_of, w = Order.from_json(plan.order), plan.welds[0]
    (row,) = first_row(plan, order_of, w, Show())
    assert "ends judged as dark (hold the verdict): go on" in row["note"] and "expected" in row["note"]
    (row,) = first_row(plan, order_of.model_copy(update={"clock_tolerance_rad": 0.0}), w, Show())
    assert "go on (by the code)" in row["note"]
    words = first_words(plan, order_of, w, Show())
    assert words is not None
    (told,) = [t for t in words["steps"] if t.startswith("Ranges: ")]
    film_of, source = order_of.detectors[0], order_of.sources[0]
    assert f"± {100 * film_of.dose_uncertainty:.0f} %" in told
    assert source.activity_uncertainty > 0.0
    assert f"± {100 * source.activity_uncertainty:.0f} %" in told
    assert "its size left out" in told


def test_a_code_that_bounds_the_density_at_the_indicator_has_it_in_verdict_and_log(plan: Plan) -> None:
    """T-282.2: from -15 to +30 % of the density at the indicator, that is 0.85 to 1.30 of it by hand."""
    made = Order.from_json(plan.order)
    plain = plan.welds[0]
    assert plain.chosen is not None
    bound = replace(plain, chosen=replace(plain.chosen, density_variation=(-0.15, 0.30)))
    got, without = first_words(plan, made, bound, Show()), first_words(plan, made, plain, Show())
    assert got is not None and without is not None
    (window,) = [t for t in got["steps"] if "goes on" in t]
    assert "the lightest not below 0.85, the darkest not above 1.30 of it, else the second IQI too" in window
    assert "below 0.85 or above 1.30 of that at every IQI" in got["steps"][4]
    assert not any("1.30" in t and "IQI" in t for t in without["steps"])
    for one, wanted in ((bound, ("0.85", "1.30")), (plain, ("", ""))):
        log = log_data(made, one)
        assert log is not None
        assert all(w in column for w, column in zip(wanted, log["read"], strict=True))
        assert any("of IQI" in column for column in log["read"]) is bool(wanted[0])


def test_what_nine_of_ten_films_read_and_how_many_fall_outside_are_two_sentences(plan: Plan) -> None:
    """9 of 10 is the range of the allowances, not of the window: with 20 % and 8 % some fall outside the window too."""
    words = first_words(plan, Order.from_json(plan.order), plan.welds[0], Show())
    assert words is not None
    (told,) = [t for t in words["steps"] if t.startswith("Ranges: ")]
    assert re.search(
        r"9 films of 10 will read \d\.\d to \d\.\d by film .*; about \d+ of 10 fall outside the window", told
    )


def test_a_light_film_in_the_window_stands_and_those_after_it_take_another_time() -> None:
    """Planned 2.3, least 2.0: below 2.15 nothing is left to the next films; our choice, no source."""
    got = of(2.3, 3.0)
    assert got.goes_on(2.0) and got.spare == pytest.approx(2.15)
    assert [d for d, _ in got.factors() if got.goes_on(d)] == [2.0, 2.1]
    assert dict(got.factors())[2.0] > dict(got.factors())[2.1] > 1.0
    assert of(2.05, 3.0).spare == 2.0  # nothing to tell apart between them
