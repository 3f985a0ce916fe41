"""How wraps are laid: pieces that cover what the scene holds, tongues where the head stands, a tent without a gap."""

from __future__ import annotations

import math
from types import SimpleNamespace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from test_scene_wrap import cloth

import plan_factory
from halflayer.order.equipment import Blanket
from halflayer.order.models import Order
from halflayer.scene.build import build_scene
from halflayer.scene.sleeves import sleeves
from halflayer.scene.tent_pieces import tent_lay
from halflayer.scene.wrap_layers import OVERLAP, covered_m
from halflayer.sheet.compose import compose
from halflayer.sheet.figures import Show
from halflayer.sheet.laying import hood_of, laying, tongues
from halflayer.sheet.laying_words import _borne

SIZE = st.floats(0.05, 0.6)


@given(SIZE, SIZE, SIZE, st.sampled_from([(0.3, 1.2), (0.7, 1.5), (0.2, 0.85)]))
def test_a_tent_leaves_nothing_of_the_cone_open(
    top: float, more: float, high: float, size: tuple[float, float]
) -> None:
    """By the cone's own geometry: side sqrt(h^2 + (R - r)^2), quarter turns of the foot, turns of the collar."""
    blanket: Blanket = cloth().model_copy(update={"width_m": size[0], "length_m": size[1]})
    lay = tent_lay(blanket, top_m=top, foot_m=top + more, high_m=high)
    if lay is None:  # no run of four lengths comes round that foot
        assert 4 * size[1] < 2 * (top + more) + 3 * OVERLAP * size[1] + 1e-9
        return
    side = math.hypot(high, more)
    assert lay.up_m + lay.down_m >= side - 1e-9 or lay.up_m >= side - 1e-9
    run = size[1] * (1 + (lay.lengths - 1) * (1 - OVERLAP))
    assert 2 * (top + more) + 2 * lay.up_m <= run + 1e-9  # under the stop and up both sides
    assert covered_m(lay.across, blanket) >= 2 * (top + more) - 1e-9
    open_m = math.pi * (top + more) - covered_m(lay.across, blanket)
    assert open_m <= 0 or covered_m(lay.along, blanket) >= open_m
    if lay.collar:
        closes = side - lay.up_m
        radius = top + more * closes / side
        assert lay.collar / lay.rows * size[1] >= 2 * math.pi * radius
    assert lay.pieces == (lay.across + lay.along) * lay.lengths + lay.collar


def test_the_tent_of_the_example_by_hand() -> None:
    """193 mm at the head, 466 at the foot, 445 high, pieces 300 x 1200: (1200 - 466) / 2 = 367 up, 162 mm open."""
    blanket = cloth().model_copy(update={"width_m": 0.3, "length_m": 1.2})
    lay = tent_lay(blanket, top_m=0.0965, foot_m=0.233, high_m=0.445)
    assert lay is not None
    assert (lay.across, lay.along, lay.lengths, lay.collar) == (2, 1, 1, 1)
    assert lay.up_m == pytest.approx(0.367)
    assert lay.gap_m == pytest.approx(math.pi * 0.233 - 0.57, abs=1e-9)


def test_tongues_cover_the_head_and_fold_at_its_ends() -> None:
    for pieces in (((-0.272, 0.028), (-0.002, 0.298)), ((-0.4, -0.1), (-0.13, 0.17), (0.14, 0.44))):
        found = tongues(pieces, 0.065)
        assert min(a for a, _, _ in found) == -0.065 and max(b for _, b, _ in found) == 0.065
        assert {fold for *_, fold in found} == {-0.065, 0.065}


def test_every_wrap_of_a_plan_is_drawn_with_its_pieces_and_steps() -> None:
    plan = plan_factory.plan()
    order = Order.from_json(plan.order)
    seen = 0
    for w in plan.welds:
        if w.chosen is None or w.shielding is None or not w.shielding.fitting.layers:
            continue
        weld = order.weld(w.weld)
        built = build_scene(order, weld, w.chosen, w.chosen.shots[0], w.shielding.fitting)
        found = laying(order, weld, w.chosen, w.shielding, built, Show())
        assert found is not None and found["steps"]
        if built.wrap.lay is None and not any(one.patch for one in built.wrap.layers):
            blanket = next(b for b in order.kit.blankets if b.id == w.shielding.fitting.blanket)
            strips = sleeves(built, built.wrap.layers[: w.shielding.fitting.layers], blanket)
            for s in strips:
                assert len(s.pieces) == s.one.beside
                assert s.pieces[-1][1] - s.pieces[0][0] == pytest.approx(s.one.along_m)
            drawn = found["svg"].count('class="piece"')
            assert drawn == sum(s.one.beside for s in strips) + bool(hood_of(built))
        seen += 1
    assert seen >= 1
    for sheet in compose(plan):
        if sheet.kind == "weld" and sheet.data["back"]["layers"]["rows"]:
            assert sheet.data["back"]["layers"]["laid"]


def test_a_crew_reads_on_page_one_how_each_thing_is_held() -> None:
    """Questions of who builds the set-up, from the settings alone: which hole is the first, how a film is held."""
    plan = plan_factory.plan()
    order = Order.from_json(plan.order)
    asked = 0
    for sheet in compose(plan):
        if sheet.kind != "weld":
            continue
        rows = {r["label"]: r for r in sheet.data["settings"]}
        film = next(r["note"] for label, r in rows.items() if label in ("Film", "Two films"))
        assert "(along × across)" in film or "(along × round)" in film
        assert any(words in film for words in ("tied on", "in the shroud", "to be brought across the bore"))
        if "Legs" in rows:
            assert "hole 1 shortest; pins at the axis, " in rows["Legs"]["note"]
        if "Strap" in rows:
            assert "straps to be brought" in rows["Strap"]["note"]  # the order's gear has none
        weld = order.weld(sheet.data["weld"])
        level = f"plan {math.degrees(weld.heading_rad) % 360:.0f}"
        assert ("+x up" if weld.runs == "vertical" else level) in sheet.data["drawing"]
        asked += 1
    assert asked >= 2


def test_a_film_inside_a_pipe_is_drawn_with_what_holds_it() -> None:
    from test_placement_outside import order as outside_order

    import placement_orders as po
    from halflayer.order.gear import Gear
    from halflayer.scene.fitting import Fitting
    from halflayer.sheet.held_words import held_by, put_in
    from halflayer.sheet.settings import settings
    from halflayer.sheet.setup_drawing import setup_drawing
    from halflayer.sheet.subject import Subject

    order = outside_order()
    weld = order.welds[0]
    chosen = po.best(order, "outside")
    fitting = Fitting()
    built = build_scene(order, weld, chosen, chosen.shots[0], fitting)
    s = Subject(order, weld, chosen, fitting, built, built.scene, Show())
    drawing = setup_drawing(s, width_mm=122.0, height_mm=160.0)
    assert drawing.svg.count('class="strut"') == 6  # pad, strut and foot in either view
    assert any("strut" in " ".join(p.lines) for p in drawing.labels)
    ends = [n.distance_m for n in (weld.left, weld.right) if n.kind == "open end"]
    assert bool(ends) == (f"{min(ends, default=0.0) * 1000:.0f} mm to the weld" in put_in(weld, Show()))
    told = next(r for r in settings(order, weld, chosen, None, None, built, Show()) if r["label"] == "Film")[
        "note"
    ]
    assert "pressed to the wall by a strut to be brought across the bore" in told  # the kit has none
    strut = Gear(id="SU", kind="strut", spread="spread by a wedge")
    kit = order.kit.model_copy(update={"gear": (*order.kit.gear, strut)})
    with_strut = order.model_copy(update={"kit": kit})
    rows = settings(with_strut, weld, chosen, None, None, built, Show())
    assert "by SU across the bore, pad behind; spread by a wedge" in next(
        r["note"] for r in rows if r["label"] == "Film"
    )
    assert held_by(order, "no such kind", "; in").endswith("to be brought")


def test_a_tent_hangs_from_the_legs_only_within_what_they_carry() -> None:
    """By hand: of 40 kg a head of 14 kg leaves 26 kg, too little for a tent of 36 kg; with 8.1 kg of plates 17.9 kg."""
    legs, head = SimpleNamespace(id="L-1", carries_kg=40.0), SimpleNamespace(id="H-1", mass_kg=14.0)
    order: Any = SimpleNamespace(kit=SimpleNamespace(legs=[legs]), heads=[head])
    way: Any = SimpleNamespace(legs="L-1", head="H-1")

    def said(tent_kg: float, stop_kg: float = 0.0) -> str:
        items = [SimpleNamespace(what="blanket", mass_kg=tent_kg)]
        items += [SimpleNamespace(what="stop plate", mass_kg=stop_kg)] * bool(stop_kg)
        return _borne(order, way, SimpleNamespace(items=items), Show())  # type: ignore[arg-type]

    assert "carries 26 kg beside the head: hung from the frame" in said(36.0)
    assert "carries 26 kg beside the head: hung over head and legs" in said(20.0)
    assert "carries 17.9 kg beside head and stop: hung from the frame" in said(18.0, stop_kg=8.1)
    assert _borne(order, SimpleNamespace(legs=None, head="H-1"), SimpleNamespace(items=[]), Show()) == ""  # type: ignore[arg-type]
