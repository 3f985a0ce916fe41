"""Whether the exposures show the whole weld: the rule's verdict, who may set it aside, and how many would do."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from halflayer.base.result import Finding
from halflayer.base.units import show
from halflayer.exposure.covered import FARTHER, TURN, gaps
from halflayer.exposure.result import Coverage, Exposure
from halflayer.exposure.variation import further
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.technique.choose import choose_technique
from halflayer.technique.result import Candidate, RuleVerdict

RULE = "whole weld shown"
REQUIRED = "every place by one exposure at least"
SOURCE = "the rules above, by place"
SHOTS_AT_MOST = 16  # so many exposures are tried in words: our choice, nobody shoots more of one weld
STRETCHES = 6  # named in the finding; the unrolled weld shows all


def verdict(weld: Weld, found: Coverage) -> RuleVerdict:
    """The rule that no place is left out, as the exposures meet it; `overridden` where a person set it aside."""
    if not found.uncovered:
        least = least_lap_rad(found)
        lap = (
            ""
            if least is None
            else f", laps {math.degrees(least):.1f} deg or more of what is dark enough; judged is what lies between "
            "the markers"
        )
        return RuleVerdict(RULE, REQUIRED, f"the whole turn{lap}", "holds", SOURCE)
    reached = f"{_degrees(found):.0f} degrees by none"
    aside = next((o for o in weld.overrides if o.rule == RULE), None)
    if aside is None:
        return RuleVerdict(RULE, REQUIRED, reached, "breaks", SOURCE)
    return RuleVerdict(
        RULE, REQUIRED, f"set aside by {aside.by}: {aside.reason}; reached: {reached}", "overridden", SOURCE
    )


def findings(weld: Weld, candidate: Candidate, found: Coverage, *, on_film: bool) -> list[Finding]:
    """A stop for stretches that no exposure covers, with what would cover them; a warning where that is set aside.

    A weld that is asked for whole and not shown whole is no finished examination: it is not ready by a warning.
    """
    aside = next((o for o in weld.overrides if o.rule == RULE), None)
    if not found.uncovered:
        if aside is None:
            return []
        text = f'{weld.id}: the override of "{RULE}" is not needed: every place is covered'
        return [Finding("note", text, "the order: overrides")]
    text = f"{_degrees(found):.0f} degrees of the weld are covered by no exposure, at clock {_where(weld, found)}."
    if aside is not None:
        words = f" The rule is set aside by {aside.by}: {aside.reason}. What is not covered is not examined."
        return [Finding("warn", text + words, SOURCE)]
    return [Finding("stop", text, SOURCE, _relax(candidate, found, on_film=on_film))]


def least_lap_rad(found: Coverage) -> float | None:
    """Least stretch that two exposures, both walls together, cover in common [rad]; 0: they touch. None: none needed.

    Formula: the farthest end so far less the start of the next stretch round the pipe. A stretch ends at its last
    covered place, so the laps are no shorter than this.
    """
    if found.uncovered or any(c.length_rad >= TURN - 1e-6 for c in found.covered):
        return None
    spans = sorted((c.start_rad % TURN, c.length_rad) for c in found.covered)
    reach = max((a + length for a, length in spans), default=0.0) - TURN  # what laps over clock 0
    out = []
    for a, length in spans:
        out.append(reach - a)
        reach = max(reach, a + length)
    return max(min(out), 0.0) if out else None


def laps(weld: Weld, candidate: Candidate, found: Coverage, tolerance_rad: float) -> list[Finding]:
    """A warning where the clocks of two neighbouring exposures, each off by the tolerance, may leave a stretch out."""
    least = least_lap_rad(found)
    if least is None or least >= 2.0 * tolerance_rad - 1e-9:
        return []
    n = shots_needed(candidate, found, lap_rad=2.0 * tolerance_rad)
    more = (f"{n} exposures (exposures: {n} in the order)",) if n is not None else ()
    return [
        Finding(
            "warn",
            f"{weld.id}: neighbouring exposures lap by {math.degrees(least):.1f} deg at least "
            f"({show(least * weld.pipe.od / 2, 'length', digits=2)} round the pipe): a clock may be off by no more "
            f"than {math.degrees(least) / 2:.1f} deg, and {math.degrees(tolerance_rad):.3g} deg is reckoned with "
            "(clock_tolerance). Mark the clocks with a tape, and look for the lap on the films.",
            "what each exposure covers; tolerance of the order",
            (*more, "a second, slower film beside it"),
        )
    ]


def shots_needed(candidate: Candidate, found: Coverage, *, lap_rad: float = 0.0) -> int | None:
    """Fewest exposures, evenly turned round the pipe, that leave nothing uncovered; None where no number up to 16 does.

    `lap_rad`: by so much neighbours are to lap at least. What the first exposure covers is turned with it (a stretch
    ends at its last covered place, so it is not too long). Double images come twice in a turn, so that theirs are
    spread over half of it. Times and densities stay as they are.
    """
    own = [(c.start_rad, c.length_rad) for c in found.covered if c.exposure == 1]
    spread = math.pi if candidate.technique.startswith("DWDI") else TURN
    for n in range(len(candidate.shots) + 1, SHOTS_AT_MOST + 1):
        arcs = [
            (
                (start + lap_rad / 2 + k * spread / n) % TURN,
                length if length >= TURN - 1e-6 else length - lap_rad,
            )
            for k in range(n)
            for start, length in own
            if length > lap_rad
        ]
        if own and not gaps(arcs):
            return n
    return None


def with_more_shots(
    order: Order, weld: Weld, candidate: Candidate, exposure: Exposure | None
) -> Candidate | None:
    """The same way with as many exposures as leave nothing uncovered; None where nothing is, or no number does it.

    A code says how many exposures at least; a crew that sees a gap on the film takes more of them.
    """
    found = exposure.coverage if exposure is not None else None
    if found is None or not found.uncovered or any(o.rule == RULE for o in weld.overrides):
        return None
    n = shots_needed(candidate, found)
    if n is None:
        return None
    asked = choose_technique(order, weld.model_copy(update={"exposures": n}))
    return next((c for c in asked.admissible if _same_way(c, candidate) and len(c.shots) >= n), None)


def _same_way(one: Candidate, other: Candidate) -> bool:
    names = ("technique", "arrangement", "source", "head", "detector", "aperture", "shroud", "guide")
    return all(getattr(one, n) == getattr(other, n) for n in names)


def with_rule(weld: Weld, candidate: Candidate, exposure: Exposure) -> Candidate:
    """The candidate with the verdicts of the exposure and this rule's behind those of the technique.

    A verdict of the exposure takes the place of the technique's of the same name, and the further indicators that
    its densities ask for are added to those laid.
    """
    told = {r.rule for r in exposure.rules}
    rules = (*(r for r in candidate.rules if r.rule not in told), *exposure.rules)
    if exposure.coverage is not None:
        rules = (*rules, verdict(weld, exposure.coverage))
    iqi, places = candidate.iqi, further(exposure.shots)
    if iqi is not None and places:
        iqi = replace(iqi, pieces=iqi.pieces + len(places), further=places)
    return replace(candidate, rules=rules, iqi=iqi)


def _relax(candidate: Candidate, found: Coverage, *, on_film: bool) -> tuple[str, ...]:
    """What would show the whole weld, the nearest first."""
    n, now = shots_needed(candidate, found), len(candidate.shots)
    ends = _ends(found)
    out = []
    if n is not None:
        spread = 180.0 if candidate.technique.startswith("DWDI") else 360.0
        out.append(
            f"{n} exposures in place of {now}, {spread / n:.3g} degrees apart (exposures: {n} in the order)"
        )
    if on_film and (not ends or any(e.startswith("too ") for e in ends)):
        out.append("two films of other speeds in one holder, of one sheet, both admitted by the code")
    if "film" in ends or "beam" in ends:
        out.append("a wider aperture or sheet")
    if n is None:
        out.append("another way to shoot: no number of exposures like these does it")
    return (*out, f'agreed in writing that this is not examined (override "{RULE}")')


def _degrees(found: Coverage) -> float:
    """Of the turn uncovered [deg]; a part of a degree is told as one, so that no gap reads as none."""
    return max(math.degrees(math.fsum(length for _, length in found.uncovered)), 1.0)


def _where(weld: Weld, found: Coverage) -> str:
    words = [
        f"{math.degrees(a):.0f} to {math.degrees(a + length) % 360:.0f} degrees"
        + f" ({show(length * weld.pipe.od / 2, 'length')})"
        for a, length in found.uncovered[:STRETCHES]
    ]
    more = f" and {len(found.uncovered) - STRETCHES} more" if len(found.uncovered) > STRETCHES else ""
    ends = _ends(found)
    return ", ".join(words) + more + (f"; what ends the stretches: {', '.join(ends)}" if ends else "")


def _ends(found: Coverage) -> Sequence[str]:
    return list(dict.fromkeys(e for c in found.covered for e in c.ends if e not in ("", FARTHER)))
