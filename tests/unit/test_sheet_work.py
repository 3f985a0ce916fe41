"""What the sheet prints of decay, time budget, two films and equivalent indicators."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import pytest

from exposure_cases import MOMENT, candidate, order
from halflayer.base.result import Derived
from halflayer.exposure.budget import time_budget
from halflayer.exposure.result import Density, Exposure, FilmZone, PairReading, SecondFilm, ShotTime
from halflayer.sheet.decay_table import budget_lines, budget_note, day_rows
from halflayer.sheet.figures import Show
from halflayer.sheet.settings import settings
from halflayer.technique.result import Iqi

ORDER = order(nuclide="Ir-192")
WELD = ORDER.welds[0]
SHOW = Show("metric")


def exposure(*, second: bool = False) -> Exposure:
    density = Density(2.9, 2.0, 4.4, 0.3, "here", "there")
    slow = SecondFilm("F2", Density(1.6, 1.1, 2.4, 0.2, "here", "there")) if second else None
    zones = (FilmZone("F1", 2.0, 3.9, None), FilmZone("F2", 2.1, 2.4, None))
    pair = PairReading(0.8, 3.9, 2.1, "F2", zones, ()) if second else None
    shot = ShotTime(
        Derived("exposure_time", 100.0, "s", 20.0), density, 1e-4, 0.3, 0.01, second=slow, pair=pair
    )
    return Exposure(Derived("activity", 1e12, "Bq", 1e11), (shot,) * 3, ())


def planned() -> Any:
    got = exposure()
    budget = time_budget(
        ORDER,
        WELD,
        candidate(ORDER),
        got,
        mounting_s=300.0,
        reset_s=240.0,
        repeated_doses=[("Ada", 2e-6), ("Ben", None)],
    )
    return SimpleNamespace(weld=WELD.id, budget=budget, chosen=candidate(ORDER), exposure=got, shielding=None)


def test_thirty_days_of_iridium() -> None:
    """Half-life 73.83 d (decay tables): 100 s become 100 x 2^(30/73.83) = 132.5 s on the thirtieth day."""
    rows = day_rows(ORDER, "S1", exposure(), SHOW)
    assert len(rows) == 30
    assert (rows[0]["when"], rows[-1]["when"]) == (
        MOMENT.replace(day=3).strftime("%d %b"),
        MOMENT.replace(month=4, day=1).strftime("%d %b"),
    )
    assert rows[-1]["time"] in ("2 min 12 s", "2 min 13 s")
    assert day_rows(ORDER, "no such source", exposure(), SHOW) == []
    assert day_rows(ORDER, "S1", None, SHOW) == []


def test_the_budget_ends_with_its_sum() -> None:
    rows = budget_lines(planned(), SHOW)
    assert [r["what"] for r in rows][:3] == [
        "setting up",
        "mounting the shield",
        "trial shot, developed and read",
    ]
    assert rows[-1]["what"] == "all together" and rows[-1]["total"]
    note = budget_note(planned(), SHOW, ORDER)
    assert note.startswith("5 exposures in place of 3; sheets 5 of F1")  # 3, a trial, 0.3 rounded up to whole
    assert "Ada" in note and "Ben" not in note
    assert budget_lines(SimpleNamespace(budget=None, chosen=None, exposure=None), SHOW) == []  # type: ignore[arg-type]


@pytest.mark.parametrize("second", [False, True])
def test_two_films_stand_on_page_one(second: bool) -> None:
    iqi = Iqi(
        "wire",
        "wire 6 (set B, steel)",
        "wire 6",
        2.5e-4,
        "source side",
        "T-276",
        1,
        ("hole 15-2T", "20-1T (memory)"),
    )
    way = replace(candidate(ORDER), iqi=iqi)
    rows = {r["label"]: r for r in settings(ORDER, WELD, way, exposure(second=second), None, None, SHOW)}
    assert ("Two films" in rows) is second and ("Film" in rows) is not second
    assert "wire 6 must show (or hole 15-2T, 20-1T)" in rows["IQI"]["note"]
    if second:
        assert rows["Two films"]["value"] == "F1 + F2"
        note = rows["Exposure time"]["note"]
        assert (
            "judge the front film where it reads 2.00 to 4.00; darker there: the rear film, 2.00 or more"
            in note
        )
        assert "expected where judged: front F1 2.00 to 3.90, rear F2 2.10 to 2.40" in note


def test_the_point_nearest_its_limit_stands_on_the_front_page_before_its_vague_neighbours() -> None:
    """A reliable worst point must not be displaced by estimates beside it that are merely not known well."""
    from halflayer.shielding.result import PointDose
    from halflayer.shielding.survey_points import urgency

    def point(upper: float, ok: bool | None) -> PointDose:
        return PointDose("barrier", (0.0, 0.0, 1.0), upper, 0.1, upper, ok is not None, 7.5, ok, {}, upper)

    found = [point(2.7, None), point(4.0, True), point(8.0, False), point(1.0, None)]
    assert [p.upper_Sv_s for p in sorted(found, key=urgency)] == [8.0, 4.0, 2.7, 1.0]
