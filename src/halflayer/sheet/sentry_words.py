"""Sentries in words: how many a weld takes, where they stand, and at what rate, at the weld and on the source's way."""

from __future__ import annotations

import math
from collections.abc import Sequence

from halflayer.conditions_of_floors import unwatched
from halflayer.order.models import Order
from halflayer.plan import WeldPlan
from halflayer.sheet import meter, survey
from halflayer.sheet.figures import NOT_COMPUTED, Show
from halflayer.sheet.watchers import UNTIL_READ, at_post, floor_watch, short_name
from halflayer.sheet.watchers import sentries as sentries_of
from halflayer.shielding.rope_view import SHUT
from halflayer.shielding.safety_result import Access, Route
from halflayer.shielding.travelling import travel_of, ways_above
from halflayer.shielding.way_posts import not_kept, way_off


def sentries(w: WeldPlan, show: Show, keep: str = "") -> str:
    """How many sentries a weld takes, how many are short, and where they stand; `keep`: how far off at least."""
    access = w.safety.access if w.safety else None
    if access is None or access.sentries_needed.value is None:
        return NOT_COMPUTED
    need = int(float(access.sentries_needed.value))
    short = f" (the crew has {access.sentries_in_crew})" if need > access.sentries_in_crew else ""
    if access.posts:
        return f"{need}{short}: {_in_table(access, show)}{_comma(keep)}"
    at = ", ".join(r.name for r in access.routes if r.sentry) or _anywhere(access, keep)
    return f"{need}{short}: {at}{_alone(access)}{unseen(access)}"


def _comma(words: str) -> str:
    return f", {words}" if words else ""


def free(w: WeldPlan, watching: int = 0) -> bool:
    """Whether the crew has more sentries than a weld has posts; `watching`: of those who watch a way to a floor."""
    access = w.safety.access if w.safety else None
    need = access.sentries_needed.value if access else None
    return access is not None and isinstance(need, int | float) and need + watching < access.sentries_in_crew


AT_WAY_M = 0.5  # a post no farther from its way in stands at it: our choice, half a step
POST = "S"  # before the number of a post, on maps and in words


def sites(w: WeldPlan) -> tuple[tuple[float, float], ...]:
    """Site x, y of a weld's posts [m], for its maps; empty where they are not computed or are anywhere."""
    return w.safety.access.posts if w.safety and w.safety.access else ()


def _in_table(access: Access, show: Show) -> str:
    """Each post by its number, the way in that it watches and its site x, y alone: the table says what they are."""
    ways = [r for r in access.routes if r.sentry]
    told = []
    for n, (x, y) in enumerate(access.posts, start=1):
        own = f"{_at_way(ways[n - 1], (x, y))} " if n <= len(ways) else ""
        told.append(f"{POST}{n} {own}{site(x, y, show)}")
    return "; ".join(told)


def site(x_m: float, y_m: float, show: Show) -> str:
    """A place on the site as the tables print it, their head names the unit."""
    foot = show.system == "imperial"
    return ", ".join(_site(v / 0.3048 if foot else v) for v in (x_m, y_m))


def _at_way(r: Route, post: tuple[float, float]) -> str:
    """A way in that has a post: whoever watches one that is shut stands behind it, whoever stands elsewhere for it."""
    if r.kind in SHUT:
        return f"behind {r.name}"
    return r.name if math.dist(r.site[:2], post) <= AT_WAY_M else f"for {r.name}"


def _site(value: float) -> str:
    """A site coordinate to a tenth, its minus as long as a figure.

    >>> _site(-0.96), _site(4.0)
    ('\u22121', '4')
    """
    return f"{round(value, 1) + 0.0:g}".replace("-", "\u2212")


def placed(access: Access, show: Show, order: Order | None = None) -> str:
    """Each post by its number, by `order` with who takes it, its site x, y, which way in it watches or what it sees."""
    told = []
    ways = [r for r in access.routes if r.sentry]
    for n, (x, y) in enumerate(access.posts, start=1):
        at = show.converted(f"site x {round(x, 1) + 0.0:g} m, y {round(y, 1) + 0.0:g} m")
        post = f"{POST}{n}{f' {at_post(order, n)},' if order else ''}"
        if n <= len(ways):
            r = ways[n - 1]
            told.append(f"{post} {_at_way(r, (x, y))}{', shut' * (r.kind in SHUT)}, {at}")
        elif n == 1:
            told.append(f"{post} {at}, {'rope in view' if access.hidden_by else 'whole rope in view'}")
        else:
            told.append(f"{post} {at}")
    names = (
        ", ".join(access.hidden_by[:-1])
        + " and " * (len(access.hidden_by) > 1)
        + "".join(access.hidden_by[-1:])
    )
    hides = f", for what {names} hide{'s' * (len(access.hidden_by) == 1)}"
    return "; ".join(told) + (hides if access.more_towards_rad else "")


def _anywhere(access: Access, keep: str = "") -> str:
    """Where one stands without a way in to watch; no map has a spot for who may stand anywhere."""
    all_of_it = access.sees_all_from_rad is None and not access.hidden_by
    if keep:
        return f"outside, {keep}, {'whole ' if all_of_it else ''}rope in view"
    return "outside, as far off as the whole rope is in view" if all_of_it else "keeps the rope in view"


def _alone(access: Access) -> str:
    """Where the one stands who sees the whole rope, or all that one person can, where bodies leave no choice."""
    return "" if access.sees_all_from_rad is None else f", from {math.degrees(access.sees_all_from_rad):.0f}°"


def unseen(access: Access) -> str:
    """What the posts leave hidden of a rope, and where those stand who see that; empty where they see all of it."""
    if not access.more_towards_rad:
        return ""
    hides = f"{' and '.join(access.hidden_by)} hide{'s' * (len(access.hidden_by) == 1)}"
    return (
        f"; {len(access.more_towards_rad)} for what {hides} from there, {_towards(access.more_towards_rad)}"
    )


def _towards(turns: Sequence[float]) -> str:
    """Directions from the weld as the ropes print them."""
    return f"towards {' and '.join(f'{math.degrees(t):.0f}°' for t in turns)}"


AT_CRANK = "at the crank"  # who has no post at a weld: beyond the control line with who cranks
OTHERS = f"others {AT_CRANK}"


def post(w: WeldPlan, show: Show, keep: str = "", order: Order | None = None) -> str:
    """Where a weld's sentries stand, for page 1 of its sheet; empty where that is not computed.

    `keep`: how far off at least, said first. `order`: who they are. Who has no post is told where to
    wait, beside posts by the order's sheet.
    """
    told = _post(w, show, order)
    if not told:
        return ""
    one = f"{at_post(order, 1)}, " if order and not sites(w) and _need(w) == 1 else ""
    return f"{one}{f'{keep}, ' if keep else ''}{told}{_others(order, w) if order else ''}"


def _others(order: Order, w: WeldPlan) -> str:
    """The sentries without a post at a weld, by name: who watches a way to a floor until when, who is at the crank."""
    names = [short_name(order, n) for n in sentries_of(order)][_need(w) :]
    posts = [r.name for r in w.safety.access.routes if r.sentry] if w.safety and w.safety.access else []
    ways = [(way, who, until) for way, who, until in floor_watch(order, w) if way not in posts]
    told = [f"{who}, {way} {until}{f', then {AT_CRANK}' * (until == UNTIL_READ)}" for way, who, until in ways]
    idle = [n for n in names if n not in {who for _, who, _ in ways}]
    told += [f"{', '.join(idle)} {AT_CRANK}"] if idle else []
    return "".join(f"; {t}" for t in told)


def _need(w: WeldPlan) -> int:
    """How many sentries a weld takes; 0 where that is not computed."""
    access = w.safety.access if w.safety else None
    need = access.sentries_needed.value if access else None
    return int(need) if isinstance(need, int | float) else 0


def while_it_travels(order: Order, w: WeldPlan, show: Show) -> str:
    """Which posts are kept for as long as the source travels, where more is kept clear then than they stand off.

    What holds for each is computed: `shielding.way_posts`.
    """
    if not survey.barrier_on_the_way(w, show):
        return ""
    off = _off_way(order, w, show)
    gone = not_kept(order, order.weld(w.weld), travel_of(w.shielding), sites(w))
    if not off or (gone and len(gone) == len(sites(w))):
        return "; posts not kept while it travels: no exposure before they are moved"
    names = ", ".join(f"{POST}{n}" for n in gone)
    left = (
        f"; {names} stand{'s' * (len(gone) == 1)} nearer or in line: no exposure before moved" if gone else ""
    )
    return f"; posts kept while it travels: {off}, dose counted{left}"


def _off_way(order: Order, w: WeldPlan, show: Show) -> str:
    """How far posts keep off the way of a weld's source; empty where no distance from it is stated."""
    off = way_off(order, order.weld(w.weld), travel_of(w.shielding))
    if off is None or off.away_m is None:
        return ""
    line = ", out of line of the tube" if off.line_rad is not None else ""
    return f"{show.value(off.away_m, 'length')} or more from its way{line}"


def _post(w: WeldPlan, show: Show, order: Order | None) -> str:
    """The same without what is kept or who is left over."""
    access = w.safety.access if w.safety else None
    if access is None or access.sentries_needed.value is None:
        return ""
    if access.posts:
        return f"outside the rope: {placed(access, show, order)}"
    at = ", ".join(r.name for r in access.routes if r.sentry)
    if at:
        return f"outside the rope, at: {at}{unseen(access)}"
    seen = "what one person sees of it" if access.more_towards_rad else "the whole of it"
    return f"outside the rope{_alone(access)}, {seen} in view{unseen(access)}"


def posts(ready: list[WeldPlan], order: Order, show: Show) -> str:
    """On which side of a rope a sentry stands, the rate there, and how far behind a way in that lies inside it."""
    past: dict[str, tuple[float, str]] = {}
    watched = False
    for w in ready:
        access = w.safety.access if w.safety else None
        ways = [r for r in access.routes if r.sentry] if access else []
        watched = watched or bool(ways)
        # A record without posts tells of none how far it is.
        for r, at in zip(ways, access.posts if access else (), strict=False):
            if r.inside:
                past[r.name] = max(past.get(r.name, (0.0, "")), (math.dist(r.site[:2], at), w.weld))
    if not watched:
        return _more(ready, order).strip()
    limit, rope = order.limits.barrier.rate_Sv_s, meter.rope_reading(order, show)
    rate = (
        f": source at the weld, counted at the limit, {show.floor(limit, 'equivalent_rate')}; turn back at {rope}"
        if limit
        else ""
    )
    told = "; ".join(f"{name}: {show.paced(far)} from it, {weld}" for name, (far, weld) in past.items())
    at_ways = f", off a way in inside it ({told})" if told else ""
    return f"Sentries stand outside the rope{at_ways}{rate}{_on_the_way(ready, order, show)}.{_more(ready, order)}"


def _on_the_way(ready: list[WeldPlan], order: Order, show: Show) -> str:
    """That sentries keep their posts while a source travels: at the ways in the rate is above the limit then."""
    told: list[str] = []
    for w in ready:
        posted = (
            {r.name for r in w.safety.access.routes if r.sentry} if w.safety and w.safety.access else set()
        )
        opened = [peak for r, peak in ways_above(order, travel_of(w.shielding)) if r.name in posted]
        if not opened:
            continue
        rate = show.up(max(opened), "equivalent_rate")
        off = _off_way(order, w, show) or "nobody at a post"
        told.append(f"{off} ({w.weld}, {rate})" if told else f"{off} ({w.weld}, ways in up to {rate})")
    return f"; source on its way: posts kept, {', '.join(told)}; dose counted" if told else ""


def _more(ready: list[WeldPlan], order: Order) -> str:
    """The ways to a floor over its limit that none of a weld's sentries watches: closed, or one person more."""
    told = [
        f"{w.weld}: {', '.join(names)} closed, else {_then(w, len(names))}"
        for w in ready
        if (names := unwatched(order, w))
    ]
    return f" For a floor, {'; '.join(told)}." if told else ""


def _then(w: WeldPlan, more: int) -> str:
    """How many sentries a weld takes where ways to a floor stay open."""
    access = w.safety.access if w.safety else None
    need = access.sentries_needed.value if access else None
    return f"{int(need) + more} sentries" if isinstance(need, int | float) else "one sentry more"
