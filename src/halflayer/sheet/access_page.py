"""Barrier and ways in: rope, signs and sentries of each weld, floors above and below, and a sketch of the site."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from typing import Any

from halflayer.conditions_of_floors import limit_bases
from halflayer.order.models import Order
from halflayer.plan import Plan, WeldPlan, worked
from halflayer.sheet import change_turns, site_sketch, stand_off, store_words, survey, wall_words
from halflayer.sheet.alarm_near import crank_at, spot_of
from halflayer.sheet.barrier_words import other_kind, standing_at
from halflayer.sheet.far_inset import far_distances
from halflayer.sheet.figures import NOT_COMPUTED, Show
from halflayer.sheet.grouped import merged
from halflayer.sheet.heights import heights
from halflayer.sheet.marks import key_of
from halflayer.sheet.naming import weld_list
from halflayer.sheet.only_if import told_by_condition
from halflayer.sheet.sentry_words import OTHERS, free, posts, sentries, site, sites
from halflayer.sheet.survey import verdict
from halflayer.sheet.travel_sketch import travel_sketches
from halflayer.sheet.ways_in import route_rows
from halflayer.sheet.ways_out import first_watch, watches, ways_of
from halflayer.shielding.barrier import HEIGHT_M
from halflayer.shielding.rope_path import rope_path
from halflayer.shielding.rope_view import passed as passed_by
from halflayer.shielding.safety_result import Contour, FloorDose
from halflayer.shift.change_place import distances_m, makes, place_of, who_is_there
from halflayer.shift.result import BesideChange, SourceChange

SPOT = re.compile(r"site x (\S+) \S+, y (\S+) (\S+)")


def access_page(plan: Plan, order: Order, show: Show, *, sketch_mm: tuple[float, float]) -> dict[str, Any]:
    """Content of the page; lists are empty and the sketch is None where the plan holds nothing of their kind."""
    every = [w for w in plan.welds if w.status == "ready" and w.safety is not None]
    # Nobody lays a rope for the others in this shift, and they are planned anew for theirs: the site sketch marks them.
    ready = [w for w in worked(plan) if w.safety is not None]
    later = [w.weld for w in every if w not in ready]
    roped = [(w, w.safety.contour) for w in ready if w.safety and w.safety.contour]
    sketch, scale = (None, 0.0)
    if roped:
        # Without ropes it needs less room.
        tall = sketch_mm[1] > LETTER_MM or len(roped) <= FEW
        part = 1.0 if len(roped) <= site_sketch.MOST_ROPES else 0.72 if tall else 0.56
        high = sketch_mm[1] * part
        made = plan.schedule.changes if plan.schedule else ()
        sketch, scale = site_sketch.site_sketch(
            # Where no source is changed in this shift its place would lead astray.
            order if made else order.model_copy(update={"source_changes_at": None}),
            [(w.weld, c) for w, c in roped],
            show,
            width_mm=sketch_mm[0],
            height_mm=high,
            beyond=far_distances(plan, order),
        )
    return {
        "sketch": sketch,
        "heights": _heights(order, ready, show, sketch_mm) if roped else None,
        "travel": travel_sketches(order, ready, show, width_mm=TRAVEL_MM[0], height_mm=TRAVEL_MM[1])
        if roped
        else [],
        "later": weld_list(later, [w.id for w in order.welds]) if later else "",
        "changes": _changes(plan, order, show),
        "beside_changes": change_place_rows(plan, show),
        "own": [
            _own_sketch(plan, order, n, w, c, show, _own_mm(sketch_mm, len(roped)))
            for n, (w, c) in enumerate(roped, start=1)
        ]
        if len(roped) > site_sketch.MOST_ROPES
        else [],
        "few": len(roped) <= FEW,
        "directions": _directions(roped),
        "unit": show.up(10.0, "length").split(" ")[1],
        "moved": list(dict.fromkeys(p.moved_out_of for _, c in roped for p in c.points if p.moved_out_of)),
        "height": show.value(HEIGHT_M, "length", digits=2),
        "store": store_words.where(order, show) if order.site.source_store else "",
        "scale": f"1 : {scale:g}",
        "key": key_of(order),
        "walls": wall_words.TO_DO if any(wall_words.of_weld(order, w) for w, _ in roped) else "",
        "ropes": [
            rope_row(n, w, c, show, order, stand_off.words(plan, order, w, show))
            for n, (w, c) in enumerate(roped, start=1)
        ],
        "routes": route_rows(ready, show, order),
        "posts_unit": show.up(10.0, "length").split(" ")[1]
        if any(sites(w) or spot_of(order, w) for w, _ in roped)
        else "",
        "posts": f"{posts(ready, order, show)} {stand_off.note(plan, order, show)}".strip(),
        "floors": floor_rows(ready, show, order),
        "findings": [*_findings(order, ready, show), *wall_words.shut(order, ready)],
    }


def _heights(
    order: Order, ready: list[WeldPlan], show: Show, sketch_mm: tuple[float, float]
) -> dict[str, str]:
    mine = {w.weld for w in ready}
    only = order.model_copy(update={"welds": tuple(w for w in order.welds if w.id in mine)})
    svg, scale, said = heights(only, show, width_mm=sketch_mm[0], most_mm=HEIGHTS_MM)
    return {"svg": svg, "scale": scale, "said": f"{said}{_highest(ready, show)}"}


def _highest(ready: list[WeldPlan], show: Show) -> str:
    """The highest dose on each floor that was searched, with the weld and the place; empty where none was."""
    found: dict[str, list[tuple[WeldPlan, FloorDose]]] = {}
    for w in ready:
        for f in w.safety.floors if w.safety else ():
            if f.upper_Sv_s is not None:
                found.setdefault(f.floor, []).append((w, f))
    said = []
    for name, each in found.items():
        w, f = max(each, key=lambda e: e[1].upper_Sv_s or 0.0)
        assert f.upper_Sv_s is not None
        said.append(
            f" Highest found on {name}, source at the weld: up to {show.up(f.upper_Sv_s, 'equivalent_rate')} "
            f"({w.weld}, {show.converted(f.where)}); every weld below."
        )
    if said and any(survey.barrier_on_the_way(w, show) for w in ready):
        said.append(" While a source travels, how far nobody may be near it holds on every floor.")
    return "".join(said)


def _changes(plan: Plan, order: Order, show: Show) -> str:
    """Where source changes are made, who stands where and how far everybody else is; empty without one."""
    changes = plan.schedule.changes if plan.schedule else ()
    if not changes:
        return ""
    every = [w.id for w in order.welds]
    welds = ", ".join(change_turns.before(plan, c, every) for c in changes)
    rest, bare = (_each_change(order, changes, n, show) for n in (0, 1))
    places = dict.fromkeys(
        f"{name}, site x {show.value(at[0], 'length')}, y {show.value(at[1], 'length')}"
        for name, at in (place_of(order, c) for c in changes)
    )
    times = order.crew_times
    beside = times.source_change_distance_m
    near = f"{show.paced(beside)} from head and changer" if beside else "at a distance not stated"
    return (
        f"Before {welds}, at {'; '.join(places)}. While a source is bare, for seconds: "
        f"{show.converted(who_is_there(order, within=bare))}. All the rest of a change, every source at rest: "
        f"{makers(order)}, who make it, stand {near}, with a rope {rest} all round these two. Measure before and after."
    )


def _each_change(order: Order, changes: Sequence[SourceChange], n: int, show: Show) -> str:
    """A distance of each change, as its weld's sheet says it: at rest (`n` 0) or bare (1); once where all are one."""
    by_weld = {
        c.weld: NOT_COMPUTED if (d := distances_m(order, [c])[n]) is None else show.paced(d) for c in changes
    }
    if len(set(by_weld.values())) == 1:
        return next(iter(by_weld.values()))
    return " and ".join(f"{far} (before {weld})" for weld, far in by_weld.items())


def change_place_rows(plan: Plan, show: Show) -> list[dict[str, Any]]:
    """Places and ways in at the source changes: distance, rates at rest and bare at most, dose of all of them."""
    found: dict[str, list[BesideChange]] = {}
    for b in plan.schedule.beside_changes if plan.schedule else ():
        found.setdefault(b.place, []).append(b)
    most = [
        (
            max((b.rest_Sv_s for b in each if b.rest_Sv_s is not None), default=None),
            max((b.bare_Sv_s for b in each if b.bare_Sv_s is not None), default=None),
            None if any(b.dose_Sv is None for b in each) else math.fsum(b.dose_Sv or 0.0 for b in each),
        )
        for each in found.values()
    ]
    # In the unit of the limits beside them and of the meters.
    rest, bare = (show.column([m[n] for m in most], "equivalent_rate", smallest=True) for n in (0, 1))
    limits = show.column(
        [each[0].limit_Sv_s for each in found.values()],
        "equivalent_rate",
        digits=3,
        floor=True,
        smallest=True,
    )
    dose = show.column([m[2] for m in most], "equivalent")
    return [
        {
            "place": place,
            "away": show.value(min(b.distance_m for b in each), "length", digits=2),
            "rest": rest[n],
            "bare": bare[n],
            "dose": dose[n],
            "limit": "–" if each[0].limit_Sv_s is None else limits[n],
            "above": any(b.above for b in each),
        }
        for n, (place, each) in enumerate(found.items())
    ]


def makers(order: Order) -> str:
    """Who makes a source change."""
    return " and ".join(p.name for p in order.crew if makes(order, p.id)) or "nobody of the crew"


def rope_row(
    n: int, w: WeldPlan, c: Contour, show: Show, order: Order | None = None, keep: str = ""
) -> dict[str, Any]:
    """One weld's rope in words: length, nearest and farthest corner, signs, what stands between, sentries."""
    known = [p.at_m for p in c.points if p.at_m is not None]
    reach = NOT_COMPUTED
    if known:
        reach = f"{show.up(min(known), 'length', digits=3)} to {show.up(max(known), 'length', digits=3)}"
    behind = list(dict.fromkeys(name for p in c.points for name in p.behind))
    more, passed = _laid(order, w, c) if order is not None else (0.0, [])
    others = [name for name in passed if name not in behind]
    past = wall_words.past(order, w, show) if order is not None else {}
    behind = [f"{name} (to {past[name]} behind)" if name in past else name for name in behind]
    others = [f"{name} (to {past[name]} behind)" if name in past else name for name in others]
    if others:
        behind.append(f"{'passed too' if behind else 'passed'}, not in the dose: {', '.join(others)}")
    assert w.safety is not None
    return {
        "n": str(n),
        "weld": w.weld,
        "length": show.up(float(c.length_m.value), "length", digits=3)
        if isinstance(c.length_m.value, int | float)
        else NOT_COMPUTED,
        "round": f"{show.paced(more)} longer round bodies" if more > ROUND_M else "",
        "reach": reach,
        "corners": corners(c, show),
        "times": f"{w.weld} × {c.times_out:.3g}" if c.times_out > 1.0 else "",
        "barrier": standing_at(w.shielding, show),
        "other": other_kind(order, w, show) if order is not None else ("", ""),
        "signs": str(len(c.signs)) if c.closed else NOT_COMPUTED,
        "behind": ", ".join(behind) or "none in these lines",
        "sentries": sentries(w, show, keep) + _waits(order, w, show),
        "at_ways": len(list(watches(order, w))) if order is not None else 0,
        "basis": show.converted(c.basis),
    }


def _waits(order: Order | None, w: WeldPlan, show: Show) -> str:
    """The crank's place; with it the sentries who have no post at this weld."""
    at = crank_at(order, w, show) if order is not None else ""
    watching = list(watches(order, w)) if order is not None else []
    for name, (x, y), who in watching:
        at = f"; besides {name} {who} {site(x, y, show)}{at}"
    if not free(w, len(watching)):
        return at
    return at.replace("; crank", "; others and crank", 1) if at else f"; {OTHERS}"


def _laid(order: Order, w: WeldPlan, c: Contour) -> tuple[float, list[str]]:
    """How much longer the rope is round bodies [m], and every wall and body that stands between it and the weld."""
    weld = order.weld(w.weld)
    sites = [p.site for p in c.points if p.site is not None]
    if len(sites) < 3:
        return 0.0, []
    return rope_path(order, sites, closed=c.closed).longer_m, passed_by(order, weld, c)


ROUND_M = 0.05  # a rope that is longer by less is not said to be: our choice
SKETCH_MM = (60.5, 46.0)  # of one weld's rope alone, three in a row
FEW = 6  # of so many two stand in a row, larger
WIDE_SKETCH_MM = (92.5, 70.0)
LOW = 0.87  # of their height, on a Letter page, so that as many rows stand on it
LETTER_MM = 108.0  # the sketch of the site is as high as that there, higher on A4
TRAVEL_MM = (92.0, 62.0)  # of one source on its way
HEIGHTS_MM = 84.0  # of the site in elevation, at most


def _own_mm(sketch_mm: tuple[float, float], number: int) -> tuple[float, float]:
    """Room of one rope's sketch: lower where the sketch of the site is, on Letter; on a phone as wide as that one."""
    if sketch_mm[0] < 2 * SKETCH_MM[0]:
        return sketch_mm[0], SKETCH_MM[1] * sketch_mm[0] / SKETCH_MM[0]
    wide, high = WIDE_SKETCH_MM if number <= FEW else SKETCH_MM
    return wide, round(high * (LOW if number > FEW or sketch_mm[1] <= LETTER_MM else 1.0), 1)


def _own_sketch(
    plan: Plan, order: Order, n: int, w: WeldPlan, c: Contour, show: Show, own_mm: tuple[float, float]
) -> dict[str, str]:
    """The rope of one weld alone, with what it is called."""
    svg, scale = site_sketch.rope_sketch(
        order,
        w.weld,
        c,
        show,
        width_mm=own_mm[0],
        height_mm=own_mm[1],
        candidate=w.chosen,
        posts=[*sites(w), *(p for _, p, _ in watches(order, w))],
        first_post=1 if sites(w) else first_watch(w),
        crank=spot.at if (spot := spot_of(order, w)) is not None else None,
        ways=[(at, way.heads_rad) for _, at, way in ways_of(plan, order, w) if way is not None],
    )
    return {"n": str(n), "weld": w.weld, "svg": svg, "scale": f"1 : {scale:g}"}


def _directions(roped: list[tuple[WeldPlan, Contour]]) -> list[str]:
    points = roped[0][1].points if roped else ()
    return [f"{math.degrees(p.direction_rad) % 360:.0f}°" for p in points]


def corners(c: Contour, show: Show) -> list[str]:
    """Distance of the rope in every direction, without its unit; `*`: moved out of a wall, `?`: not computed."""
    return [
        "?"
        if p.at_m is None
        else show.up(p.at_m, "length", digits=3).split(" ")[0] + "*" * bool(p.moved_out_of)
        for p in c.points
    ]


WELDS_BESIDE = 12  # side by side in the table of a floor: more cannot be read


def floor_rows(ready: list[WeldPlan], show: Show, order: Order) -> list[dict[str, Any]]:
    """Each floor that was searched, with the welds side by side."""
    bases = limit_bases(order)
    found: dict[str, list[tuple[WeldPlan, FloorDose]]] = {}
    for w in ready:
        for f in w.safety.floors if w.safety else ():
            found.setdefault(f.floor, []).append((w, f))
    rows = []
    for name, each in found.items():
        cells = [_floor(w, f, show) for w, f in each]
        units = {c["rate"].rpartition(" ")[2] for c in cells}
        unit = units.pop() if len(units) == 1 and not units & {NOT_COMPUTED.rpartition(" ")[2]} else ""
        cells = [c | {"rate": c["rate"].removesuffix(f" {unit}") if unit else c["rate"]} for c in cells]
        rows.append(
            {
                "floor": name,
                "side": each[0][1].side,
                "unit": unit,
                "limit": ", ".join(dict.fromkeys(c["limit"] for c in cells)),
                "limit_basis": show.converted(bases.get(name, "")),
                "basis": "; ".join(dict.fromkeys(c["basis"] for c in cells)),
                "parts": [cells[n : n + WELDS_BESIDE] for n in range(0, len(cells), WELDS_BESIDE)],
            }
        )
    return rows


def _floor(w: WeldPlan, f: FloorDose, show: Show) -> dict[str, str]:
    reliable = f.reliable and f.upper_Sv_s is not None
    return {
        "weld": w.weld,
        # The coordinates alone: the row says what they are.
        "where": SPOT.sub(r"\1, \2 \3", show.converted(f.where)),
        "rate": NOT_COMPUTED
        if f.rate_Sv_s is None or f.sigma_rel is None
        else show.pm(f.rate_Sv_s, f.rate_Sv_s * f.sigma_rel, "equivalent_rate"),
        "basis": show.converted(f.basis),
        "upper": NOT_COMPUTED if f.upper_Sv_s is None else show.up(f.upper_Sv_s, "equivalent_rate"),
        "limit": "no limit" if f.limit_Sv_s is None else show.floor(f.limit_Sv_s, "equivalent_rate"),
        "verdict": verdict(f.ok, limited=f.limit_Sv_s is not None, reliable=reliable),
    }


def _findings(order: Order, ready: list[WeldPlan], show: Show) -> list[dict[str, str]]:
    """Findings of ropes and ways in, each once with its welds."""
    found: dict[str, list[str]] = {}
    for w in ready:
        assert w.safety is not None
        own = [*(w.safety.contour.findings if w.safety.contour else ())]
        own += w.safety.access.findings if w.safety.access else ()
        own = [f for f in own if not told_by_condition(w, f)]
        for f in own:
            welds = found.setdefault(f.text.removeprefix(f"{w.weld}: "), [])
            if w.weld not in welds:
                welds.append(w.weld)
    # Of all welds of the order: a run names none that is not meant.
    every = [w.id for w in order.welds]
    return [r | {"text": show.converted(r["text"])} for r in merged(found, every)]
