"""The rule on the opening of an ellipse: between which edges it is told, and whose bounds it is held to."""

from __future__ import annotations

import math

from halflayer.order.stand_kit import Legs
from halflayer.technique.ask import Ask, Check, Proposal, check
from halflayer.technique.ellipse import (
    ABOUT_SHARE,
    FILM_SHARE,
    LARGEST_OPENING_M,
    LEAST_OPENING_M,
    opening_m,
    parted_m,
)
from halflayer.technique.result import RuleVerdict
from halflayer.technique.rules import APART
from halflayer.technique.words import deg, fine_mm, mm

HOLES, MOST_STEPS = 20, 500  # farther holes and steps of lean looked at: our choice
RULE = "opening of the ellipse"
IN_WINDOW = "in our window"  # printed in place of "holds": the code states no tolerance that could be held
LESS = "if accepted"  # the same where it lacks, or has, more than "about" allows
PAST_ASKED = " than asked: "
ACCEPTS = "both Level 3 accept it (order, “By agreement only”)"


def is_off(r: RuleVerdict) -> bool:
    """Whether a verdict is that of an opening less or more than about what is asked."""
    return r.rule == RULE and PAST_ASKED in r.reached


def opening_checks(ask: Ask, p: Proposal) -> list[Check]:
    """The opening as planned against the code's "about" and our bounds; empty without an ellipse."""
    answer = ask.rules.opening(p.technique, weld_width_m=ask.weld.cap.width_m)
    if answer.value is None or p.opening_m is None:
        return []
    parted = parted_m(offset_m=p.offset_m, standoff_m=p.standoff_m, diameter_m=ask.od, gap_m=ask.gap)
    about = f"about {fine_mm(answer.value)}, one weld width, between the inner edges"
    about_m = ABOUT_SHARE * answer.value + 1e-9
    off = (
        "" if abs(p.opening_m - answer.value) <= about_m else "LESS" if p.opening_m < answer.value else "MORE"
    )
    # Past it the film is held to what is asked on one side, to what is planned on the other (`on_film_m`).
    share = f"{100 * FILM_SHARE:g} %"
    film = f"{share} past asked, past planned on film" if off else f"± {share} on film"
    ours = f"± {100 * ABOUT_SHARE:g} % as planned, past it only if accepted, {film}"
    window = (
        f"our window: about is {ours} (our choice); "
        f"{mm(LEAST_OPENING_M)} to {mm(LARGEST_OPENING_M)} at all (GB 3323-87; r)"
    )
    said = (
        f"the images apart (code, no distance); {about}: our choice; {window}"
        if answer.note.startswith(APART)
        else f"{about} of the two images (code, no tolerance); {window}"
    )
    # Apart is all that is asked of some welds: then none is more than asked.
    said_off = (
        f"; {off}{PAST_ASKED}{ACCEPTS}{_next_step(ask, p, off)}"
        if off and (off == "LESS" or APART not in answer.note)
        else ""
    )
    return [
        check(
            RULE,
            required=said,
            reached=f"{mm(p.opening_m)} between inner edges, {mm(parted)} from middle to middle, with an offset of "
            f"{mm(abs(p.offset_m))}{said_off}",
            holds=LEAST_OPENING_M - 1e-9 <= p.opening_m <= LARGEST_OPENING_M + 1e-9,
            source=f"{answer.source} ({answer.note})",
            relax=("legs that lean in finer steps or farther",),
        )
    ]


def _next_step(ask: Ask, p: Proposal, off: str) -> str:
    """What the next step of the legs towards the opening asked brings: why it is not nearer; empty without such legs.

    The legs turn about the pipe's axis, so that the source keeps its distance from it.
    """
    legs = next((g for g in ask.order.kit.legs if g.id == p.legs), None)
    axis = ask.od / 2 + p.standoff_m
    lean = math.atan2(abs(p.offset_m), axis)
    if legs is None or lean <= legs.lean_step_rad:
        return ""
    far = math.hypot(p.offset_m, axis)
    opens = _opens(ask, far, lean + legs.lean_step_rad * (-1 if off == "MORE" else 1))
    way = "less" if off == "MORE" else "more"
    return (
        f"; one step of {deg(legs.lean_step_rad)} {way} opens {mm(opens)}{_farther_hole(ask, p, legs, far)}"
    )


def _opens(ask: Ask, far_m: float, lean_rad: float) -> float:
    """The opening [m] of a source so far from the pipe's axis, leaning so."""
    return opening_m(
        offset_m=far_m * math.sin(lean_rad),
        standoff_m=far_m * math.cos(lean_rad) - ask.od / 2,
        diameter_m=ask.od,
        gap_m=ask.gap,
        weld_width_m=ask.weld.cap.width_m,
    )


def _farther_hole(ask: Ask, p: Proposal, legs: Legs, far_m: float) -> str:
    """The next hole with a step of lean that opens about what is asked, else the one nearest to it, or that none is.

    Farther off the least distance is kept; by geometry alone: time, shield, film and room are another plan's.
    """
    asked = ask.rules.opening(p.technique, weld_width_m=ask.weld.cap.width_m).value
    if asked is None or p.leg_hole is None:
        return ""
    last = math.floor((legs.reach_max_m - legs.reach_min_m) / legs.hole_pitch_m + 1e-9) + 1
    steps = min(math.floor(legs.lean_max_rad / legs.lean_step_rad + 1e-9), MOST_STEPS)
    best = (abs((p.opening_m or 0.0) - asked), "no farther hole is nearer to it")
    for hole in range(p.leg_hole + 1, min(last, p.leg_hole + HOLES) + 1):
        at_m = far_m + (hole - p.leg_hole) * legs.hole_pitch_m
        for lean in (k * legs.lean_step_rad for k in range(1, steps + 1)):
            opens = _opens(ask, at_m, lean)
            if abs(opens - asked) < best[0] - 1e-6:
                best = abs(opens - asked), f"hole {hole} at {deg(lean)} {mm(opens)} (geometry alone)"
        if best[0] <= ABOUT_SHARE * asked + 1e-9:
            break
    return f", {best[1]}"
