"""What stands behind a set-up: doses, rules, layers, map, marking, budget, decay, where the figures come from."""

from __future__ import annotations

import re
from typing import Any

from halflayer.exposure import two_films
from halflayer.exposure.first_film import MISSED
from halflayer.exposure.result import Density
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.plan import Plan, WeldPlan, in_shift
from halflayer.scene.build import Built
from halflayer.sheet import alarm_near, dose_note, floor_points, kit_of_weld, plan_map, sentry_words, survey
from halflayer.sheet.bearer_words import bears
from halflayer.sheet.clause import clause
from halflayer.sheet.content import agreement, moment
from halflayer.sheet.crew_line import crew_line
from halflayer.sheet.decay_table import budget_lines, budget_note, day_rows, decay_rows
from halflayer.sheet.figures import Show, percent_up
from halflayer.sheet.film_picture import film_picture, film_words, lighter_than_asked, passed_words
from halflayer.sheet.first_film import first_words
from halflayer.sheet.going_in import going_in
from halflayer.sheet.head_place import by_dose
from halflayer.sheet.inspection import UNSHARPNESS, in_block, inspection_rows
from halflayer.sheet.layers import layer_rows
from halflayer.sheet.laying import laying
from halflayer.sheet.limit_matrix import limit_matrix
from halflayer.sheet.log_table import log_data
from halflayer.sheet.marking import marking_data
from halflayer.sheet.naming import count, way
from halflayer.sheet.points_of_weld import points_of, ropes_of
from halflayer.sheet.room_words import held
from halflayer.sheet.rule_rows import rule_rows
from halflayer.sheet.trail import main_figures
from halflayer.sheet.travel import told_by_table, transit_rows
from halflayer.sheet.unrolled_part import unrolled_part
from halflayer.shielding import wrapped_room
from halflayer.shielding.budget import GAPS
from halflayer.shielding.result import Shielding
from halflayer.shielding.survey_points import Points
from halflayer.shielding.travelling import not_known, travel_of
from halflayer.technique.result import Candidate, RuleVerdict

COLUMN_MM = 91.5  # of the second page
MAP_MM = 52.0  # of the plan, as high as this; what its marks mean stands beside it
MAP_WIDE_MM = (60.0, 60.0, 52.0)  # and as wide as this, by how full the page is
MAP_SHARES = (1.0, 0.92, 0.76)  # of its height, by how full the page is
FILM_MM = 33.0
BESIDE_FILM_MM = COLUMN_MM - FILM_MM - 4.0  # of the unrolled weld where a predicted film stands beside it
LONGEST_IN_LIST, LONGEST_NOT_ASKED = 110, 140  # characters; the plan file has every text in full
LONGEST_NOTE = 420
MOST_BROKEN = 2  # refusals printed for each kind of candidate; the plan file has them all
OF_OURS = (
    "geometry",
    "kit of the order",
    "the order",
    "table of half-lives",
)  # begin sources that no code asks for

BY_NAME = ("film width along the pipe",)  # of a code, but a matter of kit: where it holds it decided nothing


def told_apart(
    rules: tuple[RuleVerdict, ...],
) -> tuple[tuple[RuleVerdict, ...], tuple[RuleVerdict, ...], tuple[RuleVerdict, ...]]:
    """Rules for the table, what holds of kit and room by name only, and what the code does not ask."""
    fine = [r for r in rules if r.verdict == "holds" and (r.source.startswith(OF_OURS) or r.rule in BY_NAME)]
    # What is not decided about kit and room ("check on site") and what is read later stays in the table.
    not_asked = [
        r
        for r in rules
        if r.verdict == "not asked" and "to be read" not in r.reached and not r.source.startswith(OF_OURS)
    ]
    listed = tuple(r for r in rules if r not in fine and r not in not_asked)
    return listed, tuple(fine), tuple(not_asked)


def others(candidates: tuple[Candidate, ...], chosen: Candidate | None) -> list[str]:
    """The other ways by technique and placement: those allowed, and by the first rule that refuses them the others."""
    groups: dict[str, list[Candidate]] = {}
    for c in candidates:
        if chosen is None or c != chosen:
            groups.setdefault(way(c), []).append(c)
    out: dict[str, list[str]] = {}
    for name, members in groups.items():
        allowed = sum(c.verdict == "admissible" for c in members)
        broken = next((r.rule for c in members for r in c.broken), "")
        out.setdefault("allowed" if allowed else f"no ({broken})", []).append(name)
    return [f"{why}: {'; '.join(names)}" for why, names in out.items()]


def refused(
    every: tuple[Candidate, ...], chosen: Candidate | None, code: str, show: Show, *, longest: int = 10_000
) -> list[dict[str, Any]]:
    """The other candidates by technique and arrangement, with the rules that refuse them.

    A rule stands once in a group, with the figures of the first candidate that breaks it and how many break it;
    words of more than `longest` characters are cut.
    """
    groups: dict[str, list[Candidate]] = {}
    for c in every:
        if chosen is None or c != chosen:
            groups.setdefault(way(c), []).append(c)
    out = []
    for name, members in groups.items():
        broken: dict[str, dict[str, Any]] = {}
        for rule in (r for c in members for r in c.broken):
            line = {
                "rule": rule.rule,
                "required": shortened(show.converted(rule.required), longest),
                "reached": shortened(show.converted(rule.reached), longest),
                "source": shortened(clause(rule.source, code), longest // 2),
                "count": 0,
            }
            broken.setdefault(rule.rule, line)["count"] += 1
        sources = ", ".join(dict.fromkeys(c.source for c in members))
        out.append(
            {
                "name": name,
                "with": f"{count(len(members), 'candidate')} with {sources}",
                "allowed": sum(c.verdict == "admissible" for c in members),
                "broken": list(broken.values())[:MOST_BROKEN],
                "more": max(0, len(broken) - MOST_BROKEN),
            }
        )
    return out


def barrier_note(s: Shielding) -> str:
    """How many points of the barrier line are known to their noise only; empty where all are known."""
    basis = s.barrier_stands_m.basis
    found = re.search(r"(\d+) of \d+ points are known to their noise only[^;]*", basis)
    return f"barrier line: {found[0]}" if found and int(found[1]) else ""


def k_rule(s: Shielding) -> str:
    """How k is made of the lines of the budget, with their figures."""
    gaps = [b for b in s.budget if b.what == GAPS]
    others = [b for b in s.budget if b.what != GAPS]
    squares = " + ".join(percent_up(b.relative).removesuffix(" %") + "²" for b in others)
    root = f"√({squares}) %"
    figures = f"{percent_up(gaps[0].relative)} + {root}" if gaps else root
    words = (
        "gaps, added whole, and root of the sum of squares of the others"
        if gaps
        else "root of the sum of their squares"
    )
    return f"k = {words} = {figures} = {percent_up(s.k)}"


LITTLE = 1e-3  # of a wall's own error: less says nothing beside the others, our choice


def _wall_rule(s: Shielding, points: Points) -> str:
    """What walls add to k at the places behind them, and what was taken of a wall whose tolerance is not stated."""
    numbers = {p.name: str(n) for n, p in points.numbered}
    told = []
    for w in s.walls:
        named = [numbers[p] for p in w.places if p in numbers]
        others = len(w.places) - len(named)
        more = [f"{others} between"] if others else []
        adds = f"up to {percent_up(w.relative)}" if w.relative >= LITTLE else f"under {percent_up(LITTLE)}"
        told.append(f"{w.wall} {adds} ({w.basis}) at {', '.join([*named, *more])}")
    if not told:
        return ""
    return f". Behind walls k is larger, this joins the squares: {'; '.join(told)}"


def mass_of(order: Order, s: Shielding, show: Show) -> str:
    """What the mass of the shield is made of, in brackets: a shroud counts though no plate and no layer is mounted."""
    shrouds = {x.id for x in order.kit.shrouds}
    mounted = [i for i in s.items if i.id in shrouds and i.mass_kg > 0.0]
    mass = {i.id: i.mass_kg for i in mounted}
    parts = [f"shroud {i.id} {show.value(mass[i.id], 'mass')}" for i in mounted]
    if parts and s.added_mass_kg - sum(mass.values()) > 0.05:
        parts.append(f"plates and layers {show.value(s.added_mass_kg - sum(mass.values()), 'mass')}")
    return f" ({', '.join(parts)})" if parts else ""


def shortened(words: str, longest: int) -> str:
    """A text for a list: cut at a word and ended by an ellipsis where it has more characters."""
    if len(words) <= longest:
        return words
    return words[:longest].rsplit(" ", 1)[0].rstrip(",;:") + " …"


def _planned(w: WeldPlan) -> Density | None:
    """Densities planned for the exposure whose picture is printed."""
    shots = w.exposure.shots if w.exposure else ()
    return shots[w.radiographs[0].shot].density if w.radiographs[0].shot < len(shots) else None


def back_page(
    plan: Plan,
    order: Order,
    weld: Weld,
    w: WeldPlan,
    show: Show,
    *,
    built: Built | None,
    map_mm: float = MAP_MM,
    map_wide_mm: tuple[float, ...] = MAP_WIDE_MM,
) -> dict[str, Any]:
    """Everything behind the set-up: rules, doses, layers, budget, trail, agreements, decay, findings.

    `map_mm` is the height of the barrier's plan, `map_wide_mm` its widths, by how full the page is.
    """
    c, s = w.chosen, w.shielding
    code = order.code_of(weld)
    ready = w.status == "ready"
    later = ready and w.weld not in {one.weld for one in in_shift(plan)}
    unsigned = order.unsigned(c.agreements_used) if c else ()
    listed, fine, not_asked = told_apart(tuple(r for r in c.rules if not in_block(r)) if c else ())
    laid = wrapped_room.words(order, weld, c, s)  # the bare head's comes before it
    out: dict[str, Any] = {
        "rules": rule_rows(listed, code, show, w.exposure, unsigned),
        "inspection": inspection_rows(order, weld, w, show),
        "fine": ", ".join(
            filter(
                None, [*(held(r, show, upright=weld.runs == "vertical") for r in fine), show.converted(laid)]
            )
        ),
        "not_asked": "; ".join(
            f"{r.rule}: {shortened(show.converted(r.reached), LONGEST_NOT_ASKED)}"
            for r in not_asked
            if r.rule != UNSHARPNESS  # among the distances
        ),
        # On a stopped weld's sheet it is what the reader came for, and there is room: nothing is cut.
        "refused": refused(
            w.technique.candidates, c, code, show, **({"longest": LONGEST_IN_LIST} if ready else {})
        ),
        "others": others(w.technique.candidates, c) if ready else [],
        "agreements": [show.converted(agreement(a, c.iqi)) for a in c.agreements_used] if c else [],
        "figures": main_figures(w, show),
        "decay": decay_rows(order, c.source, w.exposure, show) if c and ready else [],
        "hour": moment(order.shift.starts).partition(" ")[2],
        "days": day_rows(order, c.source, w.exposure, show) if c and ready else [],
        "work": budget_lines(w, show),
        "work_note": budget_note(w, show, order),
        "findings": [
            {
                "level": f.level,
                "text": shortened(show.converted(two_films.left(f)), LONGEST_NOTE),
                "source": f.source,
            }
            for f in w.findings
            # Warnings stand among the cautions; how ways were ranked is told by the plan file and `compare`.
            if f.level != "stop"
            and two_films.left(f)
            and f.source != MISSED
            and not (ready and (f.level == "warn" or f in w.technique.findings))
            and not told_by_table(f)
        ],
        "layers": layer_rows(order, s, built, show)
        | {"laid": laying(order, weld, c, s, built, show, w.exposure)},
        "bears": bears(order, weld, c, s, built, show),
        "transit": transit_rows(order, w, show) | {"going": going_in(order, w)},
        "places": [],
        "brief": [],
        "blank": False,
        "limits": {"kinds": [], "rows": [], "note": ""},
        "budget": [],
        "k": "",
        "k_rule": "",
        "barrier_note": "",
        "maps": [],
        "map_wide": [],
        "map_outside": "",
        "map_signs": [],
        "map_far": False,
        "map_crew": "",
        "map_limit": "",
        "line_note": "",
        "verdict_rule": dose_note.verdict_rule(),
        "turn_back_rule": dose_note.turn_back_rule(order),
        "way": False,
        "crank": False,
        "roped": bool(w.safety and w.safety.contour),
        "unrolled": None,
        "laps": "",
        "film": None,
        "film_words": "",
        "film_name": "Film",
        "explain": "whoever planned can open each down to its table or clause",
        "cautions": [],
        "until": [],
        "log": None if later else log_data(order, w),
        # What is exposed in another shift is planned anew for it, and its log is printed then.
        "log_later": later,
        "kit": kit_of_weld.words(plan, order, w, show),
        "marking": marking_data(
            order,
            weld,
            c,
            w.exposure,
            show,
            reading=ready,
            this_shift=not later,
            tolerance=by_dose(order, w),
        ),
        "first": first_words(plan, order, w, show) if ready else None,
    }
    if c is not None:
        filmed = bool(w.radiographs and w.radiographs[0].picture)
        out |= unrolled_part(weld, c, w.exposure, show, width_mm=BESIDE_FILM_MM if filmed else COLUMN_MM)
    if w.radiographs and w.radiographs[0].picture:
        out["film"] = film_picture(w.radiographs[0], show, width_mm=FILM_MM)
        out["film_words"] = film_words(
            w.radiographs[0],
            show,
            _planned(w),
            c.iqi if c else None,
            w.exposure,
            passed_words(order, c, w.exposure.shots[0] if w.exposure else None, w.radiographs[0])
            if ready
            else "",
        ) + lighter_than_asked(w.radiographs[0], c)
        out["film_name"] = "Image" if w.radiographs[0].verdict.digital else "Film"
    if s is not None:
        rope = w.safety.contour if w.safety else None
        points = points_of(order, w)
        roped = [n for n, p in points.numbered if p.name in ropes_of(order, w)]
        out["places"] = [
            # One name on both pages; the figures here are the ring's.
            r
            | (
                {"name": f"{r['name'].partition(',')[0].replace('ring', 'rope')}: at the ring"}
                if r["n"] in roped
                else {}
            )
            for r in (*survey.rows(weld, s, points, show), *floor_points.point_rows(order, weld, w, show))
        ]
        out["blank"] = any(not points.unread(p.name) for p in points.rest)
        out["brief"], out["brief_rule"] = survey.brief(points, show), survey.between_rule(points)
        vague = [p.name for p in s.points if not p.reliable] if not not_known(travel_of(s)) else []
        out["limits"] = limit_matrix(s.limits, show, w.safety.crew if w.safety else (), vague)
        out["barrier_note"] = show.converted(barrier_note(s))
        out["budget"] = [
            {"what": b.what, "relative": percent_up(b.relative), "basis": show.converted(b.basis)}
            for b in s.budget
        ]
        out["k"] = percent_up(s.k)
        out["k_rule"] = k_rule(s) + show.converted(_wall_rule(s, points))
        out["footprint"] = f"{show.drawn(*s.footprint_m)} along × across, on the {s.footprint_on}"
        out["mass"] = (
            show.up(s.added_mass_kg, "mass", digits=3) + mass_of(order, s, show)
            if s.added_mass_kg
            else "none"
        )
        out["seeds"] = (
            f"shield chosen with one series of random numbers, checked with another (seeds {s.seeds[0]}, {s.seeds[1]})"
        )
        if s.barrier_by_direction or s.points:
            # Drawn anew for each height: a drawing made smaller would belie its scale.
            maps = [
                plan_map.plan_map(
                    *(order, weld, s, show),
                    contour=rope,
                    floors=w.safety.floors if w.safety else (),
                    candidate=c,
                    posts=sentry_words.sites(w),
                    width_mm=wide,
                    height_mm=high * wide / MAP_MM,
                )
                for wide, high in zip(map_wide_mm, (share * map_mm for share in MAP_SHARES), strict=False)
            ]
            out["maps"] = [m[0] for m in maps]
            out["map_wide"] = list(map_wide_mm)
            out["map_signs"] = ['class="sign"' in m[0] for m in maps]
            out["map_outside"] = count(maps[0][2], "place") if maps[0][2] else ""
            crew = crew_line(order, weld, c, show, rope)
            out["map_crew"] = f"on this line or outside it, {crew.words}" if crew.loops else crew.words
            out["map_crank"] = alarm_near.crank_words(order, w, show)
            limit = order.limits.barrier.rate_Sv_s
            out["map_limit"] = "the limit" if limit is None else show.floor(limit, "equivalent_rate")
            out["map_line"], out["map_rope"], out["line_note"] = dose_note.line_and_rope(order, w, show)
            out["way"] = weld.guide_from is not None
            for mark, kind in (
                ("posts", 'class="sentry'),
                ("crank", 'class="crank'),
                ("map_far", 'farther out"'),
            ):
                out[mark] = any(kind in m for m in out["maps"])
    return out
