"""Places labels in a column beside a drawing so that none overlaps another and no leader crosses another."""

from __future__ import annotations

from dataclasses import dataclass

from halflayer.sheet.clear import crosses, strikes
from halflayer.sheet.svg import Canvas
from halflayer.sheet.typeface import CAP_HEIGHT, lines_within, text_width

Point = tuple[float, float]
ELBOW_MM = 2.2  # a leader runs level so far
SIZES = (
    (2, 1.0, 0.45),
    (2, 1.0, 0.2),
    (1, 1.0, 0.2),
    (2, 0.9, 0.45),
    (1, 0.9, 0.45),
    (2, 0.8, 0.45),
    (1, 0.8, 0.45),
    (1, 0.7, 0.45),
)  # lines of a label, share of its type, gap under it in its type


@dataclass(frozen=True)
class Placed:
    """A label as drawn: its lines, its box on paper (x0, y0, x1, y1) and where its leader points [mm]."""

    lines: tuple[str, ...]
    box: tuple[float, float, float, float]
    anchor: Point

    @property
    def leader(self) -> tuple[tuple[Point, Point], tuple[Point, Point]]:
        """Its leader: level to the elbow, from there to what it names."""
        middle = (self.box[1] + self.box[3]) / 2
        elbow = (self.box[2] + ELBOW_MM, middle)
        return ((self.box[2] + 0.7, middle), elbow), (elbow, self.anchor)

    def led_through(self, box: tuple[float, float, float, float]) -> bool:
        """True where its leader runs through a box."""
        return any(strikes(a, b, box) for a, b in self.leader)


def spread(wanted: list[float], heights: list[float], *, low: float, high: float) -> list[float]:
    """Tops of boxes in the given order, as near to the wanted ones as they go without overlap, within low..high.

    Least squares by pooling neighbours that would overlap. Boxes that do not fit at all are set from `low` down.
    """
    groups: list[tuple[float, float, list[int]]] = []  # best top, height, members
    for i, (top, h) in enumerate(zip(wanted, heights, strict=True)):
        groups.append((top, h, [i]))
        while len(groups) > 1 and groups[-2][0] + groups[-2][1] > groups[-1][0]:
            top_b, height_b, b = groups.pop()
            top_a, height_a, a = groups.pop()
            # Each member pulls the common top to its own wish.
            mean = (top_a * len(a) + (top_b - height_a) * len(b)) / (len(a) + len(b))
            groups.append((mean, height_a + height_b, a + b))
    tops = [0.0] * len(wanted)
    edge = low
    placed = []
    for top, height, members in groups:
        top = max(top, edge)
        placed.append((top, height, members))
        edge = top + height
    floor = high
    for top, height, members in reversed(placed):
        at = min(top, floor - height)
        floor = at
        for i in members:
            tops[i] = at
            at += heights[i]
    if wanted and floor < low:
        tops = [t + low - floor for t in tops]
    return tops


def high_mm(words: list[str], *, width: float, size_mm: float) -> float:
    """Height of a column that holds these labels in full type, in two lines where they are longer than it is wide."""
    rows = sum(len(lines_within(w, size_mm, width, most=2)) for w in words)
    return size_mm * (1.12 * rows + 0.45 * len(words)) + 0.01


def column(
    labels: list[tuple[str, Point]], *, x: float, width: float, low: float, high: float, size_mm: float
) -> list[Placed]:
    """Labels in a column from x to x + width, left of what they name, between the heights `low` and `high`.

    Where they would not fit, the lines per label and then the type are made smaller; a word is cut only where no size
    holds it.
    """
    for whole, most, shrink, gap in [(w, *s) for w in (True, False) for s in SIZES]:
        size = size_mm * shrink
        pitch = size * 1.12
        texts = [lines_within(words, size, width, most=most) for words, _ in labels]
        heights = [pitch * len(t) + size * gap for t in texts]
        if sum(heights) <= high - low and not (whole and any(t[-1].endswith("…") for t in texts)):
            break
    order = sorted(range(len(labels)), key=lambda i: (labels[i][1][1], -labels[i][1][0]))
    tops: list[float] = []
    for _ in range(len(labels) ** 2 + 1):
        wanted = [labels[i][1][1] - heights[i] / 2 for i in order]
        tops = spread(wanted, [heights[i] for i in order], low=low, high=high)
        starts = [(x + width, t + heights[i] / 2) for t, i in zip(tops, order, strict=True)]
        swap = next(
            (
                k
                for k in range(len(order) - 1)
                if crosses(starts[k], labels[order[k]][1], starts[k + 1], labels[order[k + 1]][1])
            ),
            None,
        )
        if swap is None:
            break
        order[swap], order[swap + 1] = order[swap + 1], order[swap]
    out = []
    for top, i in zip(tops, order, strict=True):
        wide = max(text_width(t, size) for t in texts[i])
        bottom = top + pitch * len(texts[i])
        out.append(Placed(tuple(texts[i]), (x + width - wide, top, x + width, bottom), labels[i][1]))
    return out


def draw(canvas: Canvas, placed: list[Placed]) -> None:
    """Text, leader and dot of each label; the text ends at the leader."""
    for label in placed:
        x0, top, x1, bottom = label.box
        pitch = (bottom - top) / len(label.lines)
        size = pitch / 1.12
        for k, line in enumerate(label.lines):
            base = top + pitch * k + (pitch + size * CAP_HEIGHT) / 2
            canvas.text((x1, base), line, size_mm=size, anchor="end", kind="label")
        middle = (top + bottom) / 2
        elbow = (x1 + ELBOW_MM, middle)
        leader = [(x1 + 0.7, middle), elbow, label.anchor]
        canvas.path([leader], stroke_mm=0.42, colour="#FFFFFF", closed=False)
        canvas.path([leader], stroke_mm=0.15, closed=False, kind="leader")
        canvas.circle(label.anchor, 0.42, fill="#1C2126", kind="leader-end")
