"""The order's summary: welds, kit to carry, doses of the crew, limits, instruments and the contingency page."""

from __future__ import annotations

import math
from typing import Any

from halflayer.exposure.budget import counted_in
from halflayer.order.models import Order
from halflayer.plan import Plan, WeldPlan, in_shift
from halflayer.sheet import (
    at_a_glance,
    change_turns,
    contingency,
    go,
    grouped,
    holder_turns,
    moments,
    only_if,
    standing_counts,
    still_out_rows,
    store_spans,
    survey,
    to_sign,
    witnessing,
)
from halflayer.sheet.access_page import access_page
from halflayer.sheet.agreements_table import agreement_rows, signed_by
from halflayer.sheet.barrier_words import standing_at
from halflayer.sheet.before import BASIS, DOUBTFUL, DOUBTFUL_DO, before_list
from halflayer.sheet.call_words import call_words
from halflayer.sheet.cards_together import contents
from halflayer.sheet.code_and_films import code_pointer
from halflayer.sheet.content import Sheet, moment, span
from halflayer.sheet.figures import NOT_COMPUTED, Show
from halflayer.sheet.inspection import left_open
from halflayer.sheet.instrument_rows import instrument_rows
from halflayer.sheet.kit_list import EACH_POST, kit_list, kit_loads, shortages, source_carriers, unweighed
from halflayer.sheet.load_plan import load_plan
from halflayer.sheet.lost_page import lost_page
from halflayer.sheet.naming import way, weld_list
from halflayer.sheet.order_limits import averaged, limit_rows
from halflayer.sheet.overridden import overrides
from halflayer.sheet.people import people_page, with_further
from halflayer.sheet.plain_words import plain_words
from halflayer.sheet.qr import record_qr
from halflayer.sheet.source_rows import beside_beams, other_activity, source_rows
from halflayer.shielding.dose_findings import COMES


def order_sheet(plan: Plan, order: Order, show: Show, *, sketch_mm: tuple[float, float]) -> Sheet:
    """The summary of the whole order."""
    kit, total = kit_list(order, plan, show)
    loads = kit_loads(order, plan)
    of_all = [*_to_bring(kit, len(order.crew)), *code_pointer(plan, order)]
    carded = {c.source for c in plan.stuck}
    load = load_plan(loads, [p.name for p in order.crew], show, source_carriers(order))
    mine, others = only_if.by_shift(plan, show)
    begun_by = change_turns.begun_by(plan, order)
    data: dict[str, Any] = {
        "order": order.order,
        "order_title": order.title,
        "revision": order.revision,
        "site": order.site.name + (f", {order.site.area}" if order.site.area else ""),
        "adviser": order.site.adviser,
        "supervisor": order.site.supervisor or "NOT NAMED in the order",
        "call": call_words(order),
        "local_rules": order.site.local_rules,
        "origin": frame_words(order),
        "code": _codes(order),
        "shift": span(order.shift.starts, order.shift.ends),
        "shift_at_site": _at_site(span(order.shift.starts, order.shift.ends)),
        "version": plan.version,
        "content": plan.content,
        "made_at": moment(plan.made_at),
        "quantity": survey.QUANTITY,
        "qr": record_qr(order.order, order.revision, "all", plan.content),
        "standing": standing_counts.counted(plan, order),
        "glance": at_a_glance.rows(plan, order, show, load, total),
        "conditions": [*of_all, *to_sign.in_one_row(plan, order, moments.with_hours(plan, order, mine))],
        "other_conditions": others,
        "of_all": [c["short"] for c in of_all],
        "stopped": sum(w.status == "stopped" for w in plan.welds),
        "welds": _masses_alike(
            [
                _weld_row(order, w, show, of_all=bool(of_all))
                | {"when": at_a_glance.when(plan, order, w.weld), "latest": list(begun_by.get(w.weld, ()))}
                for w in at_a_glance.in_turn(plan)
            ],
            plan,
            show,
        ),
        "closed_by": change_turns.closed_by(plan, order),
        "once_changed": change_turns.once_changed(plan, [w.id for w in order.welds]),
        "kit": kit,
        "kit_total": total,
        "crew": at_a_glance.placed(plan, order, show, crew_rows(order, plan, show)),
        "at_rope": at_a_glance.AT_ROPE,
        "crew_of": _crew_of(order, plan),
        "counted": counted_in(any(w.budget.trial for w in in_shift(plan) if w.budget)),
        "crew_basis": order.crew_times.basis,
        "limits": limit_rows(order, show),
        "averaged": averaged(order),
        "instruments": instrument_rows(order, show),
        "sources": source_rows(plan, order, show),
        "beside_beams": beside_beams(plan, order, show),
        "other_activity": other_activity(plan, order, show),
        "agreements": agreement_rows(plan, order, show),
        "agreed_by": signed_by(order),
        "cautions": _short(shortages(order, plan), show)
        + [{"welds": weld, "text": text} for weld, text in still_out_rows.warnings(plan, show)]
        + [c | {"text": show.converted(c["text"])} for c in grouped.cautions(plan)],
        "notes": [
            # What the summary says elsewhere is not said again: welds of another shift, source changes.
            *(
                {"weld": f.level, "text": show.converted(f.text)}
                for f in plan.findings
                if not any(said in f.text for said in SAID_ON_PAGE_1)
            ),
            *({"weld": w.id, "text": w.note} for w in order.welds if w.note),
        ],
        "contingency": {
            "headline": contingency.HEADLINE,
            "steps": list(contingency.STEPS),
            "likeliest": contingency.likeliest(order, in_shift(plan) or plan.welds),
            "sources": [
                contingency.bare_source(order, s, show) for s in _used(order, plan) if s.id not in carded
            ],
        },
        "plain_words": plain_words(),
        "overrides": [o for w in plan.welds for o in overrides(w, show)],
        "people": people_page(plan, order, show)
        | {
            "surveys": still_out_rows.sentences(still_out_rows.rows(plan, order, show)),
            "rests": store_spans.words(plan, order, show),
            "moves": store_spans.moves(plan, order),
            "holders": holder_turns.words(plan, order),
            "witness": witnessing.words(plan, order),
        },
        "access": access_page(plan, order, show, sketch_mm=sketch_mm),
        "lost": lost_page(plan, order, show),
        "load": load,
        "unweighed": unweighed(kit),
        "before": before_list(plan, order, show),
        "before_basis": BASIS,
        "doubtful": {"words": [{"word": w, "means": m} for w, m in DOUBTFUL], "do": DOUBTFUL_DO},
    }
    return Sheet(
        "order.pdf", "order", f"{order.order} summary", plan.made_at, data | contents(plan, order, show)
    )


ONE_EACH = "one a person"
# Begins or is in findings that page 1 tells in its own words.
SAID_ON_PAGE_1 = (only_if.NOT_IN_SHIFT, "source changes in this shift:", "if the shift runs late")


def frame_words(order: Order) -> str:
    """Where site coordinates begin and whereto x points, or that the order has neither."""
    begin = order.site.origin or "not stated in the order: ________"
    return f"0, 0 {begin}; +x to {order.site.x_points_to or 'where, not stated: ________'}"


def _at_site(told: str) -> str:
    """A span in UTC with whose clock that is: the order's times are the site's, whatever zone people live in.

    >>> _at_site("2026-03-14 21:00 to 2026-03-15 05:00 UTC")
    '2026-03-14 21:00 to 2026-03-15 05:00, site time UTC'
    """
    return f"{told.removesuffix(' UTC')}, site time UTC" if told.endswith(" UTC") else told


def _short(told: list[str], show: Show) -> list[dict[str, str]]:
    """What is short as one caution."""
    text = "; ".join([*told[:1], *(t.removeprefix(at_a_glance.SHORT_OF) for t in told[1:])])
    return [{"welds": "", "text": show.converted(text)}] if told else []


def _to_bring(kit: list[dict[str, Any]], crew: int) -> list[dict[str, str]]:
    """What the order's kit lacks for its welds, as one condition of them all; empty where it lacks nothing.

    What is worn and suffices for the crew lacks where one person more is needed, whose condition says so.
    """
    told, own = [], []
    for k in kit:
        if ONE_EACH in f"{k['what']}, {k['note']}" and k["stock"].isdigit() and int(k["stock"]) >= crew:
            continue
        if EACH_POST in k["note"] and k["stock"].isdigit() and int(k["stock"]) > 1:
            continue  # what a further post lacks: at its welds
        if k["short"]:
            told.append(f"{k['what'].split(',')[0]}: {k['pieces']} needed, {k['stock']} in the kit")
        elif "not in the order: bring" in f"{k['what']}, {k['note']}":
            own.append(f"{k['what'].split(',')[0]} {k['pieces']}")
    told += [f"{', '.join(own)} (not in the order)"] * bool(own)
    if not told:
        return []
    text = f"brought before the shift, by the kit list: {'; '.join(told)}"
    return [{"welds": "every weld", "short": "kit complete", "text": text}]


def _codes(order: Order) -> str:
    """Code of the order, and of the welds that have their own."""
    own: dict[str, list[str]] = {}
    for w in order.welds:
        if (words := order.code_words(w)) != order.code_words():
            own.setdefault(words, []).append(w.id)
    return "; ".join([order.code_words(), *(f"{', '.join(ids)} by {words}" for words, ids in own.items())])


def crew_name(order: Order, figure: str, n: int) -> str:
    """The person a crew figure is for: by id or name in the figure's name, else by the order of the crew."""
    for p in order.crew:
        if figure in (p.id, p.name) or figure.endswith((f" {p.id}", f"_{p.id}", f":{p.id}", f" {p.name}")):
            return p.name
    return order.crew[n].name if n < len(order.crew) else figure


def _used(order: Order, plan: Plan) -> list[Any]:
    """Sources that ready welds use, else all of the order."""
    used = {w.chosen.source for w in plan.welds if w.chosen is not None and w.status == "ready"}
    return [s for s in order.sources if s.id in used] or list(order.sources)


def _masses_alike(rows: list[dict[str, Any]], plan: Plan, show: Show) -> list[dict[str, Any]]:
    """The masses of the shields, which are read one below the other, in one unit."""
    shown = [n for n, r in enumerate(rows) if r["mass"] not in ("", NOT_COMPUTED)]
    turn = at_a_glance.in_turn(plan)
    masses = [s.added_mass_kg for n in shown if (s := turn[n].shielding) is not None]
    # Nothing mounted has no unit of its own: its zero would bring the smallest one to all.
    some = [(n, m) for n, m in zip(shown, masses, strict=True) if m > 0.0]
    for n in shown:
        rows[n]["mass"] = "0"
    for (n, _), words in zip(some, show.alike([_up(m) for _, m in some], "mass"), strict=True):
        rows[n]["mass"] = words
    return rows


def _up(mass_kg: float) -> float:
    """Rounded up in its third digit, as the sheet of the weld prints what is borne."""
    step = 10.0 ** (math.floor(math.log10(mass_kg)) - 2)
    return math.ceil(mass_kg / step - 1e-9) * step


def _weld_row(order: Order, w: WeldPlan, show: Show, *, of_all: bool) -> dict[str, Any]:
    weld = order.weld(w.weld)
    open_ = left_open(order, w)
    row: dict[str, Any] = {
        "weld": w.weld,
        "size": show.pipe(weld.pipe.od, weld.pipe.wall),
        "status": only_if.on_order_page(w, of_all=of_all, to_sign=open_),
        "until": only_if.in_brief(w, open_),
        "technique": "",
        "arrangement": "",
        "source": "",
        "shots": "",
        "time": "",
        "plates": "",
        "layers": "",
        "mass": "",
        "barrier": "",
        "barrier_way": "",
        "reason": "",
    }
    if w.status == "stopped":
        stops = [f for f in w.findings if f.level == "stop"]
        reasons = [show.converted(f.text.partition(COMES)[0]) for f in stops]
        # What would make it go, of the first: the weld's own sheet has the others.
        goes = next((f"would go with {show.converted(f.relax[0])}" for f in stops if f.relax), "")
        row["reason"] = "; ".join((*reasons, *([goes] if goes else []))) or "no reason given"
        return row
    c = w.chosen
    assert c is not None
    row |= {
        "technique": c.technique,
        # Its mass stands under "shield", beside no plate and no layer.
        "arrangement": way(c).removeprefix(c.technique).removeprefix(", ").replace("-", "\u2011"),
        "source": c.source,
        "shots": str(len(c.shots)),
    }
    row["time"] = total_time(w, show)
    row["plates"] = row["layers"] = row["mass"] = NOT_COMPUTED
    if w.shielding is not None:
        f = w.shielding.fitting
        row |= {
            "plates": f"{f.plates} folded" if _folded(order, f.plate) and f.plates else str(f.plates),
            "layers": str(f.layers),
            "mass": show.up(w.shielding.added_mass_kg, "mass", digits=3),
        }
    # One figure on the order's pages, the rope's: the barrier line lies a little inside it.
    hourly = w.shielding is not None and w.shielding.barrier_by_hour and go.rope_span(w, show)
    far = go.farthest(w, show) if go.rope_span(w, show) else standing_at(w.shielding, show)
    row["barrier"] = f"{far} (hour)" if hourly else far
    row["barrier_way"] = survey.barrier_on_the_way(w, show).split(" in line")[0]
    return row


def _folded(order: Order, kind: str | None) -> bool:
    """True for a stop of folded blankets, which has no plates."""
    return any(b.id == kind for b in order.kit.blankets)


def total_time(w: WeldPlan, show: Show) -> str:
    """Sum of a weld's exposures, each as its sheet prints it: n times a printed time is the printed sum."""
    values = [t.seconds.value for t in w.exposure.shots] if w.exposure else []
    if not values or not all(isinstance(v, int | float) for v in values):
        return NOT_COMPUTED
    return show.value(sum(show.told(float(v), "time") for v in values if isinstance(v, int | float)), "time")


def _crew_of(order: Order, plan: Plan) -> str:
    """Of which welds the crew's doses are the sum, and which ready ones are not in it, and why."""
    every = [w.id for w in order.welds]
    mine = [w.weld for w in in_shift(plan)]
    out = [weld for weld, _ in plan.schedule.left_out] if plan.schedule else []
    if not out:
        return "all ready welds" + (" and source changes" if plan.schedule and plan.schedule.changes else "")
    changes = " and its source changes" if plan.schedule and plan.schedule.changes else ""
    return f"the welds of this shift alone ({weld_list(mine, every)}){changes}"


def crew_rows(order: Order, plan: Plan, show: Show) -> list[dict[str, str]]:
    """Dose of each person for all ready welds, with the limit per shift and the verdict on value plus 1.645 sigma.

    Doses of the welds add; their uncertainties are taken as fully correlated (same source, same budget).
    """
    if plan.schedule is not None and plan.schedule.crew:
        return _scheduled_rows(order, plan, show)
    doses = {p.name: 0.0 for p in order.crew}
    sigmas = dict.fromkeys(doses, 0.0)
    known = True
    for w in plan.welds:
        if w.status != "ready":
            continue
        if w.shielding is None or any(not isinstance(d.value, int | float) for d in w.shielding.crew):
            known = False
            continue
        for n, d in enumerate(w.shielding.crew):
            name = crew_name(order, d.name, n)
            if name in doses and isinstance(d.value, int | float):
                doses[name] += float(d.value)
                sigmas[name] += d.sigma or 0.0
    limit = order.limits.crew.per_shift_Sv
    rows = []
    for p in order.crew:
        # Doses of the crew are upper values where they carry no sigma of their own.
        upper = doses[p.name] + 1.645 * sigmas[p.name]
        rows.append(
            {
                "name": p.name,
                "role": p.role,
                "dose": show.pm(doses[p.name], sigmas[p.name], "equivalent") if known else NOT_COMPUTED,
                "most": "–",
                "without": "",
                "limit": show.floor(limit, "equivalent") if limit else "–",
                "verdict": survey.verdict(
                    upper <= limit if limit and known else None, limited=limit is not None
                ),
                "year": show.value(p.dose_this_year_Sv, "equivalent")
                if p.dose_this_year_Sv is not None
                else "not stated",
            }
        )
    return rows


def _scheduled_rows(order: Order, plan: Plan, show: Show) -> list[dict[str, str]]:
    """The figures of the page about people: as planned, and at most with trial shots and reshoots, which decides."""
    roles = {p.name: p for p in order.crew}
    rows = []
    for r in with_further(plan, order, show):
        own = next((c for c in r["limits"] if c["kind"] == "per shift"), None)
        person = roles.get(r["name"])
        rows.append(
            {
                "name": r["name"],
                "role": person.role if person else "sentry",
                "dose": r["dose"],
                "most": own["upper"] if own else "–",
                "without": r["without"],
                "limit": own["limit"] if own else "–",
                "verdict": own["verdict"] if own else "no limit",
                "year": show.value(person.dose_this_year_Sv, "equivalent")
                if person and person.dose_this_year_Sv is not None
                else "not stated",
            }
        )
    return rows
