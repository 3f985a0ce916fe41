"""The room round a weld in words: what a set-up needs of it side by side, what is free, what was not counted."""

from __future__ import annotations

import re

from halflayer.sheet.figures import Show
from halflayer.technique.result import RuleVerdict

ROOM = "room round the weld"
SIDE = {
    "left": "along the pipe left of the weld",
    "right": "along it right of the weld",
    "sides": "on either side of the pipe",
}
UPRIGHT = {"left": "along the pipe below the weld", "right": "along it above the weld"}  # of a vertical pipe


def held(r: RuleVerdict, show: Show, *, upright: bool = False) -> str:
    """A rule that holds by its name; the room round the weld with what is needed, which those who set up ask for."""
    if r.rule != ROOM:
        return r.rule
    needed = re.sub(r" \([^)]*\)", "", r.reached.split(";")[0]).removeprefix("needed")
    clocks, _, sides = needed.partition(": ")
    bare = re.sub(r" \([^)]*\)", "", r.required).removeprefix("free: ").split(", ")
    free = dict(one.split(" ", 1) for one in bare if " " in one)
    names = SIDE | (UPRIGHT if upright else {})
    told = [
        f"{names.get(side, f'{side} the pipe')} {asked}{f' of {free[side]} free' if side in free else ''}"
        for side, _, asked in (one.partition(" ") for one in sides.split(", "))
        if asked
    ]
    left_out = r.reached.partition("not checked: ")[2]
    counted = f"; not counted, check on site: {left_out}" if left_out and any(s in free for s in SIDE) else ""
    return show.converted(f"{r.rule} ({', '.join(told)}; source{clocks}{counted})") if told else r.rule
