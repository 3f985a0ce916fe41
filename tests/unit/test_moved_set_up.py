"""Set-ups with something out of place: rigid motions of the head, holes through the wrap, room on the stop."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from halflayer.scene.build import Built, build_scene
from halflayer.scene.fitting import Fitting
from halflayer.scene.frame import dot
from halflayer.scene.trace import materials_along
from halflayer.shielding.moved import cross, head_shifted, head_turned, hole_along, rotated, with_hole
from halflayer.shielding.tolerance import margins_m
from setups import ORDER, candidate

STAND, STRAP = Fitting(6, "P4", 3, "B25"), Fitting(0, None, 5, "B25")
X, Y, Z = (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)


def built(way: str = "over", shot: int = 0) -> Built:
    weld = ORDER.weld({"over": "W1", "lean-out": "W1", "strap": "W2", "bore": "W3"}[way])
    chosen = candidate(weld, way)
    return build_scene(ORDER, weld, chosen, chosen.shots[shot], STRAP if way in ("strap", "bore") else STAND)


def heads(b: Built):
    return [s for s in b.scene.solids if s.name.startswith("head")]


def test_quarter_turns_by_hand() -> None:
    assert rotated(X, Z, math.pi / 2) == pytest.approx(Y)
    assert rotated(Y, X, math.pi / 2) == pytest.approx(Z)
    assert cross(X, Y) == pytest.approx(Z)


@settings(max_examples=25, deadline=None)
@given(angle=st.floats(-1.0, 1.0), u=st.floats(-1.0, 1.0))
def test_a_turn_keeps_lengths_and_the_source_s_place(angle: float, u: float) -> None:
    b = built("lean-out")
    axis = (0.3, u, 1.0)
    t = head_turned(b, axis=axis, angle_rad=angle)
    assert t.source_at == b.source_at
    assert dot(t.aim, t.aim) == pytest.approx(1.0)
    assert dot(t.aim, t.axis_along) == pytest.approx(0.0, abs=1e-12)
    for before, after in zip(heads(b), heads(t), strict=True):
        assert math.dist(before.centre, b.source_at) == pytest.approx(math.dist(after.centre, b.source_at))
    others = [s for s in b.scene.solids if not s.name.startswith("head")]
    assert [s for s in t.scene.solids if not s.name.startswith("head")] == others


def test_a_turned_beam_leaves_by_the_turned_port() -> None:
    """The axis of the turned beam crosses the same matter up to the head's face as that of the straight one."""
    b = built()
    t = head_turned(b, axis=Y, angle_rad=0.2)
    face = ORDER.heads[0].source_to_face_m
    straight, turned = (materials_along(x.scene, x.source_at, x.aim, face) for x in (b, t))
    assert [m for m, _, _ in straight] == [m for m, _, _ in turned] == ["air"]


def test_a_shift_moves_head_and_source_alike() -> None:
    b = built()
    by = (0.01, -0.02, 0.03)
    moved = head_shifted(b, by)
    assert moved.source_at == pytest.approx(tuple(a + c for a, c in zip(b.source_at, by, strict=True)))
    assert moved.aim == b.aim
    for before, after in zip(heads(b), heads(moved), strict=True):
        assert after.centre == pytest.approx(tuple(a + c for a, c in zip(before.centre, by, strict=True)))


@pytest.mark.parametrize("way", ["strap", "bore"])
def test_a_hole_takes_the_wrap_out_of_the_ray_and_nothing_else(way: str) -> None:
    b = built(way)
    direction = b.aim if way == "strap" else Y
    hole = hole_along(b, start=b.source_at, direction=direction, edge_m=0.1)
    assert hole is not None
    t = 5 * 0.0055
    assert hole.depth_m == pytest.approx(t, rel=1e-6)  # five layers of 5.5 mm, met at right angles
    through = materials_along(with_hole(b, hole).scene, b.source_at, direction, 1.0)
    before = materials_along(b.scene, b.source_at, direction, 1.0)
    assert not any(name.startswith("wrap") for _, name, _ in through)

    def metal(ray):
        return {m: math.fsum(d for k, _, d in ray if k == m) for m, _, _ in ray if m in ("steel", "lead")}

    assert metal(through) == pytest.approx(metal(before))


def test_a_hole_is_no_wider_than_stated() -> None:
    """Beside the hole, half its edge and a little more away, the wrap is whole."""
    b = built("bore")
    hole = hole_along(b, start=(0.0, 0.0, 0.0), direction=Y, edge_m=0.1)
    assert hole is not None
    opened = with_hole(b, hole).scene
    inside = materials_along(opened, (0.049, 0.0, 0.0), Y, 1.0)
    outside = materials_along(opened, (0.051, 0.0, 0.0), Y, 1.0)
    assert not any(n.startswith("wrap") for _, n, _ in inside)
    assert any(n.startswith("wrap") for _, n, _ in outside)


def test_no_wrap_no_hole() -> None:
    weld = ORDER.weld("W2")
    chosen = candidate(weld, "strap")
    bare = build_scene(ORDER, weld, chosen, chosen.shots[0], Fitting())
    assert hole_along(bare, start=bare.source_at, direction=bare.aim, edge_m=0.1) is None


def test_room_on_the_stop_by_hand() -> None:
    """Plates of 300 mm: half of what the footprint leaves; a sleeve goes all round and ends along the pipe only."""
    b = built()
    margins = margins_m(b)
    assert margins is not None
    assert margins == pytest.approx(((0.3 - b.footprint_m[0]) / 2, (0.3 - b.footprint_m[1]) / 2))
    sleeve = margins_m(built("strap"))
    assert sleeve is not None
    assert sleeve[1] == math.inf
    assert sleeve[0] >= 0.1 - 1e-9  # the sleeve is laid out to reach 100 mm beyond the beam on each side
