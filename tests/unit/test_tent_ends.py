"""Where a pipe goes through a tent and a sleeve meets a neighbour: by hand from upright cones and stated places."""

from __future__ import annotations

import math
from types import SimpleNamespace
from typing import Any

import pytest

from halflayer.scene.solids import Tube
from halflayer.scene.tent_pieces import TentLay
from halflayer.sheet.figures import Show
from halflayer.sheet.reading import _viewer
from halflayer.sheet.sleeve_ends import sleeve_ends
from halflayer.sheet.tent_ends import ends_figures, ends_words, flange_words, tent_ends
from halflayer.sheet.tube_rows import source_tube, supports

LAY = TentLay(0.10, 0.20, 0.30, 2, 1, 1, 0, 0, 0.316, 0.0, 0.01)
BLANKET: Any = SimpleNamespace(width_m=0.3, length_m=1.2)


def weld(left: str = "pipe", at_m: float = 1.0, right: str = "pipe", far_m: float = 1.0) -> Any:
    pipe = SimpleNamespace(od=0.06)
    near = SimpleNamespace(kind=left, distance_m=at_m)
    return SimpleNamespace(
        pipe=pipe,
        insulation_at_weld=None,
        left=near,
        right=SimpleNamespace(kind=right, distance_m=far_m),
    )


def built(*solids: Any) -> Any:
    """A head upright over the weld, its face 0.2 m above the pipe's axis."""
    scene = SimpleNamespace(solids=solids)
    return SimpleNamespace(source_at=(0.0, 0.0, 0.25), aim=(0.0, 0.0, -1.0), scene=scene)


def test_an_upright_tent_is_slit_alike_on_both_sides() -> None:
    """The axis lies 0.2 of 0.3 m down: 0.1 + 0.1 x 2/3 = 0.1667 m out. A piece of 1.2 m comes (1.2 - 0.4) / 2 = 0.4 m
    up from the foot; under the pipe lie 0.07 of 0.3 m of height, 0.07 / 0.3 x side along the wall."""
    ends = tent_ends(LAY, built(), weld(), BLANKET, face_m=0.05)
    assert ends is not None and ends.middle_m == pytest.approx(0.0)
    side = math.hypot(0.3, 0.1)
    for e in ends.ends:
        assert e.at_m == pytest.approx(1 / 6, abs=1e-6)
        assert e.slit_m == pytest.approx(0.4 - 0.07 / 0.3 * side, abs=1e-6)
        assert (e.over, e.inside) == ("pipe", ())
    assert ends.past_m == pytest.approx(0.4 - side, abs=1e-6)
    opened = {d.name: d for d in ends_figures(ends, LAY, BLANKET)}
    assert opened["tent_slit_left"].value == ends.ends[0].slit_m
    run, foot, under = (float(i.value) for i in opened["tent_slit_left"].inputs)  # type: ignore[arg-type]
    assert (run - foot) / 2 - under == pytest.approx(ends.ends[0].slit_m, abs=1e-9)


def test_a_clamp_in_the_wall_is_what_the_slit_closes_over_and_a_flange_within_is_told() -> None:
    """A clamp of 0.15 to 0.19 m stands where the wall crosses at 0.1667 m; a flange from 0.11 to 0.125 is inside."""
    air: Any = None
    clamp = Tube("clamp", (0.17, 0, 0), (1, 0, 0), 0.05, 0.02, 0.04, air)
    flange = Tube("flange left", (-0.1175, 0, 0), (1, 0, 0), 0.051, 0.02, 0.015, air)
    w = weld("flange", 0.11)
    ends = tent_ends(LAY, built(clamp, flange), w, BLANKET, face_m=0.05)
    assert ends is not None
    left, right = ends.ends
    assert (left.over, left.inside, right.over) == ("pipe", ("flange",), "clamp")
    assert right.slit_m > left.slit_m  # farther down, to under the clamp
    words = ends_words(ends, LAY, Show())
    assert (
        "over the pipe 167 mm off the weld, flange inside" in words
        and "on the clamp 167 mm off the weld, its arms inside" in words
    )
    assert flange_words(w, Show()).startswith(
        "flange 110 mm left of the weld, taken 102 mm across (its size is not"
    )


def test_a_tent_that_ends_above_the_pipe_has_no_slits() -> None:
    short = TentLay(0.10, 0.20, 0.15, 2, 1, 1, 0, 0, 0.18, 0.0, 0.01)
    assert tent_ends(short, built(), weld(), BLANKET, face_m=0.05) is None


@pytest.mark.parametrize(
    ("kind", "told"),
    [("flange", "is folded back outwards, layer by layer"), ("elbow", "goes on over it, tied down")],
)
def test_what_of_a_sleeve_reaches_a_neighbour_is_told(
    kind: str, told: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    strip = SimpleNamespace(pieces=((-0.33, 0.37),))
    monkeypatch.setattr("halflayer.sheet.sleeve_ends.sleeves", lambda *_: (strip,))
    words = sleeve_ends(weld(kind, 0.26, "pipe", 0.3), built(), (), BLANKET, Show())
    assert words == f"what reaches the {kind}, 260 mm left of the weld, {told}"
    assert sleeve_ends(weld(kind, 0.33), built(), (), BLANKET, Show()) == ""


def test_the_viewer_is_told_for_the_density_that_asks_most() -> None:
    """30 x 10^2.5 = 9487 cd/m2 is more than 10 x 10^2.7 = 5012: asked by 2.5, not by the darkest (ISO 5580, memory)."""
    order: Any = SimpleNamespace(viewer_luminance=None, code_of=lambda _: "ISO 17636-1:2013")
    c: Any = SimpleNamespace(density_max=2.7)
    words = _viewer(order, weld(), c, None)
    assert words.startswith("9,500 cd/m² or more for density 2.5 (the darkest reads 2.70)")
    c = SimpleNamespace(density_max=3.02)
    assert _viewer(order, weld(), c, None).startswith("11,000 cd/m² or more for density 3.02,")


def test_supports_and_the_tube_of_a_bare_source_are_told_as_the_order_has_them() -> None:
    gear = (
        SimpleNamespace(id="X-1", kind="tube support", count=1, heights=(0.4, 1.8)),
        SimpleNamespace(id="X-2", kind="source tube", count=1, heads=("S",), length_m=6.0),
    )
    order: Any = SimpleNamespace(kit=SimpleNamespace(gear=gear))
    order.kit.guides, c = (), SimpleNamespace(guide=None, shots=("one",))
    assert "on 1 X-1 (400 mm to 1.8 m high)" in supports(order, weld(), c, Show())
    assert source_tube(order, "S", Show()) == " X-2 (6 m)" and source_tube(order, "T", Show()) == ""
