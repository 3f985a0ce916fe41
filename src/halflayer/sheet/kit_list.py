"""The kit to carry: per item the most that is needed at one time, films by the sum, each with its mass."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from halflayer.exposure.budget import counted_in, sheets_for
from halflayer.order.equipment import Head, Shroud
from halflayer.order.models import Order
from halflayer.plan import Plan, WeldPlan, in_shift
from halflayer.scene.pipework import outside_radius
from halflayer.sheet import alarm_posts
from halflayer.sheet.bearer_words import bearer_loads, bearer_rows, bearer_short
from halflayer.sheet.figures import Show
from halflayer.sheet.further_people import in_words_of, persons
from halflayer.sheet.kit_beside import NOT_KNOWN, beside, holders_load, other, screen_loads
from halflayer.sheet.kit_gear import gear_loads, gear_rows, gear_short
from halflayer.sheet.kit_indicators import indicator_rows, indicators_short, letters_row, written_with
from halflayer.sheet.load_plan import Load
from halflayer.sheet.marking import is_stainless
from halflayer.sheet.naming import in_runs
from halflayer.shielding.kit import shroud_kind
from halflayer.shielding.slit_pieces import slit_pieces
from halflayer.shielding.travelling import travels
from halflayer.shift.change_place import makes

WORN = ("personal alarm", "dosimeter")
EACH_POST = "one each: reader, crank, every post"  # of survey meters
Needs = dict[str, list[tuple[int, str]]]  # pieces and weld, by item


def kit_list(order: Order, plan: Plan, show: Show) -> tuple[list[dict[str, Any]], str]:
    """Rows of the list and the mass of all of it.

    As many welds as there are teams are shot at a time, the others after them: of each item the most that so many
    welds can need together. Films are used up, so their sheets add up over the exposures.
    """
    loads, most, notes = _most(order, plan)
    rows = [
        {
            "id": load.id,
            "what": show.converted(load.what),
            # the weld's sheet has every layer, its laps and seams
            "note": show.converted(notes.get(load.id, "")).split(";")[0].split(", overlap")[0],
            "pieces": str(load.pieces),
            "stock": _stock(order, load),
            "short": _short(order, load),
            "mass": show.up(load.pieces * load.each_kg, "mass", digits=3),
            "most": most[load.id],
        }
        for load in loads
    ]
    trials = any(w.budget.trial for w in in_shift(plan) if w.budget)
    for name, sheets in _films(order, plan).items():
        note = f"used up; with {counted_in(trials)}; stock not in the order: count"
        rows.append(other(name, "film sheets", note, sheets, "sum of all"))
    rows += [*beside(order, plan, show), *bearer_rows(order, plan, show), *gear_rows(order, plan, show)]
    rows += small_kit(order, plan, show)
    every = math.fsum(x.pieces * x.each_kg for x in weighed(order, plan))
    return rows, show.up(every, "mass", digits=3)


def weighed(order: Order, plan: Plan) -> list[Load]:
    """All of the list whose mass is known, screens film by film."""
    return [
        *_most(order, plan)[0],
        *_by_stated_mass(order, plan),
        *screen_loads(order, plan),
        *bearer_loads(order, plan),
        *gear_loads(order, plan),
    ]


def carried(order: Order, plan: Plan) -> dict[str, int]:
    """Pieces of plates, blankets and the like that the list carries, by id; never more than the kit holds."""
    loads, _, _ = _most(order, plan)
    stock = {x.id: _count(order, x) for x in loads}
    return {x.id: x.pieces if (have := stock[x.id]) is None else min(x.pieces, have) for x in loads}


def _count(order: Order, load: Load) -> int | None:
    """Pieces that the order's kit holds; None where it states no number."""
    kit = order.kit
    kinds: tuple[Any, ...] = (*kit.plates, *kit.blankets, *kit.clamps, *kit.legs, *kit.shrouds, *kit.guides)
    counts: dict[str, int] = {k.id: k.count for k in kinds}
    return counts.get(load.id)


def _stock(order: Order, load: Load) -> str:
    have = _count(order, load)
    return "–" if have is None else str(have)


def _short(order: Order, load: Load) -> bool:
    have = _count(order, load)
    return have is not None and load.pieces > have


def shortages(order: Order, plan: Plan) -> list[str]:
    """What the kit holds too little of for all teams at one time, in words."""
    have = order.kit.rope_m
    ropes = [float(row_m) for row_m, _, _ in _longest(order, plan)]
    short = []
    if have is not None and math.fsum(ropes) > have:
        short = [
            f"KIT SHORT: {math.fsum(ropes):.1f} m of rope are needed at one time, the kit holds {have:.1f} m"
        ]
    for kind in WORN:
        have = sum(i.kind == kind and i.calibrated_until >= order.shift.ends for i in order.instruments)
        if have and have < persons(order, plan):
            short.append(
                f"KIT SHORT: {persons(order, plan)} {kind}s are needed, one a person ({in_words_of(order, plan)}), "
                f"the order has {have}"
            )
    wanted, meters = alarm_posts.meters_short(order, plan)
    if wanted > meters:
        short.append(f"KIT SHORT: {wanted} survey meters are needed, {EACH_POST}, the order has {meters}")
    short += indicators_short(order, plan)
    return [*short, *bearer_short(order, plan), *gear_short(order, plan, Show(order.units))] + [
        f"KIT SHORT: {load.pieces} of {load.id} ({load.what}) are needed at one time, the kit holds "
        f"{_count(order, load)}"
        for load in kit_loads(order, plan)
        if _short(order, load)
    ]


def small_kit(order: Order, plan: Plan, show: Show) -> list[dict[str, Any]]:
    """What no shield is made of but no exposure is made without: containers, indicators, letters, rope, instruments."""
    ready = [w for w in in_shift(plan) if w.chosen is not None]
    rows: list[dict[str, Any]] = []
    heads = {h.id: h for h in order.heads}
    for source in dict.fromkeys(w.chosen.source for w in ready if w.chosen and travels(order, w.chosen)):
        welds = [w for w in ready if w.chosen and w.chosen.source == source and travels(order, w.chosen)]
        bare = any(heads[w.chosen.head].kind == "spider" for w in welds if w.chosen)
        note = "shielded, with the crank" + (" and a tube to the bore" if bare else "")
        mass = next((s.container_mass_kg for s in order.sources if s.id == source), None)
        row = other(source, "container of the source", note, 1, ", ".join(w.weld for w in welds))
        row["mass"], row["note"] = (
            (NOT_KNOWN, note) if mass is None else (show.up(mass, "mass", digits=3), note)
        )
        rows.append(row)
    for changer in order.kit.changers if plan.schedule and plan.schedule.changes else ():
        row = other(changer.id, "source changer", changer.note or "", 1, "source changes")
        row["mass"] = NOT_KNOWN if changer.mass_kg is None else show.up(changer.mass_kg, "mass", digits=3)
        rows.append(row)
    rows += indicator_rows(order, plan, show)
    if ready:
        rows.append(letters_row(order, plan, show))
        low = any(is_stainless(order.weld(w.weld)) for w in ready)
        tools = "angle gauge, steel rule, tape, level, wall, weld gauge, luminance meter, paint pen"
        tools += " (low-halogen on stainless)" * low
        tools += written_with(order, ready)
        note = "not in the order: bring"
        rows.append(other("–", tools, note, "1 set", "each weld"))
        note = "one a person, one at the head; batteries to spare, meters' and radios' too; not in the order: bring"
        rows.append(other("–", "lamps", note, persons(order, plan) + 1, "the shift"))
    rows += _rope(order, plan, show)
    for kind in dict.fromkeys(i.kind for i in order.instruments):
        mine = [i.id for i in order.instruments if i.kind == kind]
        rows.append(other(in_runs(mine, mine), kind, "", len(mine), "the shift"))
        if kind == "survey meter":
            wanted, meters = alarm_posts.meters_short(order, plan)
            rows[-1]["note"] = EACH_POST
            rows[-1]["pieces"], rows[-1]["stock"] = str(max(wanted, 1)), str(meters)
            rows[-1]["short"] = wanted > meters
        if kind in WORN:
            _worn(order, plan, kind, rows[-1])
    for kind in ("survey meter", "personal alarm"):
        if not any(i.kind == kind for i in order.instruments):
            rows.append(other("–", kind, "not in the order: bring", 1, "the shift"))
    if not any(i.kind == "dosimeter" for i in order.instruments):
        note = f"one a person, direct-reading ({in_words_of(order, plan)}); not in the order: bring"
        rows.append(other("–", "personal dosimeter", note, persons(order, plan), "the shift"))
    return rows


def _worn(order: Order, plan: Plan, kind: str, row: dict[str, Any]) -> None:
    """One a person, sentries whom the crew lacks counted in, against those that are in date for the whole shift."""
    have = sum(i.kind == kind and i.calibrated_until >= order.shift.ends for i in order.instruments)
    wanted = persons(order, plan)
    row["note"] = f"one a person ({in_words_of(order, plan)})"
    row["pieces"], row["stock"], row["short"] = str(wanted), str(have), have < wanted


def _rope(order: Order, plan: Plan, show: Show) -> list[dict[str, Any]]:
    """The longest ropes that as many welds as there are teams want together, and most of their signs."""
    ropes, longest = _ropes(plan), _longest(order, plan)
    if not longest:
        return []
    most = " + ".join(weld for _, _, weld in longest)
    length = show.up(math.fsum(r[0] for r in longest), "length", digits=3)
    signs = sum(sorted((r[1] for r in ropes), reverse=True)[: order.shift.teams])
    rope = other("–", "rope", "with what holds it up; lights where it is dark", length, most)
    if order.kit.rope_m is not None:
        rope["stock"] = show.value(order.kit.rope_m, "length")
        rope["short"] = math.fsum(r[0] for r in longest) > order.kit.rope_m
    return [
        rope,
        other("–", "warning signs", "on the rope and at every way in", signs, most),
    ]


def _ropes(plan: Plan) -> list[tuple[float, int, str]]:
    """Length, signs and weld of every rope."""
    return [
        (float(c.length_m.value), len(c.signs), w.weld)
        for w in in_shift(plan)
        if w.safety and (c := w.safety.contour) and c.length_m.value is not None
    ]


def _longest(order: Order, plan: Plan) -> list[tuple[float, int, str]]:
    """The ropes that can be wanted at one time: as many of the longest as there are teams."""
    return sorted(_ropes(plan), key=lambda r: -r[0])[: order.shift.teams]


def kit_loads(order: Order, plan: Plan) -> list[Load]:
    """The same items as pieces to be carried, containers and changers too; films weigh too little to count."""
    return [
        *_most(order, plan)[0],
        *holders_load(order, plan),
        *bearer_loads(order, plan),
        *gear_loads(order, plan),
        *_by_stated_mass(order, plan),
    ]


def unweighed(kit: Sequence[dict[str, Any]]) -> str:
    """What of the kit list has to be carried and has no mass in the order: in no lift above; empty where all has one.

    What is worn, one each, goes with its wearer.
    """
    open_ = [k for k in kit if k["mass"] == NOT_KNOWN and k["pieces"] not in ("", "0")]
    own = ("one each", "one a person", "dark room")  # worn, in hand, or not carried to the work
    told = [k["what"].split(",")[0] for k in open_ if not any(o in f"{k['what']}, {k['note']}" for o in own)]
    return ", ".join(dict.fromkeys(told))


def source_carriers(order: Order) -> list[int]:
    """Which of the crew carry what holds a source, by their place in it: who sets up, as the sums of dose have it."""
    return [n for n, p in enumerate(order.crew) if makes(order, p.id)]


def _by_stated_mass(order: Order, plan: Plan) -> list[Load]:
    """Containers of sources that travel, and changers, as far as the order states what they weigh."""
    used = {w.chosen.source for w in in_shift(plan) if w.chosen and travels(order, w.chosen)}
    found = [
        Load(f"container of {s.id}", "container of the source", 1, s.container_mass_kg, loaded=True)
        for s in order.sources
        if s.id in used and s.container_mass_kg is not None
    ]
    changes = plan.schedule is not None and bool(plan.schedule.changes)
    return found + [
        Load(c.id, "source changer", 1, c.mass_kg, loaded=True)
        for c in order.kit.changers
        if changes and c.mass_kg is not None
    ]


def _legs_note(order: Order, legs: str) -> str:
    """What belongs to legs: their hole by weld, and the bar on which the head stands between them."""
    show, bar = Show(order.units), next((g.bar for g in order.kit.legs if g.id == legs), None)
    long = f", {show.drawn(bar[0])} to {show.drawn(bar[1])}" if bar else ""
    return f"hole by the weld's sheet, cross bar for the head{long}"


def _cut_outs(order: Order, plan: Plan, shroud: Shroud) -> str:
    """How wide its cut-outs are over the pipes of its welds, with what stays open all round."""
    show, wide = Show(order.units), dict[str, list[str]]()
    for w in in_shift(plan):
        if w.chosen is not None and w.chosen.shroud == shroud.id:
            across = 2 * (outside_radius(order.weld(w.weld)) + shroud.slot_gap_m)
            wide.setdefault(show.drawn(across, exact=True), []).append(w.weld)
    each = [f"{size} ({', '.join(of)})" if len(wide) > 1 else size for size, of in wide.items()]
    return f", cut-outs {', '.join(each)}"


def _most(order: Order, plan: Plan) -> tuple[list[Load], dict[str, str], dict[str, str]]:
    """Loads, the weld (or welds) that need most of each, and notes."""
    detectors = {d.id for d in order.all_detectors}
    heads = {h.id: h for h in order.heads}
    needs: Needs = {}
    seen: dict[str, tuple[str, float]] = {}
    notes: dict[str, str] = {}
    for w in in_shift(plan):
        if w.chosen is None:
            continue
        for i in w.shielding.items if w.shielding else ():
            if i.id in detectors:
                continue
            needs.setdefault(i.id, []).append((i.pieces, w.weld))
            each = i.mass_kg / i.pieces if i.pieces else 0.0
            known = seen.get(i.id)
            seen[i.id] = (i.what, max(each, known[1]) if known else each)
            notes[i.id] = _legs_note(order, i.id) if i.what == "legs" else i.note
            if (shroud := shroud_kind(order, i.id)) is not None:
                notes[i.id] += _cut_outs(order, plan, shroud)
    for name in needs.keys() & heads.keys():
        what, each = seen[name]
        seen[name], notes[name] = (_head_name(heads[name]), each), _head_note(plan, name)
    for w in in_shift(plan):
        if w.chosen is not None and w.chosen.head not in needs:
            h = heads.get(w.chosen.head)
            if h is not None:
                needs[h.id] = [(1, "")]
                seen[h.id] = (_head_name(h), h.mass_kg)
    # What a source is sent to through a tube is carried without one.
    sent = {w.chosen.head for w in in_shift(plan) if w.chosen and travels(order, w.chosen)}
    slit, whole_order = _slit(order, in_shift(plan)), _slit(order, plan.welds)
    stocks = {b.id: b.count for b in order.kit.blankets}
    loads, most = [], {}
    for name, each_weld in needs.items():
        if name in slit:  # slit for one weld a piece lies nowhere else: these add up, whole ones go round
            cut = slit[name]
            each_weld = [(n - cut.get(weld, 0), weld) for n, weld in each_weld]
        ordered = sorted(each_weld, key=lambda n: -n[0])[: order.shift.teams]
        if name in heads:  # a head is one thing of its own: teams take turns
            ordered = ordered[:1]
        what, each = seen[name]
        once = sum(slit.get(name, {}).values())
        loads.append(
            Load(
                name, what, sum(n for n, _ in ordered) + once, each, loaded=name in heads and name not in sent
            )
        )
        most[name] = " + ".join(weld for _, weld in ordered)
        if once:
            told = ", ".join(f"{n} for {weld}" for weld, n in slit[name].items())
            notes[name] = f"{notes.get(name, '').split(';')[0].split(', overlap')[0]}, slit: {told}".lstrip(
                ", "
            )
        if (short := _all_asked(order, plan, name, whole_order) - stocks.get(name, math.inf)) > 0:
            notes[name] += f", {short:.0f} short over later shifts"
    return loads, most, notes


def _all_asked(order: Order, plan: Plan, name: str, slit: dict[str, dict[str, int]]) -> int:
    """Pieces of a blanket over all shifts, each slit for one weld only: those, and the most that stay whole."""
    cut = slit.get(name, {})
    if not cut:
        return 0
    whole = [
        i.pieces - cut.get(w.weld, 0)
        for w in plan.welds
        if w.status == "ready" and w.shielding
        for i in w.shielding.items
        if i.id == name
    ]
    return sum(cut.values()) + sum(sorted(whole, reverse=True)[: order.shift.teams])


def _slit(order: Order, welds: Sequence[WeldPlan]) -> dict[str, dict[str, int]]:
    """By blanket and weld, the pieces that are slit for it: never more than it takes."""
    found: dict[str, dict[str, int]] = {}
    for w in welds:
        if w.status != "ready":
            continue
        for i in w.shielding.items if w.shielding else ():
            if w.shielding is None or i.id != w.shielding.fitting.blanket:
                continue
            n = min(slit_pieces(order, order.weld(w.weld), w.chosen, w.shielding), i.pieces)
            if n:
                found.setdefault(i.id, {})[w.weld] = n
    return found


def _head_name(head: Head) -> str:
    """What a head is, by what it is made for."""
    if head.kind == "spider":
        return "spider"
    return "collimator of the guide tube" if "strap-guided" in head.placements else "head"


def _head_note(plan: Plan, name: str) -> str:
    """Sources and apertures that a head has in turn over the welds."""
    mine = [w.chosen for w in in_shift(plan) if w.chosen and w.chosen.head == name]
    sources = " and ".join(dict.fromkeys(c.source for c in mine))
    apertures = ", ".join(dict.fromkeys(c.aperture for c in mine if c.aperture))
    return f"for {sources}" + (f", aperture {apertures}" if apertures else "")


def _films(order: Order, plan: Plan) -> dict[str, int]:
    films: dict[str, int] = {}
    for w in in_shift(plan):
        if w.chosen is None:
            continue
        counted = (
            w.budget.films
            if w.budget
            else ((w.chosen.detector, len(w.chosen.shots) * sheets_for(order, order.weld(w.weld), w.chosen)),)
        )
        for name, sheets in counted:
            films[name] = films.get(name, 0) + sheets
    return films
