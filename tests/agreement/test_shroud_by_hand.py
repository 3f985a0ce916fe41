"""The scene of a shrouded stand against the same set-up written by hand as a free scene, by rays and by dose."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

import placement_orders as po
from halflayer.scene.build import build_scene
from halflayer.scene.fitting import Fitting
from halflayer.scene.trace import optical_depths
from halflayer.shielding.moved import without_shroud
from halflayer.transport.free_scene import parse_scene
from halflayer.transport.run import transport

# A 60.3 x 5.54 mm pipe 1.2 m above a floor, source 370 mm off it, head of 100 x 100 x 160 mm (air) with its
# face 60 mm from the source: face at 30.15 + 370 - 60 = 340.15 mm. Shroud 180 x 260 mm inside, 8 mm lead,
# 400 mm long: foot at -59.85 mm; four walls and a lid with a port of 2 ((68 tan 7) + 1.5 + 3 x 8/60 + 2) mm.
# Film plane 34.15 mm under the axis (cap 2 mm, cassette 2 mm). Stop: six lead plates of 200 x 250 x 3 mm.
# Clamp 150 mm to the left; arms of 16 mm rod from it to pins beside the weld, legs from there to the source,
# 154 mm from the middle plane.
HAND = """
source: {{lines: [[400 keV, 1.0]], activity: 1 TBq, at: [0 mm, 0 mm, 400.15 mm], aim: [0, 0, -1], half_angle: 7 deg}}
surround: air
solids:
  - {{name: wall left, shape: box, centre: [-94 mm, 0 mm, 140.15 mm], size: [8 mm, 276 mm, 400 mm], material: lead}}
  - {{name: wall right, shape: box, centre: [94 mm, 0 mm, 140.15 mm], size: [8 mm, 276 mm, 400 mm], material: lead}}
  - {{name: wall front, shape: box, centre: [0 mm, -134 mm, 140.15 mm], size: [196 mm, 8 mm, 400 mm], material: lead}}
  - {{name: wall back, shape: box, centre: [0 mm, 134 mm, 140.15 mm], size: [196 mm, 8 mm, 400 mm], material: lead}}
  - {{name: lid, shape: box, centre: [0 mm, 0 mm, 336.15 mm], size: [196 mm, 276 mm, 8 mm], material: lead}}
  - {{name: port, shape: box, centre: [0 mm, 0 mm, 336.15 mm], size: [{port} mm, {port} mm, 8 mm], material: air}}
  - {{name: cut-outs, shape: tube, axis: [1, 0, 0], centre: [0 mm, 0 mm, 0 mm], outer_radius: 35.15 mm,
      length: 250 mm, material: air}}
  - {{name: floor, shape: halfspace, normal: [0, 0, 1], through: [0 mm, 0 mm, -1.2 m], material: concrete}}
  - {{name: bore, shape: tube, axis: [1, 0, 0], centre: [0 mm, 0 mm, 0 mm], outer_radius: 30.15 mm, length: 4 m,
      material: air}}
  - {{name: pipe, shape: tube, axis: [1, 0, 0], centre: [0 mm, 0 mm, 0 mm], outer_radius: 30.15 mm, wall: 5.54 mm,
      length: 4 m, material: steel}}
  - {{name: cap, shape: tube, axis: [1, 0, 0], centre: [0 mm, 0 mm, 0 mm], outer_radius: 32.15 mm, wall: 2 mm,
      length: 8 mm, material: steel}}
  - {{name: clamp, shape: tube, axis: [1, 0, 0], centre: [-150 mm, 0 mm, 0 mm], outer_radius: 50.15 mm, wall: 20 mm,
      length: 50 mm, material: steel}}
  - {{name: arm 1, shape: tube, axis: [1, 0, 0], centre: [-75 mm, 154 mm, 0 mm], outer_radius: 8 mm,
      length: 150 mm, material: steel}}
  - {{name: arm 2, shape: tube, axis: [1, 0, 0], centre: [-75 mm, -154 mm, 0 mm], outer_radius: 8 mm,
      length: 150 mm, material: steel}}
  - {{name: leg 1, shape: tube, axis: [0, 0, 1], centre: [0 mm, 154 mm, 200.075 mm], outer_radius: 8 mm,
      length: 400.15 mm, material: steel}}
  - {{name: leg 2, shape: tube, axis: [0, 0, 1], centre: [0 mm, -154 mm, 200.075 mm], outer_radius: 8 mm,
      length: 400.15 mm, material: steel}}
  - {{name: front screen, shape: box, centre: [0 mm, 0 mm, -34.1 mm], size: [100 mm, 240 mm, 0.1 mm], material: lead}}
  - {{name: film, shape: box, centre: [0 mm, 0 mm, -34.25 mm], size: [100 mm, 240 mm, 0.2 mm], material: polyester}}
  - {{name: screen and lead, shape: box, centre: [0 mm, 0 mm, -34.9 mm], size: [100 mm, 240 mm, 1.1 mm],
      material: lead}}
  - {{name: stop, shape: box, centre: [0 mm, 0 mm, -68.85 mm], size: [200 mm, 250 mm, 18 mm], material: lead}}
points:
  - {{name: along the pipe, at: [1.5 m, 0 mm, 0 mm]}}
  - {{name: beside it, at: [0 mm, 1.5 m, 100 mm]}}
  - {{name: under the stop, at: [200 mm, 0 mm, -1 m]}}
"""


def by_hand():
    port = 2 * (68 * math.tan(math.radians(7)) + 1.5 + 3 * 8 / 60 + 2)
    text = HAND.format(port=port)
    return parse_scene(text, file="by hand")


def by_order():
    made = po.order("over-shrouded", kit={"shrouds": [po.shroud()]})
    c = po.best(made, "over-shrouded")
    assert c.verdict == "admissible"
    b = build_scene(made, made.welds[0], c, replace(c.shots[0], source_clock_rad=0.0), Fitting(6, "PB3"))
    hand = by_hand()
    return po.problem(b, {s.name: s.at for s in hand.scores})


def test_rays_in_all_directions_meet_the_same_matter() -> None:
    """Optical depths at 400 keV from three points to 2000 of a sphere; the cap's foot (10 um) is not in the file."""
    order, hand = by_order(), by_hand()
    rng = np.random.default_rng(7)
    d = rng.normal(size=(2000, 3))
    ends = 1.1 * d / np.linalg.norm(d, axis=1, keepdims=True)
    energies = np.array([400.0])
    for start in ((0.0, 0.0, 0.40015), (0.02, 0.01, 0.15), (0.05, -0.04, -0.06)):
        a = optical_depths(order.scene, start, ends, energies)[:, 0]
        b = optical_depths(hand.scene, start, ends, energies)[:, 0]
        assert np.count_nonzero(np.abs(a - b) > 1e-3) == 0


def test_a_shroud_left_off_is_the_hand_s_scene_without_its_walls_and_lid() -> None:
    """The free scene with air for the lead of walls and lid; rays that met lead before meet less, and nothing else."""
    whole = by_order()
    made = po.order("over-shrouded", kit={"shrouds": [po.shroud()]})
    c = po.best(made, "over-shrouded")
    b = build_scene(made, made.welds[0], c, replace(c.shots[0], source_clock_rad=0.0), Fitting(6, "PB3"))
    bare = without_shroud(b).scene
    lines = HAND.split("\n")
    lines = [
        x.replace("material: lead", "material: air")
        if x.lstrip(" -{").startswith(("name: wall", "name: lid"))
        else x
        for x in lines
    ]
    port = 2 * (68 * math.tan(math.radians(7)) + 1.5 + 3 * 8 / 60 + 2)
    hand = parse_scene("\n".join(lines).format(port=port), file="by hand")
    d = np.random.default_rng(8).normal(size=(2000, 3))
    ends = 1.1 * d / np.linalg.norm(d, axis=1, keepdims=True)
    start, energies = (0.02, 0.01, 0.15), np.array([400.0])
    without = optical_depths(bare, start, ends, energies)[:, 0]
    assert (
        np.count_nonzero(np.abs(without - optical_depths(hand.scene, start, ends, energies)[:, 0]) > 1e-3)
        == 0
    )
    less = optical_depths(whole.scene, start, ends, energies)[:, 0] - without
    assert (
        less.min() > -1e-6 and np.mean(less > 0.5) > 0.5
    )  # 8 mm of lead are 2.1 free paths at 400 keV (NIST)


# The same pipe in a skewed shroud, hole 23 (reach 370 mm) and 12 steps of 1 degree, written in the head's own frame:
# beam along -z, so that the shroud's walls stand upright and the pipe leans. Source 30.15 + 370 mm from the pipe's
# centre; face at 340.15 mm, foot on the axis at -59.85 mm. Walls are written too long and cut level by air below.
# Site directions there: along the pipe (cos 12, 0, sin 12), up (-sin 12, 0, cos 12).
SKEWED = """
source: {{lines: [[400 keV, 1.0]], activity: 1 TBq, at: [0 mm, 0 mm, 400.15 mm], aim: [0, 0, -1], half_angle: 7 deg}}
surround: air
solids:
  - {{name: wall left, shape: box, centre: [-94 mm, 0 mm, 90.15 mm], size: [8 mm, 276 mm, 500 mm], material: lead}}
  - {{name: wall right, shape: box, centre: [94 mm, 0 mm, 90.15 mm], size: [8 mm, 276 mm, 500 mm], material: lead}}
  - {{name: wall front, shape: box, centre: [0 mm, -134 mm, 90.15 mm], size: [196 mm, 8 mm, 500 mm], material: lead}}
  - {{name: wall back, shape: box, centre: [0 mm, 134 mm, 90.15 mm], size: [196 mm, 8 mm, 500 mm], material: lead}}
  - {{name: lid, shape: box, centre: [0 mm, 0 mm, 336.15 mm], size: [196 mm, 276 mm, 8 mm], material: lead}}
  - {{name: port, shape: box, centre: [0 mm, 0 mm, 336.15 mm], size: [{port} mm, {port} mm, 8 mm], material: air}}
  - {{name: cut, shape: halfspace, normal: [{upx}, 0, {upz}], through: [0 mm, 0 mm, -59.85 mm], material: air}}
  - {{name: floor, shape: halfspace, normal: [{upx}, 0, {upz}], through: [{fx} mm, 0 mm, {fz} mm], material: concrete}}
  - {{name: cut-outs, shape: tube, axis: [{alx}, 0, {alz}], centre: [0 mm, 0 mm, 0 mm], outer_radius: 35.15 mm,
      length: 260 mm, material: air}}
  - {{name: pipe, shape: tube, axis: [{alx}, 0, {alz}], centre: [0 mm, 0 mm, 0 mm], outer_radius: 30.15 mm,
      wall: 5.54 mm, length: 4 m, material: steel}}
  - {{name: cap, shape: tube, axis: [{alx}, 0, {alz}], centre: [0 mm, 0 mm, 0 mm], outer_radius: 32.15 mm, wall: 2 mm,
      length: 8 mm, material: steel}}
points:
  - {{name: any, at: [1.5 m, 0 mm, 0 mm]}}
"""
BESIDE = (
    "clamp",
    "arm left",
    "arm right",
    "leg left",
    "leg right",
    "front screen",
    "film",
    "back screen",
    "backing lead",
    "stop",
)


def test_a_skewed_shroud_is_the_upright_one_seen_from_the_head() -> None:
    """Optical depths of the same 2000 rays from two points inside, without film, stop and stand."""
    c, s = math.cos(math.radians(12)), math.sin(math.radians(12))
    port = 2 * (68 * math.tan(math.radians(7)) + 1.5 + 3 * 8 / 60 + 2)
    text = SKEWED.format(port=port, upx=-s, upz=c, alx=c, alz=s, fx=1200 * s, fz=-1200 * c)
    hand = parse_scene(text, file="by hand").scene
    made = po.order("lean-out-shrouded", kit={"shrouds": [po.shroud("skewed", lean_rad=12 * po.DEG)]})
    way = po.best(made, "lean-out-shrouded")
    assert (po.setting(way, "leg_hole"), po.setting(way, "lean_steps")) == (23, 12)
    b = build_scene(made, made.welds[0], way, replace(way.shots[0], source_clock_rad=0.0), Fitting())
    scene = replace(b.scene, solids=tuple(x for x in b.scene.solids if x.name not in BESIDE))
    rng = np.random.default_rng(11)
    d = rng.normal(size=(2000, 3))
    ends = 1.1 * d / np.linalg.norm(d, axis=1, keepdims=True)
    to_weld = np.array([[c, 0.0, s], [0.0, 1.0, 0.0], [-s, 0.0, c]])  # from the head's frame
    energies = np.array([400.0])
    for start in ((0.0, 0.0, 0.40015), (0.03, 0.05, 0.10), (-0.05, -0.04, -0.05)):
        by_hand_ = optical_depths(hand, start, ends, energies)[:, 0]
        at = tuple(to_weld @ np.array(start))
        by_order_ = optical_depths(scene, at, ends @ to_weld.T, energies)[:, 0]
        assert np.count_nonzero(np.abs(by_hand_ - by_order_) > 1e-3) == 0


@pytest.mark.slow
def test_dose_is_the_same() -> None:
    """Independent seeds; within three standard deviations of the difference."""
    order, hand = by_order(), by_hand()
    a, b = transport(order, seed=11, batches=160), transport(hand, seed=12, batches=160)
    for x, y in zip(a.readings, b.readings, strict=True):
        sigma = math.hypot(x.air_kerma_rate_Gy_s * x.sigma_rel, y.air_kerma_rate_Gy_s * y.sigma_rel)
        assert abs(x.air_kerma_rate_Gy_s - y.air_kerma_rate_Gy_s) < 3 * sigma
        assert sigma < 0.25 * y.air_kerma_rate_Gy_s
