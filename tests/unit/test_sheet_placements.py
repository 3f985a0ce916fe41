"""The newer placements on the sheet: what is named on the drawing, in the settings and among the dimensions."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from dataclasses import replace
from typing import Any

import pytest

import order_factory as of
import placement_orders as po
import plan_factory as pf
from halflayer.order.models import Order
from halflayer.scene.build import build_scene
from halflayer.scene.solids import Tube
from halflayer.sheet.figures import Show
from halflayer.sheet.laying import laying
from halflayer.sheet.settings import settings
from halflayer.sheet.setup_drawing import setup_drawing
from halflayer.sheet.subject import Subject, windows
from halflayer.sheet.time_row import MANY, _starts, _where
from halflayer.sheet.weld_sheet import way
from halflayer.shielding.result import Fitting, Item

GUIDE = {"id": "GT", "material": "tungsten", "wall_m": 0.010, "bore_m": 0.012, "length_m": 6.0, "speed_m_s": 0.75,
         "mass_kg": 30.0}  # fmt: skip


def guided() -> Order:
    return po.order(
        "strap-guided",
        weld={"od": 168.3, "wall": 7.11, "cap": 12.0, "guide_from": [5.0, 0.0, 0.3]},
        head={"apertures": of.head()["apertures"], "travel_s": 8.0, "source_to_face_m": 0.03},
        film=of.film(),
        kit={"guides": [GUIDE]},
    )


def shrouded() -> Order:
    return po.order("over-shrouded", kit={"shrouds": [po.shroud()]})


def lean_back() -> Order:
    return po.order("lean-back", kit={"blankets": [*of.kit()["blankets"], NARROW]})


NARROW = {"id": "N20", "material": "tungsten rubber", "areal_density_kg_m2": 20.0, "thickness_m": 0.0045,
          "width_m": 0.2, "length_m": 0.85, "count": 12}  # fmt: skip


def _sheet(order: Order, arrangement: str, fitting: Fitting) -> tuple[Any, str, Subject]:
    c, w = po.best(order, arrangement), order.welds[0]
    built = build_scene(order, w, c, c.shots[0], fitting)
    subject = Subject(order, w, c, fitting, built, built.scene, Show())
    drawing = setup_drawing(subject, width_mm=122.0, height_mm=166.0)
    rows = {r["label"]: r for r in settings(order, w, c, None, None, built, Show())}
    return rows, drawing.svg, subject


def test_a_legend_of_many_materials_takes_a_second_row_inside_the_drawing() -> None:
    wool = {"material": "mineral wool", "thickness_m": 0.02}
    order = po.order("lean-out", weld={"insulation": wool, "contents": {"material": "water"}})
    _, _, subject = _sheet(order, "lean-out", Fitting(3, "PB3", 2, "W25"))
    root = ET.fromstring(setup_drawing(subject, width_mm=94.0, height_mm=166.0).svg)
    swatches = [n for n in root.iter() if n.get("class", "").startswith("legend ")]
    assert {n.get("class") for n in swatches} >= {"legend lead", "legend blanket", "legend steel"}
    lows = [float(y) for n in swatches for _, y in re.findall(r"([-\d.]+)[ ,]([-\d.]+)", n.get("d", ""))]
    assert max(lows) - min(lows) > 5.0 and max(lows) <= float(root.get("viewBox", "").split()[3])


def test_the_guide_tube_is_named_and_set() -> None:
    rows, svg, _ = _sheet(guided(), "strap-guided", Fitting(0, None, 3, "W25"))
    assert ">guide tube GT<" in svg and rows["Guide tube"]["value"] == "GT"
    assert rows["Guide tube"]["note"] == (
        "6 m long; container at site x 5, y 0, 0.3 m up; "
        "the 920 mm more than the way in one wide bend, straight for the last part; tightest bend: ask its maker"
    )


def test_only_a_piece_of_the_guide_tube_is_drawn() -> None:
    """Half a metre of it stands in the scene; drawn whole it would make everything else small."""
    _, _, subject = _sheet(guided(), "strap-guided", Fitting(0, None, 3, "W25"))
    whole = next(s for s in subject.scene.solids if s.name == "guide tube")
    side, end = windows(subject)
    assert isinstance(whole, Tube) and whole.length_m >= 0.5
    assert side.y1 - side.y0 < 0.45 and max(end.x1 - end.x0, end.y1 - end.y0) < 0.6


def test_the_shroud_is_named_and_set() -> None:
    made = shrouded()
    rows, svg, _ = _sheet(made, "over-shrouded", Fitting(6, made.kit.plates[0].id, 0, None))
    assert ">shroud SH-straight<" in svg and rows["Shroud"]["value"] == "SH-straight"
    # In the sequence in which its steps say it is built: film and IQI lie in it, legs and head stand over it.
    labels = list(rows)
    before = ["Clamp", "Film", "IQI", "Shroud", "Legs", "Offset", "Aperture"]
    assert labels[: labels.index("Head")] == before
    assert [r["n"] for r in rows.values()] == list(range(1, len(rows) + 1))
    assert labels.index("Plates") > labels.index("Head")
    assert "stop at its foot" in rows["Shroud"]["note"]
    assert "behind the film" not in rows["Plates"]["note"]


def test_the_shroud_s_closing_is_drawn_to_scale_and_told() -> None:
    """By hand from the kit: 180 mm inside and two walls of 8 mm are 196 mm outside; 260 mm and two walls are 276 mm."""
    made = shrouded()
    c, w = po.best(made, "over-shrouded"), made.welds[0]
    fitting = Fitting(6, made.kit.plates[0].id, 0, None)
    built = build_scene(made, w, c, c.shots[0], fitting)
    base = next(p.shielding for p in pf.plan().welds if p.shielding is not None)
    shielding = replace(base, fitting=fitting, items=(Item("SH-straight", "shroud", 1, 24.0),))
    laid = laying(made, w, c, shielding, built, Show())
    assert laid is not None and ">196 mm<" in laid["svg"]
    scale = float(laid["scale"].removeprefix("1 : "))
    halves = re.findall(r'd="M([^"]+)Z"[^>]*class="half"', laid["svg"])
    xs = [[float(p.split(" ")[0]) for p in d.split("L")] for d in halves]
    assert len(xs) == 2 and all(max(x) - min(x) == pytest.approx(276 / scale, abs=0.01) for x in xs)
    ys = [[float(p.split(" ")[1]) for p in d.split("L")] for d in halves]
    assert max(ys[0]) < min(ys[1])  # head half over foot half, apart, so that both can be seen
    sides = po.order("over-shrouded", kit={"shrouds": [po.shroud(parts="along the beam")]})
    other = laying(sides, sides.welds[0], po.best(sides, "over-shrouded"), shielding, built, Show())
    assert other is not None
    k = float(other["scale"].removeprefix("1 : "))
    parts = re.findall(r'd="M([^"]+)Z"[^>]*class="half"', other["svg"])
    xs = [[float(p.split(" ")[0]) for p in d.split("L")] for d in parts]
    assert len(xs) == 2 and all(max(x) - min(x) == pytest.approx(138 / k, abs=0.01) for x in xs)
    assert max(xs[0]) < min(xs[1])
    said = " ".join(laid["steps"])
    assert "not from the pipe" in said and "foot half" in said


def test_lean_back_has_its_dimensions_apart_and_an_angle_without_sign() -> None:
    rows, svg, subject = _sheet(lean_back(), "lean-back", Fitting(4, "N20", 3, "N20"))
    assert ">stop, 4 layers<" in svg and "plates" not in svg
    assert "-" not in rows["Offset"]["value"] and "left of the weld" in rows["Offset"]["note"]
    for a in subject.axial:
        for b in subject.axial:
            apart = a[3] != b[3] or a[1] <= b[0] + 1e-9 or b[1] <= a[0] + 1e-9
            assert a is b or apart, (a, b)


@pytest.mark.parametrize(
    ("arrangement", "words"),
    [
        ("outside", "SWSI outside"),
        ("over", "DWDI in plane, over"),
        ("over-shrouded", "DWDI in plane, over in shroud SH"),
    ],
)
def test_a_way_is_not_said_twice(arrangement: str, words: str) -> None:
    class Way:
        technique = "SWSI outside" if arrangement == "outside" else "DWDI in plane"
        shroud = "SH" if arrangement.endswith("shrouded") else ""

    found = Way()
    found.arrangement = arrangement  # type: ignore[attr-defined]
    assert way(found) == words  # type: ignore[arg-type]


def test_outside_says_that_both_stand_at_one_clock_and_where_the_plate_lies() -> None:
    made = po.order(
        "outside", weld=of.weld(od=323.8, wall=10.31, cap=14.0, access_inside=True, height_m=2.0),
        head={"apertures": [{"id": "R40", "shape": "round", "half_angle_rad": 40 * of.DEG}]},
    )  # fmt: skip
    c = po.best(made, "outside")
    assert len(c.shots) > MANY
    weld = made.welds[0]
    # 60 degrees from the datum are a sixth of the girth: pi x 323.8 mm / 6 = 169.5 mm, by hand
    assert _where(weld, c, c.shots[1], Show()) == "60° (170 mm)"  # both: the line under the clocks says so
    assert _where(weld, replace(c, shots=c.shots[:2]), c.shots[1], Show()) == "source and film 60° (170 mm)"


@pytest.mark.parametrize(("travel_s", "told"), [(0.8, "its way, 0.8 s each, on top"), (0.0, "not stated")])
def test_the_sheet_says_when_the_time_starts(travel_s: float, told: str) -> None:
    made = guided()
    heads = tuple(h.model_copy(update={"travel_s": travel_s}) for h in made.heads)
    note = _starts(made.model_copy(update={"heads": heads}), po.best(made, "strap-guided"), Show())
    assert note.startswith("timed from the source in place")
    assert told in note
