"""Who of the crew stands at which post of a weld, and who watches a way to a floor until that floor is read."""

from __future__ import annotations

from halflayer.order.models import Order
from halflayer.plan import WeldPlan
from halflayer.shielding.dose_findings import FAR
from halflayer.shielding.safety_result import FloorDose
from halflayer.shielding.survey_points import near_limit

NOBODY = "1 more person needed"  # in place of a name
UNTIL_READ, ALL_THE_TIME = "until floor is read", "while the source is out"


def sentries(order: Order) -> list[str]:
    """The crew's sentries in the order's sequence: they take a weld's posts from the first on (our choice)."""
    return [p.name for p in order.crew if p.role == "sentry"]


def at_post(order: Order, n: int) -> str:
    """Who takes a weld's post of that number, counted from 1, by surname where no other has it."""
    names = sentries(order)
    return short_name(order, names[n - 1]) if n <= len(names) else NOBODY


def short_name(order: Order, name: str) -> str:
    """A person's last name; all of it where two of the crew have the same.

    Pages read at arm's length have no room for more.
    """
    last = name.split()[-1]
    return last if sum(p.name.split()[-1] == last for p in order.crew) == 1 else name


def doubted(w: WeldPlan) -> list[FloorDose]:
    """Floors under their limit by a figure that is not reliable: nobody goes there on it."""
    return [
        f
        for f in (w.safety.floors if w.safety else ())
        if f.stated and not f.reliable and f.ok is not False and f.upper_Sv_s is not None and f.limit_Sv_s
    ]


def watched(w: WeldPlan) -> list[FloorDose]:
    """Floors whose ways are shut or watched until they are read: those doubted, and those over half of their limit."""
    vague = doubted(w)
    return [
        f
        for f in (w.safety.floors if w.safety else ())
        if f in vague or (f.stated and f.ok is not False and near_limit(f))
    ]


def shut_throughout(f: FloorDose) -> bool:
    """Whether a figure not known reliably lies so near its limit that the way stays shut while the source is out."""
    return not f.reliable and (f.upper_Sv_s or 0.0) * FAR > (f.limit_Sv_s or 0.0)


def floor_watch(order: Order, w: WeldPlan) -> list[tuple[str, str, str]]:
    """Each way to a floor read first, who watches it, until when: its post's own sentry, else one without a post."""
    access = w.safety.access if w.safety else None
    posts = [r.name for r in access.routes if r.sentry] if access else []
    need = access.sentries_needed.value if access else None
    free = sentries(order)[int(need) if isinstance(need, int | float) else 0 :]
    until: dict[str, str] = {}
    for f in watched(w):
        for r in order.access:
            if r.side == f.side and not r.locked:
                long = ALL_THE_TIME if shut_throughout(f) else until.get(r.name, UNTIL_READ)
                until[r.name] = long
    out = []
    for way, when in until.items():
        if way in posts:
            out.append((way, at_post(order, posts.index(way) + 1), when))
        else:
            out.append((way, short_name(order, free.pop(0)) if free else NOBODY, when))
    return out


def watching(order: Order, w: WeldPlan) -> int:
    """How many persons watch a way to a floor beside those at a weld's posts."""
    access = w.safety.access if w.safety else None
    posts = {r.name for r in access.routes if r.sentry} if access else set()
    return sum(way not in posts for way, _, _ in floor_watch(order, w))
