"""What one survey with the source still out comes to on top of a person's shift: no sum holds it, a limit may break."""

from __future__ import annotations

from halflayer.order.models import Order
from halflayer.plan import Plan, in_shift
from halflayer.sheet import carrying
from halflayer.sheet.doses import in_words, raised_Sv
from halflayer.sheet.figures import NOT_COMPUTED, Show
from halflayer.sheet.people import as_told
from halflayer.shift.result import CrewShift

SHIFT = "per shift"
CLOSE = 1.0 + 1e-9  # sums of printed figures are no more exact in floating point


def on_top(plan: Plan, person: CrewShift, weld: str, show: Show) -> tuple[float, float, float] | None:
    """A person's bound of the shift, one survey with the source still out at a weld, and the limit, as printed [Sv].

    None without a limit per shift or for who makes no survey there.
    """
    limit = next((c for c in as_told(plan, person, show) if c.kind == SHIFT), None)
    for w in in_shift(plan):
        for p in w.safety.crew if w.safety and w.weld == weld else ():
            if p.name == person.name and p.still_out and p.still_out.dose_Sv is not None and limit:
                return (
                    raised_Sv(limit.upper_Sv, show),
                    raised_Sv(p.still_out.dose_Sv, show),
                    limit.limit_Sv,
                )
    return None


def rows(plan: Plan, order: Order, show: Show) -> list[dict[str, str]]:
    """For each person of the shift the weld at which one such survey brings most, with carrying sources and the sum.

    The sum is what sheet 1 has as "at most"; its parts as they are printed.
    """
    out, carried = [], carrying.by_person(plan, order, show)
    for person in plan.schedule.crew if plan.schedule else ():
        found = [(s, w.weld) for w in in_shift(plan) if (s := on_top(plan, person, w.weld, show))]
        if found:
            (before, more, limit), weld = max(found, key=lambda f: f[0][1])
            more = show.raised(more, "equivalent", digits=2)  # as sheet 1 adds it
            whole = raised_Sv(before + more + carried.get(person.name, 0.0), show)
            breaks = whole > limit * CLOSE
            missing = _missing(plan, person.name)
            known = person.dose.value is not None and not missing
            out.append(
                {
                    "name": person.name,
                    "weld": weld,
                    "before": in_words(before, show),
                    "more": show.up(more, "equivalent", digits=2),
                    "carried": show.up(c, "equivalent", digits=2) if (c := carried.get(person.name)) else "",
                    "sum": in_words(whole, show),
                    "limit": show.floor(limit, "equivalent"),
                    "verdict": "breaks" if breaks else "holds" if known else "not known",
                    "missing": ", ".join(missing),
                }
            )
    return out


def _missing(plan: Plan, name: str) -> list[str]:
    """The welds at which the dose of such a survey is not computed."""
    return [
        w.weld
        for w in in_shift(plan)
        for p in (w.safety.crew if w.safety else ())
        if p.name == name and p.still_out is not None and p.still_out.dose_Sv is None
    ]


def words(row: dict[str, str]) -> str:
    """A row as one sentence."""
    lack = f"; {NOT_COMPUTED} at {row['missing']}" if row["missing"] else ""
    carried = f" + {row['carried']} (carrying sources)" if row["carried"] else ""
    survey = f"{row['more']} (one survey with the source still out, {row['weld']})"
    whole = f"{row['sum']}, sheet 1's “at most”, of {row['limit']}, {row['verdict']}{lack}"
    return f"{row['name']}: {row['before']} + {survey}{carried} = {whole}"


def sentences(found: list[dict[str, str]]) -> list[str]:
    """The rows as sentences, persons of the same figures together."""
    names: dict[str, list[str]] = {}
    for r in found:
        names.setdefault(words(r | {"name": ""}), []).append(r["name"])
    return [f"{', '.join(who)}{text}" for text, who in names.items()]


def warnings(plan: Plan, show: Show, weld: str | None = None) -> list[tuple[str, str]]:
    """Weld and text wherever such a survey breaks a person's limit of the shift; of one weld where it is named."""
    out = []
    for w in in_shift(plan):
        for person in plan.schedule.crew if plan.schedule and weld in (None, w.weld) else ():
            found = on_top(plan, person, w.weld, show)
            if found and found[0] + found[1] > found[2] * CLOSE:
                before, more, limit = found
                text = (
                    f"{person.name}: one survey with the source still out brings {in_words(more, show)} on top of "
                    f"{in_words(before, show)} at most of the shift, {in_words(before + more, show)} in all: the limit "
                    f"per shift, {show.floor(limit, 'equivalent')}, breaks; nobody goes in without dose left for it"
                )
                out.append((w.weld, text))
    return out
