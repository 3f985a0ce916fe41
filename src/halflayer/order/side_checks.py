"""What can be wrong with the two sides of a weld: a wall of one side that cannot be."""

from __future__ import annotations

from collections.abc import Iterator

from halflayer.order.weld import Weld


def side_problems(weld: Weld) -> Iterator[tuple[str, str, str]]:
    """Side, what is wrong with its wall, what would be accepted; the pipe's sizes must be known."""
    least, most = weld.pipe.wall, weld.pipe.od / 2
    for side, neighbour in (("left", weld.left), ("right", weld.right)):
        thick = neighbour.wall_m
        if thick is not None and not least <= thick < most:
            text = "the wall of a side is thinner than the pipe's, or no wall at all"
            accepted = (
                f"from {least * 1000:.3g} mm (the thinner wall is the pipe's) to below {most * 1000:.3g} mm"
            )
            yield side, text, accepted
