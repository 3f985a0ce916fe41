"""Whatever weld and kit are asked for: no exception, and what is admissible keeps the rules."""

from __future__ import annotations

import math
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

import order_factory as of
from halflayer.technique.choose import choose_technique
from halflayer.technique.result import Candidate

AGREEMENTS = [
    "se75-from-5mm",
    "ir192-from-10mm",
    "class-b-at-class-a-distance",
    "class-b-with-class-a-source-range",
    "iqi-relief-gamma",
    "density-1.5-class-a",
    "density-2.0-class-b",
    "ellipse-beyond-limits",
]
NEIGHBOURS = ["pipe", "elbow", "flange", "valve", "tee", "reducer", "cap", "open end"]


@st.composite
def welds(draw) -> dict[str, Any]:
    od = draw(st.floats(10, 900))
    neighbour = st.fixed_dictionaries(
        {"kind": st.sampled_from(NEIGHBOURS), "distance_m": st.floats(0.0, 1.5)}
    )
    room = st.none() | st.floats(0.0, 1.5)
    return of.weld(
        od=od,
        wall=od * draw(st.floats(0.005, 0.499)),
        cap=draw(st.floats(0.5, 60)),
        height_m=draw(st.floats(0.01, 3.0)),
        runs=draw(st.sampled_from(["horizontal", "vertical"])),
        left=draw(neighbour),
        right=draw(neighbour),
        access_inside=draw(st.booleans()),
        contents={"material": draw(st.sampled_from(["air", "water", "oil"]))},
        clearances=draw(
            st.fixed_dictionaries(
                {f"{side}_m": room for side in ("above", "below", "left", "right", "sides")}
            )
        ),
        insulation=draw(
            st.none()
            | st.fixed_dictionaries(
                {"material": st.just("mineral wool"), "thickness_m": st.floats(0.001, 0.2)}
            )
        ),
        density=draw(st.none() | st.floats(1.1, 3.9)),
    )


@st.composite
def kits(draw) -> dict[str, Any]:
    low = draw(st.floats(0.001, 0.5))
    legs = {
        **of.kit()["legs"][0],
        "reach_min_m": low,
        "reach_max_m": low * draw(st.floats(1.0, 5.0)),
        "hole_pitch_m": draw(st.floats(1e-5, 0.3)),
        "lean_max_rad": draw(st.floats(0.0, 1.39)),
        "lean_step_rad": draw(st.floats(1e-5, 1.39)),
    }
    return of.kit(legs=draw(st.sampled_from([[], [legs], [legs, of.kit()["legs"][0]]])))


@settings(max_examples=20, deadline=None)
@given(
    weld=welds(),
    kit=kits(),
    test_class=st.sampled_from("AB"),
    agreements=st.lists(st.sampled_from(AGREEMENTS), unique=True),
    mm=st.floats(0.3, 8.0),
    film_class=st.sampled_from(["C1", "C3", "C4", "C5", "C6"]),
    nuclide=st.sampled_from(["Se-75", "Ir-192", "Yb-169", "Co-60", "Cs-137"]),
    axis=st.sampled_from(["across the beam", "along the beam"]),
)
def test_any_weld_is_answered(weld, kit, test_class, agreements, mm, film_class, nuclide, axis) -> None:
    order = of.order(
        test_class=test_class,
        agreements=agreements,
        welds=[weld],
        kit=kit,
        sources=[of.source(nuclide=nuclide, mm=mm, axis=axis)],
        heads=[of.head(nuclides=[nuclide]), of.spider(nuclides=[nuclide])],
        detectors=[of.film(film_class=film_class)],
    )
    found = choose_technique(order, order.welds[0])
    assert [c.arrangement for c in found.candidates].count("lean-out") == 1
    assert bool(found.admissible) == (not any(f.level == "stop" for f in found.findings))
    for c in found.candidates:
        numbers = [v for v in vars(c.geometry).values() if v is not None]
        assert all(math.isfinite(v) for v in numbers)
        assert bool(c.broken) == (c.verdict == "refused")
        assert set(c.agreements_used) <= set(agreements)
        if c.verdict == "admissible":
            kept(c, od=order.welds[0].pipe.od, wall=order.welds[0].pipe.wall)


def kept(c: Candidate, *, od: float, wall: float) -> None:
    """What every admissible candidate keeps, whatever it is."""
    g = c.geometry
    assert g.source_to_object_m >= g.minimum_source_to_object_m - 1e-9
    assert math.isclose(g.source_to_detector_m, g.source_to_object_m + g.object_to_detector_m)
    assert c.iqi is not None
    assert 1.5 <= c.density_min <= 3.0 < c.density_max
    for s in c.shots:
        assert 0 <= s.source_clock_rad < 2 * math.pi
        if c.arrangement != "bore":
            assert math.isclose(math.cos(s.detector_clock_rad - s.source_clock_rad), -1.0, abs_tol=1e-9)
    if c.technique == "DWDI ellipse":
        assert g.opening_m is not None
        assert 0.003 - 1e-9 <= g.opening_m <= 0.015 + 1e-9
        assert len(c.shots) == (2 if wall / od < 0.12 else 3)
    if c.technique == "DWSI contact":
        assert c.usable_rad is not None
        assert sum(s.evaluated_rad for s in c.shots) >= 2 * math.pi - 1e-9
        assert all(s.evaluated_rad <= c.usable_rad for s in c.shots)
