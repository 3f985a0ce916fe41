"""The density of the zone against that at the indicators: the rule's verdict in words, for one film or for two."""

from __future__ import annotations

import math
from collections.abc import Sequence

from halflayer.exposure.result import Indicator, ShotTime
from halflayer.technique.result import RuleVerdict
from halflayer.technique.rules import Answer

RULE = "density over the zone"
# What a densitometer's 0.05 of 2.3 cannot tell apart, rounded up: our choice.
LITTLE_ROOM_PERCENT = 3.0
# Source of the findings on it, by which one exposure more is tried where no indicators hold the zone.
SOURCE = "density in the zone against that at the indicator, see the rule of this name"


def further(shots: Sequence[ShotTime]) -> tuple[str, ...]:
    """Where further indicators are laid for each exposure: all places that some exposure asks for."""
    return tuple(dict.fromkeys(w for s in shots if s.variation for w in s.variation.further))


def verdict(shots: Sequence[ShotTime], asked: Answer[tuple[float, float] | None]) -> RuleVerdict | None:
    """The rule as the exposures meet it, with the further indicators that are planned; None where it is not asked."""
    found = [s.variation for s in shots if s.variation is not None]
    if asked.value is None or not found:
        return None
    low, high = asked.value
    required = (
        f"{low:+.0%} to {high:+.0%} of that at an image quality indicator; beyond it one more indicator there"
    )
    least = [v.least for v in found if v.least is not None]
    most = [v.most for v in found if v.most is not None]
    reached = f"{min(least):+.0%} to {max(most):+.0%} of that in the middle: " if least and most else ""
    if loose := next((v.loose for v in found if v.loose), ()):
        more = f" nor {len(loose) - 1} more places of that exposure" if len(loose) > 1 else ""
        would = "one exposure more, a second film of another speed or another way to shoot would"
        return RuleVerdict(
            RULE, required, f"{reached}no indicators hold {loose[0]}{more}; {would}", "breaks", asked.source
        )
    if least and most and not further(shots):
        room = round(100.0 * min(min(least) - low, high - max(most)), 1)
        near = (
            f"; {room:g} % of room: a second IQI may be asked (First film)"
            if room <= LITTLE_ROOM_PERCENT
            else ""
        )
        return RuleVerdict(RULE, required, reached.removesuffix(": ") + near, "holds", asked.source)
    if reached:
        reached += "one indicator would not do; holds by those planned for each exposure: "
    return RuleVerdict(RULE, required, reached + readings(shots), "holds", asked.source)


def readings(shots: Sequence[ShotTime]) -> str:
    """Film by film where indicators are read, what they read and what they hold; empty without any.

    Degrees are from the middle of the arc judged, clockwise positive. Over all exposures the least and the most that
    is read and what each of them holds.
    """
    found = [i for s in shots if s.variation for i in s.variation.indicators]
    films = list(dict.fromkeys(i.film for i in found))
    return "; ".join(f"{f}: {_on(f, found)}" for f in films)


def _on(film: str, found: Sequence[Indicator]) -> str:
    at: dict[float, list[Indicator]] = {}
    for one in found:
        if one.film == film:
            at.setdefault(abs(round(math.degrees(one.from_middle_rad), 1)), []).append(one)
    out = []
    for degrees, ones in sorted(at.items()):
        least, most = min(i.least for i in ones), max(i.most for i in ones)
        low = math.ceil(max(i.holds_from for i in ones) * 100 - 1e-6) / 100  # inwards: no more than is held
        high = math.floor(min(i.holds_to for i in ones) * 100 + 1e-6) / 100
        read = f"{least:.2f}" if most - least < 0.005 else f"{least:.2f} to {most:.2f}"
        both = {i.from_middle_rad > 0.0 for i in ones}
        sign = "±" if len(both) == 2 else "+" if both == {True} else "-"
        where = "middle" if degrees < 0.05 else f"{sign}{degrees:g} degrees"
        out.append(f"{where} reads {read}, holds {low:.2f} to {high:.2f}")
    return ", ".join(out)
