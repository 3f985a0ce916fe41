"""What stops a weld is said of the place that the printed doses show as the worst, with its own figure."""

from __future__ import annotations

from dataclasses import replace

from halflayer.scene.fitting import Fitting
from halflayer.shielding.dose_findings import dose_findings
from halflayer.shielding.result import PointDose
from halflayer.shielding.size import Look, Sized

H = 3600.0
SIZED = Sized(
    fitting=Fitting(0, None, 14, "BN"),
    held=False,
    last=Look(5.04, "barrier 75 deg, 2 m", 0.03, {"from the wrap": 0.43}),
    enlarged=0,
    saturated=True,
    note="more layers do not help: the dose at barrier 75 deg, 2 m comes from the wrap (43%)",
)


def point(name: str, upper: float, ok: bool | None, limit: float = 7.5e-6 / H) -> PointDose:
    shares = {"from the wrap": 0.62, "straight from beam": 0.3}
    return PointDose(name, (1.0, 0.0, 1.0), upper / 2, 0.1, upper, True, limit, ok, shares)


def test_the_reason_names_the_worst_place_of_the_table_and_rounds_its_excess_up() -> None:
    """73.9 uSv/h of 7.5: 9.86 times the limit, said as 9.9; the sizing's own place is not named."""
    points = [
        point("barrier 285 deg, 2 m", 73.9e-6 / H, False),
        point("barrier 105 deg, 2 m", 68e-6 / H, False),
    ]
    (stop,) = dose_findings(SIZED, points, [])
    assert stop.level == "stop"
    assert stop.text == (
        "more layers do not help: with 0 plates and 14 layers the upper bound at barrier 285 deg, 2 m is 9.9 times the "
        "limit; the dose there comes from the wrap (62%), straight from beam (30%)"
    )


def test_where_no_printed_rate_breaks_the_sizing_is_said_to_have_found_it() -> None:
    (stop,) = dose_findings(SIZED, [point("barrier 285 deg, 2 m", 1e-6 / H, True)], [])
    assert "at barrier 75 deg, 2 m is 5.04 times the limit (in the sizing)" in stop.text


def test_what_would_make_it_go_is_said_by_how_much_and_by_whom() -> None:
    """9.9 times over: a source 9.9 times weaker, or the root of that, 3.15, times as far, rounded up to 3.2."""
    (stop,) = dose_findings(SIZED, [point("barrier 285 deg, 2 m", 73.9e-6 / H, False)], [])
    assert stop.relax[0] == "a source 9.9 times weaker (who holds its licence; the time grows as much)"
    assert "3.2 times the distance of barrier 285 deg, 2 m (inverse square; the adviser" in stop.relax[1]
    assert (
        "0 plates and 14 layers, of which more did not lower the dose: how much is not computed"
        in stop.relax[2]
    )
    assert "who owns the kit" in stop.relax[2]
    short = replace(SIZED, saturated=False, note="the whole stock does not hold the limits")
    (stop,) = dose_findings(short, [point("barrier 285 deg, 2 m", 73.9e-6 / H, False)], [])
    assert "how many is not computed, the search ends with the stock" in stop.relax[2]


def test_a_gauge_that_stays_where_it_is_is_not_lifted_by_people_who_keep_away() -> None:
    """7.4 of 2 uSv/h at a gauge: 42 uSv/h of 7.5 at the barrier are lifted by distance, the gauge is not."""
    ring = point("barrier 270 deg, 2 m", 42e-6 / H, False)
    gauge = point("Level gauge", 7.36e-6 / H, False, limit=2e-6 / H)
    (stop,) = dose_findings(SIZED, [ring, gauge], [])
    assert stop.relax[1].endswith("; DOES NOT LIFT: Level gauge (7.4 µSv/h of 2 µSv/h)")
    (alone,) = dose_findings(SIZED, [ring, point("Level gauge", 1e-6 / H, True, limit=2e-6 / H)], [])
    assert "DOES NOT LIFT" not in alone.relax[1]
