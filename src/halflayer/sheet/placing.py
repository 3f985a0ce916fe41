"""Finds room for words in a plan: clear of other words and of marks, and of as much line as can be."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace

from halflayer.sheet.clear import Segment, crosses, strikes

Point = tuple[float, float]
Box = tuple[float, float, float, float]
AROUND: tuple[Point, ...] = (
    *((1.0, 0.0), (-1.0, 0.0), (0.0, -1.0), (0.0, 1.0)),
    *((1.0, -1.0), (-1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)),
)
CROSSED_MM = 1.5  # a millimetre of line under words counts as much as words so much farther off: our choice
LEADS_FROM_MM = 2.2  # words farther off than this are led to their mark
OWN_MM = 2.3  # marks nearer to each other than this bear one name
LEFT_OUT_MM = 100.0  # words left out: our choice
LED_OVER_MM = (
    40.0  # a leader over words or another mark counts as much as words so much farther off: our choice
)


@dataclass
class Places:
    """What stands in a plan already: boxes that no words may cover, and lines that they had better not."""

    room: Box
    boxes: list[Box] = field(default_factory=list)
    lines: list[Point] = field(default_factory=list)  # points along them, about a millimetre apart
    marks: list[Point] = field(default_factory=list)  # their middles
    leaders: list[Segment] = field(default_factory=list)
    crossed_mm: float = CROSSED_MM
    spent: float = 0.0  # what all words so far cost
    mistaken_mm: float = 0.0  # words as near to another mark count as much as words so much farther off

    def copy(self) -> Places:
        """The same with lists of its own, to try an order in which words are placed."""
        return replace(
            self, boxes=[*self.boxes], lines=[*self.lines], marks=[*self.marks], leaders=[*self.leaders]
        )

    def mark(self, at: Point, half_mm: float) -> None:
        """Keep clear of a mark."""
        self.boxes.append((at[0] - half_mm, at[1] - half_mm, at[0] + half_mm, at[1] + half_mm))
        self.marks.append(at)

    def line(self, loop: Sequence[Point], *, closed: bool = True) -> None:
        """Keep off a line where there is room beside it."""
        self.lines += dense([*loop, *loop[:1]] if closed else loop)

    def free(self, box: Box) -> bool:
        """True for a box inside the room that covers no words and no marks."""
        r = self.room
        inside = box[0] > r[0] and box[1] > r[1] and box[2] < r[2] and box[3] < r[3]
        return inside and all(
            box[2] < b[0] or b[2] < box[0] or box[3] < b[1] or b[3] < box[1] for b in self.boxes
        )

    def crossed(self, box: Box) -> int:
        """Points of lines under a box."""
        left, top, right, bottom = box
        return len([1 for x, y in self.lines if left <= x <= right and top <= y <= bottom])

    def beside(
        self, at: Point, wide: float, high: float, *, rings: Iterable[float], around: Sequence[Point] = AROUND
    ) -> tuple[Box, float] | None:
        """A box so wide and high beside a point, taken from then on, and its ring; None where there is no room.

        The nearest ring first, unless one farther off spares more line than it costs way.
        """
        best: tuple[float, Box, float] | None = None
        for ring in rings:
            if best is not None and ring >= best[0]:
                continue  # costs more than what was found, without a line under it
            for dx, dy in around:
                x, y = at[0] + dx * (ring + wide / 2), at[1] + dy * (ring + high / 2)
                box = (x - wide / 2, y - high / 2, x + wide / 2, y + high / 2)
                if not self.free(box):
                    continue
                cost = ring + self.crossed_mm * self.crossed(box)
                if self.mistaken_mm and ring <= LEADS_FROM_MM and self._said_of_another(at, box):
                    cost += self.mistaken_mm
                if ring > LEADS_FROM_MM and (best is None or cost < best[0]) and self._leads_over(at, box):
                    cost += LED_OVER_MM
                if best is None or cost < best[0] - 1e-9:
                    best = (cost, box, ring)
        if best is None:
            self.spent += LEFT_OUT_MM
            return None
        self.spent += best[0]
        self.boxes.append(best[1])
        if best[2] > LEADS_FROM_MM:
            self.leaders.append((at, nearest(at, best[1])))
            self.line(self.leaders[-1], closed=False)
        return best[1], best[2]

    def _said_of_another(self, at: Point, box: Box) -> bool:
        """True where another mark is as near to a box as its own, so that the words seem to name it."""
        own = math.dist(at, nearest(at, box))
        others = (m for m in self.marks if math.dist(m, at) > OWN_MM)
        return any(math.dist(m, nearest(m, box)) < own + 0.3 for m in others)

    def _leads_over(self, at: Point, box: Box) -> bool:
        """True where a line from a point to a box runs over another, words or marks, its own mark left out."""
        near = nearest(at, box)
        return any(crosses(at, near, *one) for one in self.leaders) or any(
            strikes(at, near, b) for b in self.boxes if not (b[0] <= at[0] <= b[2] and b[1] <= at[1] <= b[3])
        )

    def on_line(self, loop: Sequence[Point], wide: float, high: float) -> Box | None:
        """A box on a line for its name, where it covers least of other lines; None where there is no room."""
        spots = [p for p in dense(loop) if self.free(_about(p, wide, high))]
        own = set(dense(loop))
        others = [p for p in self.lines if p not in own]
        best = min(spots, key=lambda p: _under(_about(p, wide, high), others), default=None)
        if best is None:
            self.spent += LEFT_OUT_MM
            return None
        self.spent += best[0]
        self.boxes.append(_about(best, wide, high))
        return self.boxes[-1]


def nearest(at: Point, box: Box) -> Point:
    """The point of a box that is nearest to another point: where a leader ends."""
    return min(max(at[0], box[0]), box[2]), min(max(at[1], box[1]), box[3])


def dense(loop: Sequence[Point], step_mm: float = 1.0) -> list[Point]:
    """Points along a line, no farther apart than a step."""
    out: list[Point] = []
    for a, b in zip(loop, loop[1:], strict=False):
        n = max(1, math.ceil(math.dist(a, b) / step_mm))
        out += [(a[0] + (b[0] - a[0]) * i / n, a[1] + (b[1] - a[1]) * i / n) for i in range(n)]
    return out


def _about(at: Point, wide: float, high: float) -> Box:
    return (at[0] - wide / 2, at[1] - high / 2, at[0] + wide / 2, at[1] + high / 2)


def _under(box: Box, points: Sequence[Point]) -> int:
    return sum(box[0] <= x <= box[2] and box[1] <= y <= box[3] for x, y in points)
