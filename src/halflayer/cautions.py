"""Short cautions that travel with every plan, sheet and dose result."""

from __future__ import annotations

from collections.abc import Sequence

from halflayer.order.equipment import ON_A_STAND, STRAPPED
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.technique.result import Candidate

ALWAYS = (
    "Estimates only: the meter decides where the barrier stands. Local rules, adviser and licence come first.",
    "Survey on the way in after every exposure: home is what reads as under “Source home”, all of it.",
    "At a turn-back reading: bring the source home from the control position, treat it as out until the meter shows it "
    "home, then find out why.",
)
DOSE = (
    "Computed estimate with its noise only; add activity, material and set-up tolerances before comparing with a "
    "limit. Not a clearance to work: local rules and the radiation protection adviser decide."
)


AT_EXPOSURE = ("before opening", "while it travels", *ALWAYS[1:])


def of_stopped(told: Sequence[str]) -> list[str]:
    """Of a weld's cautions those that hold for one that is not exposed: nobody is told to survey it or to open.

    >>> of_stopped((*ALWAYS, "Check the stop before opening."))[1:]
    []
    """
    return [c for c in told if not any(words in c for words in AT_EXPOSURE)]


def _beside(order: Order) -> str:
    """Who keeps off a source on its way: a distance is told where a rate has a limit."""
    if order.limits.barrier.rate_Sv_s is not None:
        return "nor within the distance stated for its way"
    return "nor in line of its way (the limit is a dose: no distance is computed for seconds of travel)"


def _covers(weld: Weld, layers: int | None) -> str:
    """The covers over a pipe's open ends that go with a wrap round a bore, in words; none without the one or other."""
    ends = [n.kind for n in (weld.left, weld.right)].count("open end") if layers else 0
    return ("", "; the open end covered", "; both ends covered")[ends]


def cautions(
    order: Order,
    weld: Weld,
    candidate: Candidate | None,
    *,
    plates: int | None = None,
    layers: int | None = None,
) -> tuple[str, ...]:
    """Cautions for one weld, the general ones first; `plates` in its stop, `layers` of its wrap (None: not known)."""
    found = list(ALWAYS)
    if weld.contents.material not in ("air", "vacuum"):
        found.append(
            f"Check that the pipe really is full of {weld.contents.material}: an empty pipe gives more dose."
        )
    if candidate is not None:
        if candidate.arrangement in ON_A_STAND:
            found.append(
                "A head turned, shifted or in the wrong hole is the likeliest fault: check it before opening."
                if plates == 0
                else "A piece of the stop left out, a head turned or a stop shifted is the likeliest fault: check each "
                "before opening."
            )
        if candidate.arrangement in STRAPPED and layers != 0:
            found.append("Check that the blankets cover the far side beyond the film before opening.")
        if candidate.arrangement == "bore":
            found.append(
                "The source is open all round: while it travels nobody but the crew at the control position and posts "
                f"within the barrier, {_beside(order)}{_covers(weld, layers)}."
            )
        if candidate.guide:
            found.append(
                "The source is bare but for the guide tube while it travels: nobody but the crew at the control "
                f"position and posts within the barrier then, {_beside(order)}."
            )
        if candidate.agreements_used:
            found.append("By agreement only: " + ", ".join(candidate.agreements_used) + ".")
    return tuple(found)
