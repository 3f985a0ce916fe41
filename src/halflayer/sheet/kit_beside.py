"""Kit that settings name beside shield and stand: sources, straps, holders with screens, what films are read with."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from halflayer.exposure.budget import sheets_for
from halflayer.exposure.viewer import darkest_read, round_up, viewer_for
from halflayer.order.equipment import Film
from halflayer.order.models import Order
from halflayer.plan import Plan, WeldPlan, in_shift
from halflayer.scene.matter import order_material
from halflayer.sheet.figures import Show
from halflayer.sheet.holder_turns import HOLDER, empty_first
from halflayer.sheet.load_plan import Load
from halflayer.sheet.naming import weld_list
from halflayer.sheet.source_now import at_the_shift
from halflayer.shielding.travelling import travels

NOT_KNOWN = "not known"


def other(ident: str, what: str, note: str, pieces: int | str, most: str) -> dict[str, Any]:
    """A row of what the order states no mass for."""
    return {"id": ident, "what": what, "note": note, "pieces": str(pieces), "stock": "–", "short": False,
            "mass": NOT_KNOWN, "most": most}  # fmt: skip


def in_stock(order: Order, row: dict[str, Any], kind: str, wanted: int, *, takes: str = "") -> None:
    """Write into a row what the order's gear holds of a kind, and that it is short; without any: to be brought."""
    mine = [g for g in order.kit.gear if g.kind == kind and (not takes or takes in g.detectors)]
    if not mine:
        row["note"] += "; not in the order: bring"
        return
    have = sum(g.count for g in mine)
    row["id"], row["stock"], row["short"] = ", ".join(g.id for g in mine), str(have), wanted > have


def ready(plan: Plan) -> list[WeldPlan]:
    """Welds that are shot."""
    return [w for w in in_shift(plan) if w.chosen is not None]


def beside(order: Order, plan: Plan, show: Show) -> list[dict[str, Any]]:
    """Rows of the kit list, in the order in which hands want them."""
    return [
        *_sources(order, plan, show),
        *_holders(order, plan, show),
        *_reading(order, plan, show),
    ]


def _sources(order: Order, plan: Plan, show: Show) -> list[dict[str, Any]]:
    rows = []
    for source in order.sources:
        mine = [w for w in ready(plan) if w.chosen and w.chosen.source == source.id]
        if not mine:
            continue
        heads = dict.fromkeys(w.chosen.head for w in mine if w.chosen)
        note = f"{source.nuclide}, {at_the_shift(order, source, show)} at the shift; for {', '.join(heads)}"
        row = other(
            source.id, "source", note, 1, weld_list([w.weld for w in mine], [w.id for w in order.welds])
        )
        row["mass"] = rests_in(order, plan, source.id)
        rows.append(row)
    return rows


def rests_in(order: Order, plan: Plan, source: str) -> str:
    """What a source comes to the site in: the device of its first weld as scheduled, the changer, or a container."""
    first_change = next(
        (c for c in (plan.schedule.changes if plan.schedule else ()) if source in (c.source, c.out)), None
    )
    if first_change is not None and first_change.source == source:
        # Before its first change it rests where the change takes it from.
        rests = dict(first_change.rests).get(source, ())
        return f"in {rests[0] if rests else first_change.changer}"
    mine = [w for w in ready(plan) if w.chosen and w.chosen.source == source]
    in_turn = [s.weld for s in plan.schedule.slots] if plan.schedule else []
    mine.sort(key=lambda w: in_turn.index(w.weld) if w.weld in in_turn else len(in_turn))
    chosen = mine[0].chosen
    assert chosen is not None
    return "in container" if travels(order, chosen) else f"in {chosen.head}"


@dataclass(frozen=True)
class Holders:
    """Holders of a film or plate to bring, for which welds, whether `second` beside another, whether one is empty."""

    pieces: int
    welds: str
    second: bool
    empty: bool


def in_holders(order: Order, plan: Plan) -> dict[str, Holders]:
    """Holders of each film or plate to bring.

    All that the shift loads before its start, one more where a survey wants it empty, as far as they are owned; never
    less than a round of shots of every team takes, which is laid with holders that were loaded before it.
    """
    needs: dict[str, list[tuple[int, str]]] = {}
    beside_other: dict[str, bool] = {}
    empty: set[str] = set()
    for w in ready(plan):
        assert w.chosen is not None
        n = sheets_for(order, order.weld(w.weld), w.chosen) * len(w.chosen.shots)
        second = w.exposure.shots[0].second if w.exposure and w.exposure.shots else None
        if empty_first(order, w):
            empty.add(w.chosen.detector)
        for name in [w.chosen.detector, *([second.detector] if second else [])]:
            needs.setdefault(name, []).append((n, w.weld))
            beside_other[name] = (
                beside_other.get(name, True) and second is not None and name == second.detector
            )
    found = {}
    for name, each in needs.items():
        most = sorted(each, key=lambda x: -x[0])[: order.shift.teams]
        least, every = sum(n for n, _ in most), sum(n for n, _ in each) + (name in empty)
        owned = sum(g.count for g in order.kit.gear if g.kind == HOLDER and name in g.detectors)
        bring = max(least, min(every, owned)) if owned else every if beside_other[name] else least
        welds = [weld for _, weld in (most if bring == least else each)]
        one_empty = name in empty and bring == every
        found[name] = Holders(bring, " + ".join(welds), beside_other[name], one_empty)
    return found


def pairs_loaded(order: Order, plan: Plan) -> int:
    """Holders that are loaded with two films at one time: as many as there are rear films' screens for them."""
    pairs: dict[str, int] = {}
    for w in ready(plan):
        second = w.exposure.shots[0].second if w.exposure and w.exposure.shots else None
        if second and w.chosen:
            n = sheets_for(order, order.weld(w.weld), w.chosen) * len(w.chosen.shots)
            pairs[second.detector] = pairs.get(second.detector, 0) + n
    held = in_holders(order, plan)
    return sum(min(n, held[name].pieces) for name, n in pairs.items())


def screen_loads(order: Order, plan: Plan) -> list[Load]:
    """Screens and backing lead of the sheets of a round of shots, by area, thickness and density of their metal."""
    loads = []
    for name, held in in_holders(order, plan).items():
        d = next(x for x in order.all_detectors if x.id == name)
        s = d.screens
        area = d.sheet[0] * d.sheet[1]
        each = area * (s.front_m + s.back_m) * order_material(order, s.material).density_kg_m3
        if not held.second:  # of two films in a holder one has the lead behind it
            each += area * s.backing_lead_m * order_material(order, "lead").density_kg_m3
        if each > 0.0:
            loads.append(Load(f"screens of {name}", "screens and lead behind", held.pieces, each))
    return loads


def holders_load(order: Order, plan: Plan) -> list[Load]:
    """All holders with their screens as one thing to carry; none without metal in them."""
    every = math.fsum(x.pieces * x.each_kg for x in screen_loads(order, plan))
    return [Load("set of film holders", "holders with screens", 1, every)] if every > 0.0 else []


def _holders(order: Order, plan: Plan, show: Show) -> list[dict[str, Any]]:
    masses = {x.id: x for x in screen_loads(order, plan)}
    rows = []
    for name, held in in_holders(order, plan).items():
        d = next(x for x in order.all_detectors if x.id == name)
        s = d.screens
        thin = [show.foil(v) for v in (s.front_m, s.back_m, s.backing_lead_m)]
        what = f"screens for {name} in that holder" if held.second else f"holders, screens for {name}"
        note = f"{s.material} {thin[0]}, {thin[1]}" + ("" if held.second else f", {thin[2]} behind")
        row = other("–", what, note, held.pieces, held.welds)
        if not held.second:
            row["note"] += "; 1 empty" * held.empty
            in_stock(order, row, HOLDER, held.pieces, takes=name)
        load = masses.get(f"screens of {name}")
        if load is not None:
            row["mass"] = show.up(load.pieces * load.each_kg, "mass", digits=3) + " metal"
        rows.append(row)
    return rows


def _luminance(plan: Plan) -> str:
    """What the viewer must give for the darkest place read on films of the shift, to be measured."""
    asked = [
        viewer_for(darkest_read(w.chosen, w.exposure))
        for w in in_shift(plan)
        if w.chosen and w.exposure and any(s.density for s in w.exposure.shots)
    ]
    return f"viewer ≥ {round_up(max(asked, default=0.0)):,} cd/m², masks"


def _reading(order: Order, plan: Plan, show: Show) -> list[dict[str, Any]]:
    """What films are developed and read with; a densitometer where the order names none."""
    films = {f.id: f for f in order.all_detectors if isinstance(f, Film)}
    used = [films[name] for name in in_holders(order, plan) if name in films]
    if not used:
        return []
    ways = show.converted("; ".join(dict.fromkeys(f.processing for f in used)))
    rows = [
        other("–", "dark room, processor, viewer", f"{ways}; {_luminance(plan)}", 1, "each film"),
    ]
    rows.append(
        other(
            "–",
            "density step tablet",
            "certified, for the densitometer; not in the order: bring",
            1,
            "each film",
        )
    )
    if not any(i.kind == "densitometer" for i in order.instruments):
        rows.append(other("–", "densitometer", "not in the order: bring", 1, "each film"))
    return rows
