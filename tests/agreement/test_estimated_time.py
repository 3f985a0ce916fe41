"""The estimate that ranks ways against the exposure's own times, both by the primary alone: two roads to one time."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from halflayer.base.serial import from_json, to_json
from halflayer.exposure import scatter
from halflayer.exposure.digital import Response
from halflayer.exposure.time import expose
from halflayer.order.models import Order
from halflayer.scene.build import build_scene
from halflayer.scene.fitting import Fitting
from halflayer.technique.choose import choose_technique
from halflayer.technique.result import Candidate, Technique
from order_cases import order as read
from order_cases import refusal
from order_factory import film, head, order, source, spider, weld

# The estimate takes the film as linear (a C5 film's curve at 2.3 bends by 1 %) and leaves out air (2 % at half a
# metre) and the exact height of the crown (2 mm of 300: 1 %).
ALLOWED = 0.05


@pytest.fixture(autouse=True)
def no_scatter(monkeypatch: pytest.MonkeyPatch) -> None:
    def none(shot: Any, scene: Any, points: Any, lines: Any, *, seed: int, batches: int, **_: Any) -> Any:
        return np.zeros(len(points)), np.zeros(len(points))

    monkeypatch.setattr(scatter, "film_scatter", none)


def steps_s(made: Order, way: Candidate) -> float:
    """What the estimate counts beside the exposures, by hand."""
    c, n = made.crew_times, len(way.shots)
    h = next(h for h in made.heads if h.id == way.head)
    return (
        c.set_up_s + n * (2 * h.travel_s + 2 * c.walk_s + c.survey_s + c.film_change_s) + (n - 1) * c.reset_s
    )


CASES = {
    "in plane": ({"od": 60.3, "wall": 8.0}, "over"),
    "ellipse": ({"od": 60.3, "wall": 8.0}, "lean-out"),
    "strap": ({"od": 219.1, "wall": 8.18, "cap": 12.0}, "strap"),
    "strap, water": ({"od": 219.1, "wall": 8.18, "cap": 12.0, "contents": {"material": "water"}}, "strap"),
    "bore": ({"od": 323.8, "wall": 10.3, "cap": 14.0, "access_inside": True}, "bore"),
}


@pytest.mark.parametrize("case", list(CASES))
@pytest.mark.parametrize("nuclide", ["Se-75", "Ir-192"])
def test_estimate_meets_the_exposure(case: str, nuclide: str) -> None:
    fields, arrangement = CASES[case]
    made = order(welds=[weld(density=2.3, **fields)], sources=[source(nuclide=nuclide, mm=2.0)])
    found = choose_technique(made, made.welds[0]).candidates
    way = next(c for c in found if c.arrangement == arrangement)
    shots = [build_scene(made, made.welds[0], way, s, Fitting()) for s in way.shots]
    assert way.estimated_s is not None
    estimate = (way.estimated_s - steps_s(made, way)) / len(way.shots)
    wide = way.__class__(
        **{**way.__dict__, "density_min": 0.6, "density_max": 4.4}
    )  # so that nothing moves the time
    got = expose(made, made.welds[0], wide, shots, moment=made.shift.starts)
    assert estimate == pytest.approx(float(got.shots[0].seconds.value or 0), rel=ALLOWED)


def test_a_plate_is_estimated_by_its_own_figures() -> None:
    """The kerma for a ratio is that of the exposure's response."""
    from halflayer.technique.choose import ask_for, rules_for
    from halflayer.technique.code_checks import judge
    from halflayer.technique.estimate import wanted_kerma_Gy
    from halflayer.technique.placements import PLACEMENTS

    plate = {
        "id": "IP", "kind": "imaging plate", "basic_resolution_m": 1e-4, "snr_n": 90.0, "snr_n_dose_Gy": 0.004,
        "snr_n_most": 300.0, "dose_uncertainty": 0.3, "basis": "made up", "sheet": [0.1, 0.4],
    }  # fmt: skip
    made = order(code="ISO 17636-2:2013", detectors=[], digital=[plate])
    ask = ask_for(
        made, made.welds[0], made.sources[0], made.heads[0], made.digital[0], rules_for(made, made.welds[0])
    )
    over = next(p for p in PLACEMENTS if p.name == "over")
    proposal = next(iter(over.propose(ask)))
    got = wanted_kerma_Gy(ask, judge(ask, proposal, ellipse=None))
    assert got == pytest.approx(Response(90.0, 0.004, 300.0).kerma_Gy(77.0), rel=1e-12)


def two_sources(prefer: str) -> Technique:
    """A strong hard source and a weak soft one on a weld that both may shoot."""
    made = order(
        welds=[weld(od=219.1, wall=11.0, cap=14.0, placements=["strap"])],
        sources=[source("SE", "Se-75", TBq=0.3), source("IR", "Ir-192", TBq=4.0)],
        heads=[head(), spider()],
        detectors=[film(), film("F4", "C4", dose_for_density_2_Gy=0.012)],
        prefer=prefer,
    )
    return choose_technique(made, made.welds[0])


def test_the_order_says_which_source_comes_first() -> None:
    soft, quick = two_sources("softest source"), two_sources("shortest time")
    assert soft.admissible[0].source == "SE" and quick.admissible[0].source == "IR"
    times = [c.estimated_s for c in quick.admissible if c.arrangement == "strap"]
    assert times == sorted(t for t in times if t is not None)
    assert any("strap takes about" in f.text and "with SE" in f.text for f in quick.findings)
    assert any("shortest estimated time" in f.text for f in quick.findings)
    assert from_json(Technique, to_json(quick)) == quick


def test_prefer_is_read_and_kept() -> None:
    made = read(("instruments:", "prefer: shortest time\ninstruments:"))
    assert made.prefer == "shortest time" and read().prefer == "softest source"
    assert Order.from_json(made.as_json()) == made
    assert "prefer: not one of the possible values; given: cheap" in refusal(
        ("instruments:", "prefer: cheap\ninstruments:")
    )
