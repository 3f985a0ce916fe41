"""Which signal of the order's kit means what and who gives it, in one line of the list before the first exposure."""

from __future__ import annotations

from halflayer.order.models import Order

REST = "Tested; everyone knows them; local rules' own meanings first (common practice, no source)."


def words(order: Order) -> str:
    """Horn before the source goes out, beacons while it is out, the call back by radio; what the kit lacks is said."""
    held = {
        kind: [g for g in order.kit.gear if g.kind == kind and g.count]
        for kind in ("horn", "beacon", "radio")
    }
    horn, beacon, radio = (", ".join(g.id for g in held[k]) for k in ("horn", "beacon", "radio"))
    lacking = [kind for kind in held if not held[kind]]
    back = f"every sentry answered “clear” by {radio}" if radio else "every sentry answered “clear”"
    told = [f"Before each exposure, {back}: {horn or 'a call'} long, by whoever cranks"]
    if beacon:
        told.append(f"{beacon} lit from then until the meter reads the source home")
    told.append(f"{horn or 'a call'} in short bursts: source not home or somebody inside, all back outside")
    missing = f" Not in the order: {', '.join(lacking)}." if lacking else ""
    return f"{'; '.join(told)}. {REST}{missing}"
