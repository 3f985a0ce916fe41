"""A rigid shroud between head and stop: chosen, built, weighed, and refused with what would do."""

from __future__ import annotations

import math
import re

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

import order_factory as of
import placement_orders as po
from halflayer.base.serial import from_json, to_json
from halflayer.order.equipment import Shroud
from halflayer.order.models import Order
from halflayer.physics import nuclides
from halflayer.scene.build import build_scene
from halflayer.scene.fitting import Fitting
from halflayer.scene.shroud import shroud_solids
from halflayer.scene.solids import Scene
from halflayer.scene.stop import stop_piece
from halflayer.scene.trace import material_at, materials_along
from halflayer.shielding import kit
from halflayer.shielding.budget import budget
from halflayer.technique.result import Candidate
from halflayer.transport.problem import prepare

STRAIGHT = po.shroud()
SKEWED = po.shroud("skewed")
STOP = Fitting(6, "PB3")


def over(**change: object) -> Order:
    return po.order("over-shrouded", kit={"shrouds": [{**STRAIGHT, **change}]})


def leaning(**change: object) -> Order:
    return po.order("lean-out-shrouded", kit={"shrouds": [{**SKEWED, **change}]})


def test_both_ways_are_admissible_and_say_what_to_set() -> None:
    for made, name, technique in (
        (over(), "over-shrouded", "DWDI in plane"),
        (leaning(), "lean-out-shrouded", "DWDI ellipse"),
    ):
        c = po.best(made, name)
        assert (c.verdict, c.technique) == ("admissible", technique), c.broken
        assert c.shroud == made.kit.shrouds[0].id
        legs = made.kit.legs[0]
        reach = legs.reach_min_m + (po.setting(c, "leg_hole") - 1) * legs.hole_pitch_m
        assert po.setting(c, "reach") == pytest.approx(reach)
        assert po.setting(c, "shroud") == c.shroud
        assert po.setting(c, "clamp_to_weld") == pytest.approx(0.15)
        assert from_json(Candidate, to_json(c)) == c
    assert po.setting(c, "lean_steps") * legs.lean_step_rad == pytest.approx(po.setting(c, "lean"))
    assert po.setting(c, "lean") == pytest.approx(abs(c.geometry.tilt_rad))


def test_no_shroud_in_the_kit_no_candidate() -> None:
    made = po.order("over-shrouded", "over")
    from halflayer.technique.choose import choose_technique

    found = choose_technique(made, made.welds[0]).candidates
    assert {c.arrangement for c in found} == {"over"}


@pytest.mark.parametrize("made", [over(), leaning()], ids=["over", "lean-out"])
def test_the_axis_runs_free_to_pipe_film_and_stop_at_the_foot(made: Order) -> None:
    c = made and po.best(made, made.welds[0].placements[0])
    weld, shroud = made.welds[0], made.kit.shrouds[0]
    for shot in c.shots:
        b = build_scene(made, weld, c, shot, STOP)
        way = materials_along(b.scene, b.source_at, b.aim, 0.8)
        names = [n for _, n, _ in way]
        assert "shroud" not in names
        assert names.index("film") < names.index("stop")
        before = 0.0
        for _, name, metres in way:
            if name == "stop":
                break
            before += metres
        assert before == pytest.approx(made.heads[0].source_to_face_m + shroud.length_m, abs=1e-9)
        gap = po.setting(c, "stop_gap")
        film = made.detectors[0].screens
        pack = 0.0002 + film.back_m + film.backing_lead_m  # base, back screen, lead
        flat = (before * math.cos(c.geometry.tilt_rad)) - (
            c.geometry.standoff_m + weld.pipe.od + 0.002 + 0.002 + pack
        )
        assert gap == pytest.approx(flat, abs=3e-4)  # the base of the film is not in the setting
        prepare(po.problem(b, {"side": (1.0, 1.0, 0.5)}))


@given(
    lean=st.floats(0.0, 0.5),
    clock=st.floats(0, 6.28),
    inner=st.tuples(st.floats(0.1, 0.3), st.floats(0.15, 0.4)),
    wall=st.floats(0.003, 0.02),
    depth=st.floats(0.05, 0.95),
    height=st.floats(-0.4, 0.4),
)
def test_walls_are_as_thick_as_stated_and_close_at_the_foot(lean, clock, inner, wall, depth, height) -> None:
    """Rays from the axis at right angles to a wall cross it once, by its thickness; below the foot nothing is left."""
    order = of.order()
    length, reach = 0.45, 0.40
    shroud = Shroud.model_validate(
        {**SKEWED, "inner": inner, "wall_m": wall, "length_m": length, "slot_gap_m": 0.0},
        context={"si": True},
        by_name=True,
    )
    aim = (-math.sin(lean), 0.0, -math.cos(lean))
    face = (reach * math.sin(lean), 0.0, reach * math.cos(lean))
    solids = shroud_solids(
        order,
        shroud,
        face=face,
        aim=aim,
        lean_rad=lean,
        pipe_radius_m=0.03,
        port_halves_m=(0.02, 0.02),
    )
    from halflayer.physics.materials import material

    scene = Scene(solids, material("air"))
    along = (math.cos(lean), 0.0, -math.sin(lean))
    # From a point on the axis, far enough above the foot that the ray along leaves through the wall.
    s = wall + depth * (length - wall - (inner[0] / 2 + wall) * math.tan(lean) - 0.002)
    if s > wall + 0.001:
        at = tuple(f + s * a for f, a in zip(face, aim, strict=True))
        for d in (along, tuple(-a for a in along), (0.0, 1.0, 0.0), (0.0, -1.0, 0.0)):
            crossed = [m for _, n, m in materials_along(scene, at, d, 1.0) if n == "shroud"]
            assert crossed == pytest.approx([wall], abs=1e-9)
    # Lid: beside the port it is one wall thick.
    beside = tuple(f + 0.03 * a + (wall / 2) * b for f, a, b in zip(face, along, aim, strict=True))
    assert material_at(scene, beside).name == "lead"
    # Level foot: nothing of the shroud below it, anywhere.
    foot = face[2] - length * math.cos(lean)
    for x in np.linspace(-0.6, 0.6, 25):
        for y in (0.0, inner[1] / 2 + wall / 2):
            assert material_at(scene, (float(x), y, foot - 1e-3)).name == "air"


def test_the_shroud_ends_where_it_stands_and_its_cut_outs_leave_the_stated_gap() -> None:
    made = over()
    c = po.best(made, "over-shrouded")
    weld, shroud = made.welds[0], made.kit.shrouds[0]
    b = build_scene(made, weld, c, c.shots[0], STOP)
    r, wall = weld.pipe.od / 2, shroud.inner[0] / 2 + shroud.wall_m / 2
    clock = b.clock_rad
    up = (0.0, -math.sin(clock), math.cos(clock))
    for gap, name in ((0.0025, "air"), (0.0075, "lead")):
        at = (wall, up[1] * (r + gap), up[2] * (r + gap))
        assert material_at(b.scene, at).name == name
    legs = [s for s in b.scene.solids if s.name.startswith("leg ")]
    assert len(legs) == 2
    start = legs[0].centre
    assert all(n != "shroud" for _, n, _ in materials_along(b.scene, start, legs[0].axis, 0.1))


REFUSALS = [
    ({"length_m": 0.30}, "length of the shroud", r"a shroud (\d+) mm longer", "length_m"),
    ({"inner": [0.18, 0.20]}, "room in the shroud", r"a shroud ([0-9.]+) mm wide inside across", "across"),
    ({"inner": [0.09, 0.26]}, "room in the shroud", r"a shroud ([0-9.]+) mm wide inside along", "along"),
]


@pytest.mark.parametrize(("change", "name", "words", "field"), REFUSALS)
def test_a_shroud_that_does_not_fit_is_refused_and_the_change_named_lifts_it(change, name, words, field):
    refused = po.best(over(**change), "over-shrouded")
    assert name in po.broken(refused)
    made = over(**change)
    from halflayer.technique.choose import choose_technique

    (stop,) = [f for f in choose_technique(made, made.welds[0]).findings if f.level == "stop"]
    number = re.search(words, " ".join(stop.relax))
    assert number, stop.relax
    more = float(number[1]) / 1000
    if field == "length_m":
        mended = {"length_m": change["length_m"] + more}
    else:
        mended = {"inner": [0.18, more] if field == "across" else [more, 0.26]}
    assert name not in po.broken(po.best(over(**mended), "over-shrouded"))


def test_a_skewed_one_made_for_another_lean_takes_its_own_lean_or_is_refused() -> None:
    free = po.best(leaning(), "lean-out-shrouded")
    own = po.best(leaning(lean_rad=12 * po.DEG), "lean-out-shrouded")
    assert own.geometry.tilt_rad == pytest.approx(12 * po.DEG, abs=0.5 * po.DEG + 1e-9)
    steep = po.best(leaning(lean_rad=30 * po.DEG), "lean-out-shrouded")
    assert steep.verdict == "refused"
    assert free.verdict == "admissible"


def test_the_legs_carry_head_shroud_and_as_many_plates_as_is_left() -> None:
    made = over()
    c = po.best(made, "over-shrouded")
    plate = stop_piece(made, "PB3")
    each = 0.2 * 0.25 * 0.003 * 11350  # density of lead
    left = made.kit.legs[0].carries_kg - made.heads[0].mass_kg - 24.0
    assert kit.plates_carried(made, c, plate) == math.floor(left / each)
    ((stop, wrap),) = kit.kinds_to_compare(made, c)
    assert wrap is None
    assert stop is not None
    assert stop.count == math.floor(left / each)
    heavy = po.best(over(mass_kg=55.0), "over-shrouded")
    assert "legs" in po.broken(heavy)


def test_kit_list_mass_and_budget_hold_the_shroud() -> None:
    made = over()
    c = po.best(made, "over-shrouded")
    b = build_scene(made, made.welds[0], c, c.shots[0], STOP)
    (item,) = [i for i in kit.items(made, made.welds[0], c, STOP, b.wrap) if i.what == "shroud"]
    assert item.mass_kg == 24.0
    plates = 6 * kit.plate_mass_kg(made, made.kit.plates[0])
    assert kit.added_mass_kg(made, STOP, b.wrap) == pytest.approx(24.0 + plates)
    se = nuclides.nuclide("Se-75")
    lines, k = budget(made, made.sources[0], STOP, np.array([400.0]), np.array([1.0]), shroud=c.shroud)
    rise = next(b.relative for b in lines if b.what == "wall of the shroud")
    from halflayer.physics import photons
    from halflayer.physics.materials import material

    mu = float(photons.mu_per_m(material("lead"), np.array([400.0]))[0])
    assert rise == pytest.approx(math.exp(mu * 0.05 * 0.008) - 1, rel=1e-9)
    assert k > budget(made, made.sources[0], STOP, se.energies_keV, se.photons_per_decay)[1] * 0.1


def test_blankets_asked_for_beside_a_shroud_change_nothing() -> None:
    made = over()
    c = po.best(made, "over-shrouded")
    a = build_scene(made, made.welds[0], c, c.shots[0], STOP)
    b = build_scene(made, made.welds[0], c, c.shots[0], Fitting(6, "PB3", 4, "W25"))
    assert a.scene == b.scene


def test_a_straight_shroud_with_a_lean_is_bad_input() -> None:
    with pytest.raises(ValidationError, match="a straight shroud does not lean"):
        over(lean_rad=0.2)
