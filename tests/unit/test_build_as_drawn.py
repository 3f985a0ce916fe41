"""Set-ups as hands build them: legs on their pins, shrouds that go in past them, plates held, sleeves within a pipe.

Sources: elementary geometry, by hand in each test; what is common practice without a source says so.
"""

from __future__ import annotations

import math
import re
from dataclasses import replace
from types import SimpleNamespace as Bag
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

import order_factory as of
import placement_orders as po
from halflayer.order.models import Order
from halflayer.scene.build import Built, build_scene
from halflayer.scene.covers import cover_lay
from halflayer.scene.fitting import Fitting
from halflayer.scene.frame import about_x
from halflayer.scene.pipework import outside_radius
from halflayer.scene.solids import Box, Tube
from halflayer.scene.stand import LEG_RADIUS_M
from halflayer.scene.trace import material_at
from halflayer.scene.winding import wound
from halflayer.scene.wrap_layers import lap_m
from halflayer.sheet import clock, insulation_words, shroud_parts
from halflayer.sheet.figures import Show
from halflayer.sheet.laying import Hood
from halflayer.sheet.plate_holder import hanger_lines, hangers_y_m, pins_y_m
from halflayer.sheet.room_words import held
from halflayer.sheet.shroud_laid import shroud_laid
from halflayer.sheet.sleeve_ends import hood_ends
from halflayer.sheet.slit_words import slits_said
from halflayer.sheet.svg import Canvas
from halflayer.shielding import wrapped_room
from halflayer.shielding.result import Item
from halflayer.technique import room
from halflayer.technique.result import Candidate, RuleVerdict
from halflayer.technique.tube_room import beside_check

STOP = Fitting(4, "PB3")


def stood(made: Order, name: str, n: int = 0, fitting: Fitting = STOP) -> tuple[Candidate, Built]:
    c = po.best(made, name)
    return c, build_scene(made, made.welds[0], c, c.shots[n], fitting)


def tubes(built: Built, start: str) -> list[Tube]:
    return [s for s in built.scene.solids if isinstance(s, Tube) and s.name.startswith(start)]


@pytest.mark.parametrize("name", ["over", "lean-out"])
def test_a_leg_is_as_long_as_its_hole_whatever_the_lean(name: str) -> None:
    """Half the pipe and the hole's reach from pin to source: the source turns about the axis at the weld."""
    made = po.order(name)
    c, built = stood(made, name)
    want = made.welds[0].pipe.od / 2 + po.setting(c, "reach")
    for leg in tubes(built, "leg "):
        assert leg.length_m == pytest.approx(want)
    for arm in tubes(built, "arm "):  # from the clamp to the pin in the weld plane
        assert arm.length_m == pytest.approx(abs(c.clamp_x_m or 0.0))
        assert abs(arm.centre[0]) == pytest.approx(abs(c.clamp_x_m or 0.0) / 2)


@pytest.mark.parametrize("name", ["over", "over-shrouded"])
def test_legs_stand_beside_shroud_and_beam(name: str) -> None:
    shrouds = [po.shroud()] if name == "over-shrouded" else []
    made = po.order(name, kit={"shrouds": shrouds})
    _, built = stood(made, name)
    inner = (pins_y_m(built) or 0.0) - LEG_RADIUS_M
    half = built.rect[1] if built.rect else built.half_angle_rad or 0.0
    assert inner > built.beam.at[2] * math.tan(half)
    if shrouds:
        assert inner > shrouds[0]["inner"][1] / 2 + shrouds[0]["wall_m"]


def test_an_arm_that_does_not_reach_is_told() -> None:
    """The clamp of the small kit stands 150 mm from the weld."""
    legs = of.kit()["legs"][0]
    fits = po.best(po.order("over", kit={"legs": [{**legs, "arm": [0.12, 0.16]}]}), "over")
    short = po.best(po.order("over", kit={"legs": [{**legs, "arm": [0.12, 0.14]}]}), "over")
    assert po.rule(fits, "legs").verdict == "holds"
    assert po.rule(short, "legs").verdict == "breaks"


def laid(parts: str | None, n: int = 0) -> tuple[dict[str, Any], Order, Candidate, Built]:
    made = po.order("over-shrouded", kit={"shrouds": [po.shroud(parts=parts)]})
    c, built = stood(made, "over-shrouded", n)
    items = (Item("PB3", "stop", 4, 6.8), Item(c.shroud or "", "shroud", 1, 24.0))
    shielding: Any = Bag(fitting=STOP, items=items)
    found = shroud_laid(made, made.welds[0], c, shielding, built, Show())
    assert found is not None
    return found, made, c, built


def test_halves_at_the_axis_go_in_between_the_legs() -> None:
    found, _, _, _ = laid("at the pipe's axis")
    one, two = found["steps"][:2]
    assert "head half and foot half." in one and "Arms and legs clear it" in one
    assert two.startswith("Head half over the pipe from the source's side")
    assert 'class="leg"' in found["svg"] and 'class="plate holder"' in found["svg"]
    plates = next(s for s in found["steps"] if s.startswith("Last the plates"))
    assert "6.8 kg, against its foot" in plates and "hangs on the legs' pins" in plates


def test_halves_from_the_sides_go_in_before_the_legs() -> None:
    found, _, _, _ = laid("along the beam")
    assert "without arms and legs" in found["steps"][0]
    assert "Arms and legs (broken lines) last" in found["steps"][1]


def test_how_a_shroud_parts_is_asked_where_the_order_does_not_say() -> None:
    for parts, asks in ((None, True), ("along the beam", False)):
        found, made, c, _ = laid(parts)
        told = shroud_parts.words(made, Bag(chosen=c))  # type: ignore[arg-type]
        assert bool(told) == asks
        assert ("the kit does not say" in found["steps"][0]) == asks


def test_the_film_lies_beyond_the_pipe_whatever_the_clock() -> None:
    """In the view along the pipe the film is drawn as far below the pipe's middle as it lies off the axis."""
    heights = []
    for n in range(3):
        _, made, c, built = laid("at the pipe's axis", n)
        assert len(c.shots) == 3
        centre = about_x(built.film.centre, -built.clock_rad)
        assert math.hypot(*built.film.centre[1:]) == pytest.approx(-centre[2])
        assert -centre[2] > made.welds[0].pipe.od / 2
        found, *_ = laid("at the pipe's axis", n)
        lines = [p for p in found["svg"].split("<") if 'class="film"' in p]
        assert len(lines) == 2
        heights.append(lines)
    assert heights[0] == heights[1] == heights[2]


def test_the_holder_hangs_outside_film_and_beam() -> None:
    """Plates 250 mm across: hangers 8 mm beside them, the film or the beam, or at the pins where those stand wider."""
    made = po.order("over")
    _, built = stood(made, "over", 1)
    plate = made.kit.plates[0]
    y = hangers_y_m(plate, built)
    wide = max(0.250, built.film.length_m, built.footprint_m[1]) / 2
    assert y == pytest.approx(max(wide + 0.008, pins_y_m(built) or 0.0))
    assert y > built.footprint_m[1] / 2 and y > built.film.length_m / 2
    low = min(about_x(p, -built.clock_rad)[2] for line in hanger_lines(plate, built) for p in line)
    stop = next(s for s in built.scene.solids if s.name == "stop")
    assert isinstance(stop, Box)
    assert low == pytest.approx(about_x(stop.centre, -built.clock_rad)[2] - stop.size[2] / 2)


def spool(left: float = 0.42, right: float = 0.45, layers: int = 6) -> tuple[Order, Built]:
    blanket = {**of.kit()["blankets"][0], "width_m": 0.3, "length_m": 1.2, "count": 99}
    made = of.order(
        welds=[
            of.weld(
                od=323.8,
                wall=10.3,
                access_inside=True,
                placements=["bore"],
                left={"kind": "open end", "distance_m": left},
                right={"kind": "open end", "distance_m": right},
            )
        ],
        kit=of.kit(blankets=[blanket]),
    )
    c = po.best(made, "bore")
    return made, build_scene(made, made.welds[0], c, c.shots[0], Fitting(0, None, layers, "W25"))


@given(st.floats(0.35, 0.8), st.floats(0.35, 0.8))
def test_no_sleeve_stands_over_a_pipes_open_end(left: float, right: float) -> None:
    """Where it would, its widths lap by more: all whole, and the cover hangs against the pipe's end."""
    _, built = spool(left, right)
    for one in built.wrap.layers:
        assert one.along_m <= left + right + 1e-9
        if one.turn is not None:
            assert one.turn.low_m >= -left - 1e-9
            assert one.turn.low_m + one.along_m <= right + 1e-9
    for s in tubes(built, "wrap"):
        assert abs(s.centre[0]) + (s.length_m or 0.0) / 2 <= max(left, right) + 1e-9


def test_a_spool_of_870_mm_by_hand() -> None:
    """Four widths of 300 mm on 870 mm: 1200 - 870 = 330 mm to lap in three laps, 110 mm each."""
    made, built = spool()
    one = built.wrap.layers[0]
    assert (one.beside, one.along_m) == (4, pytest.approx(0.870))
    assert lap_m(one, made.kit.blankets[0]) == pytest.approx(0.110)
    if one.turn is not None:
        assert one.turn.ends_straight and one.turn.aslant_m == pytest.approx(0.03)


def test_covers_are_folded_and_never_cut() -> None:
    """524 mm across: two strips of 300 mm; 1200 mm fold to two of 600, so that layers 1, 3, 5 bring two pieces each."""
    made, built = spool(layers=3)
    lay = cover_lay(0.5238, made.kit.blankets[0])
    assert (lay.strips, lay.folds) == (2, 2)
    assert [lay.pieces(n) for n in (1, 2, 3, 4)] == [2, 0, 2, 0]
    assert [one.more for one in built.wrap.layers] == [4, 0, 4]


def test_short_pieces_are_laid_end_to_end_over_an_end() -> None:
    """700 mm across with pieces of 400 mm: three strips of 300, two of 400 less a tenth each."""
    blanket: Any = Bag(width_m=0.3, length_m=0.4)
    lay = cover_lay(0.7, blanket)
    assert (lay.strips, lay.folds, lay.end_to_end) == (3, 1, 2)


@given(st.floats(0.04, 0.2), st.floats(0.05, 0.3), st.floats(0.05, 0.15))
def test_a_hoods_ends_are_what_its_two_sides_leave(across: float, down: float, radius: float) -> None:
    """By walking it: over half the head, down its side and round the pipe to its middle, in small steps."""
    hood = Hood(0.1, across, down + radius, 0.02)
    half = across / 2
    if half >= radius:
        assert hood.side_m(radius) == hood.down
        return
    rise = math.sqrt(radius**2 - half**2)
    steps = [
        (radius * math.cos(a), radius * math.sin(a))
        for a in (math.atan2(rise, half) * i / 400 for i in range(401))
    ]
    arc = math.fsum(math.dist(a, b) for a, b in zip(steps, steps[1:], strict=False))
    assert hood.side_m(radius) == pytest.approx(hood.down - rise + arc, rel=1e-4)


WOOL = {"material": "mineral wool", "thickness_m": 0.025, "density_kg_m3": 100.0}


def test_insulation_taken_off_is_off_in_scene_and_words() -> None:
    made = po.order("over", weld={"insulation": {**WOOL, "removed_m": 0.4}})
    c, built = stood(made, "over")
    weld = made.welds[0]
    assert outside_radius(weld) == weld.pipe.od / 2
    up = weld.pipe.od / 2 + 0.012
    names = {x: material_at(built.scene, (x, 0.0, up)).name for x in (0.19, 0.21, -0.19, -0.21)}
    assert {x for x, name in names.items() if "wool" in name} == {0.21, -0.21}
    told = insulation_words.words(made, Bag(weld=weld.id, chosen=c), Show())  # type: ignore[arg-type]
    assert told.startswith("off over 400 mm, 200 mm to either side") and "clamp on the bare pipe too" in told


def test_insulation_is_left_on_where_the_order_says_nothing() -> None:
    made = po.order("over", weld={"insulation": WOOL})
    c, _ = stood(made, "over")
    assert outside_radius(made.welds[0]) == pytest.approx(made.welds[0].pipe.od / 2 + 0.025)
    told = insulation_words.words(made, Bag(weld="W1", chosen=c), Show())  # type: ignore[arg-type]
    assert told.startswith("left on") and "test need it off" in told


def test_a_clamp_on_the_edge_of_the_insulation_is_refused() -> None:
    """150 mm from the weld and 50 mm wide: from 125 to 175 mm; wool that begins at 150 mm is under half of it."""
    half_on = po.best(po.order("over", weld={"insulation": {**WOOL, "removed_m": 0.30}}), "over")
    clear = po.best(po.order("over", weld={"insulation": {**WOOL, "removed_m": 0.36}}), "over")
    assert po.rule(half_on, "clamp").verdict == "breaks"
    assert po.rule(clear, "clamp").verdict == "holds"


@given(st.floats(0.0, 2 * math.pi), st.floats(0.01, 0.3), st.floats(0.02, 0.1), st.floats(0.05, 0.3))
def test_what_reaches_sideways_within_a_band(turn: float, band: float, half: float, high: float) -> None:
    """Against brute force: points all over the box, turned, of those within the band the farthest out."""
    part = room.box("tower", centre=(0.0, 0.0, high / 2), size=(0.1, 2 * half, high))
    got = room.needed_room((part,), (turn,), radius_m=0.0, sides_height_m=band)["sides"][0]
    cos, sin = math.cos(turn), math.sin(turn)
    grid = [(half * (2 * i / 80 - 1), high * j / 80) for i in range(81) for j in range(81)]
    inside = [abs(y * cos - z * sin) for y, z in grid if abs(y * sin + z * cos) <= band]
    most = max(inside, default=0.0)
    assert got >= most - 1e-9
    assert got <= most + 3 * max(2 * half, high) / 80 + 1e-9


def test_a_wrapped_head_that_does_not_fit_stops_the_weld() -> None:
    """Layers and strap on the head ask for more room than the bare head; a millimetre less than that stops the weld."""
    base = po.order("strap", weld={"clearances": {"sides_m": 1.0}}, head={"body": [0.1, 0.08, 0.1]})
    c = po.best(base, "strap")
    shielding: Any = Bag(fitting=Fitting(0, None, 3, "W25"), items=())
    need = wrapped_room.needed(base, base.welds[0], c, shielding)["sides"][0]
    pipe = base.welds[0].pipe
    source = (0.0, 0.0, pipe.od / 2 + c.geometry.standoff_m)
    head = room.head_part(base.heads[0], source=source, lean_rad=0.0)
    clocks = [s.source_clock_rad for s in c.shots]
    bare = room.needed_room((head,), clocks, radius_m=pipe.od / 2)["sides"][0]
    assert need > bare + 3 * 0.006  # three layers of 6 mm on it, and the strap
    for free, stops in ((need + 0.001, False), (need - 0.001, True)):
        weld = base.welds[0].model_copy(
            update={"clearances": base.welds[0].clearances.model_copy(update={"sides_m": free})}
        )
        found = wrapped_room.findings(base, weld, c, shielding)
        assert [f.level for f in found] == (["stop"] if stops else [])


def test_a_tube_straight_off_the_collimator_needs_room_at_the_sides() -> None:
    """Half a metre at 45 degrees from 100 mm off the axis: 354 mm and 71 mm sideways, 424 mm; pipe of 60 mm."""
    c45 = math.cos(math.pi / 4)
    made = of.one_weld(clearances={"sides_m": 0.075})[1]
    low = made.model_copy(update={"clearances": made.clearances.model_copy(update={"sides_height_m": 0.05})})
    start, end = 0.1 * c45, 0.6 * c45
    path = [(0.0, -start, 1.2 + start), (0.0, -end, 1.2 + end)]
    for weld, holds in ((made, "breaks"), (low, "holds")):
        found = beside_check(weld, [("exposure 1", path)], outer_m=0.018)
        assert found.verdict.verdict == holds, found.verdict.reached
    assert "412.1 mm to a side" in found.verdict.reached  # 424 + 18 - 30


def test_the_room_in_a_shroud_is_named_and_that_round_the_weld_told() -> None:
    verdict = RuleVerdict(
        "room in the shroud", "", "SH-K: 170.9 mm along and 260 mm across", "holds", "geometry"
    )
    assert held(verdict, Show()) == "room in the shroud"
    around = replace(
        verdict,
        rule=room.room_check(of.one_weld()[1], (), (0.0,), unchecked="").verdict.rule,
        required="free: sides 65 mm",
        reached="needed at clock 45°: sides 43.6 mm (head body); checked",
    )
    assert "on either side of the pipe 43.6 mm of 65 mm free" in held(around, Show())


def test_films_inside_a_pipe_are_drawn_inside_it() -> None:
    """Ten exposures about a pipe, each film within the circle that stands for the pipe."""
    shots = [
        Bag(source_clock_rad=a, detector_clock_rad=a, evaluated_rad=0.8)
        for a in (0.63 * n for n in range(10))
    ]
    canvas = Canvas(60.0, 60.0)
    clock.draw(canvas, Bag(arrangement="outside", shots=shots), (30.0, 30.0), vertical=False)  # type: ignore[arg-type]
    films = [p for p in canvas.render().split("<path") if 'class="clock film"' in p]
    assert len(films) == 10
    for film in films:
        data = film.split(' d="')[1].split('"')[0].replace("M", " ").replace("L", " ").split()
        points = list(zip(map(float, data[::2]), map(float, data[1::2]), strict=True))
        assert max(math.dist(p, (30.0, 30.0)) for p in points) < clock.PIPE_MM


def test_slits_go_in_as_far_as_the_head_reaches_under_a_width() -> None:
    """Widths from -285 to 15 and from -15 to 285 mm, a head 65 mm to either side: it stands in the inner edges."""
    cloth: Any = Bag(width_m=0.3, length_m=1.2, thickness_m=0.0055)
    turns = wound(cloth, spans_m=[(-0.285, 0.285)] * 2, rounds_m=[0.44, 0.47], opening_m=0.065)
    told = slits_said([one for one, _ in turns], cloth, 0.065, Show())
    # 330 mm on, a piece that began 30 mm left lies 13.5 mm left: -65 mm is 233.5 mm in from its edge at -298.5.
    assert "piece 1 at 330: 234 to 300, 792: 210 to 300; piece 2 at 330: 0 to 93.5, 792: 0 to 70.4" in told
    assert "at an edge two slits from it, no cut" in told and "halfway" not in told and "not slit" not in told


def test_a_hoods_edges_are_told_where_they_meet_flange_and_elbow() -> None:
    """350 mm to either side: past a flange at 260 mm and an elbow at 300 mm, short of one at 400 mm."""
    flange, elbow = Bag(kind="flange", distance_m=0.26), Bag(kind="elbow", distance_m=0.3)
    weld: Any = Bag(left=flange, right=elbow)
    told = ", left edge folded back before the flange, right edge on over the elbow"
    assert hood_ends(weld, 0.35) == told
    weld = Bag(left=Bag(kind="elbow", distance_m=0.4), right=Bag(kind="open end", distance_m=0.1))
    assert hood_ends(weld, 0.35) == ""


def test_an_opening_at_an_end_has_one_slit_and_the_same_cut() -> None:
    """A width of 600 mm under a head 65 mm to either side: a piece that begins in the opening is slit once there."""
    cloth: Any = Bag(width_m=0.6, length_m=1.0, thickness_m=0.0055)
    turns = wound(cloth, spans_m=[(-0.3, 0.3)] * 3, rounds_m=[0.9, 0.94, 0.98], opening_m=0.065)
    told = slits_said([one for one, _ in turns], cloth, 0.065, Show())
    assert "inside a piece its two slits are joined halfway by a cut round the pipe: two tongues" in told
    at_end = any(0 <= float(n) < 65 or float(n) > 935 for n in re.findall(r"(?:at|,) (-?[\d.]+): ", told))
    assert ("at an end one slit, the same cut on to the end" in told) == at_end
