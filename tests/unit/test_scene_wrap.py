"""Wraps: the outline that cloth goes round, pieces and seams, and a sleeve that grows so that more layers help."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

import order_factory as of
import placement_orders as po
from halflayer.order.equipment import Blanket
from halflayer.order.models import Order
from halflayer.scene.build import build_scene
from halflayer.scene.fitting import Fitting
from halflayer.scene.outline import circle, convex_hull, perimeter_m, round_m
from halflayer.scene.trace import materials_along
from halflayer.scene.wrap_layers import OVERLAP, covered_m, layer, said, widths_for
from halflayer.shielding import kit
from halflayer.transport.run import transport

points = st.lists(st.tuples(st.floats(-1, 1), st.floats(-1, 1)), min_size=3, max_size=30)


def cloth(**change: object) -> Blanket:
    return Blanket.model_validate({**of.kit()["blankets"][0], **change}, context={"si": True}, by_name=True)


@given(points)
def test_all_points_lie_inside_their_outline(found) -> None:
    hull = convex_hull(found)
    assume(len(hull) >= 3)
    for a, b in zip(hull, hull[1:] + hull[:1], strict=True):
        for p in found:
            assert (b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0]) >= -1e-9
    assert set(hull) <= set(found)


@given(points, st.floats(0.01, 0.5))
@settings(deadline=None)
def test_length_round_is_that_of_the_outline_laid_off(found, off) -> None:
    """Steiner's formula against brute force: a fine circle about every point, and the outline of all of them."""
    laid_off = [c for p in found for c in circle(off, centre=p, steps=720)]
    assert round_m(found, off_m=off) == pytest.approx(perimeter_m(convex_hull(laid_off)), rel=1e-4)


@given(st.floats(0.01, 5.0), st.floats(0.1, 1.5))
def test_fewest_widths_that_cover(along, width) -> None:
    blanket = cloth(width_m=width)
    fewest = widths_for(along, blanket)
    assert covered_m(fewest, blanket) >= along - 1e-9
    assert fewest == 1 or covered_m(fewest - 1, blanket) < along


@given(
    turn=st.floats(0.1, 6.0),
    widths=st.integers(1, 9),
    number=st.integers(1, 9),
    middle=st.floats(-0.2, 0.2),
    extra=st.floats(0, 2),
)
def test_pieces_close_the_turn_and_seams_lie_between_widths(turn, widths, number, middle, extra) -> None:
    blanket = cloth()
    one = layer(blanket, round_m=turn, widths=widths, number=number, middle_m=middle, more_m2=extra)
    assert one.lengths * blanket.length_m * (1 - OVERLAP) >= turn - 1e-9
    assert (one.lengths - 1) * blanket.length_m * (1 - OVERLAP) < turn
    assert one.more * blanket.length_m * blanket.width_m * (1 - OVERLAP) ** 2 >= extra - 1e-9
    assert one.pieces == one.beside * one.lengths + one.more
    assert len(one.seams_x_m) == widths - 1
    step, lap = blanket.width_m * (1 - OVERLAP), blanket.width_m * OVERLAP
    shifted = middle + (lap if number % 2 else -lap)
    assert math.fsum(one.seams_x_m) == pytest.approx(shifted * (widths - 1), abs=1e-9)
    assert all(b - a == pytest.approx(step) for a, b in zip(one.seams_x_m, one.seams_x_m[1:], strict=False))
    # Seams of neighbouring layers lie two overlaps apart: none on another.
    over = layer(blanket, round_m=turn, widths=widths, number=number + 1, middle_m=middle)
    gaps = [abs(a - b) for a in one.seams_x_m for b in over.seams_x_m]
    assert min(gaps, default=lap) >= lap * 0.999
    assert (one.seam_clock_rad > 0) == (number % 2 == 1)


def test_equal_layers_are_said_together() -> None:
    a = layer(cloth(), round_m=0.7, widths=3, number=1)
    b = layer(cloth(), round_m=0.72, widths=3, number=2)
    c = layer(cloth(), round_m=0.74, widths=1, number=3)
    assert said((a, b, c)).startswith(
        "layers 1 to 2: 3 wide x 1 round (1120 mm along, up to 720 mm round); layer 3"
    )


def strapped(**weld: object) -> Order:
    given = {
        "od": 219.1,
        "wall": 8.18,
        "cap": 14.0,
        "left": {"kind": "pipe", "distance_m": 1.5},
        "right": {"kind": "pipe", "distance_m": 1.5},
        **weld,
    }
    return po.order(
        "strap",
        weld=given,
        head={"apertures": of.head()["apertures"], "source_to_face_m": 0.03},
        sources=[of.source(mm=2.0)],
        film=of.film(),
        kit={"blankets": [{**of.kit()["blankets"][0], "count": 90}]},
    )


def built(made: Order, layers: int):
    c = po.best(made, "strap")
    return build_scene(
        made, made.welds[0], c, replace(c.shots[0], source_clock_rad=0.0), Fitting(0, None, layers, "W25")
    )


@pytest.mark.parametrize("layers", [1, 3, 6, 10])
def test_past_every_layers_end_the_slant_way_holds_as_much_mass_as_the_straight_one(layers: int) -> None:
    """From the edge of the lit patch to the wall opposite, at every millimetre along the pipe."""
    made = strapped()
    b, weld = built(made, layers), made.welds[0]
    own, a = weld.pipe.wall * 7850.0, 25.0
    halves = [one.along_m / 2 for one in b.wrap.layers]
    assert len(halves) == layers
    edge = b.footprint_m[0] / 2
    for mm_ in range(1, 3000):
        x = edge + mm_ / 1000
        lying = sum(half >= x for half in halves)
        sine = weld.pipe.bore / math.hypot(weld.pipe.bore, x - edge)
        assert (own + lying * a) / sine >= own + layers * a - 0.1


@pytest.mark.parametrize("layers", [1, 5, 9])
def test_the_scene_holds_the_layers_as_they_are_laid_out(layers: int) -> None:
    made = strapped()
    b = built(made, layers)
    r = made.welds[0].pipe.od / 2
    for x in (0.0, 0.3, 0.5, 0.8, 1.1, 1.5):
        way = materials_along(b.scene, (x, 0.0, -r - 0.001), (0.0, 0.0, -1.0), 0.5)
        thick = sum(d for _, n, d in way if n == "wrap")
        lying = sum(one.along_m / 2 > x for one in b.wrap.layers)
        assert thick == pytest.approx(lying * 0.006, abs=1e-9)


def test_a_sleeve_ends_where_the_straight_pipe_does() -> None:
    made = strapped(right={"kind": "elbow", "distance_m": 0.35})
    b = built(made, 6)
    free = built(strapped(), 6)
    assert b.wrap.layers[0].along_m < free.wrap.layers[0].along_m
    reach = max(s.centre[0] + s.length_m / 2 for s in b.scene.solids if s.name == "wrap")
    whole_widths = 0.4 * (1 - OVERLAP)
    assert reach <= 0.35 + 2 * whole_widths  # whole pieces


def test_pieces_rise_faster_than_layers_and_the_stock_says_how_far() -> None:
    made = strapped()
    pieces = [kit.pieces(made, Fitting(0, None, n, "W25"), built(made, n).wrap) for n in range(9)]
    assert pieces == sorted(pieces)
    assert pieces[8] > 2 * pieces[4] - 1
    blanket = made.kit.blankets[0].model_copy(update={"count": pieces[5]})
    assert kit.layers_in_stock(blanket, lambda n: built(made, n).wrap) == 5


def test_the_beam_against_the_width_of_each_kind() -> None:
    """346 mm of beam: one width of 700 mm covers it, of 300 mm two."""
    small = {**of.kit()["blankets"][0], "id": "N", "width_m": 0.3}
    large = {**of.kit()["blankets"][0], "id": "L", "width_m": 0.7}
    made = po.order("strap", kit={"blankets": [small, large]})
    found = [(b.id, n) for b, n in kit.beam_against_widths(made, 0.346)]
    assert found == [("L", 1), ("N", 2)]


def test_a_tent_goes_round_head_pipe_and_stop() -> None:
    """Section across the pipe: by hand the outline of a 120 x 120 x 160 mm head over a 300 mm stop."""
    from setups import ORDER, candidate

    weld = ORDER.weld("W1")
    way = candidate(weld, "over")
    b = build_scene(ORDER, weld, way, way.shots[0], Fitting(8, "P4", 4, "B25"))
    head_low, head_high = 0.03015 + 0.35 - 0.04, 0.03015 + 0.35 + 0.12
    pack = -(0.03015 + 0.004) - 0.0002 - 0.00015 - 0.001  # film plane 4 mm under the pipe, base, screen, lead
    low = pack - 0.03 - 8 * 0.004
    corners = [(y, z) for y in (-0.06, 0.06) for z in (head_low, head_high)]
    corners += [(y, z) for y in (-0.15, 0.15) for z in (low + 8 * 0.004, low)]
    first = perimeter_m(convex_hull(corners)) + 2 * math.pi * (0.015 + 0.00275)
    rounds = [one.round_m for one in b.wrap.layers]
    assert rounds[0] == pytest.approx(first, abs=1e-9)
    assert rounds[3] - rounds[2] == pytest.approx(2 * math.pi * 0.0055)
    assert b.wrap.layers[0].along_m >= 0.3


@pytest.mark.slow
def test_more_layers_do_help() -> None:
    """Highest H*(10) rate over 24 directions at 6 m, one line of 265 keV: from 2 to 6 layers at least by three."""
    made = strapped()
    top = []
    for layers in (2, 6):
        b = built(made, layers)
        at = {
            f"{15 * k}": b.to_local((6 * math.cos(k * math.pi / 12), 6 * math.sin(k * math.pi / 12), 1.0))
            for k in range(24)
        }
        field = transport(po.problem(b, at, energy_keV=265.0), seed=5, batches=24)
        top.append(max(r.h10_rate_Sv_s * (1 + 1.645 * min(r.h10_sigma_rel, 1.0)) for r in field.readings))
    assert top[1] < top[0] / 3
