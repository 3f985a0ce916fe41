"""How a wrap is laid, to scale: sleeves unrolled with slits and seams, a hood flat, a tent in two views."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from halflayer.exposure.result import Exposure
from halflayer.order.equipment import Blanket
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.scene.build import Built
from halflayer.scene.sleeves import Sleeve, second_layer, sleeves
from halflayer.scene.solids import Box
from halflayer.scene.wrap_layers import WrapLayer
from halflayer.sheet import dims
from halflayer.sheet.figures import Show
from halflayer.sheet.held_words import empty_until
from halflayer.sheet.laying_words import Measures, lay_steps
from halflayer.sheet.naming import count
from halflayer.sheet.settings import by_id
from halflayer.sheet.setup_drawing import SCALES
from halflayer.sheet.shroud_laid import shroud_laid
from halflayer.sheet.svg import AMBER, PAPER, Canvas
from halflayer.sheet.tent_views import tent_views
from halflayer.sheet.typeface import CAP_HEIGHT, text_width
from halflayer.sheet.winding_words import begin_clocks_rad, sleeve_pieces, tongues
from halflayer.shielding.kit import blanket_mass_kg
from halflayer.shielding.resets import openings
from halflayer.shielding.result import Shielding
from halflayer.technique.result import Candidate

WIDE_MM = 91.5  # of the column it stands in
SIZE_MM = 2.6
ROOM_MM = 76.0  # height of the strips and of the hood under them, at most: our choice
GAP_MM = 9.0  # between two strips
HEAD_MM = 4.6  # over a strip for its name, under it for the places along the pipe
HOOD_MM = 3.4
LAP = "#C9C5BA"
HOOD = "hood, flat, across the pipe"
CHAIN = "3.2 0.8 0.5 0.8"

Point = tuple[float, float]


@dataclass(frozen=True)
class Hood:
    """The hood of a strapped head [m]: the head along and across the pipe, and how far down its sides hang."""

    along: float
    across: float
    down: float
    thick: float

    def side_m(self, radius_m: float) -> float:
        """From the head's upper edge down its side and round a pipe of that radius to the pipe's middle [m]."""
        half = self.across / 2
        if half >= radius_m:
            return self.down
        rise = math.sqrt(radius_m**2 - half**2)
        return self.down - rise + radius_m * (math.pi / 2 - math.asin(half / radius_m))


def laying(
    order: Order,
    weld: Weld,
    chosen: Candidate | None,
    shielding: Shielding | None,
    built: Built | None,
    show: Show,
    exposure: Exposure | None = None,
) -> dict[str, Any] | None:
    """Drawing, scale and steps of how the wrap is laid, or the shroud closed; None without either.

    `exposure`: with it, that the film follows a first survey for which all is opened again.
    """
    if shielding is None or built is None or chosen is None:
        return None
    if chosen.shroud:
        return shroud_laid(order, weld, chosen, shielding, built, show)
    if not shielding.fitting.layers:
        return None
    blanket = by_id(order.kit.blankets, shielding.fitting.blanket)
    laid = built.wrap.layers[: shielding.fitting.layers]
    if blanket is None or not laid:
        return None
    hood = hood_of(built)
    measures = _measures(hood, laid, blanket)
    steps = lay_steps(order, weld, chosen, shielding, built, blanket, hood_m=measures, show=show)
    if exposure is not None and openings(order, exposure, shielding.items):
        each_shot = exposure.read_again is not None
        steps[0] = f"{empty_until(order, chosen.detector, each_shot=each_shot)} {steps[0]}"
    if built.wrap.lay is not None:
        head = by_id(order.heads, chosen.head)
        far = math.hypot(chosen.geometry.axial_offset_m, chosen.geometry.standoff_m + weld.pipe.od / 2)
        below = far - (head.source_to_face_m if head else 0.0)
        film = None if chosen.geometry.tilt_rad else below - built.film.centre[2]
        svg, scale = tent_views(
            built.wrap.lay,
            blanket,
            weld,
            show,
            width_mm=WIDE_MM,
            pipe_m=below,
            film_m=film,
            lean_rad=math.copysign(chosen.geometry.tilt_rad, built.source_at[0]),
        )
    elif any(one.patch for one in laid):
        return {"svg": None, "scale": "", "note": "from inside", "steps": steps}
    else:
        svg, scale = _unrolled(laid, hood, blanket, built, chosen, show)
    return {
        "svg": svg,
        "scale": f"1 : {scale:g}",
        "note": _note(order, built, laid, blanket, show),
        "steps": steps,
        "tent": built.wrap.lay is not None,
    }


def _note(order: Order, built: Built, laid: tuple[WrapLayer, ...], blanket: Blanket, show: Show) -> str:
    """What is drawn; of a tent what a layer takes too, which no table says."""
    if built.wrap.lay is None:
        return f"layers 1 and {second_layer(laid)}, from inside" if len(laid) > 1 else "layer 1"
    each = laid[0].pieces
    mass = show.value(each * blanket_mass_kg(blanket), "mass")
    size = show.drawn(blanket.width_m, blanket.length_m)
    return f"a layer: {count(each, 'piece')} of {blanket.id}, {size}, {mass}"


def hood_of(built: Built) -> Hood | None:
    """What the hood of the built set-up goes round; None without one."""
    under = next((s for s in built.scene.solids if isinstance(s, Box) and s.name == "under the hood"), None)
    over = next((s for s in built.scene.solids if isinstance(s, Box) and s.name == "wrap over head"), None)
    if under is None or over is None:
        return None
    return Hood(under.size[0], under.size[1], under.size[2], over.size[2] - under.size[2])


def _measures(hood: Hood | None, laid: tuple[WrapLayer, ...], blanket: Blanket) -> Measures | None:
    """The hood's measures, and how much of its piece is left past the pipe's middle on either side [m]."""
    if hood is None:
        return None
    side = hood.side_m(_under_hood(laid).round_m / (2 * math.pi))
    beyond = max(blanket.length_m / 2 - hood.across / 2 - side, 0.0)
    return hood.along, hood.across, hood.down, beyond


def _under_hood(laid: tuple[WrapLayer, ...]) -> WrapLayer:
    """The layer that the hood lies on: all of the sleeve is laid before it."""
    return laid[-1]


def _unrolled(
    laid: tuple[WrapLayer, ...],
    hood: Hood | None,
    blanket: Blanket,
    built: Built,
    chosen: Candidate,
    show: Show,
) -> tuple[str, float]:
    """The strips beside each other, the source's clock in their middle, and the hood flat under them."""
    strips = sleeves(built, laid, blanket)
    spans = [(s.pieces[0][0], s.pieces[-1][1]) for s in strips]
    wide = sum(b - a for a, b in spans)
    tall = max(s.one.round_m for s in strips)
    fixed = 2 * HEAD_MM + (2 * HEAD_MM if hood else 0.0)
    flat = blanket.width_m if hood else 0.0
    room_w = WIDE_MM - 8.0 - GAP_MM * (len(strips) - 1)
    scale = next(
        (
            s
            for s in SCALES
            if wide * 1000 / s <= room_w
            and (tall + flat) * 1000 / s + fixed <= ROOM_MM + HOOD_MM
            and blanket.length_m * 1000 / s <= WIDE_MM - 8.0
        ),
        SCALES[-1],
    )
    k = 1000 / scale
    # Under a hood nothing is written but the scale; under strips the places along the pipe are, in two rows.
    high = (tall + flat) * k + fixed + (3.6 if hood else 7.0)
    canvas = Canvas(WIDE_MM, high)
    left = 7.0
    for strip, (a, b) in zip(strips, spans, strict=True):
        _strip(canvas, strip, (left - a * k, HEAD_MM + tall * k / 2), k, hood, built, chosen, show)
        left += (b - a) * k + GAP_MM
    if hood is not None:
        n = sleeve_pieces(laid)
        side = hood.side_m(_under_hood(laid).round_m / (2 * math.pi))
        _flat_hood(
            canvas, hood, side, blanket, k, (7.0, tall * k + 3 * HEAD_MM), n + 1, guided=bool(chosen.guide)
        )
        _hang(canvas, hood, blanket, k, (7.0, tall * k + 3 * HEAD_MM), show)
    dims.scale_bar(
        canvas, x=7.0, y=high - 5.4, scale=scale, width_mm=50.0, imperial=show.system == "imperial"
    )
    return canvas.render(), scale


def _strip(
    canvas: Canvas,
    s: Sleeve,
    at: Point,
    k: float,
    hood: Hood | None,
    built: Built,
    chosen: Candidate,
    show: Show,
) -> None:
    """One layer: x along the pipe to the right, the source's clock in the middle."""
    half = s.one.round_m / 2

    def spot(x: float, turn: float) -> Point:
        """`turn` as a share of half the way round; seen from outside with +x to the right, clocks grow downwards."""
        return at[0] + x * k, at[1] + turn * half * k

    def box(x0: float, x1: float, t0: float, t1: float) -> list[Point]:
        return [spot(x0, t0), spot(x1, t0), spot(x1, t1), spot(x0, t1)]

    for a, b in s.pieces:
        canvas.path([box(a, b, -1.0, 1.0)], fill=PAPER, stroke_mm=0.3, kind="piece")
    for (_, b), (a, _) in zip(s.pieces, s.pieces[1:], strict=False):
        canvas.path([box(a, b, -1.0, 1.0)], fill=LAP, stroke_mm=0.2, kind="lap")
    low, high = s.pieces[0][0], s.pieces[-1][1]
    _film(canvas, spot, built, chosen)
    start = s.one.seam_clock_rad / math.pi
    step = 2.0 / max(s.one.lengths, 1)
    begin = [(start + i * step + 1.0) % 2.0 - 1.0 for i in range(s.one.lengths)]
    if s.one.turn is not None:
        begin = [c / math.pi for c in begin_clocks_rad(s.one)]
    for turn in begin:
        canvas.line(spot(low, turn), spot(high, turn), stroke_mm=0.8, kind="seam")
    weld = (spot(0.0, -1.0), spot(0.0, 1.0))
    canvas.line((weld[0][0], weld[0][1] - 1.2), (weld[1][0], weld[1][1] + 1.2), stroke_mm=0.13, dash=CHAIN)
    if hood is not None:
        _opening(canvas, s, hood, spot, half)
    else:
        canvas.circle(spot(0.0, 0.0), 0.9, fill=PAPER, stroke_mm=0.25, colour=AMBER)
    for (a, b), named in zip(s.pieces, s.numbers, strict=False):
        for turn, number in named:
            at_mm = spot((a + b) / 2, 0.0)[0], spot(0.0, min(max(turn, -0.8), 0.8))[1]
            _circled(canvas, str(number), at_mm)
    for n, (a, b) in enumerate(s.pieces if not s.numbers else ()):
        for i in range(s.one.lengths):
            turn = -0.72 if s.one.lengths == 1 else (start + (i + 0.5) * step + 1.0) % 2.0 - 1.0
            at_mm = spot((a + b) / 2, 0.0)[0], spot(0.0, min(max(turn, -0.8), 0.8))[1]
            _circled(canvas, str(s.first + n * s.one.lengths + i), at_mm)
    name = f"layer {s.number}"
    canvas.text((spot(low, -1.0)[0], spot(low, -1.0)[1] - 1.1), name, size_mm=SIZE_MM, bold=True)
    _edges(canvas, s, spot, show)
    if s.number == 1:
        for turn, words in ((1.0, "180°"), (0.5, "+90°"), (0.0, "0°"), (-0.5, "−90°"), (-1.0, "180°")):
            x, y = spot(low, turn)
            canvas.text((x - 0.8, y + SIZE_MM * CAP_HEIGHT / 2), words, size_mm=SIZE_MM, anchor="end")


def _film(canvas: Canvas, spot: Any, built: Built, chosen: Candidate) -> None:
    """Where the film lies under the layer: dashed."""
    film = built.film
    turn = 1.0
    if chosen.arrangement != "bore" and film.radius_m:
        turn = min(film.length_m / film.radius_m / (2 * math.pi), 1.0)
    for sign in (1.0, -1.0):
        loop = [
            spot(-film.width_m / 2, sign),
            spot(-film.width_m / 2, sign * (1.0 - turn)),
            spot(film.width_m / 2, sign * (1.0 - turn)),
            spot(film.width_m / 2, sign),
        ]
        canvas.path([loop], stroke_mm=0.3, dash="1.6 0.8", closed=False, kind="film below")


def _opening(canvas: Canvas, s: Sleeve, hood: Hood, spot: Any, half: float) -> None:
    """The head where it stands, the slits of the pieces that it stands in, and how far the hood comes down."""
    a, turn = hood.along / 2, hood.across / 2 / half
    head = [spot(-a, -turn), spot(a, -turn), spot(a, turn), spot(-a, turn)]
    canvas.path([head], fill="#E9E6DE", stroke_mm=0.2, kind="head")
    out = hood.along / 2 + hood.thick
    for sign in (0.5, -0.5):
        canvas.line(spot(-out, sign), spot(out, sign), stroke_mm=0.3, dash=CHAIN, kind="hood")
    for x in (-out, out):
        canvas.line(spot(x, -0.5), spot(x, 0.5), stroke_mm=0.3, dash=CHAIN, kind="hood")
    for x0, x1, fold in tongues(s.pieces, a):
        for sign in (turn, -turn):
            canvas.line(spot(x0, sign), spot(x1, sign), stroke_mm=0.7, kind="slit")
        # The fold stands at the head's end, the free edge where the piece is slit across or ends.
        canvas.line(spot(fold, -turn), spot(fold, turn), stroke_mm=0.3, dash="0.8 0.6", kind="fold")
        free = x1 if abs(fold - x0) < 1e-9 else x0
        canvas.line(spot(free, -turn), spot(free, turn), stroke_mm=0.7, kind="slit")
    canvas.circle(spot(0.0, 0.0), 1.0, fill=PAPER, stroke_mm=0.3, colour=AMBER, kind="source")
    canvas.circle(spot(0.0, 0.0), 0.5, fill=AMBER)


def _flat_hood(
    canvas: Canvas, hood: Hood, side_m: float, blanket: Blanket, k: float, at: Point, n: int, *, guided: bool
) -> None:
    """The hood's piece flat: its length across the pipe, with the folds over the head's edges."""
    wide, long = blanket.width_m * k, blanket.length_m * k
    x, y = at
    canvas.path(
        [[(x, y), (x + long, y), (x + long, y + wide), (x, y + wide)]],
        fill=PAPER,
        stroke_mm=0.3,
        kind="piece",
    )
    middle = x + long / 2
    across, along = hood.across * k / 2, min(hood.along * k, wide) / 2
    y0 = y + wide / 2
    for sign in (-1.0, 1.0):
        canvas.line(
            (middle + sign * across, y), (middle + sign * across, y + wide), stroke_mm=0.3, dash="0.8 0.6"
        )
        foot = middle + sign * min((hood.across / 2 + side_m) * k, long / 2)
        canvas.line((foot, y), (foot, y + wide), stroke_mm=0.3, dash=CHAIN, kind="hood")
        if along < wide / 2 - 0.05:
            canvas.line((x, y0 + sign * along), (x + long, y0 + sign * along), stroke_mm=0.15, dash="0.8 0.6")
    head = [
        (middle - across, y0 - along),
        (middle + across, y0 - along),
        (middle + across, y0 + along),
        (middle - across, y0 + along),
    ]
    canvas.path([head], fill="#E9E6DE", stroke_mm=0.2, kind="head")
    if guided:
        canvas.line((middle, y), (middle, y0), stroke_mm=0.7, kind="slit")
        canvas.circle((middle, y0), 1.0, fill=PAPER, stroke_mm=0.3)
        canvas.text((max(middle, x + text_width(HOOD, SIZE_MM) + 5.0), y - 1.1), "−x", size_mm=SIZE_MM)
    _circled(canvas, str(n), (x + 4.0, y0))
    canvas.text((x, y - 1.1), HOOD, size_mm=SIZE_MM, bold=True)
    down = (hood.across / 2 + side_m) * k
    if down < long / 2:
        canvas.text((middle + down + 0.8, y + SIZE_MM), "pipe's middle", size_mm=SIZE_MM, kind="label")


def _hang(canvas: Canvas, hood: Hood, blanket: Blanket, k: float, at: Point, show: Show) -> None:
    """How far the flat hood hangs down the head's ends: from the fold at its top edge to the piece's edge."""
    hang = (blanket.width_m - hood.along) / 2
    if hang * k < 2.0:
        return
    x = at[0] + blanket.length_m * k * 0.2
    top, low = at[1] + blanket.width_m * k - hang * k, at[1] + blanket.width_m * k
    canvas.line((x, top), (x, low), stroke_mm=dims.THIN_MM, kind="dimension")
    for y in (top, low):
        canvas.line((x - 0.8, y + 0.8), (x + 0.8, y - 0.8), stroke_mm=0.25)
    words = show.drawn(hang)
    canvas.text(
        (x + 1.0, (top + low + SIZE_MM * CAP_HEIGHT) / 2), words, size_mm=SIZE_MM, halo=True, kind="figure"
    )


def _edges(canvas: Canvas, s: Sleeve, spot: Any, show: Show) -> None:
    """Where the pieces begin and end along the pipe, from the weld, under the strip in two rows where they are near."""
    xs = sorted({x for p in s.pieces for x in p})
    last = [-99.0, -99.0]
    named: list[tuple[Point, str, int]] = []
    for x in xs:
        px, py = spot(x, 1.0)
        words = _signed(x, show)
        half = text_width(words, SIZE_MM) / 2 + 0.3
        row = 0 if px - half > last[0] else 1
        if row == 1 and px - half <= last[1]:
            continue
        last[row] = px + half + 0.6
        canvas.line((px, py), (px, py + 0.8 + 2.4 * row), stroke_mm=0.13)
        named.append(((px, py + 3.0 + 2.4 * row), words, row))
    for n, (at, words, row) in enumerate(named):
        # In the upper row left of the line that goes on to the lower one, so that it does not run through the figure.
        on = [p[0] for p, _, r in named[n + 1 :] if row == 0 and r == 1]
        left = min([at[0], *(x - text_width(words, SIZE_MM) / 2 - 0.4 for x in on)])
        canvas.text((left, at[1]), words, size_mm=SIZE_MM, anchor="middle", halo=True, kind="edge")


def _signed(x_m: float, show: Show) -> str:
    if abs(x_m) < 0.0005:
        return "0"
    return ("+" if x_m > 0 else "−") + show.drawn(abs(x_m)).split(" ")[0]


def _circled(canvas: Canvas, words: str, at: Point) -> None:
    canvas.circle(at, 1.9, fill=PAPER, stroke_mm=0.3, kind="number")
    canvas.text((at[0], at[1] + SIZE_MM * CAP_HEIGHT / 2), words, size_mm=SIZE_MM, bold=True, anchor="middle")
