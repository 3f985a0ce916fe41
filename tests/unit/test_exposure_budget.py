"""Time budget of a weld and of a shift, trial and reshoots, and thirty days of decay."""

from __future__ import annotations

import math
from datetime import timedelta
from typing import Any

import pytest

from exposure_cases import MOMENT, built, candidate, film, order, without_monte_carlo
from halflayer.base.serial import from_json, to_json
from halflayer.exposure.budget import (
    FIRST_HOME,
    FIRST_READ,
    FIRST_SURVEY,
    LAST_READ,
    RESHOOTS,
    TRIAL,
    TimeBudget,
    before_s,
    ropers,
    sheets_for,
    shift_budget,
    shift_findings,
    time_budget,
    wants_trial,
)
from halflayer.exposure.decay_days import decay_days
from halflayer.exposure.result import Exposure
from halflayer.exposure.time import expose
from halflayer.order.models import Order
from halflayer.physics import nuclides
from order_cases import order as read
from order_cases import refusal


@pytest.fixture(autouse=True)
def no_monte_carlo(monkeypatch: pytest.MonkeyPatch) -> None:
    without_monte_carlo(monkeypatch)


def with_allowance(made: Order, **fields: Any) -> Order:
    return Order.from_json(made.as_json() | {"allowance": fields})


def run(made: Order, **way: Any) -> tuple[TimeBudget, Exposure]:
    chosen = candidate(made, **way)
    got = expose(made, made.welds[0], chosen, built(made, chosen), moment=MOMENT)
    doses = [("Ada", 3e-6), ("Ben", None)]
    return time_budget(
        made,
        made.welds[0],
        chosen,
        got,
        mounting_s=480.0,
        reset_s=made.crew_times.reset_s,
        repeated_doses=doses,
    ), got


class TestWeld:
    def test_steps_add_up_by_hand(self) -> None:
        """Three exposures, a trial, 10 % reshoots; crew times and head as in the order (travel 1 s)."""
        budget, got = run(order())
        t = [float(s.seconds.value or 0) for s in got.shots]
        c = order().crew_times
        one = 2 * 1.0 + 2 * c.walk_s + c.survey_s + c.film_change_s
        planned = c.set_up_s + 480.0 + sum(t) + 3 * one + 2 * c.reset_s + 480.0
        trial = t[0] + one + 900.0
        again = 1 * (sum(t) / 3 + one + c.reset_s)  # 0.3 of one is a whole one
        assert budget.total_s == pytest.approx(planned + trial + again, rel=1e-12)
        assert budget.trial_s == pytest.approx(trial)
        assert (budget.planned, budget.exposures) == (3, 5)

    def test_films_are_whole_sheets(self) -> None:
        budget, _ = run(order())
        assert budget.films == (("F1", 5),)  # 3 planned, 1 trial, 1 shot again

    def test_doses_grow_with_the_exposures(self) -> None:
        budget, _ = run(order())
        ada, ben = budget.extra_doses
        assert ada.extra_Sv == pytest.approx(3e-6 * 2 / 3)
        assert ben.extra_Sv is None

    def test_a_calibrated_film_needs_no_trial(self) -> None:
        budget, _ = run(order(calibration=0.9))
        assert not budget.trial and budget.trial_s == 0.0 and TRIAL not in [s.what for s in budget.steps]

    def test_nothing_allowed_is_what_is_planned(self) -> None:
        made = with_allowance(order(), trial="never", reshoots=0.0, take_down_s=0.0)
        budget, got = run(made)
        assert budget.exposures == budget.planned == 3 and budget.factor == 1.0
        assert {TRIAL, RESHOOTS, "taking down"}.isdisjoint(s.what for s in budget.steps)
        assert [d.extra_Sv for d in budget.extra_doses] == [0.0, None]

    def test_without_a_trial_the_first_film_is_waited_for(self) -> None:
        """The sheets ask for exposure 1 to be read before 2: 15 min where the order states nothing, by hand more."""
        budget, _ = run(with_allowance(order(), trial="never"))
        bare, _ = run(with_allowance(order(), trial="never", processing_s=0.0))
        assert FIRST_READ in [s.what for s in budget.steps] and budget.wait_s == 900.0
        assert budget.total_s - bare.total_s == pytest.approx(900.0)
        assert FIRST_READ not in [s.what for s in bare.steps]

    def test_the_last_films_are_waited_for_only_where_they_are_accepted_before_taking_down(self) -> None:
        """15 min of the order, or its own 20 min, by hand; of a weld of one exposure the first film is the last."""
        plain, _ = run(with_allowance(order(), trial="never"))
        for more, seconds in (({}, 900.0), ({"last_films_s": 1200.0}, 1200.0)):
            made = with_allowance(order(), trial="never", accepted_before_taking_down=True, **more)
            budget, _ = run(made)
            assert budget.last_wait_s == seconds and budget.total_s - plain.total_s == pytest.approx(seconds)
            assert [s.what for s in budget.steps][-2:] == [LAST_READ, "taking down"]
        assert LAST_READ not in [s.what for s in plain.steps] and plain.last_wait_s == 0.0

    def test_always(self) -> None:
        made = with_allowance(order(calibration=0.9), trial="always")
        assert wants_trial(made, made.detectors[0])

    def test_a_certain_dose_figure_needs_no_trial(self) -> None:
        made = order()
        assert not wants_trial(made, film(dose_uncertainty=0.2))
        assert wants_trial(made, film(dose_uncertainty=0.21))

    def test_panoramic_films_go_round(self) -> None:
        """324 mm pipe: 324 + 2 x 4 = 332 mm across the film, 1042 mm round, over 390 mm each: three sheets."""
        made = order(od_m=0.3238, wall_m=0.0103)
        way = candidate(made, "bore", standoff_m=0.0, shots=1)
        assert sheets_for(made, made.welds[0], way) == 3
        assert sheets_for(made, made.welds[0], candidate(made)) == 1

    def test_survives_json(self) -> None:
        budget, _ = run(order())
        assert from_json(TimeBudget, to_json(budget)) == budget


class TestShift:
    def test_one_trial_for_a_film(self) -> None:
        budget, _ = run(order())
        got = shift_budget(order(), [("W1", "F1", budget), ("W2", "F1", budget), ("W3", "F2", budget)])
        # The second weld on the film shoots no trial and waits 15 min, the order's default, for its exposure 1.
        again = budget.total_s - budget.trial_s + 900.0
        assert [s for _, s in got.welds] == pytest.approx([budget.total_s, again, budget.total_s])
        assert got.total_s == pytest.approx(2 * budget.total_s + again)

    def test_fits_or_warns(self) -> None:
        budget, _ = run(order())
        few = shift_budget(order(), [("W1", "F1", budget)])
        many = shift_budget(order(), [(f"W{n}", "F1", budget) for n in range(40)])
        assert few.fits and not many.fits and few.shift_s == 36_000.0
        assert [f.level for f in shift_findings(few)] == ["note"]
        (warning,) = shift_findings(many)
        assert warning.level == "warn" and "a second team" in warning.relax
        assert shift_findings(shift_budget(order(), [])) == []


class TestDecay:
    def test_a_half_life_doubles_the_times(self) -> None:
        """Ir-192, 73.8 d by the table: after that many days half the activity; 30 d leave 2^(-30/73.8) = 0.7545."""
        made = order(nuclide="Ir-192")
        _, got = run(made)
        half_life_d = nuclides.nuclide("Ir-192").half_life_s / 86_400.0
        assert half_life_d == pytest.approx(73.83, abs=0.05)  # isotope decay tables quote 73.83 d
        rows = decay_days("Ir-192", got, moment=MOMENT)
        assert [r.day for r in rows] == list(range(31)) and rows[30].when == MOMENT + timedelta(days=30)
        first = [float(s.seconds.value or 0) for s in got.shots]
        assert rows[0].seconds == pytest.approx(first) and rows[0].factor == 1.0
        assert rows[30].factor == pytest.approx(2 ** (30 / half_life_d), rel=1e-9)
        assert rows[30].activity_Bq * rows[30].seconds[0] == pytest.approx(
            rows[0].activity_Bq * rows[0].seconds[0]
        )

    def test_D1_a_week_of_iridium(self) -> None:
        """Isotope decay tables: Ir-192, 100 Ci, 7 d later 93.64 Ci (tabulated factor 0.9364)."""
        made = order(nuclide="Ir-192")
        _, got = run(made)
        rows = decay_days("Ir-192", got, moment=MOMENT)
        assert rows[7].activity_Bq / rows[0].activity_Bq == pytest.approx(0.9364, abs=1e-4)


class TestOrder:
    def test_read_and_kept(self) -> None:
        made = read(
            ("instruments:", "allowance: {trial: always, reshoots: 25 %, processing: 12 min}\ninstruments:")
        )
        assert (made.allowance.reshoots, made.allowance.processing_s) == (0.25, 720.0)
        assert Order.from_json(made.as_json()) == made
        assert math.isclose(read().allowance.reshoots, 0.10)

    @pytest.mark.parametrize(
        ("line", "message"),
        [
            ("{trial: sometimes}", "allowance.trial: not one of the possible values; given: sometimes"),
            ("{reshoots: 120 %}", "allowance.reshoots: the value is too large"),
            ("{processing: 12}", "allowance.processing:"),
            ("{reshoot: 10 %}", "allowance.reshoot: unknown field"),
        ],
    )
    def test_bad_input(self, line: str, message: str) -> None:
        assert message in refusal(("instruments:", f"allowance: {line}\ninstruments:"))


@pytest.mark.parametrize(
    ("times", "roles", "expected"),
    [
        ({}, ("sentry",), (0.0, 0.0, 0.0)),
        ({"moving_s": 120.0}, ("sentry",), (120.0, 0.0, 0.0)),
        ({"roping_s": 360.0, "search_s": 120.0}, ("sentry",), (0.0, 0.0, 120.0)),  # roped beside setting up
        (
            {"roping_s": 1200.0, "search_s": 120.0},
            ("sentry",),
            (0.0, 1200.0 - 600.0 - 480.0, 120.0),
        ),  # by hand
        ({"roping_s": 360.0, "search_s": 120.0}, ("radiographer",), (0.0, 360.0, 120.0)),  # nobody beside
    ],
)
def test_roping_goes_on_beside_setting_up_where_somebody_is_free_and_the_search_follows(
    times: dict[str, float], roles: tuple[str, ...], expected: tuple[float, ...]
) -> None:
    data = order().as_json()
    data["crew_times"] |= {"set_up_s": 600.0} | times
    data["crew"] = [data["crew"][0], *({"id": f"X{n}", "name": "X", "role": r} for n, r in enumerate(roles))]
    made = Order.from_json(data)
    assert before_s(made, 480.0) == expected
    assert ropers(made) == (("X",) if "sentry" in roles else ())


def test_the_first_survey_is_a_step_of_its_own_by_hand() -> None:
    """8 readings of 10 s and a way that no speed makes shorter than 8 x 30 s: 320 s with the source out. After it the
    source's way out and home, two walks of 20 s, a survey of 60 s, which the step of the source out does not hold.

    Not stated, neither is a step. No outside source: the sum of the order's times.
    """
    made = order()
    times = {
        "first_survey_points": 8,
        "reading_s": 10.0,
        "reading_way_s": 30.0,
        "survey_speed_m_s": 900.0,
        "walk_s": 20.0,
        "survey_s": 60.0,
    }
    data = made.as_json()
    stated = Order.from_json(data | {"crew_times": data["crew_times"] | times})
    budget, got = run(stated)
    travel = next(s.each_s for s in budget.steps if s.what == "source on its way")
    found = {s.what: s.total_s for s in budget.steps}
    assert found[FIRST_SURVEY] == pytest.approx(320) == got.first_out_s
    assert found[FIRST_HOME] == pytest.approx(2 * travel + 40 + 60 + stated.crew_times.film_change_s)
    assert not {FIRST_SURVEY, FIRST_HOME} & {s.what for s in run(made)[0].steps}
    assert from_json(Exposure, to_json(got)) == got
