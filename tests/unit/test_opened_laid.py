"""What sheets print of wraps, bearers, marks, distances and kit, opened: each figure by hand from its own inputs."""

from __future__ import annotations

import io
import json
import math
import re
from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import pytest
from pypdf import PdfReader
from test_placement_strap_guided import order as guided

import placement_orders as po
from halflayer.base.result import Derived
from halflayer.exposure.judged import lap_markers, sectors
from halflayer.opened import opened, opened_order
from halflayer.order.models import Order
from halflayer.plan import Plan
from halflayer.scene.build import build_scene
from halflayer.scene.fitting import Fitting
from halflayer.sheet import pdf
from halflayer.sheet.before import before_list
from halflayer.sheet.compose import compose
from halflayer.sheet.figures import Show
from halflayer.sheet.kit_list import kit_list, kit_loads, source_carriers
from halflayer.sheet.laid_opened import laid_figures
from halflayer.sheet.layers import layer_rows
from halflayer.sheet.load_plan import load_plan
from halflayer.sheet.lost_page import lost_page
from halflayer.sheet.marking import marking_plan
from halflayer.sheet.places_opened import crank_figures, mark_figures
from halflayer.sheet.survey import rows
from halflayer.shielding.bearers import bearers
from halflayer.shielding.opened import plain_name
from halflayer.shielding.safety_result import FloorDose
from halflayer.shielding.survey_points import arrange
from halflayer.technique.result import Candidate
from safety_plan import plan as whole_plan

TURN = 2 * math.pi
PROP = {"id": "P", "kind": "pipe prop", "heights": [0.3, 2.0], "width_m": 0.06, "carries_kg": 300.0, "mass_kg": 9.0,
        "count": 2}  # fmt: skip
FRAME = {"id": "F", "kind": "tent frame", "heights": [0.5, 3.0], "opening": [2.0, 2.0], "width_m": 0.04,
         "carries_kg": 80.0, "mass_kg": 14.0}  # fmt: skip


def with_carriers(order: Order) -> Order:
    data = order.as_json()
    data["kit"]["carriers"] = [PROP, FRAME]
    return Order.from_json(data)


def laid(order: Order, way: Candidate, layers: int) -> tuple[dict[str, Derived], Any, Any]:
    """The figures of a wrap of so many layers, its built set-up and shield."""
    blanket = order.kit.blankets[0]
    fitting = Fitting(blanket=blanket.id, layers=layers)
    weld = order.welds[0]
    built = build_scene(order, weld, way, way.shots[0], fitting)
    pieces = built.wrap.pieces(layers)
    kg = pieces * blanket.width_m * blanket.length_m * blanket.areal_density_kg_m2
    item = SimpleNamespace(id=blanket.id, what="blanket", pieces=pieces, mass_kg=kg)
    shield: Any = SimpleNamespace(fitting=fitting, items=(item,))
    return {d.name: d for d in laid_figures(order, weld, way, shield)}, built, shield


def by(d: Derived) -> dict[str, float]:
    return {i.name: float(i.value) for i in d.inputs}  # type: ignore[arg-type]


@pytest.mark.parametrize("placement", ["strap", "over", "lean-out"])
def test_layers_follow_from_their_inputs_and_are_those_of_the_sheet(placement: str) -> None:
    order = with_carriers(po.order(placement))
    way = po.best(order, placement)
    found, built, shield = laid(order, way, 3)
    blanket = order.kit.blankets[0]
    piece_kg = blanket.width_m * blanket.length_m * blanket.areal_density_kg_m2
    printed = layer_rows(order, shield, built, Show())["rows"]
    assert len(printed) == 3
    rounds: list[float] = []
    ended = placement != "strap"
    for n, row in enumerate(printed, start=1):
        pieces, mass = found[f"layer_{n}_pieces"], found[f"layer_{n}_mass"]
        i = by(pieces)
        assert pieces.value == i["widths"] * i["lengths"] + i["others"]
        assert row["pieces"].startswith(f"{pieces.value}:")
        assert mass.value == pytest.approx(float(pieces.value) * piece_kg)  # type: ignore[arg-type]
        assert row["mass"] == Show().value(float(mass.value), "mass")  # type: ignore[arg-type]
        along, i = found[f"layer_{n}_along"], by(found[f"layer_{n}_along"])
        assert along.value == pytest.approx(i["width"] * (1 + (i["widths"] - 1) * 0.9))  # laps of a tenth
        assert row["along"] == Show().drawn(float(along.value))  # type: ignore[arg-type]
        turn, i = found[f"layer_{n}_round"], by(found[f"layer_{n}_round"])
        half_laid = (n - 0.5) * blanket.thickness_m
        if placement == "strap":
            own = TURN * (i["outside of the pipe"] + i["film and slack"] + half_laid)
            assert i["outside of the pipe"] == order.welds[0].pipe.od / 2
            assert i["film and slack"] > 0.0
            rounds.append(own)
            # Wound on: what is over stands where a width ends, of all its turns.
            if over := found.get(f"layer_{n}_over"):
                begun = sum(by(found[f"layer_{k}_pieces"])["lengths"] for k in range(1, n + 1))
                laid_m = blanket.length_m * (1 + 0.9 * (begun - 1))
                assert over.value == pytest.approx(laid_m - math.fsum(rounds))
                assert float(over.value) >= 0.1 * blanket.length_m - 1e-9  # type: ignore[arg-type]
                ended = True
        else:
            own = i["outline"] + TURN * (i["slack"] + half_laid)
            assert i["outline"] > math.pi * order.welds[0].pipe.od  # it holds the pipe, at least
        assert turn.value == pytest.approx(own)
        assert row["round"] == Show().drawn(float(turn.value))  # type: ignore[arg-type]
    assert ended
    assert sum(found[f"layer_{n}_pieces"].value for n in (1, 2, 3)) == shield.items[0].pieces  # type: ignore[misc]


def test_a_tent_follows_from_its_pieces() -> None:
    order = with_carriers(po.order("over"))
    found, built, _ = laid(order, po.best(order, "over"), 2)
    i = by(found["tent_pieces"])
    assert found["tent_pieces"].value == (i["across"] + i["along"]) * i["end to end"] + i["collar"]
    i = by(found["tent_up"])
    run = i["length"] * (1 + (i["end to end"] - 1) * 0.9)
    assert found["tent_up"].value == pytest.approx(min((run - i["tent_foot"]) / 2, i["side of the cone"]))
    i = by(found["tent_gap"])
    assert found["tent_gap"].value == pytest.approx(
        max(math.pi / 2 * i["tent_foot"] - i["width"] * (1 + (i["across"] - 1) * 0.9), 0.0)
    )
    # as the outline in words has them
    for name in ("tent_top", "tent_foot", "tent_high"):
        assert f"{float(found[name].value) * 1000:.0f} mm" in built.wrap.outline  # type: ignore[arg-type]


@pytest.mark.parametrize(("placement", "kind"), [("strap", "pipe_prop"), ("over", "tent_frame")])
def test_loads_are_the_sum_of_what_hangs_and_those_of_the_sheet(placement: str, kind: str) -> None:
    order = with_carriers(po.order(placement))
    way, layers = po.best(order, placement), 9
    found, _, shield = laid(order, way, layers)
    b = next(b for b in bearers(order, order.welds[0], way, shield) if plain_name(b.kind) == kind)
    load = found[f"{kind}_load"]
    assert load.value == b.load_kg == pytest.approx(sum(by(load).values()))
    if kind == "pipe_prop":
        head = order.heads[0].mass_kg
        assert load.value == pytest.approx(shield.items[0].mass_kg + head)
        each = found["pipe_prop_each"]
        at = [found["pipe_prop_1_at"].value, found["pipe_prop_2_at"].value]
        assert [i.value for i in each.inputs if i.name.startswith("saddle")] == at
        # The lever rule about either saddle.
        masses = [
            (float(i.value), float(i.inputs[0].value)) for i in each.inputs if i.name.startswith("mass")
        ]  # type: ignore[arg-type]
        assert sum(kg for kg, _ in masses) == pytest.approx(b.load_kg)
        left, right = (float(x) for x in at)  # type: ignore[arg-type]
        on_right = sum(kg * (x - left) for kg, x in masses) / (right - left)
        on_left = sum(kg * (right - x) for kg, x in masses) / (right - left)
        assert each.value == pytest.approx(max(on_left, on_right))
    else:
        left = by(found["legs_left"])
        assert found["legs_left"].value == pytest.approx(
            max(left["legs carry"] - left["head"] - left["stop"], 0.0)
        )
        assert float(load.value) > float(found["legs_left"].value)  # type: ignore[arg-type]
        wide = found["tent_frame_along"]
        assert wide.value == pytest.approx(by(wide)["tent"] + 2 * by(wide)["clear"])


def test_the_middles_of_film_and_plates_lie_where_the_beam_meets_them() -> None:
    """By hand: through a source so far off along the pipe and the weld's middle, straight on to film and plates."""
    order = po.order("lean-out")
    way = po.best(order, "lean-out")
    weld, plate = order.welds[0], order.kit.plates[0]
    fitting = Fitting(plates=3, plate=plate.id)
    shield: Any = SimpleNamespace(fitting=fitting, items=())
    found = {d.name: d for d in laid_figures(order, weld, way, shield)}
    built = build_scene(order, weld, way, way.shots[0], fitting)
    slope = way.geometry.axial_offset_m / (way.geometry.standoff_m + weld.pipe.od / 2)
    assert abs(slope) > 0.05
    film = found["film_middle_along"]
    assert film.value == pytest.approx(-slope * math.hypot(*built.film.centre[1:]))
    for d in (film, found["stop_middle_along"]):
        i = by(d)
        assert d.value == pytest.approx(
            i["source from the weld"] + i["source to it"] * i["beam's way along the pipe"]
        )
    assert abs(float(found["stop_middle_along"].value)) > abs(float(film.value))  # type: ignore[arg-type]


def test_marks_round_the_pipe_are_clock_times_radius_and_printed_so() -> None:
    order = po.order("strap")
    weld, way = order.welds[0], po.best(order, "strap")
    found = {d.name: d for d in mark_figures(weld, way, None)}
    words = next(
        r["what"] for r in marking_plan(order, weld, way, None, Show()) if r["subject"] == "exposures"
    )
    laps = lap_markers(way, sectors(way, None))
    assert len(found) == len(laps) == len(way.shots) > 2
    for n, clock in enumerate(laps, start=1):
        d = found[f"mark_{n}"]
        assert d.value == pytest.approx((clock % TURN) * weld.pipe.od / 2)
        assert by(d)["clock"] == pytest.approx(clock % TURN)
        assert Show().drawn(float(d.value)) in words  # type: ignore[arg-type]


def test_the_head_outside_has_its_place_on_the_girth() -> None:
    order = po.order("outside")
    weld, way = order.welds[0], po.best(order, "outside")
    found = {d.name: d for d in mark_figures(weld, way, None)}
    assert len(way.shots) > 2
    for n, shot in enumerate(way.shots, start=1):
        girth = (shot.source_clock_rad % TURN) * weld.pipe.od / 2
        assert found[f"girth_source_{n}"].value == pytest.approx(girth)


@pytest.fixture(scope="module")
def plan() -> Plan:
    return whole_plan()


def test_distances_of_survey_points_are_those_of_the_table(plan: Plan) -> None:
    order, w = Order.from_json(plan.order), plan.welds[0]
    assert w.shielding is not None
    weld, found = order.weld(w.weld), opened(order, w)
    table = rows(weld, w.shielding, arrange(order, weld, w.shielding), Show())
    told = {r["distance"] for r in table}
    centre = (*weld.at, weld.floor_level_m + weld.height_m)
    for p in w.shielding.points:
        d = found[f"distance_{plain_name(p.name)}"]
        assert d.value == pytest.approx(math.dist(centre, p.at))
        assert d.value == pytest.approx(math.hypot(*by(d).values()))
        told.discard(Show().value(float(d.value), "length", digits=2))  # type: ignore[arg-type]
    assert not told
    for place in order.places:
        up = found.get(f"height_{plain_name(place.name)}")
        if up is not None:
            assert up.value == pytest.approx(place.at[2] - weld.floor_level_m)
    assert any(n.startswith("height_") for n in found)
    floor = FloorDose("Loft", "above", "", (centre[0] + 3.0, centre[1], centre[2] + 4.0), None, None, None, False,
                      None, None, "")  # fmt: skip
    assert w.safety is not None
    more = opened(order, replace(w, safety=replace(w.safety, floors=(floor,))))
    assert more["distance_loft"].value == pytest.approx(5.0)  # 3, 4, 5
    assert more["height_loft"].value == pytest.approx(4.0 + weld.height_m)


def test_lost_shielding_brings_its_rate_over_the_longest_exposure(plan: Plan) -> None:
    order, w = Order.from_json(plan.order), plan.welds[0]
    assert w.safety is not None and w.safety.lost is not None and w.exposure is not None
    longest = max(float(s.seconds.value) for s in w.exposure.shots)  # type: ignore[arg-type]
    case = replace(w.safety.lost.cases[0], crew_upper_Sv_s=2e-9, exposure_Sv=2e-9 * longest)
    lost = replace(w.safety.lost, cases=(case,))
    found = opened(order, replace(w, safety=replace(w.safety, lost=lost)))
    dose = found[f"lost_{plain_name(case.name)}_exposure"]
    rate, seconds = (float(i.value) for i in dose.inputs)  # type: ignore[arg-type]
    assert (rate, seconds) == (2e-9, longest)
    assert dose.value == pytest.approx(rate * seconds)
    changed = replace(plan, welds=(replace(w, safety=replace(w.safety, lost=lost)),))
    printed = lost_page(changed, Order.from_json(changed.order), Show())["welds"][0]["cases"][0]["exposure"]
    assert printed == Show().up(float(dose.value), "equivalent")  # type: ignore[arg-type]


def test_a_meter_overloads_where_the_inverse_square_reaches_its_range(plan: Plan) -> None:
    """By hand: four times the end of the range at 1 m is the end of it at 2 m."""
    data = dict(plan.order)
    at_1m = float(plan.stuck[0].at_1m.value)  # type: ignore[arg-type]
    data["instruments"] = [
        {**i, "range_Sv_s": [1e-12, at_1m / 4.0]} if i["kind"] == "survey meter" else i
        for i in data["instruments"]
    ]
    changed = replace(plan, order=data)
    order = Order.from_json(data)
    meter = next(i.id for i in order.instruments if i.kind == "survey meter")
    d = opened_order(changed)[f"overload_{plain_name(meter)}_{plain_name(plan.stuck[0].source)}"]
    assert d.value == pytest.approx(2.0)
    words = next(r["what"] for r in before_list(changed, order, Show()) if r["subject"] == "meters")
    assert f"2 m of {plan.stuck[0].source}" in words.replace("2.0 m", "2 m")


def test_masses_of_the_kit_add_up_to_those_of_its_list(plan: Plan) -> None:
    order = Order.from_json(plan.order)
    found = opened_order(plan)
    whole = found["kit_mass"]
    parts = {n: d for n, d in found.items() if n.startswith("kit_mass_")}
    assert whole.value == pytest.approx(sum(float(d.value) for d in parts.values()))  # type: ignore[arg-type]
    for d in parts.values():
        i = by(d)
        assert d.value == pytest.approx(i["pieces"] * i["mass of a piece"])
    listed, total = kit_list(order, plan, Show())
    assert total == Show().up(float(whole.value), "mass", digits=3)  # type: ignore[arg-type]
    masses = {r["id"]: r["mass"] for r in listed}
    named = {d.basis.rpartition(" ")[2]: d for d in parts.values()}
    seen = [i for i in named.keys() & masses.keys() if masses[i] != "not known"]
    assert len(seen) > 3
    for ident in seen:
        assert masses[ident] == Show().up(float(named[ident].value), "mass", digits=3)  # type: ignore[arg-type]
    carried = [found[f"carries_{p.id}"] for p in order.crew]
    loads = sum(x.pieces * x.each_kg for x in kit_loads(order, plan))
    assert sum(float(d.value) for d in carried) == pytest.approx(loads)  # type: ignore[arg-type]
    told = load_plan(kit_loads(order, plan), [p.name for p in order.crew], Show(), source_carriers(order))[
        "rows"
    ]
    for d, row in zip(carried, told, strict=True):
        assert d.value == pytest.approx(math.fsum(float(i.value) for i in d.inputs))  # type: ignore[arg-type]
        assert row["mass"] == Show().up(float(d.value), "mass", digits=3)  # type: ignore[arg-type]
        assert len(d.inputs) == int(row["walks"])


def test_masses_of_a_weld_are_pieces_times_one(plan: Plan) -> None:
    w = plan.welds[0]
    assert w.shielding is not None
    found = opened(Order.from_json(plan.order), w)
    weighed = [i for i in w.shielding.items if i.mass_kg]
    assert weighed
    for i in weighed:
        d = found[f"mass_{plain_name(i.id)}"]
        assert d.value == i.mass_kg == pytest.approx(by(d)["pieces"] * by(d)["mass of a piece"])


def test_every_mass_on_paper_can_be_opened(plan: Plan) -> None:
    """What the order states itself left out, and the shield's mass, which this made-up plan has no figure of."""
    order = Order.from_json(plan.order)
    figures = [*opened_order(plan).values(), *(d for w in plan.welds for d in opened(order, w).values())]
    known = [float(d.value) for f in figures for _, d in f.walk() if d.unit == "kg" and d.value is not None]
    known += [float(kg) for kg in re.findall(r'_kg": ([\d.e+-]+)', json.dumps(plan.order))]
    known += [w.shielding.added_mass_kg for w in plan.welds if w.shielding]
    show, texts = Show(), set()
    for kg in known:
        for digits in (1, 2, 3):
            texts |= {f(kg, "mass", digits=digits) for f in (show.value, show.up, show.floor)}
    seen = 0
    for sheet in compose(plan):
        pages = PdfReader(io.BytesIO(pdf.render(sheet))).pages
        words = " ".join(" ".join(p.extract_text() for p in pages).split())
        printed = set(re.findall(r"(?<![\d.])\d[\d.]* (?:kg|g)(?![/\w²])", words))
        assert not printed - texts, (sheet.file, printed - texts)
        seen += len(printed)
    assert seen > 20


def test_the_crank_s_distances_are_those_of_its_spot() -> None:
    order = guided()
    weld, way = order.welds[0], po.best(guided(), "strap-guided")
    w: Any = SimpleNamespace(weld=weld.id, chosen=way, safety=SimpleNamespace(contour=None))
    found = {d.name: d for d in crank_figures(order, w)}
    x, y = by(found["crank_to_weld"]).values()
    assert weld.guide_from is not None
    assert found["crank_to_weld"].value == pytest.approx(math.dist((x, y), weld.at))
    assert found["crank_to_container"].value == pytest.approx(
        math.dist((x, y), weld.guide_from[:2]), abs=1e-3
    )
    w.chosen = po.best(po.order("strap"), "strap")
    assert crank_figures(po.order("strap"), w) == []


def test_the_middles_of_an_ellipse_s_images_by_similar_triangles() -> None:
    """By hand as the rays go: near weld through the source to the film, far weld likewise, their difference."""
    made = whole_plan()
    order, w = (
        Order.from_json(made.order),
        next(w for w in made.welds if w.chosen and w.chosen.geometry.opening_m is not None),
    )
    assert w.chosen is not None
    i = by(opened(order, w)["images_apart_planned"])
    high = i["standoff"] + i["outside diameter"] + i["pipe to film"]  # source over the film
    near = i["offset"] * high / i["standoff"]  # shift from the source's foot of the near weld's image
    far = i["offset"] * high / (i["standoff"] + i["outside diameter"])
    assert opened(order, w)["images_apart_planned"].value == pytest.approx(near - far)
