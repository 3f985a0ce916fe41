"""Lean-back: head swung to the clamp's side, leaning back over the weld where the far side has no room."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from halflayer.order.equipment import PlacementName
from halflayer.order.stand_kit import Clamp
from halflayer.technique import room
from halflayer.technique.ask import Ask, Check, Proposal, check
from halflayer.technique.placements.base import GEOMETRY, KIT
from halflayer.technique.placements.stand import stand_proposals
from halflayer.technique.placements.stand_checks import Standing, head_part, neighbours_check
from halflayer.technique.rules import OURS, TechniqueName
from halflayer.technique.words import mm

CLAMP_HEIGHT_M = 0.02  # a clamp stands so far off the pipe, our choice, as in the scene


class LeanBack:
    """Double wall double image as an ellipse, from the other side; small blankets under the pipe make the stop."""

    name: PlacementName = "lean-back"
    technique: TechniqueName = "DWDI ellipse"
    head_kind = "shielded"

    def propose(self, ask: Ask) -> Iterator[Proposal]:
        """The stands that the kit allows, leaned towards the clamp by the step that opens the ellipse."""
        yield from stand_proposals(
            ask, self.technique, arrangement=self.name, leans=True, over_clamp=True, more_checks=back_checks
        )


def back_checks(ask: Ask, s: Standing, clamp: Clamp | None, clamp_x_m: float | None) -> tuple[Check, ...]:
    """Why it stands on this side, the head over the clamp, and blankets for the stop."""
    return far_side_check(ask, s), _over_clamp(ask, s, clamp, clamp_x_m), _blankets(ask)


def far_side_check(ask: Ask, s: Standing) -> Check:
    """Leaning back is for welds whose far side has no room, unless the order asks for it first."""
    away = replace(s, lean_rad=-s.lean_rad, offset_m=-s.offset_m)
    side = "right" if away.offset_m > 0 else "left"
    corners = head_part(ask, away).corners
    reach = max(x for x, _, _ in corners) if side == "right" else -min(x for x, _, _ in corners)
    free = room.free_room(ask.weld)[side]
    meets = neighbours_check(ask, away).verdict
    wanted = list(ask.weld.placements)
    first = wanted.index("lean-back") if "lean-back" in wanted else len(wanted)
    asked = "lean-back" in wanted and "lean-out" not in wanted[:first]
    if free is not None and reach > free[0] + 1e-9:
        reached, holds = f"{mm(free[0])} free on the {side}, the head needs {mm(reach)}", True
    elif meets.verdict == "breaks":
        reached, holds = f"leaning to the {side}, {meets.reached}", True
    elif asked:
        reached, holds = "the order asks for lean-back before lean-out", True
    else:
        reached, holds = f"there is room on the {side}: lean-out does", False
    return check(
        "leaning back only where the far side has no room",
        required="no room for the head away from the clamp",
        reached=reached,
        holds=holds,
        source=f"{GEOMETRY}; {OURS}: lean-out keeps the head off the clamp and takes plates",
        relax=("ask for lean-back in the weld's placements",),
    )


def _over_clamp(ask: Ask, s: Standing, clamp: Clamp | None, clamp_x_m: float | None) -> Check:
    """The lowest corner of the head over the clamp, where it reaches so far along the pipe."""
    need = ask.insulation + CLAMP_HEIGHT_M
    corners = head_part(ask, s).corners
    low = min(z for _, _, z in corners) - ask.radius
    over = False
    if clamp is not None and clamp_x_m is not None:
        half = clamp.width_m / 2
        over = min(x for x, _, _ in corners) < clamp_x_m + half and max(x for x, _, _ in corners) > (
            clamp_x_m - half
        )
    return check(
        "head over the clamp",
        required=f"{mm(need)} above the pipe where the head reaches over the clamp",
        reached=f"{mm(low)}" if over else "the head does not reach over the clamp",
        holds=low >= need - 1e-9 if over else True,
        source=f"{GEOMETRY}; height of a clamp: {OURS}",
        relax=("a flatter clamp or a clamp farther from the weld",),
    )


def _blankets(ask: Ask) -> Check:
    kinds = [b for b in ask.order.kit.blankets if b.count > 0]
    small = min(kinds, key=lambda b: b.width_m * b.length_m, default=None)
    return check(
        "blankets for the stop",
        required="blankets to fold and lay under the pipe in place of plates",
        reached=f"{small.count} of {small.id}, {mm(small.width_m)} wide"
        if small
        else "no blankets in the kit",
        holds=small is not None,
        source=KIT,
        relax=("blankets",),
    )
