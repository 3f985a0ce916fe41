"""Where a pipe goes through the ends of a tent: how far from the weld, and how far the piece along the pipe is slit."""

from __future__ import annotations

import math
from dataclasses import dataclass

from halflayer.base.result import Derived
from halflayer.order.equipment import Blanket
from halflayer.order.weld import Weld
from halflayer.scene.build import Built
from halflayer.scene.pipework import FLANGE_RADIUS, outside_radius
from halflayer.scene.solids import Tube
from halflayer.scene.tent_pieces import TentLay, pieces_said
from halflayer.scene.wrap_layers import OVERLAP
from halflayer.sheet.figures import Show

GEOMETRY = "exact geometry of the cone that stands for the tent, without its cloth"


@dataclass(frozen=True)
class End:
    """One end of a tent [m]: where its wall crosses the pipe's axis off the weld, how long the piece there is slit.

    `over`: what the slit closes over, the pipe or what stands on it there; `inside`: what of that the tent holds.
    `arms`: the clamp's arms go in through the wall here.
    """

    side: str
    at_m: float
    slit_m: float
    over: str
    inside: tuple[str, ...]
    under: float  # how far down the tent's side, as a share of it, the slit ends
    arms: bool = False


@dataclass(frozen=True)
class TentEnds:
    """Both ends; `middle_m`: of the tent's floor from the weld, + to the right; `past_m`: of a piece past the head's
    face on each side [m]."""

    middle_m: float
    ends: tuple[End, End]
    past_m: float


def run_m(lay: TentLay, blanket: Blanket) -> float:
    """Length of a run of pieces end to end, with their laps [m]."""
    return blanket.length_m * (1 + (lay.lengths - 1) * (1 - OVERLAP))


def tent_ends(lay: TentLay, built: Built, weld: Weld, blanket: Blanket, *, face_m: float) -> TentEnds | None:
    """Both ends of the built tent; `face_m`: from the source to the head's face. None where a wall misses the pipe.

    All in the plane through pipe axis and source, in which the beam's axis and the tent's two end walls lie straight.
    A slit goes from the piece's end down to under what it closes over. Source: exact geometry of the cone that stands
    for the tent; its cloth counts as none.
    """
    sx, sr = built.source_at[0], math.hypot(*built.source_at[1:])
    ax, ar = built.aim[0], -math.hypot(*built.aim[1:])
    top_x, top_r = sx + ax * face_m, sr + ar * face_m
    beyond = (run_m(lay, blanket) - 2 * lay.foot_m) / 2  # of the piece on each side, from the foot on
    ends = []
    for side, word in ((-1.0, "left"), (1.0, "right")):
        x, r = (top_x - side * ar * lay.top_m, top_r + side * ax * lay.top_m)
        far_x = top_x + ax * lay.high_m - side * ar * lay.foot_m
        far_r = top_r + ar * lay.high_m + side * ax * lay.foot_m
        if not far_r < 0.0 < r:
            return None
        at = x + r / (r - far_r) * (far_x - x)
        over, radius, inside = _met(built, weld, at, word)
        under = min((r + radius) / (r - far_r), 1.0)
        slit = max(beyond - (1.0 - under) * lay.side_m, 0.0)
        arms = _arms(built, at, side)
        ends.append(End(word, side * at, slit, over, inside, under, arms))
    return TentEnds(top_x + ax * lay.high_m, (ends[0], ends[1]), max(beyond - lay.side_m, 0.0))


def _met(built: Built, weld: Weld, at_m: float, side: str) -> tuple[str, float, tuple[str, ...]]:
    """What the tent's wall meets on the pipe so far along it: its name, its radius, and what stands nearer the weld."""
    over, radius, inside = "pipe", outside_radius(weld), []
    for s in built.scene.solids:
        if not isinstance(s, Tube) or s.name not in ("clamp", f"flange {side}", f"valve {side}"):
            continue
        near, far = sorted(abs(s.centre[0] + k * s.length_m / 2) for k in (-1, 1))
        if s.centre[0] * at_m < 0.0:
            continue
        if near <= abs(at_m) <= far:
            over, radius = s.name.split()[0], s.outer_radius_m
        elif far < abs(at_m):
            inside.append(s.name.split()[0])
    return over, radius, tuple(inside)


def _arms(built: Built, at_m: float, side: float) -> bool:
    """True where the clamp stands on this side and reaches out of the tent, so that its arms go in through the wall."""
    clamps = [s for s in built.scene.solids if isinstance(s, Tube) and s.name == "clamp"]
    return any(side * s.centre[0] > 0.0 and side * s.centre[0] + s.length_m / 2 > side * at_m for s in clamps)


def ends_words(ends: TentEnds, lay: TentLay, show: Show) -> str:
    """The slits of the piece along the pipe and what each closes over."""
    told = []
    for e in ends.ends:
        held = f", {' and '.join(e.inside)} inside" if e.inside else ""
        on = e.over == "clamp" and e.arms
        arms = ", its arms inside" if on else ", arms in through it" * e.arms
        told.append(
            f"{e.side} {show.drawn(e.slit_m)}, {'on' if on else 'over'} the {e.over} {show.drawn(e.at_m)} off the "
            f"weld{arms}{held}"
        )
    where = "in the middle of" if lay.along % 2 else "beside the middle lap of"
    along = pieces_said(1, lay.along * lay.lengths)
    return f"Slits {where} {along}, each from an end to under the pipe: {'; '.join(told)}"


def ends_figures(ends: TentEnds, lay: TentLay, blanket: Blanket) -> list[Derived]:
    """The same figures opened, by name; `tent_side` and the others stand with the tent's own."""
    run = Derived(
        "run", run_m(lay, blanket), "m", basis="a piece's length, or those end to end with their laps"
    )
    foot = Derived("foot", 2 * lay.foot_m, "m", basis="opened under tent_foot")
    side = Derived("side", lay.side_m, "m", basis="of the cone, from the head's face to the foot")
    found = [
        Derived("tent_middle", ends.middle_m, "m", source=GEOMETRY,
                basis="of its floor from the weld along the pipe, + to the right: on the beam's axis"),
        Derived("tent_past_face", ends.past_m, "m", formula="(run - foot) / 2 - side, 0 at least",
                inputs=(run, foot, side), source=GEOMETRY, basis="of a piece past the head's face, on each side"),
    ]  # fmt: skip
    for e in ends.ends:
        under = Derived(
            "foot to under it", lay.side_m * (1.0 - e.under), "m", source=GEOMETRY,
            basis=f"along the tent's side, to under the {e.over}",
        )  # fmt: skip
        found += [
            Derived(f"tent_end_{e.side}", e.at_m, "m", source=GEOMETRY,
                    basis="from the weld to where the tent's wall crosses the pipe's axis"),
            Derived(f"tent_slit_{e.side}", e.slit_m, "m", formula="(run - foot) / 2 - foot to under it, 0 at least",
                    inputs=(run, foot, under), source=GEOMETRY, basis="from the piece's end"),
        ]  # fmt: skip
    return found


def flange_words(weld: Weld, show: Show) -> str:
    """Where a flange stands and how large it is taken, which an order does not state; empty without one."""
    told = [
        f"flange {show.drawn(n.distance_m)} {side} of the weld, taken {show.drawn(2 * FLANGE_RADIUS * weld.pipe.od)} "
        "across (its size is not in the order)"
        for side, n in (("left", weld.left), ("right", weld.right))
        if n.kind == "flange"
    ]
    return "; ".join(told)
