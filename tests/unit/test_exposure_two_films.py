"""Two films in one holder: when they are taken, what they hold, what is said; and densities about the indicator."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from exposure_cases import MOMENT, built, candidate, film, order, without_monte_carlo
from halflayer.base.serial import from_json, to_json
from halflayer.exposure import findings
from halflayer.exposure.behind import scattered_share, straight_share
from halflayer.exposure.film import film_curve
from halflayer.exposure.result import Exposure
from halflayer.exposure.time import expose
from halflayer.exposure.two_films import Loading, load, pair, spread_held
from halflayer.exposure.whole_weld import with_rule
from halflayer.order.models import Order
from halflayer.physics.materials import material
from halflayer.technique.choose import choose_technique
from halflayer.technique.result import Candidate, Iqi
from order_factory import film as sheet
from order_factory import order as full_order

FAST = film(id="F1")
SLOW = film(
    id="F2", film_class="C3", dose_for_density_2_Gy=0.020
)  # so much slower that, behind the other, both still show one density


@pytest.fixture(autouse=True)
def no_monte_carlo(monkeypatch: pytest.MonkeyPatch) -> None:
    without_monte_carlo(monkeypatch)


def both(*second: Any, **more: Any) -> Order:
    made = order(**more)
    films = [made.detectors[0].model_dump(mode="json"), *(s.model_dump(mode="json") for s in second)]
    return Order.from_json(made.as_json() | {"detectors": films})


def run(made: Order, way: Candidate) -> Exposure:
    return expose(made, made.welds[0], way, built(made, way), moment=MOMENT)


def whole(_: Any) -> float:
    """Screens that take nothing: which pair is taken, apart from what one film leaves for the other."""
    return 1.0


THICK = {"wall_m": 0.0087, "cap_m": 0.003}  # a range of kerma that one film does not hold in plane


class TestPair:
    pair = Loading(FAST, film_curve(FAST), SLOW, film_curve(SLOW))
    way = candidate(order())

    def test_verdicts_are_those_of_the_curves(self) -> None:
        kerma = np.geomspace(1e-3, 0.3, 400)
        shown = self.pair.verdicts(kerma, least=2.0, most=4.0)
        fast, slow = (c.density(kerma) for c in self.pair.curves)
        on_one = ((fast >= 2.0) & (fast <= 4.0)) | ((slow >= 2.0) & (slow <= 4.0))
        assert (on_one == (shown == 0)).all()
        assert (shown[fast < 2.0] == -1).all() and (shown[slow > 4.0] == 1).all()

    def test_a_pair_holds_more_than_either(self) -> None:
        alone = [spread_held(Loading(f, film_curve(f)), self.way) for f in (FAST, SLOW)]
        most = self.pair.slow.kerma_Gy(4.0) / self.pair.fast.kerma_Gy(
            2.0
        )  # from the one's least to the other's most
        assert spread_held(self.pair, self.way) == pytest.approx(most) and most > 1.8 * max(alone)

    def test_a_hole_between_the_ranges_is_no_pair(self) -> None:
        far = film(id="F3", film_class="C1", dose_for_density_2_Gy=0.2)
        assert spread_held(Loading(FAST, film_curve(FAST), far, film_curve(far)), self.way) == 0.0

    def test_the_film_alone_where_it_does(self) -> None:
        made = both(SLOW)
        way = replace(candidate(made), partners=("F2",))
        assert load(made, way, made.detectors[0], [1.5], whole).second is None
        assert load(made, way, made.detectors[0], [1.5, 3.0], whole).films[1].id == "F2"
        assert load(made, way, made.detectors[0], [50.0], whole).second is None  # no pair holds this

    def test_of_two_that_do_the_faster(self) -> None:
        third = film(id="F0", dose_for_density_2_Gy=0.007)
        made = both(SLOW, third)
        way = replace(candidate(made), partners=("F2", "F0"))
        assert load(made, way, made.detectors[0], [3.0], whole).films[1].id == "F0"


class TestExposure:
    def test_every_place_lies_in_range_on_one_film(self) -> None:
        made = both(SLOW, **THICK)
        way = replace(candidate(made, "over"), partners=("F2",))
        got = run(made, way)
        shot = got.shots[0]
        assert shot.second is not None and shot.second.detector == "F2" and shot.density is not None
        # the lightest place 0.3 above the least density, as far as the darkest has as much room on the slow film
        assert shot.density.least == pytest.approx(2.3, abs=1e-6)
        assert shot.density.most > 4.0 >= shot.second.density.most
        assert shot.second.density.least < 2.0
        assert got.coverage is not None and got.coverage.uncovered == ()
        (note,) = (f for f in got.findings if f.text.startswith("Two films"))
        assert note.level == "note" and "F1 (C5, fast)" in note.text and "F2 (C3, slow)" in note.text
        assert not any("do not fit" in f.text for f in got.findings)
        assert from_json(Exposure, to_json(got)) == got

    def test_without_a_partner_the_plan_warns(self) -> None:
        made = order(**THICK)
        got = run(made, candidate(made, "over"))
        assert got.shots[0].second is None
        assert any("do not fit" in f.text for f in got.findings)
        assert got.coverage is not None and got.coverage.uncovered != ()


class TestPartners:
    def test_same_sheet_and_admitted_by_the_code(self) -> None:
        other = sheet("F3", "C3", dose_for_density_2_Gy=0.025)
        coarse = sheet("F6", "C6")
        small = sheet("FS", "C3", sheet=[0.10, 0.24])
        made = full_order(detectors=[sheet(), other, coarse, small])
        best = choose_technique(made, made.welds[0]).admissible[0]
        assert best.detector == "F5" and best.partners == ("F3",)


class TestVariation:
    def test_within(self) -> None:
        assert findings.of_variation([(2.0, "a"), (2.5, "b")], 2.2, (-0.15, 0.30), "x") == []

    def test_beyond_names_place_and_remedy(self) -> None:
        """2.0 against 2.5 is -20 %, 3.3 is +32 %."""
        (got,) = findings.of_variation([(2.0, "a"), (2.5, "b"), (3.3, "c")], 2.5, (-0.15, 0.30), "x")
        assert "-20% at a and +32% at c" in got.text and "further indicator" in got.text

    def test_it_is_asked_only_by_a_code_that_bounds_it(self) -> None:
        made = order(**THICK)
        plain, bound = (
            candidate(made, "over"),
            replace(candidate(made, "over"), density_variation=(-0.15, 0.3)),
        )
        assert not any("departs" in f.text for f in run(made, plain).findings)
        assert any("departs" in f.text for f in run(made, bound).findings)


class TestBehind:
    """What the first film's screens leave: NIST attenuation of lead and air kerma by hand, no project figure."""

    lead = material("lead")

    def test_a_line_through_a_screen(self) -> None:
        """200 keV through 0.25 mm of lead: 0.9985 cm2/g (NIST) x 11.35 g/cm3 x 0.025 cm = 0.2833, exp(-0.2833)."""
        line = (np.array([200.0]), np.array([1.0]))
        assert straight_share(line, ((self.lead, 2.5e-4),)) == pytest.approx(math.exp(-0.2833), rel=0.01)

    def test_scatter_loses_more_than_straight_rays(self) -> None:
        """Softer and aslant; at 60 degrees a photon of 300 keV has 300 / (1 + 300/511 x 0.5) = 232 keV (Compton)."""
        line = (np.array([300.0]), np.array([1.0]))
        before = ((self.lead, 2.5e-4),)
        straight = straight_share(line, before)
        found = scattered_share(line, (material("steel"), 0.004), (self.lead, 1e-4), before)
        least = straight_share((np.array([232.0]), np.array([1.0])), ((self.lead, 2 * 2.5e-4),))
        assert least < found < straight

    def test_the_slower_film_is_the_one_behind(self) -> None:
        for film_one, film_two in ((FAST, SLOW), (SLOW, FAST)):
            got = pair(film_one, film_two, lambda f: {"F1": 0.8}[f.id])
            assert got.named == ("F1", "F2") and got.behind == 0.8
            # what the slower one needs before the first film: its own kerma over the share that comes to it
            assert got.slow.kerma_Gy(2.0) == pytest.approx(film_curve(SLOW).kerma_Gy(2.0) / 0.8)
            assert got.fast.kerma_Gy(2.0) == pytest.approx(film_curve(FAST).kerma_Gy(2.0))

    def test_each_film_keeps_the_range_over_what_it_judges(self) -> None:
        """ISO 17636-1 7.8 (from memory, unverified): single viewing, 2 or more on each film over its own zone."""
        made = both(SLOW, **THICK)
        got = run(made, replace(candidate(made, "over"), partners=("F2",)))
        shot = got.shots[0]
        assert shot.pair is not None and shot.second is not None and 0.5 < shot.pair.behind < 1.0
        assert {z.film for z in shot.pair.zones} == {"F1", "F2"} and shot.pair.slow == "F2"
        for z in shot.pair.zones:
            assert 2.0 - 1e-6 <= z.least <= z.most <= 4.0 + 1e-6
        assert (shot.pair.fast_at, shot.pair.slow_at) >= (2.0, 2.0)
        # the slow film at the least, behind the screens: its curve by the share of the kerma (the definition)
        fast, slow = film_curve(FAST), film_curve(SLOW)
        kerma = fast.kerma_Gy(shot.density.least) if shot.density else math.nan
        assert shot.second.density.least == pytest.approx(
            float(slow.density(kerma * shot.pair.behind)), rel=1e-6
        )
        for t in shot.pair.stretches:  # alike on both sides of the beam's middle
            assert t.from_rad == pytest.approx(-t.to_rad, abs=0.06)

    def test_an_indicator_lies_where_its_film_judges(self) -> None:
        made = both(SLOW, **THICK)
        iqi = Iqi("wire", "W13 (10 FE EN)", "W13", 2e-4, "source side", "test table", 1)
        way = replace(candidate(made, "over"), partners=("F2",), iqi=iqi)
        got = run(made, way)
        laid = with_rule(made.welds[0], way, got).iqi
        zones = got.shots[0].pair.zones if got.shots[0].pair else ()
        at = {round(z.indicator.from_middle_rad, 6) for z in zones if z.indicator}
        assert (
            laid is not None and way.iqi is not None and laid.pieces == way.iqi.pieces + max(len(at) - 1, 0)
        )
        for z in zones:
            if z.indicator:
                assert z.least - 1e-6 <= z.indicator.least <= z.indicator.most <= z.most + 1e-6
            else:
                assert any(z.film in f.text and "indicator could lie" in f.text for f in got.findings)


def test_of_a_pair_each_film_is_held_to_indicators_that_it_shows_in_range() -> None:
    """T-282.2 (2007, read): -15 to +30 %; each reading within 2 to 4 on its own film, and what it holds by hand."""
    made = both(SLOW, **THICK)
    way = replace(candidate(made, "over"), partners=("F2",), density_variation=(-0.15, 0.3))
    got = run(made, way)
    found = got.shots[0].variation
    assert found is not None and {i.film for i in found.indicators} <= {"F1", "F2"}
    for i in found.indicators:
        assert 2.0 - 1e-6 <= i.least <= i.most <= 4.0 + 1e-6
        assert i.holds_from == pytest.approx(max(0.85 * i.least, 2.0), rel=1e-9)
        assert i.holds_to == pytest.approx(min(1.3 * i.most, 4.0), rel=1e-9)
    stopped = [f for f in got.findings if f.level == "stop" and "indicators that lie 12.7 mm" in f.text]
    assert len(stopped) == (1 if found.loose else 0)
    assert from_json(Exposure, to_json(got)) == got


def test_seconds_do_not_depend_on_which_film_is_named_first() -> None:
    made = both(SLOW, **THICK)
    way = candidate(made, "over")
    one = run(made, replace(way, partners=("F2",)))
    two = run(made, replace(way, detector="F2", partners=("F1",)))
    assert one.shots[0].seconds.value == pytest.approx(
        float(two.shots[0].seconds.value or math.nan), rel=1e-9
    )
