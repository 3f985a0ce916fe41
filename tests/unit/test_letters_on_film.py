"""Lead letters and what the film shows of them: straight rays from the source, by geometry alone."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from halflayer.exposure.beam_room import wire_points
from halflayer.order.models import Order
from halflayer.order.read import read_order
from halflayer.sheet.letters_on_film import EDGE_M, falls_on_film, image_of, surface_of
from halflayer.sheet.letters_place import letters_place
from halflayer.technique.choose import choose_technique
from halflayer.technique.result import Candidate

EXAMPLE = Path(__file__).parents[2] / "examples" / "tarn-mill.yaml"
ORDER = read_order(EXAMPLE)


def ways(order: Order, name: str) -> list[Candidate]:
    """One way of each arrangement and opening."""
    found: dict[tuple[str, str | None], Candidate] = {}
    for c in choose_technique(order, order.weld(name)).admissible:
        found.setdefault((c.arrangement, c.aperture), c)
    return list(found.values())


@pytest.mark.parametrize("name", [w.id for w in ORDER.welds])
def test_all_letters_fall_on_the_film(name: str) -> None:
    """Each corner's image lies within the sheet, and on the line from the source through the corner."""
    weld = ORDER.weld(name)
    for c in ways(ORDER, name):
        found = letters_place(ORDER, weld, c, None) if c.arrangement != "bore" else None
        if found is None:
            continue
        film = surface_of(ORDER, weld, c)
        assert film is not None
        wide, along = found.room_m
        source = (c.geometry.axial_offset_m, 0.0, weld.pipe.od / 2 + c.geometry.standoff_m)
        at = found.clocks_rad[0] - c.shots[0].source_clock_rad
        for x in (found.at_m, found.at_m + math.copysign(along, found.at_m)):
            for p in wire_points(weld, x_m=x, from_source_rad=at, length_m=wide):
                image = image_of(film, source, p)
                assert image is not None
                u, v = image
                assert abs(u) <= film.width_m / 2 - EDGE_M + 1e-6, (c.arrangement, c.aperture)
                assert abs(v) <= film.length_m / 2 - EDGE_M + 1e-6, (c.arrangement, c.aperture)
                there, through = film.at(u, v), [a - b for a, b in zip(p, source, strict=True)]
                on = [a - b for a, b in zip(there, source, strict=True)]
                share = sum(a * b for a, b in zip(on, through, strict=True)) / sum(a * a for a in through)
                assert on == pytest.approx([share * a for a in through], abs=1e-9)


def test_letters_that_would_fall_past_the_film_are_smaller() -> None:
    """W9: half the film is 50 mm, three lines of 10 mm from 17 mm off the weld's middle end at 17 + 33 = 50 mm."""
    weld = ORDER.weld("W9")
    c = next(c for c in ways(ORDER, "W9") if c.arrangement == "strap")
    at = math.pi  # the film's side
    for along, there in ((0.033, False), (0.020, True)):
        far = wire_points(weld, x_m=-0.017 - along, from_source_rad=at, length_m=0.048)
        assert falls_on_film(ORDER, weld, c, far) == there
    found = letters_place(ORDER, weld, c, None)
    assert found is not None and found.takes == "all" and abs(found.at_m) + found.room_m[1] < 0.047
