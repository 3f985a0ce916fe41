"""Sketches of the site in plan: walls, ways in, places and welds; each weld's rope with its signs, alone where many."""

from __future__ import annotations

import math
from collections.abc import Sequence

from halflayer.order.models import Order
from halflayer.scene.beam_bearings import bearings
from halflayer.sheet import crew_line, dims, far_inset, map_arrows, way_out
from halflayer.sheet.far_inset import Far
from halflayer.sheet.figures import Show
from halflayer.sheet.marks import (
    change_mark,
    crank_mark,
    edges_taken,
    letter_beside,
    place_letters,
    post_mark,
    sign_mark,
    signs,
    site_axes,
    tie_mark,
    way_in_mark,
    way_letters,
)
from halflayer.sheet.placing import Places, nearest
from halflayer.sheet.plan_map import FOOT_MM, SCALES, pipe, way_of_source
from halflayer.sheet.sentry_words import POST
from halflayer.sheet.sketch_frame import Point, Spot, frame, middle, named_at, need, walls_taken
from halflayer.sheet.svg import AMBER, PAPER, Canvas
from halflayer.sheet.typeface import CAP_HEIGHT, text_width
from halflayer.shielding.rope_path import rope_path
from halflayer.shielding.safety_result import Contour
from halflayer.technique.result import Candidate

Box = tuple[float, float, float, float]
MARGIN_MM = 3.3
NAME_MM = 9.0  # a name that costs more is left to the key overleaf, and its letter stands there: our choice
BELOW_MM = 4.8
LEGEND_FROM_MM = 170.0  # a narrower sketch has no room for what the marks mean beside its scale
COMPASS_FROM_MM = 86.0  # behind the longest scale bar
LABEL_MM = 2.7
MISTAKEN_MM = 4.0  # words as near to another mark count as much as words so much farther off: our choice
IN_IT_M = 0.1  # a sentry so near to a way in stands in it
CUT_FROM = 1.25  # a line that wants so many times the scale of all else is cut at the edge: our choice
MISTAKEN_BY = 1.6  # of words no farther off another mark than so many times their own distance: our choice
RINGS_MM = (2.6, 4.2, 6.0, 8.5, 11.5, 15.0, 20.0, 27.0, 35.0)  # words off their point, as far as they must
MOST_ROPES = 3  # in one sketch: more hide each other, and each gets a sketch of its own


def site_sketch(
    order: Order,
    ropes: Sequence[tuple[str, Contour]],
    show: Show,
    *,
    width_mm: float,
    height_mm: float,
    beyond: Sequence[Far] = (),
) -> tuple[str, float]:
    """SVG of the site and its scale. Site x to the right, y up; ropes bear the numbers 1, 2, ... of `ropes`.

    The scale shows every corner of every rope, every way in and every sign. More than `MOST_ROPES` ropes are left to
    `rope_sketch`: they would hide each other and what stands there.
    All that is named stands in the frame. `beyond`: what reaches out of it, drawn small at its right edge.
    """
    drawn = ropes if len(ropes) <= MOST_ROPES else ()
    canvas = Canvas(width_mm, height_mm)
    tall = height_mm - FOOT_MM
    shown = [weld for weld, _ in ropes]
    welds = [w for w in order.welds if w.id in shown]
    points: list[Point] = [w.at for w in welds]
    points += [(p.site[0], p.site[1]) for _, c in drawn for p in c.points if p.site is not None]
    points += [(s.site[0], s.site[1]) for _, c in drawn for s in c.signs]
    points += [(r.at[0], r.at[1]) for r in order.access]
    if order.source_changes_at is not None:
        points.append((order.source_changes_at.at[0], order.source_changes_at.at[1]))
    points += [w.guide_from[:2] for w in welds if w.guide_from is not None]
    points += [at for _, at in way_out.near(order)]
    if not drawn:  # nothing to measure: all that is named
        points += [(p.at[0], p.at[1]) for p in order.places]
    centre = middle(points)
    aside = far_inset.WIDE_MM if beyond and width_mm >= LEGEND_FROM_MM else 0.0
    wanted = need(points, (width_mm - aside - 2 * MARGIN_MM, tall - MARGIN_MM - BELOW_MM)) * 1000
    scale = next((s for s in SCALES if s >= wanted), SCALES[-1])
    k = 1000 / scale

    def spot(x: float, y: float) -> Point:
        return (width_mm - aside) / 2 + (x - centre[0]) * k, (tall - BELOW_MM + MARGIN_MM) / 2 - (
            y - centre[1]
        ) * k

    frame(canvas, order, spot, "clip-site", width_mm, tall)
    ropes_mm = []
    for weld, c in drawn:
        at_m = next(w.at for w in order.welds if w.id == weld)
        ropes_mm.append((weld, _rope(canvas, order, at_m, c, spot)))
    edges = edges_taken(width_mm, tall)
    taken = Places((0.6, 0.6, width_mm - 0.6, tall - 0.6), edges, mistaken_mm=MISTAKEN_MM)
    boxes = taken.boxes
    if aside:
        boxes.append((width_mm - aside, 0.0, width_mm, tall))
    walls_taken(taken, order, spot)
    for _, loop in ropes_mm:
        taken.line(loop)
    for w in welds:
        way_of_source(canvas, w, spot)
        pipe(canvas, w, lambda x, y, at=w.at: spot(at[0] + x, at[1] + y))  # type: ignore[misc]
        at = spot(*w.at)
        taken.mark(at, 2.2)
        if w.runs != "vertical":  # no words over its pipe either
            cos, sin = math.cos(w.heading_rad), math.sin(w.heading_rad)
            for far in (-0.9, -0.6, -0.3, 0.3, 0.6, 0.9):
                x, y = spot(w.at[0] + far * cos, w.at[1] + far * sin)
                boxes.append((x - 0.6, y - 0.6, x + 0.6, y + 0.6))
        taken.line([spot(*p) for p in crew_line.way_in_plan(w)], closed=False)
    for r in order.access:
        at = spot(r.at[0], r.at[1])
        way_in_mark(canvas, at)
        boxes.append((at[0] - 1.6, at[1] - 4.6, at[0] + 1.6, at[1] + 1.6))
    ways = {(r.at[0], r.at[1]) for r in order.access}
    for _, c in drawn:
        boxes += signs(canvas, c, spot, ways)
    # Its height beside each place: it may stand a floor higher than the welds.
    small = place_letters(order)
    seen = [
        (f"{small[p.id]} {p.name}, {show.paced(p.at[2], digits=3)} up", spot(p.at[0], p.at[1]))
        for p in order.places
    ]
    seen += [(name, spot(*at)) for name, at in way_out.near(order)]
    seen = [(n, at) for n, at in seen if 1.5 < at[0] < width_mm - 1.5 and 1.5 < at[1] < tall - 1.5]
    for _, at in seen:
        taken.mark(at, 1.1)
    # Where people go whom the sketch does not reach: an arrow at its edge.
    outside = way_out.arrows(canvas, order, show, spot, (0.2, 0.2, width_mm - aside, tall - BELOW_MM))
    for _, at in outside:
        taken.mark(at, 2.6)
    change = order.source_changes_at
    if change is not None:
        at = spot(change.at[0], change.at[1])
        change_mark(canvas, at)
        taken.mark(at, 1.7)
    containers = [(w.id, spot(w.guide_from[0], w.guide_from[1])) for w in welds if w.guide_from is not None]
    for _, at in containers:
        taken.mark(at, 1.4)
    for _, at in containers:  # the long words first: they find less room
        _label(canvas, "container", at, taken)
    for w in welds:
        _label(canvas, w.id, spot(*w.at), taken, bold=True, others=[spot(*o.at) for o in welds if o is not w])
    if change is not None:
        _label(canvas, f"source changes: {change.name}", spot(change.at[0], change.at[1]), taken)
    if len(ropes_mm) > 1:
        _name_ropes(canvas, ropes_mm, taken)
    letters = way_letters(order)
    for r in order.access:
        _label(canvas, f"{letters[r.id]} {r.name}", spot(r.at[0], r.at[1]), taken)
    for name, at in seen:
        canvas.circle(at, 0.8, fill=PAPER, stroke_mm=0.3, kind="place")
        letter = name.partition(" ")[0]
        short = not drawn and len(letter) == 1 and _costs(taken, name, at) > NAME_MM
        _label(canvas, letter if short else name, at, taken)
    for words, at in outside:
        _label(canvas, words, at, taken)
    for o in order.obstacles:
        at = spot(*named_at(order, o.centre, o.size))
        if 1.5 < at[0] < width_mm - 1.5 and 1.5 < at[1] < tall - 1.5:
            _label(canvas, o.name, at, taken)
    site_axes(canvas, spot, width_mm, tall, show, taken)
    if aside:
        shown_m = [((i * (width_mm - aside) / 2) / k + centre[0], (j * tall / 2) / k + centre[1])
                   for i, j in ((-1, -1), (1, -1), (1, 1), (-1, 1))]  # fmt: skip
        far_inset.draw(
            canvas, beyond, shown_m, show, at=(width_mm - aside, 0.2), size=(aside - 0.2, tall - 0.2)
        )
    canvas.close_clip()
    _foot(canvas, scale, tall, width_mm, show, ropes=bool(drawn), signs=any(c.signs for _, c in drawn))
    if order.site.x_points_to:
        _compass(canvas, order.site.x_points_to, tall, width_mm)
    return canvas.render(), scale


def rope_sketch(
    order: Order,
    weld_id: str,
    rope: Contour,
    show: Show,
    *,
    width_mm: float,
    height_mm: float,
    candidate: Candidate | None = None,
    posts: Sequence[Point] = (),
    first_post: int = 1,
    crank: Point | None = None,
    ways: Sequence[tuple[Point, float]] = (),
) -> tuple[str, float]:
    """SVG of one weld's rope with signs, walls, places, ways in, the crew's line and a source's way, and its scale.

    `posts`: site x, y of the sentries, marked S1, S2, from `first_post` on; `crank`: of the crank; `ways`: site x, y,
    bearing of ways out.
    An arrow with its exposures shows where each beam goes.
    """
    canvas = Canvas(width_mm, height_mm)
    tall = height_mm - 0.4
    weld = next(w for w in order.welds if w.id == weld_id)
    crew = crew_line.crew_line(order, weld, candidate, show, rope).loops
    points: list[Point] = [weld.at, *((p.site[0], p.site[1]) for p in rope.points if p.site is not None)]
    # Every way in is shown, and the crew's line whole where that costs little of the scale; what stands farther out
    # than they is left out, never cut.
    points += [*((r.at[0], r.at[1]) for r in order.access), *posts, *([crank] if crank else [])]
    # Beside the coordinates, over a way in at the upper edge for its sign, and where there is neither.
    left, below, above, margin = 6.6, 4.8, 3.7, 2.2
    room = width_mm - left - margin, tall - below - above
    whole = [*points, *(p for loop in crew for p in loop)]
    if need(whole, room) <= CUT_FROM * need(points, room):
        points = whole
    centre = middle(points)
    wanted = need(points, room)
    scale = next((s for s in SCALES if s >= wanted * 1000), SCALES[-1])
    k = 1000 / scale

    def spot(x: float, y: float) -> Point:
        return left + room[0] / 2 + (x - centre[0]) * k, above + room[1] / 2 - (y - centre[1]) * k

    frame(canvas, order, spot, "clip-rope", width_mm, tall)
    edges = edges_taken(width_mm, tall)
    taken = Places((0.6, 0.6, width_mm - 0.6, tall - 0.6), edges, mistaken_mm=MISTAKEN_MM)
    walls_taken(taken, order, spot)
    taken.line([spot(*p) for p in crew_line.way_in_plan(weld)], closed=False)
    taken.line(_rope(canvas, order, weld.at, rope, spot))
    for loop in crew:
        taken.line([spot(*p) for p in loop])
        canvas.path([[spot(*p) for p in loop]], stroke_mm=0.28, dash=crew_line.DASH, kind="control position")
    way_of_source(canvas, weld, spot)
    pipe(canvas, weld, lambda x, y: spot(weld.at[0] + x, weld.at[1] + y))
    taken.mark(spot(*weld.at), 1.4)
    named = []
    letters, small = way_letters(order), place_letters(order)
    for place in order.places:
        at = spot(place.at[0], place.at[1])
        if 6.0 < at[0] < width_mm - 1.5 and 1.5 < at[1] < tall - 4.8:
            canvas.circle(at, 0.7, fill=PAPER, stroke_mm=0.3, kind="place")
            named.append((small[place.id], at))
    # Under the ways in: a sign of the rope may hang at the very spot of one.
    marks = [spot(*p) for p in posts] + [spot(r.at[0], r.at[1]) for r in order.access]
    taken.boxes += signs(canvas, rope, spot, {(r.at[0], r.at[1]) for r in order.access}, 0.75, clear_of=marks)
    # A cross beside a way in goes under its mark, one in it over: both are seen.
    over = [p for p in posts if any(math.dist(p, r.at[:2]) < IN_IT_M for r in order.access)]
    for p in posts:
        if p not in over:
            post_mark(canvas, spot(*p), 0.9)
    for r in order.access:
        way_in_mark(canvas, spot(r.at[0], r.at[1]), 0.8)
        named.append((letters[r.id], spot(r.at[0], r.at[1])))
    for p in over:
        post_mark(canvas, spot(*p), 0.9)
    if crank is not None:
        crank_mark(canvas, spot(*crank), 0.9)
        named.append(("crank", spot(*crank)))
    named += [(f"{POST}{n}", spot(*p)) for n, p in enumerate(posts, start=first_post)]
    for _, at in named:
        taken.mark(at, 0.9)
    if weld.guide_from is not None:
        at = spot(weld.guide_from[0], weld.guide_from[1])
        taken.mark(at, 1.2)
        named.append(("container", at))
    map_arrows.ways(canvas, [(spot(*p), turn) for p, turn in ways], taken)
    map_arrows.beams(canvas, spot(*weld.at), bearings(order, weld, candidate), taken)
    for words, at in [*named, (weld_id, spot(*weld.at))]:
        letter_beside(canvas, words, at, taken)
    site_axes(canvas, spot, width_mm, tall, show)  # the site's own coordinates are its scale: no bar besides
    canvas.close_clip()
    return canvas.render(), scale


def _rope(canvas: Canvas, order: Order, weld_at: Point, c: Contour, spot: Spot) -> list[Point]:
    """A rope as it is laid: a full line, as on the weld's own map; its loop on paper."""
    sites = [p.site for p in c.points if p.site is not None]
    if len(sites) < 3:
        return []
    path = rope_path(order, sites, closed=c.closed)
    loop = [spot(*p) for p in path.points]
    canvas.path([loop], fill=AMBER, opacity=0.06)
    canvas.path([loop], stroke_mm=0.4, closed=c.closed, kind="rope")
    for a, b in path.ties:
        tie_mark(canvas, spot(*a), spot(*b))
    return loop


def _name_ropes(canvas: Canvas, ropes: list[tuple[str, list[Point]]], taken: Places) -> None:
    """The weld of each rope on its line, where several ropes stand in one sketch."""
    for weld, loop in ropes:
        words = f"rope {weld}"
        box = taken.on_line(
            [*loop, *loop[:1]], text_width(words, LABEL_MM) + 0.8, LABEL_MM * CAP_HEIGHT + 0.9
        )
        if box is not None:
            canvas.plate(box, rim_mm=0.0)
            at = ((box[0] + box[2]) / 2, box[3] - 0.45)
            canvas.text(at, words, size_mm=LABEL_MM, anchor="middle", halo=True, kind="label")


def _costs(taken: Places, words: str, at: Point) -> float:
    """What the best place for words costs, as `Places.beside` reckons it; nothing is taken."""
    trial = taken.copy()
    trial.beside(at, text_width(words, LABEL_MM) + 0.8, LABEL_MM * CAP_HEIGHT + 1.0, rings=RINGS_MM)
    return trial.spent - taken.spent


def _label(
    canvas: Canvas, words: str, at: Point, taken: Places, *, bold: bool = False, others: Sequence[Point] = ()
) -> None:
    """Words beside a point, on no others and on no line where there is room; left out where there is none at all.

    A leader goes from words to their point where they stand off it, or where one of `others` could be taken for it.
    """
    size = LABEL_MM * (1.1 if bold else 1.0)
    wide, high = text_width(words, size, bold=bold), size * CAP_HEIGHT
    found = taken.beside(at, wide + 0.8, high + 1.0, rings=RINGS_MM)
    if found is None:
        return
    box, ring = found
    near = nearest(at, box)
    away = math.dist(near, at)
    mistaken = any(math.dist(nearest(o, box), o) < MISTAKEN_BY * away for o in others)
    if away > 1.2 and (ring > 3.0 or mistaken):
        canvas.line(at, near, stroke_mm=0.12)
    canvas.text((box[0] + 0.4, box[3] - 0.5), words, size_mm=size, bold=bold, halo=True, kind="label")


def _foot(
    canvas: Canvas, scale: float, tall: float, width_mm: float, show: Show, *, ropes: bool, signs: bool
) -> None:
    """Scale bar and what the marks mean."""
    canvas.text((0.3, tall + 4.2), f"1 : {scale:g}", size_mm=3.2, bold=True)
    wide = min(60.0, width_mm - 34.0)
    dims.scale_bar(
        canvas, x=22.0, y=tall + 2.0, scale=scale, width_mm=wide, imperial=show.system == "imperial"
    )
    if width_mm < LEGEND_FROM_MM:
        return
    x, y = width_mm - 88.0, tall + 4.2
    if ropes:
        canvas.line((x, y - 0.9), (x + 7, y - 0.9), stroke_mm=0.4)
        canvas.text((x + 8.5, y), "rope", size_mm=2.6)
        if signs:
            sign_mark(canvas, (x + 20.0, y - 0.8))
            canvas.text((x + 22.3, y), "sign", size_mm=2.6)
    way_in_mark(canvas, (x + 33.0, y - 0.9))
    canvas.text((x + 35.3, y), "way in", size_mm=2.6)
    canvas.circle((x + 48.0, y - 0.9), 0.8, fill=PAPER, stroke_mm=0.3)
    canvas.text((x + 50.0, y), "place", size_mm=2.6)
    canvas.circle((x + 62.0, y - 0.9), 1.0, fill=AMBER)
    canvas.text((x + 64.3, y), "weld with its pipe", size_mm=2.6)


def _compass(canvas: Canvas, words: str, tall: float, width_mm: float) -> None:
    """Whereto x points, beside the scale bar, as much of it as finds room before the legend."""
    first = f"+x {words}".split(",")[0].split(" (")[0]
    room = width_mm - (55.0 if width_mm >= LEGEND_FROM_MM else 0.0) - COMPASS_FROM_MM
    if text_width(first, 2.6) <= room:
        canvas.text((COMPASS_FROM_MM, tall + 4.2), first, size_mm=2.6, kind="compass")
