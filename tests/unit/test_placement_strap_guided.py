"""A collimator on the pipe that a guide tube feeds: chosen, drawn, listed, and the dose while the source travels."""

from __future__ import annotations

import math

import numpy as np
import pytest

import order_factory as of
import placement_orders as po
from halflayer.order.guide import GuideTube
from halflayer.order.models import Order
from halflayer.physics import dosimetry, photons
from halflayer.physics.materials import material
from halflayer.scene.build import build_scene
from halflayer.scene.fitting import Fitting
from halflayer.scene.trace import material_at, materials_along
from halflayer.sheet.travel import told_by_table
from halflayer.shielding import kit
from halflayer.shielding.crew import Post, crew_steps
from halflayer.shielding.transit import tube_shielding
from halflayer.shielding.travelling import transit_figure, transit_findings
from halflayer.technique.choose import choose_technique
from halflayer.transport.problem import prepare

GUIDE = {
    "id": "GT",
    "material": "tungsten",
    "wall_m": 0.010,
    "bore_m": 0.012,
    "length_m": 6.0,
    "speed_m_s": 0.75,
    "mass_kg": 30.0,
}
WRAP = Fitting(0, None, 3, "W25")


def order(guide: dict | None = None, places: list[dict] | None = None, **weld: object) -> Order:
    given = {"od": 168.3, "wall": 7.11, "cap": 12.0, "guide_from": [5.0, 0.0, 0.3], **weld}
    head = {"apertures": of.head()["apertures"], "travel_s": 8.0, "source_to_face_m": 0.03}
    return po.order(
        "strap-guided",
        weld=given,
        head=head,
        film=of.film(),
        kit={"guides": [{**GUIDE, **(guide or {})}]},
        places=places or [],
    )


def place(ident: str, at: list[float], **limit: float) -> dict:
    return {
        "id": ident,
        "name": ident,
        "at": at,
        "kind": "people",
        "limit": {**limit, "basis": "example"} if limit else None,
    }


def test_it_is_a_strap_with_the_tubes_settings() -> None:
    made = order()
    c = po.best(made, "strap-guided")
    assert (c.technique, c.verdict, c.guide) == ("DWSI contact", "admissible", "GT"), c.broken
    assert po.setting(c, "guide_travel") == pytest.approx(8.0)
    assert po.setting(c, "guide_length") == 6.0


def test_no_guide_tube_no_candidate() -> None:
    made = po.order("strap-guided")
    assert choose_technique(made, made.welds[0]).candidates == ()


@pytest.mark.parametrize(
    ("guide", "weld", "name"),
    [
        ({"length_m": 4.0}, {}, "length of the guide tube"),
        ({}, {"guide_by": [[5.0, 3.0, 0.3]]}, "length of the guide tube"),
        ({"speed_m_s": 0.4}, {}, "travel of the source"),
    ],
)
def test_what_refuses_it(guide: dict, weld: dict, name: str) -> None:
    assert name in po.broken(po.best(order(guide, **weld), "strap-guided"))


def test_the_length_named_is_enough() -> None:
    """Container 5 m along and 0.9 m below; the collimator's back, 246.15 mm off the axis, at clock 45."""
    c = po.best(order({"length_m": 4.0}), "strap-guided")
    aside = (0.08415 + 0.002 + 0.16) * math.sqrt(0.5)
    way = math.hypot(5.0, aside, 0.9 + aside)
    assert po.rule(c, "length of the guide tube").required.startswith(f"{way:.3g} m")
    enough = po.best(order({"length_m": way + 0.001}), "strap-guided")
    assert "length of the guide tube" not in po.broken(enough)


def test_the_tubes_bore_is_open_through_the_wrap() -> None:
    made = order()
    c = po.best(made, "strap-guided")
    for shot in c.shots[:2]:
        b = build_scene(made, made.welds[0], c, shot, WRAP)
        up = tuple(-a for a in b.aim)
        names = {n for _, n, _ in materials_along(b.scene, b.source_at, up, 0.55)}
        assert not any(n.startswith("wrap") for n in names)
        prepare(po.problem(b, {"p": (2.0, 1.0, 0.5)}))
    top = build_scene(made, made.welds[0], c, c.shots[0], WRAP)
    back = 0.08415 + 0.032 - 0.03 + 0.16  # source, face, body
    clock = top.clock_rad
    at = back + 0.05
    side = 0.006 + 0.005  # in the wall
    spot = (side, -at * math.sin(clock), at * math.cos(clock))
    assert material_at(top.scene, spot).name == "tungsten"


def test_kit_list_holds_the_tube() -> None:
    made = order()
    c = po.best(made, "strap-guided")
    b = build_scene(made, made.welds[0], c, c.shots[0], WRAP)
    (item,) = [i for i in kit.items(made, made.welds[0], c, WRAP, b.wrap) if i.what == "guide tube"]
    assert (item.id, item.mass_kg) == ("GT", 30.0)


@pytest.mark.slow
def test_what_passes_the_tube_sideways_is_more_than_the_narrow_beam_and_less_than_a_plain_build_up() -> None:
    """10 mm tungsten, 400 keV: between exp(-mu t) and exp(-mu t) (1 + mu t), a usual bound of build-up below 1 MeV."""
    made = order({"tolerance": 0.0})
    guide = made.kit.guides[0]
    tube = tube_shielding(made, guide, np.array([400.0]), np.array([1.0]))
    depth = float(photons.mu_per_m(material("tungsten"), np.array([400.0]))[0]) * 0.010
    assert math.exp(-depth) < tube.share[-1] < math.exp(-depth) * (1 + depth)
    assert list(tube.share) == sorted(tube.share)  # the more slanting, the thicker


@pytest.mark.slow
def test_dose_at_places_while_the_source_travels() -> None:
    made = order(places=[place("near", [2.5, 1.0, 0.3], in_any_hour_Sv=1e-9), place("far", [2.5, 9.0, 0.3])])
    c = po.best(made, "strap-guided")
    weld = made.welds[0]
    energies, yields = np.array([400.0]), np.array([1.0])
    spots = [b.to_site(b.source_at) for b in (build_scene(made, weld, c, s, Fitting()) for s in c.shots)]
    figure = transit_figure(
        made, weld, c, spots, activity_Bq=1e12, energies_keV=energies, photons_per_decay=yields
    )
    assert figure is not None
    by_name = {d.name: d.value for d in figure.inputs}
    assert figure.value == by_name["near"] > by_name["far"] > 0
    # Never more than bare all the way (analytic), and never more than the bare source at the nearest point.
    at_1m = 1e12 * float(dosimetry.h10_per_fluence(energies)[0]) / (4 * math.pi)
    bare = 2 * len(c.shots) * at_1m * math.pi / (0.75 * 1.0)
    assert by_name["near"] < bare
    found = transit_findings(made, figure)
    assert [f.level for f in found].count("stop") == 1
    assert any("far" in f.text for f in found if f.level == "note")
    # The sheet's table says the doses and marks the rates; only what stops the weld is said beside it.
    assert [f.level for f in found if not told_by_table(f)] == [f.level for f in found if f.level == "stop"]
    assert any(told_by_table(f) for f in found)


def test_without_the_containers_place_it_is_not_computed() -> None:
    made = order(places=[place("near", [2.5, 1.0, 0.3])], guide_from=None)
    c = po.best(made, "strap-guided")
    assert c.verdict == "admissible"
    figure = po.way_figure(made, c)
    assert figure is not None
    assert figure.value is None
    assert "not computed" in figure.basis
    assert [f.level for f in transit_findings(made, figure)] == ["warn"]
    assert not any(told_by_table(f) for f in transit_findings(made, figure))  # there is no table then


def test_the_crew_does_not_count_the_source_in_a_tube_as_in_its_head() -> None:
    made = order()
    c = po.best(made, "strap-guided")
    common = {"activity_Bq": 1e12, "shots_s": [60.0], "mount_s": 0.0, "reset_s": 240.0, "bare_1m_Sv_s": 1e-5}
    post = Post(1e-9, 5.0, "rate")
    steps = crew_steps(made, c, made.crew[0], post=post, **common)
    step = next(s for s in steps if s.what == "source on its way")
    assert step.dose_Sv is None
    assert "not computed" in step.basis


def test_the_model_goes_through_json() -> None:
    made = order(guide_by=[[3.0, 0.0, 0.3]])
    assert Order.from_json(made.as_json()) == made
    assert GuideTube.model_validate(GUIDE, context={"si": True}, by_name=True).travel_s == pytest.approx(8.0)
