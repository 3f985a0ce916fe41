"""What a film's reader is told to do: a film outside its window, indicators of two films, the scope of a relief.

By hand, and ISO 17636-1:2013 6.7 and 6.8 from memory, unverified.
"""

from __future__ import annotations

import math
from dataclasses import replace
from statistics import NormalDist
from types import SimpleNamespace

import pytest

from exposure_cases import candidate, film
from exposure_cases import order as case_order
from halflayer.base.result import Derived
from halflayer.exposure.beam_room import BeamRoom, room_of, wire_points
from halflayer.exposure.beside_weld import beside, laid_sets
from halflayer.exposure.film import film_curve
from halflayer.exposure.first_film import first_film, of_misses
from halflayer.exposure.result import Density, FilmZone, Indicator, PairReading, SecondFilm, ShotTime, Stretch
from halflayer.exposure.two_films import Loading
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.plan import WeldPlan
from halflayer.radiograph.result import FilmReadings
from halflayer.radiograph.visible import seen
from halflayer.sheet.content import relief_scope
from halflayer.sheet.figures import Show
from halflayer.sheet.film_picture import _detail, film_words
from halflayer.sheet.first_film import _time
from halflayer.sheet.log_table import _exposed, _film_rows, _read_one
from halflayer.sheet.marking import marking_plan
from halflayer.sheet.pair_indicators import laid_words
from halflayer.sheet.two_films_words import films_words, laid_clocks, reading_table
from halflayer.sheet.unrolled import unrolled
from halflayer.technique.result import Candidate
from halflayer.technique.wire_sets import WIRE_PITCH_M, WIRE_SEEN_M
from order_cases import first_way

FAST = film()
BY = film_curve(FAST)
DEG = math.pi / 180


def shot(least: float, most: float, seconds: float = 100.0) -> ShotTime:
    density = Density(2.5, least, most, 0.2, "weld crown, wall, 40 degrees from the middle", "beside the cap")
    return ShotTime(Derived("exposure_time", seconds, "s", 10.0), density, 1e-4, 0.3, 0.01)


def _first(least: float, most: float):
    got = first_film(Loading(FAST, BY), candidate(case_order()), shot(least, most))
    assert got is not None
    return got


@pytest.mark.parametrize("exposures", [1, 3])
def test_a_film_outside_its_window_is_rejected_and_shot_again(exposures: int) -> None:
    shots = tuple(shot(2.3, 3.0) for _ in range(exposures))
    words = _time(_first(2.3, 3.0), shots, Show())
    assert words.startswith("Outside the window the first film is rejected: shoot it again")
    assert ("each exposure not yet shot by this time" in words) is (exposures > 1)
    other = (shots[0], shot(2.3, 3.0, seconds=130.0)) if exposures > 1 else shots
    assert ("this factor on its own time" in _time(_first(2.3, 3.0), other, Show())) is (exposures > 1)


def test_the_gradient_s_rule_stands_only_where_it_may_be_used() -> None:
    """From 2.3 to 3.0 the window goes from 2.0 to about 3.0: 2.1 and 2.5 go on and ask for no other time. From 2.2 to
    3.7 it ends below 2.4, which 0.2 above the aim lies past."""
    wide, narrow = _first(2.3, 3.0), _first(2.2, 3.7)
    assert wide.goes_on(wide.aim - 0.2) and wide.goes_on(wide.aim + 0.2)
    assert "10^" not in _time(wide, (shot(2.3, 3.0),), Show())
    assert not narrow.goes_on(narrow.aim + 0.2)
    assert "outside the window and within 0.2" in _time(narrow, (shot(2.2, 3.7),), Show())


def test_the_chance_of_a_film_outside_is_that_of_a_normal_law() -> None:
    """Film 20 % and certificate 8 % at coverage 1.645, against the standard library's normal law."""
    got = _first(2.2, 3.7)
    assert got.most is not None
    law = NormalDist(1.0, math.hypot(0.2, 0.08) / 1.645)
    k = BY.kerma_Gy(got.planned)
    inside = law.cdf(BY.kerma_Gy(got.most) / k) - law.cdf(BY.kerma_Gy(got.least) / k)
    assert got.chance_outside(0.2, 0.08) == pytest.approx(1.0 - inside, abs=1e-6)
    assert got.chance_outside(0.2, 0.08) > _first(2.2, 2.9).chance_outside(0.2, 0.08)
    assert _first(2.0, 4.7).most is None and _first(2.0, 4.7).chance_outside(0.2) == 1.0
    assert got.chance_outside(1e-6) == pytest.approx(0.0)


def _paired(way):
    """An exposure whose two films have an indicator each: the first 40 degrees off the middle, the other in it."""
    spot = [Indicator(f, "source-side wall", a * DEG, 3.0, 3.1, 2.0, 4.0) for f, a in (("F1", 40), ("F2", 0))]
    zones = tuple(FilmZone(f, 2.1, 3.9, indicator) for f, indicator in zip(("F1", "F2"), spot, strict=True))
    stretch = (Stretch("source-side wall", "weld crown", -30 * DEG, 30 * DEG),)
    pair = PairReading(0.8, 3.9, 2.1, "F2", zones, stretch)
    second = SecondFilm("F2", Density(2.5, 2.1, 3.0, 0.2, "here", "there"))
    shots = tuple(replace(shot(2.2, 3.8), second=second, pair=pair) for _ in way.shots)
    return SimpleNamespace(shots=shots, coverage=None)


def test_indicators_of_two_films_lie_out_of_both_images(example: Order) -> None:
    """Every wire's ray meets the film beside both caps: projected point by point, another road than the formula's."""
    for name in ("W1", "W4", "W5", "W3"):
        weld, c = example.weld(name), first_way(example, name)
        g, radius = c.geometry, weld.pipe.od / 2
        film_z = radius + g.standoff_m - g.source_to_detector_m

        def on_film(x: float, z: float, g=g, radius=radius, film_z=film_z) -> float:
            share = (radius + g.standoff_m - film_z) / (radius + g.standoff_m - z)
            return abs(g.axial_offset_m) + (x - abs(g.axial_offset_m)) * share

        half = weld.cap.width_m / 2
        images = [sorted((on_film(-half, z), on_film(half, z))) for z in (radius, -radius)]
        away, towards = beside(weld, c)
        for spot in (away, towards):
            wires = [spot.from_m, spot.wire_m]
            for x in wires:
                at = on_film(x, radius)
                assert not any(low + 1e-6 < at < high - 1e-6 for low, high in images), (name, x)
        assert all(s.reached for s in laid_sets(example, weld, c, [0.0, 0.0])), name
        assert away.from_m < 0.0 < towards.from_m


def test_each_film_s_indicator_has_one_side_and_one_way_round(example: Order) -> None:
    weld, c = example.weld("W5"), first_way(example, "W5")
    exposure = _paired(c)
    rows = {r["subject"]: r["what"] for r in marking_plan(example, weld, c, exposure, Show(), reading=False)}  # type: ignore[arg-type]
    told = rows["IQI"]
    assert "wires round the pipe" in told and "across the weld" not in told
    assert told.index("for F1 at") < told.index("left of the weld") < told.index("for F2 at")
    assert told.index("for F2 at") < told.index("right of the weld")
    # drawn where it is told, once an exposure and film
    marks = [clocks for _, clocks, _ in laid_clocks(c, exposure)]  # type: ignore[arg-type]
    svg, _ = unrolled(c, width_mm=90.0, laid=marks)
    assert svg.count('class="indicator"') == 2 * len(c.shots)
    assert unrolled(c, width_mm=90.0)[0].count('class="indicator"') == 0


def test_clocks_of_two_films_are_those_planned(example: Order) -> None:
    """A darker film hands over elsewhere: whoever reads it goes by density."""
    c = replace(first_way(example, "W5"), detector="F1")
    made = case_order()
    films = (film(), film(id="F2", film_class="C3", dose_for_density_2_Gy=0.026))
    made = made.model_copy(update={"detectors": films})
    words = films_words(made, example.weld("W5"), c, _paired(c), Show())  # type: ignore[arg-type]
    assert (
        "(by the lines behind the weld and scatter; its densities hold it). Lead Z between the two films, "
        in words
    )
    assert words.endswith("shows on F2, the rear one, only (our own rule).")
    rows = dict(reading_table("ISO 17636-1:2013", c, _paired(c), Show()))  # type: ignore[arg-type]
    assert list(rows) == ["front film", "rear film", "both at once"]
    assert rows["front film"] == "F1 read alone, 2.10 to 3.90 expected: judged where it reads 2.00 to 4.00"
    assert rows["rear film"].startswith(
        "F2 read alone, 2.10 to 3.90 expected: judged where the front one reads over 4.00, "
    )
    assert "crown" not in rows["rear film"]  # one arc a wall, crown and both sides of the cap together
    assert "not planned" in rows["both at once"]
    assert "both at once" not in dict(reading_table("ASME V", c, _paired(c), Show()))  # type: ignore[arg-type]
    assert "anded over" not in words


@pytest.mark.parametrize(
    ("weld", "scope"),
    [
        ("W1", "double image, class A, w above 5 to 12 mm"),
        ("W6", "single image, class A, w above 5 to 24 mm"),
    ],
)
def test_a_relief_has_its_scope(example: Order, weld: str, scope: str) -> None:
    """Se-75: double image 5 < w <= 12 mm, single image class A 5 < w <= 24 mm, one wire (6.8, from memory)."""
    iqi = first_way(example, weld).iqi
    assert iqi is not None and relief_scope(iqi) == scope
    assert relief_scope(replace(iqi, relief="")) == relief_scope(None) == ""


def _lit(order: Order, weld: Weld, c: Candidate, x_m: float, from_source_rad: float) -> bool:
    """Whether the middle 10 mm of a wire round the pipe lie in the beam."""
    points = wire_points(weld, x_m=x_m, from_source_rad=from_source_rad, length_m=WIRE_SEEN_M)
    room = room_of(order, weld, c, points)
    return room is None or room.turn_rad > 0.0


def test_a_set_of_wires_lies_so_that_the_beam_reaches_the_wire_asked(
    example: Order, monkeypatch: pytest.MonkeyPatch
) -> None:
    """W5, 50 degrees off the source's clock: W12 lies the fifth wire from the finest, past the beam's edge, and the
    third from the thickest, within it. Where no way round does, the sheet says that no film counts so."""
    weld, c = example.weld("W5"), first_way(example, "W5")
    side, head = beside(weld, c)[0], -1.0 if c.geometry.axial_offset_m < 0.0 else 1.0
    at = 50 * DEG

    def lit(wires_off: int) -> bool:
        return _lit(example, weld, c, head * (side.from_m - wires_off * WIRE_PITCH_M), at)

    assert (lit(4), lit(2)) == (False, True)  # 10 FE EN: W10 to W16
    (told,) = laid_words(example, weld, c, Show(), [("W12 for F1", at)])
    assert "thickest wire 5.5 mm from the weld's middle (set turned about: so the beam reaches W12, " in told
    monkeypatch.setattr("halflayer.exposure.beside_weld.room_of", lambda *_, **__: BeamRoom(0.0, 0.0, 0.0))
    (dark,) = laid_words(example, weld, c, Show(), [("W12 for F1", at)])
    assert "the beam does NOT reach W12: no film counts so" in dark


def test_a_set_of_wires_is_turned_about_for_a_head_that_is_off(example: Order) -> None:
    """W5, source 54.9 mm off and 167.3 mm high, beam 10 degrees about 16 of lean. Towards the head the finest wire
    would lie 17 mm off, so W12 37 mm: its middle 10 mm lie within a tenth of a degree of the beam's edge. The thickest
    there, W12 27 mm off: 9.5 - 16.0 = 6.5 degrees from the axis, with 5 mm aside 6.7: 3.3 degrees of room, as the
    order's head (3 degrees, 10 mm) asks nearly (exact geometry)."""
    weld, c = example.weld("W5"), first_way(example, "W5")
    sets = laid_sets(example, weld, c, [50 * DEG, 0.0])
    assert [s.turned for s in sets] == [True, True]
    room = sets[1].room
    assert room is not None and math.degrees(room.turn_rad) == pytest.approx(3.3, abs=0.1)
    assert sets[1].dark == ("W14", "W15", "W16")
    easy = example.model_copy(
        update={"kit": example.kit.model_copy(update={"head_turn_rad": 0.0, "head_shift_m": 0.0})}
    )
    finest = laid_sets(easy, weld, c, [0.0, 0.0])
    assert not finest[0].turned  # lit, and no head that is off is reckoned with
    assert laid_sets(example, weld, c, []) == []


def test_a_log_has_a_row_for_each_film(example: Order) -> None:
    """Two films in one holder: the rear one by its Z (R is a repair), in lead between them; clocks of the film."""
    c = first_way(example, "W5")
    w = WeldPlan("W5", "ready", None, c, _paired(c), None, None, (), ())  # type: ignore[arg-type]
    rows = _film_rows(example, w, Show())
    assert [r[0] for r in rows] == ["1", "1 Z", "2", "2 Z"]
    assert rows[0][1] == rows[1][1] != rows[2][1]
    assert _exposed(example, w, Show()) == [["1", "1 min 40 s"], ["2", "1 min 40 s"]]
    assert _read_one(w, digital=False, at_iqi=False) == ["lightest judged", "darkest judged"]


def test_whole_films_are_told_by_the_exposure_that_tells_what_is_judged() -> None:
    """The picture's own exposure lies some per cent off: two ranges of one film must not exclude each other."""
    seen = (FilmReadings("F1", "C5", 2.5, 2.3, 5.2), FilmReadings("F2", "C4", 1.5, 1.2, 3.1))
    verdict = SimpleNamespace(
        required=None, required_hole=None, smallest_visible=None, smallest_hole=None, wires=(), holes=(),
        films=seen, readings=None, opening_m=None, digital=False,
    )  # fmt: skip
    planned = Density(2.5, 2.2, 5.4, 0.2, "here", "there")
    second = SecondFilm("F2", Density(1.5, 1.1, 3.4, 0.2, "here", "there"))
    exposure = SimpleNamespace(shots=(replace(shot(2.2, 5.4), second=second),))
    words = film_words(SimpleNamespace(verdict=verdict), Show(), planned, None, exposure)  # type: ignore[arg-type]
    assert "whole films 2.20 to 5.40 on F1 and 1.10 to 3.40 on F2 planned" in words
    words = film_words(SimpleNamespace(verdict=verdict), Show())  # type: ignore[arg-type]
    assert "2.30 to 5.20 on F1 and 1.20 to 3.10 on F2" in words


def test_many_first_films_outside_the_window_are_a_finding_with_figures() -> None:
    """Film 20 % and certificate 8 % (coverage 1.645) against a window of 2.00 to 2.32 or so, and against a wide one."""
    narrow, wide = _first(2.2, 3.7), _first(2.3, 2.9)
    (told,) = of_misses(narrow, (0.2, 0.08), films=1)
    assert (
        told.level == "note" and f"{narrow.chance_outside(0.2, 0.08):.0%} fall outside 2.00 to" in told.text
    )
    assert (
        "by its dose figure (20%) and the certificate (8%)" in told.text and "so no second lies" in told.text
    )
    # What a shot before would cost is said where it is offered.
    (costs,) = of_misses(narrow, (0.2, 0.08), films=1, out_s=120.0, wait_s=780.0)
    assert "2 min more of source out" in costs.relax[1] and "13 min until it is read" in costs.relax[1]
    assert of_misses(wide, (0.2, 0.08), films=1) == []
    assert (
        of_misses(_first(2.0, 4.7), (0.2, 0.08), films=1) == []
    )  # no window at all: another finding says so


def test_what_a_wire_reaches_stands_beside_what_it_needs() -> None:
    """Contrast to noise against 5, density step against log10(1.01) = 0.0043, both rounded down."""
    mine = seen("W12", 0.00025, 0.02199, 7.39, (0.0, 0.0))
    words = _detail("wire", "W12", "W13", (mine, seen("W13", 0.0002, 0.01, 6.0, (0.0, 0.0))), digital=False)
    assert (
        "asked, holds (computed: contrast to noise 7.3 against 5 needed, density step 0.021 against 0.0043"
        in words
    )
    assert "density" not in _detail("wire", "W12", "W12", (mine,), digital=True)
