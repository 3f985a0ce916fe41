"""Every placement under every code: judged, timed and unrolled; no code meets a placement it has no answer for."""

from __future__ import annotations

import math
from typing import Any, get_args

import numpy as np
import pytest

import order_factory as of
from halflayer.exposure import scatter
from halflayer.exposure.time import expose
from halflayer.order.equipment import PlacementName
from halflayer.order.models import Code, Order
from halflayer.scene.build import build_scene
from halflayer.scene.fitting import Fitting
from halflayer.technique.choose import choose_technique
from placement_orders import shroud, small_head

PLATE = {
    "id": "IP", "kind": "imaging plate", "basic_resolution_m": 5e-5, "snr_n": 90.0, "snr_n_dose_Gy": 0.004,
    "snr_n_most": 400.0, "dose_uncertainty": 0.3, "basis": "made up", "sheet": [0.10, 0.30], "cassette_m": 0.002,
}  # fmt: skip
SMALL = of.weld(od=60.3, wall=5.54)
LARGE = of.weld(od=323.8, wall=10.31, cap=14.0, access_inside=True, height_m=2.0)
LARGE_PLACEMENTS = ("strap", "strap-guided", "bore", "outside")
GUIDE = {
    "id": "GT", "material": "lead", "wall_m": 0.01, "bore_m": 0.012, "length_m": 8.0, "speed_m_s": 0.75,
    "mass_kg": 20.0,
}  # fmt: skip


@pytest.fixture(autouse=True)
def no_scatter(monkeypatch: pytest.MonkeyPatch) -> None:
    def none(shot: Any, scene: Any, points: Any, lines: Any, *, seed: int, batches: int, **_: Any) -> Any:
        return np.zeros(len(points)), np.zeros(len(points))

    monkeypatch.setattr(scatter, "film_scatter", none)


def made(code: str, placement: str) -> Order:
    wide = {"apertures": [{"id": "R40", "shape": "round", "half_angle_rad": 40 * of.DEG}]}
    large = placement in LARGE_PLACEMENTS
    head = (
        of.head(placements=["strap", "strap-guided", "outside"], **wide) if large else small_head(placement)
    )
    weld = (LARGE if large else SMALL) | {"placements": [placement]}
    if placement == "strap-guided":
        weld["guide_from"] = [5.0, 0.0, 0.3]
    film = of.film(sheet=[0.10, 0.30])
    digital = code == "ISO 17636-2:2013"
    return of.order(
        code=code,
        test_class=None if code.startswith("ASME") else "A",
        agreements=["se75-from-5mm"],
        sources=[of.source(mm=1.0)],
        heads=[head, of.spider()],
        detectors=[] if digital else [film],
        digital=[PLATE] if digital else [],
        kit=of.kit(shrouds=[shroud(), shroud("skewed")], guides=[GUIDE]),
        welds=[weld],
    )


@pytest.mark.parametrize("code", get_args(Code))
@pytest.mark.parametrize("placement", get_args(PlacementName))
def test_judged_timed_and_unrolled(code: str, placement: str) -> None:
    order = made(code, placement)
    weld = order.welds[0]
    found = choose_technique(order, weld)
    way = next(c for c in found.candidates if c.arrangement == placement)
    assert way.estimated_s is not None and way.iqi is not None
    shots = [build_scene(order, weld, way, shot, Fitting()) for shot in way.shots]
    got = expose(order, weld, way, shots, moment=order.shift.starts)
    assert got.coverage is not None and got.coverage.covered
    assert all(
        0.0 <= c.start_rad < 2 * math.pi and 0.0 <= c.length_rad <= 2 * math.pi for c in got.coverage.covered
    )
    by_ratio = code == "ISO 17636-2:2013"
    assert all((s.density is None) is by_ratio and (s.snr is not None) is by_ratio for s in got.shots)
    bounded = code != "ASME V Article 2:2007" and not way.technique.startswith("DWDI")
    assert (way.growth_max is not None) is (bounded and way.technique != "SWSI panoramic")
