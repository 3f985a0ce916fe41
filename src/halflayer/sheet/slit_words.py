"""Where each piece of a sleeve is slit for the head, in words, so that it can be marked flat."""

from __future__ import annotations

from collections.abc import Sequence

from halflayer.order.equipment import Blanket
from halflayer.scene.head_openings import Opening, flat_openings_m, openings_m
from halflayer.scene.sleeves import Sleeve
from halflayer.scene.winding import piece_numbers, rolls
from halflayer.scene.wrap_layers import WrapLayer
from halflayer.sheet.figures import Show

FLAT = "Openings, marked flat, outer face up, the piece's beginning away from you, so that left is −x"


def slits_said(laid: Sequence[WrapLayer], blanket: Blanket, half_m: float, show: Show) -> str:
    """Openings for the head on every piece of a wound sleeve: where along it, where of its left edge, lean counted.

    The head reaches `half_m` to either side of the weld; empty without a head.
    """
    found = rolls(laid, blanket)
    opened = {
        number: openings_m(laid, found[i], p, half_m) for (i, p), number in piece_numbers(found).items()
    }
    half_round = (laid[0].turn.opening_m if laid[0].turn else None) or 0.0
    size = blanket.width_m, found[0].length_m
    return _told(
        f"{FLAT}: middle from its beginning, then from where to where of its left edge, lean counted",
        opened,
        half_round,
        size,
        show,
    )


def flat_slits_said(
    layers: Sequence[Sleeve], blanket: Blanket, half_m: float, half_round_m: float, show: Show
) -> str:
    """The same of a sleeve laid layer by layer, even layers round the other way; empty without a head."""
    each = flat_openings_m(layers, blanket, half_m, half_round_m)
    opened = dict(enumerate(each, start=1))
    even = " (even layers, laid the other way round: +x)" * (len(layers) > 1)
    head = f"{FLAT}{even}: middle from its beginning, then from where to where of its edge at −x"
    return _told(head, opened, half_round_m, (blanket.width_m, blanket.length_m), show)


def _told(
    head: str, opened: dict[int, list[Opening]], half_round_m: float, size_m: tuple[float, float], show: Show
) -> str:
    """Piece by piece, which are not slit, and what joins the slits of an opening; empty without any."""
    told, whole = [], []
    edge_cut = inside = end_cut = False
    for number, spots in sorted(opened.items()):
        for at, low, high in spots:
            within = low > 1e-9 and high < size_m[0] - 1e-9
            ends = at < half_round_m or at > size_m[1] - half_round_m
            inside, edge_cut, end_cut = inside or within, edge_cut or not within, end_cut or ends
        if spots:
            said = (
                f"{_place(at, show)}: {_place(low, show)} to {_place(high, show)}" for at, low, high in spots
            )
            told.append(f"piece {number} at {', '.join(said)}")
        else:
            whole.append(number)
    if not told:
        return ""
    unit = show.drawn(1.0).split(" ", 1)[1]
    cut = "; inside a piece its two slits are joined halfway by a cut round the pipe: two tongues" * inside
    cut += "; at an edge two slits from it, no cut: one tongue" * edge_cut
    cut += f"; at an end one slit{', the same cut on to the end' * inside}" * end_cut
    none = f"; {', '.join(str(n) for n in whole)} not slit" if whole else ""
    return f"{head} [{unit}]: {'; '.join(told)}{none}{cut}."


def _place(at_m: float, show: Show) -> str:
    """A place from a piece's beginning without its unit; one before it has its sign."""
    return f"{'−' if at_m < -0.0005 else ''}{show.drawn(abs(at_m)).split(' ')[0]}"
