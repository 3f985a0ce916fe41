"""Survey points and dose tables: expected reading, turn-back reading, limit and verdict of every place."""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from halflayer.conditions import FAR_UNDER, NOT_KNOWN
from halflayer.exposure.result import FirstSurvey
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.plan import WeldPlan
from halflayer.sheet import first_survey_words
from halflayer.sheet.doses import raised_Sv
from halflayer.sheet.figures import NOT_COMPUTED, Show, percent_up
from halflayer.sheet.first_exposure import first_of, in_first
from halflayer.sheet.low_readings import in_table
from halflayer.sheet.number_words import runs
from halflayer.sheet.turn_back_words import turn_back_text
from halflayer.shielding.dose_findings import FAR
from halflayer.shielding.meter_range import BACKGROUND_SV_S
from halflayer.shielding.result import LimitCheck, PointDose, Shielding
from halflayer.shielding.rope_readings import AtRope
from halflayer.shielding.safety_result import Contour
from halflayer.shielding.survey_points import UNSURE, Points, first_read, is_barrier, urgency
from halflayer.shielding.travelling import not_known, reach_m, travel_of
from halflayer.shielding.turn_back import total_sigma_Sv_s
from halflayer.shielding.walk import rope_towards_m

PRESSING = 3  # points named as the first to be read where there is no time for all
# How a survey goes, wherever a sheet says so; the numbers themselves are told at the survey's table.
SEQUENCE = "in the sequence of its numbers, each approached from outside"
QUANTITY = "H*(10)"
NEAR_THE_FLOOR_M = 0.3  # a place so near to 1 m above the floor has no height printed: our choice
LONGEST_FROM = 40  # characters of one line of the table
NOT_READ = "not read:"  # with the source out; why stands in the column of what is measured
SHORT_SHARES = (
    ("as leakage of the head", "head leakage"),
    ("straight from leakage", "leakage, direct"),
    ("straight from the beam", "direct beam"),
    ("straight from beam", "direct beam"),
)  # so that a row of the table stays one line


def ring_name(name: str) -> str:
    """A barrier point as printed: on the survey ring, the farthest that the barrier may stand, not at its line or rope.

    >>> ring_name("barrier 30 deg, 9 m"), ring_name("barrier line 30 deg, 8 m"), ring_name("barrier rope 30 deg, 7 m")
    ('ring 30°, 9 m', 'barrier line 30°, 8 m', 'rope 30°, 7 m')
    """
    plain = name.replace(" deg,", "°,")
    if plain.startswith("barrier rope "):
        return plain.removeprefix("barrier ")
    return plain if not is_ring(name) else f"ring {plain.removeprefix('barrier ')}"


def is_ring(name: str) -> bool:
    """True for a point on the survey ring, false for one at the line and for places."""
    return name.startswith("barrier ") and name.removeprefix("barrier ")[:1].isdigit()


def pressing(
    points: Points,
    survey: FirstSurvey | None = None,
    floors: Sequence[str] = (),
    must: Collection[str] = (),
    show: Show | None = None,
    *,
    opened: bool = False,
    sequence: Sequence[int] = (),
) -> str:
    """The points to be read where there is no time for all: those nearest to a limit or past it, by number.

    Where no rate is limited those that read the highest. With a stated first survey they are its points: all that
    `must` names, the worst points of `floors`, and then as many of the most pressing as it has time for, in the
    sequence of the walk, and when the others are read; `opened`: what lies about the film is laid without it and opened
    for it after them; `sequence`: the exposures as they are shot. What goes past its count is said: time and dose hold
    the count.
    """
    if survey is not None:
        first = [n for n, _ in first_read(points, must, survey.points, len(floors))]
        over = len(first) + len(floors) - survey.points
        more = f" ({over} more than time and dose hold)" if over > 0 else ""
        named = first_survey_words.head(survey, show, sequence[0] if sequence else 1, opened=opened)
        told = [
            f"{named}: {', '.join([runs(first), *floors])}{more}",
            *first_survey_words.later(survey, sequence),
        ]
        return "; ".join(told)
    ranked = sorted(points.read, key=lambda one: urgency(one[1]))
    ranked = [one for one in ranked if one[0] <= len(points.front)]
    limited = [str(n) for n, p in ranked if p.limit_Sv_s is not None]
    if len(ranked) <= PRESSING:  # the whole table is as quickly read
        return ""
    if limited:
        return f"nearest to their limits: {', '.join(limited[:PRESSING])}"
    return f"highest: {', '.join(str(n) for n, _ in ranked[:PRESSING])}"


def _distance(weld: Weld, p: PointDose) -> float:
    centre = (weld.at[0], weld.at[1], weld.floor_level_m + weld.height_m)
    return math.dist(centre, p.at)


def verdict(ok: bool | None, *, limited: bool, reliable: bool = True) -> str:
    """The verdict in words."""
    if ok is False:
        return "breaks"
    if not reliable:
        return "not reliable"
    if not limited:
        return "no limit"
    return NOT_COMPUTED if ok is None else "holds"


def doubtful(c: LimitCheck, *, known: bool) -> str:
    """The verdict on a dose that does not vouch for its limit.

    `known`: it is not its rate that is doubted; a part of it is left out, as of a year not all of which is stated.
    """
    return NOT_KNOWN if known or c.kind == "per year" or c.upper_Sv * FAR > c.limit_Sv else FAR_UNDER


def rope_at(weld: Weld, p: PointDose, contour: Contour | None) -> float | None:
    """Where the rope stands in the direction of a barrier point [m]; None for other points, or without a rope there."""
    if contour is None or not is_barrier(p):
        return None
    return rope_towards_m(contour, math.atan2(p.at[1] - weld.at[1], p.at[0] - weld.at[0]))


@dataclass(frozen=True)
class Where:
    """Of barrier points by name: those read at the rope, and the walls that whoever reads there stands behind.

    `shut`: of places by name what of a wall before them must be shut for their figures, such as `door`.
    """

    roped: Mapping[str, AtRope]
    behind: Mapping[str, tuple[str, ...]]
    shut: Mapping[str, str] = field(default_factory=dict)


def rows(
    weld: Weld,
    shielding: Shielding,
    points: Points,
    show: Show,
    contour: Contour | None = None,
    where: Where | None = None,
    lost_under_Sv_s: float = BACKGROUND_SV_S,
    order: Order | None = None,
    shot: int = 1,
) -> list[dict[str, Any]]:
    """Every numbered point as printed texts; barrier points with the rope's place in their direction.

    `expected` is the rate at the point itself; `reads`, `turn_back` and `read_at` are those of the place where it is
    read, which `where` tells. `lost_under_Sv_s`: below it a reading says nothing. `order`: for its meters' tolerance.
    `shot`: the exposure that is shot first, the first survey with it.
    """
    out = []
    for n, p in points.numbered:
        roped = where.roped.get(p.name) if where else None
        shares = sorted(p.shares.items(), key=lambda s: -s[1])
        sigma = total_sigma_Sv_s(p, shielding.k)
        expected = show.pm(p.rate_Sv_s, sigma, "equivalent_rate")
        reads = (
            show.pm(p.rate_Sv_s * roped.times, sigma * roped.times, "equivalent_rate") if roped else expected
        )
        back = roped.turn_back_Sv_s if roped else p.turn_back_Sv_s
        low = back is not None and back < lost_under_Sv_s
        turn_back = turn_back_text(order, p, back, reads, show)
        turn_back = in_table(order, turn_back) if low and order else turn_back
        times = roped.times if roped else 1.0
        first = first_of(order, p, back, shielding.k, times, shot) if order else None
        parts = [f"{_plain(name)} {show.share(v)}" for name, v in shares[:3] if v >= 0.005]
        # Nearer than that nobody reads: past the rope, which stands nearer.
        past = (
            roped is not None and (stands := rope_at(weld, p, contour)) is not None and stands < roped.away_m
        )
        at = f"({p.at_exposure}) " if len(p.by_exposure_Sv_s) > 1 else ""
        if len(at + ", ".join(parts)) > LONGEST_FROM:
            parts = parts[:2]
        # A place whose limits are all on doses has a limit, if none on the rate.
        by_dose = [c for c in shielding.limits if c.place == p.name] if p.limit_Sv_s is None else []
        worst = max(by_dose, key=lambda c: c.upper_Sv / c.limit_Sv, default=None)
        out.append(
            {
                "n": n,
                "barrier": is_barrier(p),
                "name": show.converted(ring_name(p.name)).partition(",")[0].replace("ring", "off rope")
                if past
                else show.converted(ring_name(p.name))
                if is_barrier(p)
                else p.name + (f", {where.shut[p.name]} shut" if where and p.name in where.shut else ""),
                "rope": ""
                if past or (rope := rope_at(weld, p, contour)) is None
                else show.up(rope, "length", digits=3),
                "up": height(weld, p, show),
                "distance": show.up(roped.away_m, "length", digits=3)
                if past and roped
                else show.value(_distance(weld, p), "length", digits=2),
                # Nobody reads inside the rope: where it stands farther out, behind a body that the nearer point lies
                # before, the figures of that point stand for it, never lower than what is there.
                "read_at": show.up(rope, "length", digits=3)
                if (beyond := not past and rope is not None and rope > math.dist(weld.at, p.at[:2]) + 1e-6)
                else show.up(roped.away_m, "length", digits=3)
                if roped
                else show.value(_distance(weld, p), "length", digits=2),
                "beyond": beyond and roped is None,
                "at_rope": roped is not None and not past,
                "behind": _first_of(where.behind.get(p.name, ())) if where else "",
                "reads": reads,
                "expected": expected,
                "noise": percent_up(p.sigma_rel),
                "upper": show.value(p.upper_Sv_s, "equivalent_rate", digits=2),
                "limit": f"{show.floor(worst.limit_Sv, 'equivalent')} {worst.kind}"
                if worst is not None
                else show.floor(p.limit_Sv_s, "equivalent_rate")
                if p.limit_Sv_s is not None
                else "–",
                "turn_back": NOT_READ if (unread := points.unread(p.name)) else turn_back,
                "unread": unread,
                "low": low and not unread,
                "first": in_first(order, first, show, lost_under_Sv_s) if order and not unread else None,
                "verdict": verdict(p.ok, limited=p.limit_Sv_s is not None, reliable=p.reliable)
                if worst is None
                else doubtful(worst, known=p.reliable or not_known(travel_of(shielding)))
                if worst.ok is None
                else verdict(worst.ok, limited=True),
                "from": at + ", ".join(parts),
                "from_short": ", ".join(parts[:2]),
            }
        )
    return out


def _first_of(walls: Sequence[str]) -> str:
    """The wall that whoever reads comes to first, and how many more: a row has two lines."""
    return walls[0] + (f", {len(walls) - 1} more" if len(walls) > 1 else "") if walls else ""


def height(weld: Weld, p: PointDose, show: Show) -> str:
    """How far above (or below) the weld's floor a place lies that is not about 1 m above it; else empty."""
    above = p.at[2] - weld.floor_level_m
    if is_barrier(p) or abs(above - 1.0) <= NEAR_THE_FLOOR_M:
        return ""
    return f"{show.value(abs(above), 'length')} {'up' if above >= 0.0 else 'below'}"


def brief(points: Points, show: Show) -> list[str]:
    """The remaining barrier points, each in a few words; their distance once in front where it is one for all."""
    names = [p.name.removeprefix("barrier ").replace(" deg,", "°,") for p in points.brief]
    away = {n.partition(", ")[2] for n in names}
    one = next(iter(away)) if len(away) == 1 else ""
    out = [show.converted(one)] if one else []
    for p in points.brief:
        word = verdict(p.ok, limited=p.limit_Sv_s is not None, reliable=p.reliable)
        # Without a limit on the rate that on dose holds: the table of doses has it, of the worst point.
        told = {"holds": "", "no limit": "", "not reliable": " ?"}.get(word, f" {word}")
        upper = show.value(p.upper_Sv_s, "equivalent_rate", digits=2)
        name = p.name.removeprefix("barrier ").replace(" deg,", "°,")
        name = name.partition(", ")[0] if one else show.converted(name)
        out.append(f"{name}: {upper}{told}")
    return out


def between_rule(points: Points) -> str:
    """What the remaining barrier points rest on, as nobody reads at them, and how little those not known may be."""
    told = "between these points, at most; the next points are read for them"
    vague = [p for p in points.brief if not p.reliable]
    if not vague:
        return told
    far = f", under {UNSURE:g} of the turn-back reading" if all(p.limit_Sv_s for p in vague) else ""
    return f"{told} (?: not known reliably{far})"


def _plain(share: str) -> str:
    for long, short in SHORT_SHARES:
        share = share.replace(long, short)
    return share.removeprefix("from ").removeprefix("the ")


def limit_rows(
    checks: tuple[LimitCheck, ...],
    show: Show,
    *,
    persons: frozenset[str] = frozenset(),
    doubted: Collection[str] = (),
) -> list[dict[str, str]]:
    """Limits of other kinds than a rate, as printed texts; of the barrier points the worst for each kind.

    All of a kind in one unit, as they stand one below the other; those of `persons` with the digits of a sum.
    `doubted`: places whose dose is computed whole, but of a rate that is not reliable.
    """
    kept: dict[tuple[str, str, str], LimitCheck] = {}
    for c in checks:
        key = ("barrier" if c.place.startswith("barrier ") else c.place, c.kind, c.averaging)
        if key not in kept or _worse(c, kept[key]):
            kept[key] = c
    uppers, limits = {}, {}
    for kind in dict.fromkeys(c.kind for c in kept.values()):
        of_kind = [c for c in kept.values() if c.kind == kind]
        most = [
            raised_Sv(c.upper_Sv, show)
            if c.place in persons
            else show.raised(c.upper_Sv, "equivalent", digits=2)
            for c in of_kind
        ]
        uppers[kind], limits[kind] = beside_limits(most, [c.limit_Sv for c in of_kind], "equivalent", show)
    return [
        {
            "place": show.converted(c.place),
            "kind": c.kind,
            "averaging": show.converted(c.averaging),
            "upper": uppers[c.kind].pop(0),
            "limit": limits[c.kind].pop(0),
            # A dose stands beside it: computed, if only in part or without being known reliably.
            "verdict": doubtful(c, known=c.place not in doubted)
            if c.ok is None
            else verdict(c.ok, limited=True),
        }
        for c in kept.values()
    ]


def beside_limits(
    most: Sequence[float], limits: Sequence[float], kind: str, show: Show
) -> tuple[list[str], list[str]]:
    """Figures rounded already and the limits beside them as printed, all in one unit; limits are never rounded up."""
    both = [*most, *limits]
    up, down = show.column(both, kind, digits=3), show.column(both, kind, digits=3, floor=True)
    return up[: len(most)], down[len(most) :]


def _worse(a: LimitCheck, b: LimitCheck) -> bool:
    """A broken limit before one that is not known, that before one that holds, then by how much is used up."""
    rank = {False: 0, None: 1, True: 2}
    return (rank[a.ok], -a.upper_Sv / a.limit_Sv) < (rank[b.ok], -b.upper_Sv / b.limit_Sv)


def barrier(shielding: Shielding | None, show: Show) -> tuple[str, str]:
    """Barrier distance as printed, and what it rests on (or why there is none)."""
    if shielding is None:
        return NOT_COMPUTED, ""
    b = shielding.barrier_stands_m
    if not isinstance(b.value, int | float):
        return NOT_COMPUTED, b.basis or b.formula
    if not b.sigma:
        # Tenths of a metre, as the rope beside it: at two digits 15.1 m would read 16 m, past a rope at 15.3 m.
        return show.up(float(b.value), "length", digits=3), b.basis or b.formula
    return show.pm(float(b.value), b.sigma, "length", up=True), b.basis or b.formula


def barrier_on_the_way(w: WeldPlan, show: Show) -> str:
    """How far the rate limit lies while the source travels, where that is farther than the barrier; else empty.

    Along a tube's line and beside it, or all round a source that travels bare.
    """
    reach = reach_m(travel_of(w.shielding))
    standing = w.shielding.barrier_stands_m.value if w.shielding is not None else None
    if not reach or (isinstance(standing, int | float) and max(reach.values()) <= standing):
        return ""
    side = show.kept(reach["side"]) if "side" in reach else ""
    if "line" not in reach:
        return side
    return f"{show.kept(reach['line'])} in line with the tube" + (f", {side} beside it" if side else "")


def kept_when(w: WeldPlan, show: Show, *, roped: bool = False) -> str:
    """Which of two distances is kept when: while the source travels, and at the weld; empty where there is one.

    roped: the rope's distances stand beside it, and it goes by that name.
    """
    way = barrier_on_the_way(w, show)
    if not way:
        return ""
    there = "the rope" if roped else barrier(w.shielding, show)[0]
    stands = "" if there == NOT_COMPUTED else f"; {there} only while it stands at the weld"
    return f"Kept clear: {way}, from before the source leaves its container until it is home{stands}"
