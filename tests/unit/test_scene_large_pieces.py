"""Two widths of one cloth round a strapped head: large pieces in the beam and over the head, small ones besides."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

import order_factory as of
import placement_orders as po
from halflayer.order.equipment import Blanket
from halflayer.order.models import Order
from halflayer.scene.build import Built, build_scene
from halflayer.scene.fitting import Fitting
from halflayer.scene.large_pieces import BEYOND_M, larger_of_same_cloth, mixed_layer, patch_of
from halflayer.scene.trace import materials_along
from halflayer.scene.winding import SPARE
from halflayer.scene.wrap_layers import OVERLAP, said
from halflayer.sheet.figures import Show
from halflayer.sheet.layers import layer_rows
from halflayer.shielding import kit, trail
from halflayer.shielding.crew import mounting_s

# 25 kg/m2: a small piece weighs 0.3 x 1.2 x 25 = 9 kg, a large one 0.7 x 1.5 x 25 = 26.25 kg.
CLOTH = of.kit()["blankets"][0]
SMALL = {**CLOTH, "id": "N", "width_m": 0.3, "length_m": 1.2, "count": 150, "mounting_s": 45.0}
LARGE = {**CLOTH, "id": "L", "width_m": 0.7, "length_m": 1.5, "count": 12, "mounting_s": 90.0}
WIDE = {"id": "P", "shape": "rectangular", "half_along_rad": math.radians(20), "half_across_rad": 0.6}


def cloth(given: dict, **change: object) -> Blanket:
    return Blanket.model_validate({**given, **change}, context={"si": True}, by_name=True)


def strapped(*blankets: dict, od: float = 508.0, right_m: float = 1.5) -> Order:
    return po.order(
        "strap",
        weld={
            "od": od,
            "wall": 9.53,
            "cap": 14.0,
            "left": {"kind": "pipe", "distance_m": 1.5},
            "right": {"kind": "elbow", "distance_m": right_m},
        },
        head={"apertures": [WIDE], "source_to_face_m": 0.03},
        sources=[of.source(mm=2.0)],
        film=of.film(),
        kit={"blankets": list(blankets)},
    )


def built(made: Order, layers: int, kind: str = "N") -> Built:
    c = po.best(made, "strap")
    return build_scene(
        made, made.welds[0], c, replace(c.shots[0], source_clock_rad=0.0), Fitting(0, None, layers, kind)
    )


def test_large_pieces_of_a_layer_by_hand() -> None:
    """0.43 + 0.2 m of beam lie within one width of 0.7 m; 0.7 + 0.2 m of arc within one length of 1.5 m, while the
    turn of 1.68 m would take two; 0.065 m2 of hood lie within one piece.
    """
    patch = patch_of(cloth(LARGE), footprint_m=(0.43, 0.70), round_m=1.68, hood_m2=0.065)
    assert (patch.beside, patch.lengths, patch.over_head, patch.pieces) == (1, 1, 1, 2)
    assert (patch.along_m, patch.round_m) == (0.7, 1.5)


def test_small_pieces_fill_the_rest_by_hand() -> None:
    """From -0.8 to 0.5 m: beyond the 0.35 m of the large piece a width adds 0.27 m, so two widths on the left and one
    on the right; each ring takes two lengths of 1.08 m for 1.68 m. On the head's side 0.18 m are open under the
    three widths that 0.7 m take (0.3 + 2 x 0.27), one length each.
    """
    patch = patch_of(cloth(LARGE), footprint_m=(0.43, 0.70), round_m=1.68, hood_m2=0.065)
    one, middle = mixed_layer(cloth(SMALL), cloth(LARGE), patch, span_m=(-0.8, 0.5), round_m=1.68, number=1)
    assert (one.beside, one.lengths, one.more, one.pieces) == (3, 2, 3, 9)
    assert one.along_m == pytest.approx(0.7 + 3 * 0.27)
    assert middle == pytest.approx(-0.135)  # from -0.89 to 0.62 m
    # Laps of 30 mm, their middles 15 mm inside the large piece's edges and 270 mm on, all shifted by 30 mm.
    assert one.seams_x_m == pytest.approx((-0.575, -0.305, 0.365))
    assert said((one,)) == (
        "layer 1: L 1 wide x 1 round on the far side and 1 over the head, beside it 3 wide x 2 round and 3 more "
        "(1510 mm along, up to 1680 mm round)"
    )


def test_large_pieces_that_close_the_turn_leave_nothing_to_fill() -> None:
    """A turn of 1.3 m is less than the 1.35 m that a lapped length of 1.5 m closes."""
    patch = patch_of(cloth(LARGE), footprint_m=(0.43, 0.70), round_m=1.3, hood_m2=0.065)
    one, _ = mixed_layer(cloth(SMALL), cloth(LARGE), patch, span_m=(-0.3, 0.3), round_m=1.3, number=1)
    assert patch.round_m == 1.3
    assert (one.beside, one.lengths, one.more, one.pieces) == (0, 0, 0, 0)
    assert said((one,)).startswith("layer 1: L 1 wide x 1 round on the far side and 1 over the head (700 mm")


@given(
    along=st.floats(0.31, 2.0), across=st.floats(0.1, 3.0), turn=st.floats(0.3, 6.0),
    left=st.floats(0.2, 3.0), right=st.floats(0.2, 3.0), number=st.integers(1, 6),
)  # fmt: skip
def test_the_beam_lies_under_large_pieces_and_all_of_the_layer_is_covered(
    along, across, turn, left, right, number
) -> None:
    small, large = cloth(SMALL), cloth(LARGE)
    patch = patch_of(large, footprint_m=(along, across), round_m=turn, hood_m2=0.065)
    assert patch.along_m >= along + 2 * BEYOND_M - 1e-9
    assert patch.round_m >= min(turn, across + 2 * BEYOND_M) - 1e-9
    one, middle = mixed_layer(small, large, patch, span_m=(-left, right), round_m=turn, number=number)
    assert middle - one.along_m / 2 <= -left + 1e-9
    assert middle + one.along_m / 2 >= right - 1e-9
    # Cloth that lies there, laps counted twice, is never less than the layer's own area.
    area = one.pieces * 0.3 * 1.2 + (patch.pieces - patch.over_head) * 0.7 * 1.5
    assert area >= one.along_m * turn - 1e-9
    # No small width's seam within the lit patch; seams of the next layer lie two laps off.
    if patch.beside == 1:
        assert all(abs(x) >= along / 2 for x in one.seams_x_m)
    over, _ = mixed_layer(small, large, patch, span_m=(-left, right), round_m=turn, number=number + 1)
    gaps = [abs(a - b) for a, b in zip(one.seams_x_m, over.seams_x_m, strict=True)]
    assert all(g == pytest.approx(2 * OVERLAP * 0.3) for g in gaps)


def test_only_wider_pieces_of_the_same_cloth_and_only_where_the_beam_outgrows_the_small_ones() -> None:
    small, large = cloth(SMALL), cloth(LARGE)
    assert larger_of_same_cloth((small, large), small, along_m=0.31) == large
    assert larger_of_same_cloth((small, large), small, along_m=0.30) is None
    assert larger_of_same_cloth((small, large), large, along_m=0.9) is None
    for change in ({"areal_density_kg_m2": 20.0}, {"thickness_m": 0.005}, {"tolerance": 0.1}, {"count": 0}):
        assert larger_of_same_cloth((small, cloth(LARGE, **change)), small, along_m=0.5) is None


def test_kit_list_mass_and_time_count_both_kinds() -> None:
    """One layer: 2 large pieces and 4 x 2 + 3 small ones; 2 x 26.25 + 11 x 9 = 151.5 kg; 2 x 90 + 11 x 45 s."""
    made = strapped(SMALL, LARGE)
    fitting, b = Fitting(0, None, 1, "N"), built(made, 1)
    assert (b.wrap.layers[0].beside, b.wrap.layers[0].lengths, b.wrap.layers[0].more) == (4, 2, 3)
    assert [(k.id, n) for k, n in kit.taken(made, fitting, b.wrap)] == [("N", 11), ("L", 2)]
    assert kit.added_mass_kg(made, fitting, b.wrap) == pytest.approx(151.5)
    items = kit.items(made, made.welds[0], po.best(made, "strap"), fitting, b.wrap)
    cloths = {i.id: i for i in items if i.what == "blanket"}
    assert {i: c.pieces for i, c in cloths.items()} == {"N": 11, "L": 2}
    assert {i: c.mass_kg for i, c in cloths.items()} == pytest.approx({"N": 99.0, "L": 52.5})
    assert cloths["L"].note == "large pieces in 1 of 1 layers: on the far side and over the head"
    assert mounting_s(made, items) == pytest.approx(2 * 90 + 11 * 45)
    assert kit.cost_s(made, fitting, b.wrap) == pytest.approx(2 * 90 + 11 * 45 + 151.5 * kit.CARRY_S_PER_KG)


def test_layers_beyond_the_stock_of_large_pieces_are_laid_of_small_ones() -> None:
    """12 large pieces, two a layer: six layers. The stock of small ones bounds the number of layers."""
    made = strapped(SMALL, LARGE)
    b = built(made, 9)
    assert [one.patch is not None for one in b.wrap.layers] == [True] * 6 + [False] * 3
    assert {k.id: n for k, n in kit.taken(made, Fitting(0, None, 9, "N"), b.wrap)}["L"] == 12
    assert b.wrap.outline.endswith(
        "L on the far side, 700 mm along the pipe, and over the head in layers 1 to 6"
    )
    blanket = cloth(SMALL, count=b.wrap.pieces(9))
    assert kit.layers_in_stock(blanket, lambda n: built(made, n).wrap) == 9
    short = cloth(SMALL, count=b.wrap.pieces(9) - 1)
    assert kit.layers_in_stock(short, lambda n: built(made, n).wrap) == 8


@pytest.mark.parametrize("right_m", [1.5, 0.5])
@pytest.mark.parametrize("layers", [1, 4, 8])
def test_the_scene_holds_the_layers_as_the_kit_list_counts_them(layers: int, right_m: float) -> None:
    """Cloth met below the pipe at x against the layers whose whole pieces reach there, mixed and small alike."""
    made = strapped(SMALL, LARGE, right_m=right_m)
    b, r = built(made, layers), made.welds[0].pipe.od / 2
    tubes = [s for s in b.scene.solids if s.name == "wrap"]
    ends = sorted({round(s.centre[0] + e * s.length_m / 2, 6) for s in tubes for e in (-1, 1)})
    for x in [0.0, *(e + d for e in ends for d in (-0.004, 0.004))]:
        way = materials_along(b.scene, (x, 0.0, -r - 0.001), (0.0, 0.0, -1.0), 0.5)
        thick = sum(d for _, n, d in way if n == "wrap")
        lying = sum(s.wall_m for s in tubes if abs(x - s.centre[0]) < s.length_m / 2)
        assert thick == pytest.approx(lying, abs=1e-9)
    whole = sum(s.wall_m for s in tubes)
    assert whole == pytest.approx(layers * 0.006)
    lengths = sorted(round(one.along_m, 9) for one in b.wrap.layers)
    assert sorted({round(s.length_m, 9) for s in tubes}) == sorted(set(lengths))


def test_the_sheet_says_which_pieces_lie_where() -> None:
    """Layer 1: 52.5 + 99 = 151.5 kg."""
    made = strapped(SMALL, LARGE)
    b = built(made, 2)

    class Accepted:
        fitting = Fitting(0, None, 2, "N")

    told = layer_rows(made, Accepted(), b, Show())  # type: ignore[arg-type]
    assert told["rows"][0]["pieces"] == "2 large: 1 × 1 + 1; 11: 4 × 2 + 3"
    assert told["rows"][0]["mass"] == Show().value(151.5, "mass")
    assert "large: L, 700 × 1500 mm, on the far side and over the head" in told["note"]


def test_the_plan_names_the_large_kind_where_the_beam_outgrows_the_small_one() -> None:
    made = strapped(SMALL, LARGE)
    b = built(made, 2)

    class Setting:
        order, weld, candidate = made, made.welds[0], po.best(made, "strap")
        head = made.heads[0]

    (note,) = trail.footprint_findings(Setting(), b, Fitting(0, None, 2, "N"))  # type: ignore[arg-type]
    along = b.footprint_m[0] * 1000
    assert f"the beam lights {along:.0f} mm along the pipe" in note.text
    assert "more than the 300 mm width of a blanket" in note.text
    assert note.text.endswith(
        "L (700 mm) 1 wide, N (300 mm) 2 wide. L lies on the far side and over the head"
    )


def test_a_beam_wider_than_the_plates_of_the_stop_is_told() -> None:
    """A stop of 120 x 250 mm under a beam of about 200 mm is said to be passed by; one of 220 x 250 mm is not."""
    said = []
    for along_m in (0.12, 0.22):
        plate = {**of.kit()["plates"][0], "along_m": along_m}
        made = po.order(
            "over",
            head={"apertures": [{"id": "R", "shape": "round", "half_angle_rad": 0.2}]},
            kit={"plates": [plate]},
        )
        way = po.best(made, "over")
        fitting = Fitting(3, plate["id"], 0, None)
        b = build_scene(made, made.welds[0], way, way.shots[0], fitting)

        class Setting:
            order, weld, candidate, head = made, made.welds[0], way, made.heads[0]

        assert 0.12 < b.footprint_m[0] < 0.22
        said.append(trail.footprint_findings(Setting(), b, fitting))  # type: ignore[arg-type]
        along, across = (1000 * f for f in b.footprint_m)
    (warning,), none = said
    assert (warning.level, none) == ("warn", [])
    assert f"the beam lights {along:.0f} x {across:.0f} mm on the stop" in warning.text
    assert "the plates are 120 x 250 mm: what passes beside them is in the dose" in warning.text


def test_one_kind_alone_is_laid_as_before() -> None:
    made = strapped(SMALL)
    b = built(made, 3)
    assert all(one.patch is None for one in b.wrap.layers)
    items = kit.items(made, made.welds[0], po.best(made, "strap"), Fitting(0, None, 3, "N"), b.wrap)
    n = b.wrap.pieces(3)
    found = [(i.id, i.pieces, i.mass_kg) for i in items if i.what == "blanket"]
    assert found == [("N", n, pytest.approx(9.0 * n))]


@pytest.mark.parametrize("od", [406.4, 508.0])
@pytest.mark.parametrize("layers", [2, 5, 8])
def test_winding_the_small_widths_beside_large_pieces_would_save_little(od: float, layers: int) -> None:
    """What `docs/assumptions.md` says of a sleeve that is not wound: an arc or a close turn, and 15 % at most is saved.

    Wound, a width takes ceil(sum of its rounds / (length - lap)) pieces: elementary, as `scene.winding` has it.
    """
    large = {**LARGE, "count": 60}
    laid = built(strapped(SMALL, large, od=od), layers).wrap.layers[:layers]
    for one in laid:
        assert one.patch is not None
        over = one.patch.lengths * LARGE["length_m"] * (1 - OVERLAP) - one.round_m
        assert one.patch.round_m < one.round_m or over <= SPARE * one.round_m
    small, step = sum(one.pieces for one in laid), SMALL["length_m"] * (1 - OVERLAP)
    wound = sum(one.more for one in laid)
    for width in range(max(one.beside for one in laid)):
        wound += math.ceil(math.fsum(one.round_m for one in laid if one.beside > width) / step - 1e-9)
    each = 9.0  # kg, by hand above
    whole = small * each + 26.25 * sum(one.patch.pieces for one in laid if one.patch)
    assert wound <= small
    assert (small - wound) * each <= 0.155 * whole
