"""Further indicators where the density departs too far: ASME V T-282.2 (2007), -15 to +30 %, read; sums by hand."""

from __future__ import annotations

import math
from dataclasses import replace
from types import SimpleNamespace
from typing import cast

from exposure_cases import MOMENT, built, candidate, order
from halflayer.exposure.indicators import Shown, of_films
from halflayer.exposure.result import Exposure, ShotTime, Variation
from halflayer.exposure.time import expose
from halflayer.exposure.variation import RULE, verdict
from halflayer.exposure.whole_weld import ENDS, tried_first, with_rule
from halflayer.sheet.figures import Show
from halflayer.sheet.marking import marking_plan
from halflayer.technique.asme_v_art2_2007 import AsmeVArticle2
from halflayer.technique.result import Candidate, Iqi, RuleVerdict

BOUNDS = (-0.15, 0.30)
DEG = math.pi / 180
ASKED = AsmeVArticle2().density_variation()


def places(*pairs: tuple[float, float]) -> list[Shown]:
    return [Shown("weld crown", "wall", degrees * DEG, {"F": density}) for degrees, density in pairs]


def double(degrees: float, fast: float, slow: float, wall: str = "source-side wall") -> Shown:
    return Shown("weld crown", wall, degrees * DEG, {"fast": fast, "slow": slow})


def shot(variation: Variation | None) -> ShotTime:
    return ShotTime(None, None, 1.0, 0.0, 0.0, variation=variation)  # type: ignore[arg-type]


def test_a_way_given_up_is_told_in_two_plain_sentences() -> None:
    """By hand; the stretches of a way that nobody lays are left out, another reason is kept as it stands."""
    two = cast(Candidate, SimpleNamespace(arrangement="lean-back", source="S", shots=(0, 1)))
    three = cast(Candidate, SimpleNamespace(arrangement="lean-back", source="S", shots=(0, 1, 2)))
    gap = (
        "282 degrees of the weld are covered by no exposure, at clock 1 to 5 degrees (2.1 mm)"
        + ENDS
        + "too dark."
    )
    assert tried_first(two, three, gap) == (
        "lean-back with S was tried first with 2 exposures and given up: 282 degrees of the weld are covered by no "
        "exposure (too dark). Planned are 3 exposures."
    )
    other = cast(Candidate, SimpleNamespace(arrangement="strap", source="T", shots=(0,)))
    for stopped in ("The limit breaks.", "The limit breaks"):
        said = tried_first(two, other, stopped)
        assert said.endswith("given up: The limit breaks. Planned is strap with T.")


def test_within_the_bounds_none_is_laid() -> None:
    """2.1 on 2.43 is -13.6 %, 2.6 is +7 %."""
    found = of_films(places((-60, 2.1), (0, 2.43), (60, 2.6)), BOUNDS)
    assert found.further == ()
    assert (round(found.least or 0, 3), round(found.most or 0, 3)) == (-0.136, 0.070)
    rule = verdict([shot(found)], ASKED)
    assert rule is not None and rule.verdict == "holds" and rule.reached.startswith("-14% to +7%")
    assert "further" not in rule.reached and "T-282.2" in rule.source


def test_both_ends_too_light_take_one_each() -> None:
    """2.00 on 2.43 is -18 %; 2.05 at 50 degrees is -16 % and lies beside the one at 60 degrees, +2.5 % of it."""
    found = of_films(places((-60, 2.0), (-50, 2.05), (0, 2.43), (50, 2.05), (60, 2.0)), BOUNDS)
    assert sorted(found.further) == [
        "60 degrees anticlockwise from the middle, wall",
        "60 degrees clockwise from the middle, wall",
    ]
    rule = verdict([shot(found)], ASKED)
    assert rule is not None and "-18% to +0%" in rule.reached and "planned for each exposure" in rule.reached


def test_too_light_and_too_dark_on_one_side_take_one_each() -> None:
    """1.6 and 3.4 on 2.5 are -36 % and +36 %; neither holds the other."""
    found = of_films(places((0, 2.5), (40, 3.4), (60, 1.6)), BOUNDS)
    assert len(found.further) == 2


def test_pieces_are_counted_in_the_marking_plan_and_the_rule_is_replaced() -> None:
    made = order()
    before = RuleVerdict(RULE, "a", "predicted with the exposure", "not asked", "T-282.2")
    iqi = Iqi("wire", "wire 6 (set B, steel)", "wire 6", 2.5e-4, "film side", "T-276", 1)
    way = replace(candidate(made, "strap"), rules=(before,), iqi=iqi)
    found = of_films(places((-60, 2.0), (0, 2.43), (60, 2.0)), BOUNDS)
    rule = verdict([shot(found)], ASKED)
    assert rule is not None
    got = Exposure(None, (shot(found),), (), None, (rule,))  # type: ignore[arg-type]
    chosen = with_rule(made.welds[0], way, got)
    assert chosen.rules == (rule,) and chosen.iqi is not None and chosen.iqi.pieces == 3
    rows = {r["subject"]: r["what"] for r in marking_plan(made, made.welds[0], chosen, None, Show())}
    assert rows["IQI"].startswith("3 IQIs") and "the first in the middle" in rows["IQI"]
    assert "60 degrees clockwise" in rows["IQI"] and "spread evenly" not in rows["IQI"]


def test_two_films_are_each_held_to_indicators_of_their_own() -> None:
    """By hand. The middle reads 3.10 on the slow film: 2.64 to 4.00 there; that at 40 degrees 2.60 on the fast one:
    2.21 to 3.38, and so holds 2.30 on the wall of the film's side at its own side of the middle.
    """
    shown = [
        double(-40, 2.6, 1.3),
        double(0, 5.4, 3.1),
        double(40, 2.6, 1.3),
        double(-40, 2.3, 1.2, "film-side wall"),
        double(0, 5.9, 3.6, "film-side wall"),
        double(40, 2.3, 1.2, "film-side wall"),
    ]
    found = of_films(shown, BOUNDS, allowed=(2.0, 4.0), apart_rad=24 * DEG)
    assert found.loose == () and (found.least, found.most) == (None, None)
    assert sorted(found.further) == [
        "40 degrees anticlockwise from the middle, source-side wall",
        "40 degrees clockwise from the middle, source-side wall",
    ]
    rule = verdict([shot(found)], ASKED)
    assert rule is not None and rule.verdict == "holds"
    assert "slow: middle reads 3.10, holds 2.64 to 4.00" in rule.reached
    assert "fast: ±40 degrees reads 2.60, holds 2.21 to 3.38" in rule.reached


def test_a_place_that_no_indicator_holds_breaks_the_rule() -> None:
    """3.9 on the fast film, 2.1 on the slow: 2.6 x 1.3 = 3.38 is too little, 0.85 x 3.1 = 2.64 too much. An indicator
    there would hold it and lies nearer to its neighbour than two plates are wide.
    """
    shown = [double(0, 5.4, 3.1), double(32, 3.9, 2.1), double(40, 2.6, 1.3)]
    assert of_films(shown, BOUNDS, allowed=(2.0, 4.0)).loose == ()
    found = of_films(shown, BOUNDS, allowed=(2.0, 4.0), apart_rad=24 * DEG)
    assert len(found.loose) == 1
    rule = verdict([shot(found)], ASKED)
    assert rule is not None and rule.verdict == "breaks" and "one exposure more" in rule.reached


def test_what_no_film_shows_in_range_is_left_to_the_rule_of_the_whole_weld() -> None:
    found = of_films([double(0, 5.4, 3.1), double(40, 1.9, 0.9)], BOUNDS, allowed=(2.0, 4.0))
    assert found.loose == () and found.further == ()


def test_a_code_without_the_bound_says_nothing() -> None:
    made = order()
    way = candidate(made)
    got = expose(made, made.welds[0], way, built(made, way), moment=MOMENT, batches=2)
    assert all(s.variation is None for s in got.shots) and RULE not in {r.rule for r in got.rules}
