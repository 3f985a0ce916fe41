"""Places of people that are empty until a survey has told that no shielding is lost: which, until when, agreed by whom.

Where what may be lost reaches farther than a rope may stand, no rope of the first survey keeps people out of it.
"""

from __future__ import annotations

from collections.abc import Collection

from halflayer.order.models import Order
from halflayer.plan import Condition, WeldPlan
from halflayer.scene.beam_bearings import bearings
from halflayer.shielding.lost_far import HEAD_OFF, people_over, read_in
from halflayer.shielding.resets import laid_anew
from halflayer.shielding.survey_points import arrange

PLACES_EMPTY = "places empty"
RESTS = "looks at lost shielding, inverse square law"
OWNER = "the area's owner"
TO_THE_END = "to the weld's end"
LAID_ANEW = "shield laid anew for each exposure"
SET_ANEW = "head set anew for each exposure"


def emptied(order: Order, w: WeldPlan, empty: Collection[str] = ()) -> tuple[str, str] | None:
    """Where nobody may be until when, and who agrees to it; None where lost shielding reaches no people unroped.

    `empty`: places at which nobody is while the source is out, whatever is lost.
    """
    lost, rope = (w.safety.lost, w.safety.contour) if w.safety and w.status == "ready" else (None, None)
    places = [p for p in people_over(order, order.weld(w.weld), lost, rope) if p.name not in empty]
    if not places:
        return None
    by = dict.fromkeys(
        (p.contact.name or f"{p.contact.role} ({p.contact.phone})") if p.contact else OWNER for p in places
    )
    return f"at {', '.join(p.name for p in places)} {until(order, w)}", " and ".join(by)


def until(order: Order, w: WeldPlan) -> str:
    """When the survey has told it: at a weld of one exposure the points that tell every case of lost shielding.

    To the end of the weld where a case is told by no point, where what shields is laid anew between exposures, a piece
    may be left out in each, and where the head is: the looks are of one exposure, and in another the beam may go to a
    place that this one says nothing of.
    """
    lost, line, floors = (w.safety.lost, w.safety.contour, w.safety.floors) if w.safety else (None, None, ())
    if lost is None or w.shielding is None:
        return TO_THE_END
    if w.chosen is not None and len(w.chosen.shots) > 1:
        anew = laid_anew(order, w.chosen, w.shielding)
        return f"{TO_THE_END} ({LAID_ANEW if anew else SET_ANEW})"
    weld = order.weld(w.weld)
    beams = [turn for _, turn in bearings(order, weld, w.chosen)]
    found = read_in(weld, arrange(order, weld, w.shielding, line, floors, beams), lost)
    if not found or 0 in found:
        return TO_THE_END
    if w.exposure is not None and w.exposure.first_survey is not None:
        return "until the first survey is read"
    numbers = sorted({n for told in found.values() for n in told})
    which = f"point {numbers[0]} is" if len(numbers) == 1 else f"points {', '.join(map(str, numbers))} are"
    names = [c.name for c in lost.cases if c.holds is not True and c.name not in HEAD_OFF]
    shows = f" ({names[0]} shows there)" if len(names) == 1 else ""
    return f"until {which} read{shows}"


def places_empty(order: Order, w: WeldPlan, empty: Collection[str] = ()) -> Condition | None:
    """Its condition, beside that of the rope's own places: it ends by a reading, theirs with the weld.

    `empty`: as in `emptied`.
    """
    found = emptied(order, w, empty)
    if found is None:
        return None
    where, by = found
    do = f"{where.removeprefix('at ')}: agreed by {by}"
    return Condition(PLACES_EMPTY, do, RESTS, do)
