"""Two films' change, end markers off the wires, a passed film's wire, film for a missed one, a factor passed on."""

from __future__ import annotations

import math
from types import SimpleNamespace
from typing import Any

import pytest

from exposure_cases import candidate, film
from exposure_cases import order as case_order
from halflayer.base.result import Derived
from halflayer.exposure.beside_weld import MARKER_M, marker_sides, markers_beside
from halflayer.exposure.budget import spare_exposures
from halflayer.exposure.film import film_curve
from halflayer.exposure.result import Density, ShotTime
from halflayer.exposure.two_films import Loading, change_of, pair
from halflayer.order.models import Order
from halflayer.radiograph.visible import seen
from halflayer.sheet.figures import Show
from halflayer.sheet.film_picture import passed_words
from halflayer.sheet.passed_on import alike, before_factor, factor_of, factor_words, times_by
from halflayer.technique.choose import rules_for
from order_cases import first_way

FAST, SLOW = film(), film(id="F2", film_class="C4", dose_for_density_2_Gy=0.0150)
DEG = math.pi / 180


def _shot(least: float, most: float) -> ShotTime:
    density = Density(2.5, least, most, 0.2, "weld crown, wall, 40 degrees from the middle", "beside the cap")
    return ShotTime(Derived("exposure_time", 100.0, "s", 10.0), density, 1e-4, 0.3, 0.01)


def test_the_change_of_two_films_is_where_the_front_one_ends() -> None:
    """By both curves at one kerma: the front film at 4.0, the rear one as planned; a rear film that is slower by the
    whole room reads 2.0 there, and the factor brings it back."""
    loading = pair(FAST, SLOW, lambda _: 0.8)
    got = change_of(loading, candidate(case_order()))
    assert got is not None and got.fast == FAST.id and got.room > 0.0
    end = film_curve(FAST).kerma_Gy(4.0)
    assert loading.slow.density(end) == pytest.approx(got.slow_planned)
    assert loading.slow.density(end / (1.0 + got.room)) == pytest.approx(2.0, abs=1e-6)
    assert got.factor(got.slow_planned) == pytest.approx(1.0)
    assert loading.slow.density(loading.slow.kerma_Gy(1.8) * got.factor(1.8)) == pytest.approx(
        got.slow_planned
    )
    assert change_of(Loading(FAST, film_curve(FAST)), candidate(case_order())) is None
    apart = pair(FAST, film(id="F2", film_class="C4", dose_for_density_2_Gy=0.06), lambda _: 0.8)
    assert change_of(apart, candidate(case_order())) is None  # they do not meet


@pytest.mark.parametrize(("off_mm", "free"), [(2.0, False), (40.0, True)])
def test_an_end_marker_has_no_set_of_wires_at_its_side(example: Order, off_mm: float, free: bool) -> None:
    """W4, 88.9 mm: the front film's set at the end of what is judged, or 40 mm round the pipe from it. The marker's
    image by a ray past the zone judged of the far wall: projected, another road than the formula's."""
    weld, c = example.weld("W4"), first_way(example, "W4")
    radius, g = weld.pipe.od / 2, c.geometry
    end = 50 * DEG
    wire_m, found = markers_beside(example, weld, c, [end - off_mm * 1e-3 / radius, 0.0], [end])
    assert (found == []) is free
    if free:
        return
    (marker,) = found
    half = rules_for(example, weld).evaluated_half_width(weld_width_m=weld.cap.width_m).value
    assert marker.at_m >= half and marker.reached and wire_m == 0.025
    head, source_z = abs(g.axial_offset_m), radius + g.standoff_m
    film_z = source_z - g.source_to_detector_m

    def on_film(x: float, z: float) -> float:
        return head + (x - head) * (source_z - film_z) / (source_z - z)

    assert on_film(marker.at_m, radius) >= on_film(half, -radius) - 1e-9
    # Both sets at the end, at no more than half a marker with the shortest wires: neither side is free.
    _, none = markers_beside(example, weld, c, [end - MARKER_M / radius, end], [end])
    assert none[0].at_m == 0.0


@pytest.mark.parametrize(("planned", "holds"), [(6.0, "holds"), (5.05, "does NOT hold")])
def test_the_wire_on_the_lightest_film_that_goes_on_is_less_clear(planned: float, holds: str) -> None:
    """Contrast to noise as G / sqrt(D): of one density planned, by hand from the curve."""
    made, curve = case_order(), film_curve(FAST)
    wire = seen("W12", 2e-4, 0.02, planned, (0.0, 0.0))
    verdict = SimpleNamespace(required="W12", wires=(wire,), required_hole=None, holes=())
    quick: Any = SimpleNamespace(verdict=verdict)
    words = passed_words(made, candidate(made), _shot(2.3, 2.3), quick)
    net = 2.0 - curve.base_fog, 2.3 - curve.base_fog
    want = planned * curve.gradient(2.0) / curve.gradient(2.3) * math.sqrt(net[1] / net[0])
    assert f"contrast to noise {math.floor(want * 10) / 10:.1f} or more" in words and holds in words
    assert "passed at 2.00" in words


def test_film_for_one_more_exposure_where_first_films_often_miss() -> None:
    """A narrow window by a film and an activity known to about 20 %, then by both known to 2 %."""
    made = case_order()
    made = made.model_copy(update={"allowance": made.allowance.model_copy(update={"trial": "never"})})
    shots: Any = SimpleNamespace(shots=(_shot(2.1, 3.7),))
    assert spare_exposures(made, candidate(made), shots) == 1
    films = tuple(f.model_copy(update={"dose_uncertainty": 0.02}) for f in made.detectors)
    sources = tuple(s.model_copy(update={"activity_uncertainty": 0.02}) for s in made.sources)
    known = made.model_copy(update={"detectors": films, "sources": sources})
    assert spare_exposures(known, candidate(known), shots) == 0


def test_a_first_film_s_factor_goes_on_to_later_welds_on_that_film_and_source() -> None:
    def weld(name: str, detector: str = "F1", source: str = "S1") -> Any:
        return SimpleNamespace(
            weld=name, status="ready", budget=None, chosen=SimpleNamespace(detector=detector, source=source)
        )

    welds: Any = [weld("A"), weld("B", source="S2"), weld("C"), weld("D", detector="F2")]
    slots = [
        SimpleNamespace(weld=w, start_s=s) for w, s in (("B", 0), ("C", 1), ("C", 2), ("A", 3), ("D", 4))
    ]
    plan: Any = SimpleNamespace(welds=welds, schedule=SimpleNamespace(slots=slots))
    assert alike(plan, welds[0]) == (["C"], []) and alike(plan, welds[2]) == ([], ["A"])
    # The later weld says so at its time, and that its chances are those before that factor.
    assert factor_of(plan, welds[0]) == "C" and before_factor(plan, welds[0]) == " before C's factor"
    assert factor_of(plan, welds[2]) == "" == before_factor(plan, welds[2])
    assert "A, same film and source" in factor_words(plan, welds[2])
    assert factor_words(plan, welds[1]) == ""
    assert factor_words(SimpleNamespace(welds=welds, schedule=None), welds[2]) == ""  # type: ignore[arg-type]


def test_a_later_weld_has_its_times_by_what_the_earlier_film_read() -> None:
    """By hand: 100 s x factor for a reading; factors where the exposures differ. No outside source."""
    first: Any = SimpleNamespace(
        factor=lambda d: 2.3 / d, goes_on=lambda d: 2.0 <= d <= 2.6, factors=lambda: ((1.6, 1.4375),)
    )
    assert (
        times_by(first, [100.0, 100.0], Show())
        == "1.6: 2 min 24 s · 2.0: 1 min 55 s · 2.2: 1 min 45 s · 2.5: 92 s"
    )
    assert times_by(first, [100.0, 50.0], Show()).startswith("1.6: × 1.44 · 2.0: × 1.15")


@pytest.mark.parametrize("weld_id", ["W3", "W4"])
def test_end_markers_of_either_wall_fall_beside_both_images_and_apart(example: Order, weld_id: str) -> None:
    """In plane and leaning: each marker's image by a ray, off the zone judged of both walls, one wall's on a side."""
    weld, c = example.weld(weld_id), first_way(example, weld_id)
    sides, g, radius = marker_sides(example, weld, c), c.geometry, weld.pipe.od / 2
    half = rules_for(example, weld).evaluated_half_width(weld_width_m=weld.cap.width_m).value
    head, up = abs(g.axial_offset_m), radius + g.standoff_m

    def on_film(x: float, z: float) -> float:
        return head + (x - head) * g.source_to_detector_m / (up - z)

    zones = [on_film(s * half, z) for s in (-1.0, 1.0) for z in (radius, -radius)]
    assert on_film(sides.source_m, radius) <= min(zones) + 1e-9
    assert on_film(sides.film_m, -radius) >= max(zones) - 1e-9
    # Towards the head the source-side wall's keeps off the far zone; with a set at its clock also off the marker there.
    assert on_film(sides.over_m, radius) >= on_film(half, -radius) - 1e-9
    # Both stand at their clock, nearer to the axis than top and bottom of the pipe.
    _, found = markers_beside(example, weld, c, [35 * DEG, 0.0], [35 * DEG])
    high = radius * math.cos(35 * DEG)
    for m in found:
        ends = sorted(
            (on_film(at, z), on_film(at + 2 * m.half_m, z)) for at, z in ((m.at_m, high), (m.film_m, -high))
        )
        assert ends[0][1] <= ends[1][0] + 1e-9
