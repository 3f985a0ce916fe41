"""Who checks, gives the word and cranks, and which signal of the kit means what: a line of the list."""

from __future__ import annotations

from halflayer.order.models import Order
from halflayer.shielding.meter_holders import holders

REST = "Tested; known to all; local rules' meanings first."


def lead(order: Order) -> str:
    """Who leads the crew, by name; by role where the order names no such person."""
    one = next((p for p in order.crew if p.role == "radiographer in charge"), None)
    return one.name if one else "the radiographer in charge"


def words(order: Order) -> str:
    """Horn before the source goes out, beacons while it is out, the call back by radio; what the kit lacks is said."""
    held = {
        kind: [g for g in order.kit.gear if g.kind == kind and g.count]
        for kind in ("horn", "beacon", "radio")
    }
    horn, beacon, radio = (", ".join(g.id for g in held[k]) for k in ("horn", "beacon", "radio"))
    lacking = [kind for kind in held if not held[kind]]
    back = f"“clear” from every sentry{f' by {radio}' if radio else ''}"
    held_by = holders(order)
    cranks = held_by.crank or lead(order)
    checks = held_by.reader if held_by.reader and held_by.reader != cranks else ""
    check = (
        f"{cranks}, {checks} check each what the other set up"
        if checks
        else "set-up checked by who did not set it"
    )
    told = [
        f"Before each exposure: {check}; {back}; {cranks} alone says expose, {horn or 'a call'} long, cranks"
    ]
    if beacon:
        told.append(f"{beacon} lit until the meter reads the source home")
    told.append(f"{horn or 'a call'} in short bursts: source not home or somebody inside, all back outside")
    if order.site.call_by:
        told.append(f"emergency: {order.site.call_by.partition(';')[0]}")
    missing = f" Not in the order: {', '.join(lacking)}." if lacking else ""
    return f"{'; '.join(told)}. {REST}{missing}"
