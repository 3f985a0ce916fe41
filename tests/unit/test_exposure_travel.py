"""The way of a bare source against the exposure: ISO 17636-1 7.2.2, a tenth, from memory, unverified."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from exposure_cases import candidate, order
from halflayer.exposure import travel
from halflayer.exposure.result import Exposure
from halflayer.exposure.whole_weld import with_rule
from halflayer.order.weld import Override
from halflayer.technique.asme_v_art2_2007 import AsmeVArticle2
from halflayer.technique.iso17636_1_2013 import Iso17636Part1
from halflayer.technique.iso17636_2_2013 import Iso17636Part2
from halflayer.technique.result import RuleVerdict

ASKED = Iso17636Part1("A").travel_share()


def told(*times_s: float, way_s: float = 8.0, guide: str | None = "G", override: bool = False) -> Any:
    made = order()
    weld = made.welds[0]
    if override:
        aside = Override(rule=travel.RULE, reason="film trial passed", by="level 3 examiner")
        weld = weld.model_copy(update={"overrides": (aside,)})
    head = made.heads[0].model_copy(update={"travel_s": way_s})
    way = replace(candidate(made, "strap"), guide=guide)
    rule = travel.verdict(weld, way, head, times_s, ASKED)
    return rule, travel.findings(weld, head, rule, ASKED.value), weld, way


def test_a_tenth_out_and_back_by_hand() -> None:
    """8 s each way on 106 s is 15.1 %; 5 s is 9.4 %; 6 s on 156 s is 7.7 %; on 160 s 8 s are the tenth itself."""
    for way, time, share, verdict in (
        (8.0, 106.0, "15.1%", "breaks"),
        (5.0, 106.0, "9.4%", "holds"),
        (6.0, 156.0, "7.7%", "holds"),
        (8.0, 160.0, "10.0%", "holds"),
    ):
        rule, _, _, _ = told(time, way_s=way)
        assert rule is not None and (rule.verdict, share in rule.reached) == (verdict, True)
        assert "7.2.2" in rule.source and "memory" in rule.source


def test_the_shortest_exposure_decides_and_the_stop_says_how_long_it_must_be() -> None:
    rule, (stop,), _, _ = told(400.0, 106.0, 300.0)
    assert rule is not None and rule.verdict == "breaks"
    assert stop.level == "stop" and "1 min 46 s" in stop.text
    assert any("2 min 40 s" in r or "160 s" in r for r in stop.relax)


def test_set_aside_with_a_reason_it_warns_and_the_rule_says_who() -> None:
    rule, (warning,), weld, way = told(106.0, override=True)
    assert rule is not None and rule.verdict == "overridden" and "level 3 examiner" in rule.reached
    assert warning.level == "warn" and "film trial passed" in warning.text
    _, (note,), _, _ = told(500.0, override=True)
    assert note.level == "note" and "not needed" in note.text
    placed = with_rule(weld, way, Exposure(None, (), (), None, (rule,))).rules  # type: ignore[arg-type]
    assert placed[-1] == rule


def test_a_source_that_stays_in_its_head_and_a_code_that_asks_nothing() -> None:
    assert told(30.0, guide=None)[0] is None
    made = order()
    asme = AsmeVArticle2().travel_share()
    way = replace(candidate(made, "strap"), guide="G")
    assert travel.verdict(made.welds[0], way, made.heads[0], (5.0,), asme) is None
    assert Iso17636Part2("A").travel_share().value == pytest.approx(0.1)


def test_a_verdict_of_the_exposure_takes_the_place_of_that_of_the_technique() -> None:
    made = order()
    before = RuleVerdict("density over the zone", "a", "predicted with the exposure", "not asked", "T-282.2")
    after = replace(before, reached="-10% to +4%", verdict="holds")
    way = replace(candidate(made, "strap"), rules=(before,))
    assert with_rule(made.welds[0], way, Exposure(None, (), (), None, (after,))).rules == (after,)  # type: ignore[arg-type]
