"""A wound sleeve opened: where its pieces begin and are slit for the head, what goes on over the last turn."""

from __future__ import annotations

import math
from collections.abc import Sequence

from halflayer.base.result import Derived
from halflayer.order.equipment import Blanket
from halflayer.scene.winding import BEGIN_RAD, HEAD_AT, Roll, lean_m, rolls
from halflayer.scene.wrap_layers import OVERLAP, WrapLayer

GEOMETRY = "elementary geometry"
KIT = "kit of the order"
LAP = Derived("lap", OVERLAP, "1", basis="share of a piece that lies over its neighbour, our choice")
FIRST = Derived("first beginning", BEGIN_RAD, "rad", basis="clock, our choice")


def wound_figures(laid: Sequence[WrapLayer], blanket: Blanket) -> list[Derived]:
    """Begin and slits of the pieces of a width with most turns, and the end of each width; else nothing."""
    found = rolls(laid, blanket)
    if not found or laid[0].turn is None:
        return []
    most = max(found, key=lambda r: len(r.rounds_m))
    rounds = tuple(
        Derived(f"round {n}", r, "m", basis=f"opened under layer_{n}_round")
        for n, r in enumerate(most.rounds_m, start=1)
    )
    length = Derived("length", blanket.length_m, "m", source=KIT)
    out = [
        Derived(
            "wound_aslant",
            laid[0].turn.aslant_m,
            "m",
            formula="width x lap, less where there is less room to the pipe's end",
            inputs=(Derived("width", blanket.width_m, "m", source=KIT), LAP),
            source=GEOMETRY,
            basis="to one side of its place along the pipe where a piece begins, to the other where it ends",
        )
    ]
    for p in range(1, len(most.begins_m) + 1):
        out += _piece(most, laid, p, length, rounds)
    for turns in sorted({len(r.rounds_m) for r in found}):
        roll = next(r for r in found if len(r.rounds_m) == turns)
        out += _end(roll, turns, length, rounds[:turns], blanket)
    return out


def _piece(
    roll: Roll, laid: Sequence[WrapLayer], p: int, length: Derived, rounds: tuple[Derived, ...]
) -> list[Derived]:
    begin = roll.begins_m[p - 1]
    along = Derived(
        f"wound_{p}_along",
        begin,
        "m",
        formula="(place in its width - 1) x length x (1 - lap)",
        inputs=(Derived("place in its width", p, "1"), length, LAP),
        source=GEOMETRY,
        basis="where the piece begins, along all turns from the first one's beginning",
    )
    before = [one.turn.before_m for one in laid if one.turn]
    n = max(i for i, under in enumerate(before) if under <= begin + 1e-9)
    out = [
        along,
        Derived(
            f"wound_{p}_begins",
            BEGIN_RAD + 2 * math.pi * (begin - before[n]) / laid[n].round_m,
            "rad",
            formula="first beginning + 2 pi x (along - turns under it) / round",
            inputs=(
                FIRST,
                along.named(),
                Derived("turns under it", before[n], "m", basis="sum of their rounds"),
                rounds[n],
            ),
            source=GEOMETRY,
            basis=f"clock in layer {n + 1}",
        ),
    ]
    share = Derived(
        "to the head", HEAD_AT, "1", basis="share of a turn from its beginning to the head's middle"
    )
    for i, slit in enumerate(roll.slits_m[p - 1], start=1):
        out.append(
            Derived(
                f"wound_{p}_slit_{i}",
                slit,
                "m",
                formula="sum of the rounds under that turn + to the head x its round - along",
                inputs=(*rounds, share, along.named()),
                source=GEOMETRY,
                basis="middle of the opening for the head, from the piece's beginning; turns that go on over the last "
                "are longer by 2 pi x thickness each",
            )
        )
        turn = laid[0].turn
        assert turn is not None
        if turn.aslant_m < 0.0005:
            continue
        out.append(
            Derived(
                f"wound_{p}_slit_{i}_lean",
                lean_m(turn, roll.length_m, p - 1, slit),
                "m",
                formula="aslant x (2 x slit / length - 1) in odd pieces of a width, the negative in even ones",
                inputs=(
                    Derived("aslant", turn.aslant_m, "m", basis="opened under wound_aslant"),
                    out[-1].named(),
                    length,
                ),
                source=GEOMETRY,
                basis="how far right of its place drawn the piece lies there, the opening so much nearer its left edge",
            )
        )
    return out


def _end(
    roll: Roll, turns: int, length: Derived, rounds: tuple[Derived, ...], blanket: Blanket
) -> list[Derived]:
    p = len(roll.begins_m)
    over = Derived(
        f"layer_{turns}_over",
        roll.over_m,
        "m",
        formula="last beginning + length - sum of the rounds",
        inputs=(
            Derived("last beginning", roll.begins_m[-1], "m", basis=f"opened under wound_{p}_along"),
            length,
            *rounds,
        ),
        source=GEOMETRY,
        basis=f"goes on over layer {turns}, where a width ends with it; no dose counts on it",
    )
    thick = Derived("thickness", blanket.thickness_m, "m", source=KIT)
    onward = Derived(
        f"layer_{turns}_over_turns",
        roll.over_turns,
        "1",
        formula="turns that it makes, each longer than the one under it by 2 pi x thickness",
        inputs=(over.named(), rounds[-1], thick),
        source=GEOMETRY,
    )
    return [
        over,
        onward,
        Derived(
            f"layer_{turns}_ends",
            roll.ends_rad,
            "rad",
            formula="first beginning + 2 pi x turns over",
            inputs=(FIRST, onward.named()),
            source=GEOMETRY,
            basis="clock at which the last piece ends",
        ),
    ]
