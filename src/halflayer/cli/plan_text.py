"""A plan as lines for the terminal: the findings first, then one row a weld."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Literal

from halflayer.base.result import Finding
from halflayer.base.units import show
from halflayer.cli.table import aligned, wrapped
from halflayer.conditions_of_floors import FLOOR
from halflayer.conditions_of_travel import ON_ITS_WAY
from halflayer.exposure.result import Exposure
from halflayer.order.models import Order
from halflayer.plan import Plan, WeldPlan, in_shift
from halflayer.sheet import go
from halflayer.sheet.figures import Show
from halflayer.sheet.grouped import merged, of_weld
from halflayer.sheet.inspection import left_open
from halflayer.sheet.naming import count
from halflayer.sheet.only_if import NOT_IN_SHIFT, by_shift, on_order_page, told_by_condition
from halflayer.sheet.standing_counts import counted
from halflayer.shielding.result import LimitCheck, Shielding
from halflayer.shielding.safety_result import FloorDose
from halflayer.shielding.travelling import NOBODY_THERE
from halflayer.shielding.worst_place import worst_place

System = Literal["metric", "imperial"]

HEAD = ("weld", "status", "arrangement", "source", "time", "plates", "layers", "rope to", "worst place")
NUMBERS = (4, 5, 6, 7)  # columns that are flush right
NOT_REACHED = "-"
MOST_NAMED = 10  # letters of the column that says whom a finding is for: our choice


def plan_lines(plan: Plan) -> list[str]:
    """The whole text of a plan, without where its sheets are."""
    lines = [_title(plan), ""]
    system: System = "imperial" if plan.order["units"] == "imperial" else "metric"
    found = _findings(plan, system)
    if found:
        lines += [*found, ""]
    here, asked = {w.weld for w in in_shift(plan)}, Order.from_json(plan.order)
    lines += aligned(HEAD, (_row(asked, w, system, here) for w in plan.welds), right=NUMBERS)
    notes = sum(f.level == "note" for w in plan.welds for f in w.findings)
    notes += sum(f.level == "note" for f in plan.findings)
    legend = (
        "time: each shot; rope to: its farthest corner; worst place: upper bound of H*(10) (95 %, budget included) "
        "against the limit"
    )
    if notes:
        legend += f"; {count(notes, 'note')} {'is' if notes == 1 else 'are'} on the sheets and in plan.json"
    return [*lines, "", *wrapped("", legend, indent=0)]


def field_lines(files: Iterable[str]) -> list[str]:
    """The files of dose fields by name, a line a weld: drawing and picture of the isodose lines, voxels."""
    names = sorted(files)
    lines: list[str] = []
    for stem in dict.fromkeys(n.split(".isodose.")[0] for n in names if ".isodose." in n):
        drawn = [n for n in names if n.startswith(f"{stem}.isodose.")]
        voxels = [n for n in names if n.startswith(f"{stem}.exposure-") and n.endswith(".vti")]
        text = f"{' and '.join(drawn)} (isodose lines in plan)"
        if voxels:
            text += f"; {', '.join(voxels)} (voxels)"
        lines += wrapped("" if lines else "field", text, indent=8)
    return lines


def _title(plan: Plan) -> str:
    order = plan.order
    of = f" class {order['test_class']}" if order["test_class"] else ""
    told = (
        f"{count(len(plan.welds), 'weld')}: {counted(plan, Order.from_json(order))}"  # as the order's page 1
    )
    return f"{order['order']} rev {order['revision']}, {order['code']}{of}, {told}"


def _findings(plan: Plan, system: System) -> list[str]:
    """Stops first, then what ready welds hang on, then warnings; what is alike at several welds once."""
    show = Show(system)
    every = [w.weld for w in plan.welds]
    rows = [(w.weld, f) for w in plan.welds for f in w.findings if not told_by_condition(w, f)]
    # A weld of another shift says so in what it hangs on.
    rows += [("order", f) for f in plan.findings if NOT_IN_SHIFT not in f.text]
    stops = [(who, _text(f, show), f.relax) for who, f in rows if f.level == "stop"]
    until = [
        (r["welds"], f"{r['short']}: {r['text']}{_source(plan, r)}", ())
        for group in by_shift(plan, show)
        for r in group
    ]
    asked, unsigned = Order.from_json(plan.order), dict[str, list[str]]()
    for w in plan.welds:
        if w.standing == "ready" and (to_sign := left_open(asked, w)):
            unsigned.setdefault(f"signed: {', '.join(to_sign)}", []).append(w.weld)
    until += [
        (", ".join(on), f"{text} (order's sheets, “By agreement only”)", ()) for text, on in unsigned.items()
    ]
    warns = _alike([(who, f) for who, f in rows if f.level == "warn"], show, every)
    named = [who for who, _, _ in (*stops, *until, *warns)]
    indent = min(max(map(len, named), default=0), MOST_NAMED) + 8
    return [
        *(line for row in stops for line in _told("stop", *row, indent=indent, show=show)),
        *(line for row in until for line in _told("until", *row, indent=indent, show=show)),
        *(line for row in warns for line in _told("warn", *row, indent=indent, show=show)),
    ]


def _told(level: str, who: str, text: str, relax: Sequence[str], *, indent: int, show: Show) -> list[str]:
    label = f"{who.ljust(indent - 8)}  {level}"
    # A name too long for its column stands in a line of its own.
    over = [] if len(who) <= indent - 8 else [who]
    lines = [*over, *wrapped(label if not over else " " * (indent - 6) + level, text, indent=indent)]
    if relax:
        words = ", or ".join(show.converted(r) for r in relax)
        lines += wrapped("", f"would be lifted by: {words}", indent=indent)
    return lines


def _alike(
    found: list[tuple[str, Finding]], show: Show, every: Sequence[str]
) -> list[tuple[str, str, tuple[str, ...]]]:
    """Warnings with whom they are for: those of the same words, or alike but for a figure, in one."""
    groups: dict[tuple[str, ...], dict[str, list[str]]] = {}
    for who, f in found:
        groups.setdefault((f.source, *f.relax), {}).setdefault(of_weld(f), []).append(who)
    rows = []
    for (source, *relax), texts in groups.items():
        if any("order" in on for on in texts.values()):
            merged_rows = [{"welds": ", ".join(on), "text": text} for text, on in texts.items()]
        else:
            merged_rows = merged(texts, every)
        behind = f" ({show.converted(source)})" if source else ""
        rows += [(r["welds"], show.converted(r["text"]) + behind, tuple(relax)) for r in merged_rows]
    return rows


def _source(plan: Plan, row: dict[str, str]) -> str:
    """The source of a condition, behind its words."""
    first = row["welds"].split(", ")[0]
    found = [c.source for w in plan.welds if w.weld == first for c in w.conditions if c.short == row["short"]]
    return f" ({found[0]})" if found else ""


def _text(finding: Finding, show: Show) -> str:
    return show.converted(f"{finding.text} ({finding.source})" if finding.source else finding.text)


def _row(order: Order, weld: WeldPlan, system: System, here: set[str]) -> tuple[str, ...]:
    chosen, shield = weld.chosen, weld.shielding
    stands = on_order_page(weld, of_all=False, to_sign=left_open(order, weld))
    return (
        weld.weld,
        stands if weld.status == "stopped" or weld.weld in here else "another shift",
        chosen.arrangement if chosen else NOT_REACHED,
        chosen.source if chosen else NOT_REACHED,
        _times(weld.exposure) if weld.exposure else NOT_REACHED,
        str(shield.fitting.plates) if shield else NOT_REACHED,
        str(shield.fitting.layers) if shield else NOT_REACHED,
        _rope(weld, shield, system) if shield else NOT_REACHED,
        _worst(weld, shield, system) + _but(weld) if shield else NOT_REACHED,
    )


def _but(weld: WeldPlan) -> str:
    """What the verdict at the worst place leaves out: a source on its way that passes limits, a floor kept empty."""
    asked = {c.short for c in weld.conditions}
    if any(f.relax == NOBODY_THERE for f in weld.findings):
        return f" with the source at the weld; breaks while it travels (until: {ON_ITS_WAY})"
    return f" (until: {FLOOR})" if FLOOR in asked else ""


def _times(exposure: Exposure) -> str:
    """`71 s`, `4 x 71 s` when all shots are alike, `71 to 75 s` style otherwise."""
    seconds = [float(s.seconds.value) for s in exposure.shots if isinstance(s.seconds.value, int | float)]
    if not seconds or len(seconds) < len(exposure.shots):
        return "not computed"
    texts = list(dict.fromkeys(show(s, "time", digits=2) for s in (min(seconds), max(seconds))))
    count = f"{len(seconds)} x " if len(seconds) > 1 else ""
    return count + " to ".join(texts)


def _rope(weld: WeldPlan, shield: Shielding, system: System) -> str:
    """The rope's farthest corner as on the order's first page; how far the barrier is where no rope is laid out."""
    figure = shield.barrier_stands_m
    if not isinstance(figure.value, int | float):
        return "beyond reach" if "beyond reach" in figure.basis else "not computed"
    told = go.farthest(weld, Show(system))
    return f"{told} (hour)" if shield.barrier_by_hour else told


def _worst(weld: WeldPlan, shield: Shielding, system: System) -> str:
    place = worst_place(shield, weld.safety.floors if weld.safety else ())
    if place is None:
        return "no place with a limit"
    verdict = {True: "holds", False: "breaks", None: "not reliable"}[place.ok]
    if isinstance(place, LimitCheck):
        upper = show(place.upper_Sv, "equivalent", system=system, digits=2)
        limit = show(place.limit_Sv, "equivalent", system=system, digits=3, round_up=False)
        return f"{Show(system).converted(place.place)}: {upper} of {limit} {place.kind}, {verdict}"
    upper = show(place.upper_Sv_s or 0.0, "equivalent_rate", system=system, digits=2)
    limit = show(place.limit_Sv_s or 0.0, "equivalent_rate", system=system, digits=3, round_up=False)
    if isinstance(place, FloorDose):
        return f"{place.floor}, {Show(system).converted(place.where)}: {upper} of {limit}, {verdict}"
    return f"{Show(system).converted(place.name)}: {upper} of {limit}, {verdict}"
