"""Rules set aside with a reason, and welds that are not covered."""

from __future__ import annotations

import pytest

from halflayer.base.serial import from_json, to_json
from halflayer.order.models import Order
from halflayer.technique.choose import choose_technique
from halflayer.technique.result import Technique
from order_cases import order as read
from order_cases import refusal
from order_factory import one_weld

SOURCE = {
    "rule": "source for the thickness",
    "reason": "procedure test RT-9 shows W13",
    "by": "level 3 examiner",
}


def thin(**more):
    """6 mm penetrated: below the range of Se-75 in class A, and nothing agreed."""
    return one_weld(od=60.3, wall=3.0, cap=6.0, **more)


def test_without_an_override_the_weld_stops() -> None:
    found = choose_technique(*thin())
    assert not found.admissible and found.findings[0].level == "stop"


def test_an_override_lets_it_go_and_prints_its_reason() -> None:
    found = choose_technique(*thin(overrides=[SOURCE]))
    best = found.admissible[0]
    (rule,) = (r for r in best.rules if r.verdict == "overridden")
    assert rule.rule == "source for the thickness"
    assert rule.reached.startswith(
        "set aside by level 3 examiner: procedure test RT-9 shows W13; reached: w = 6 mm"
    )
    (warning,) = (f for f in found.findings if f.level == "warn" and "set aside" in f.text)
    assert "procedure test RT-9 shows W13" in warning.text and "level 3 examiner" in warning.text
    assert warning.source == rule.source
    assert from_json(Technique, to_json(found)) == found


def test_an_override_that_is_not_needed_is_said() -> None:
    found = choose_technique(*one_weld(overrides=[SOURCE]))
    assert found.admissible[0].rules
    assert not any(r.verdict == "overridden" for r in found.admissible[0].rules)
    assert any(f.level == "note" and "is not needed" in f.text for f in found.findings)


def test_a_way_that_needs_no_override_comes_first() -> None:
    """In plane needs the rule set aside here, the ellipse does not."""
    aside = SOURCE | {"rule": "in plane only where an ellipse is not practicable"}
    found = choose_technique(*one_weld(overrides=[aside]))
    names = [c.arrangement for c in found.admissible]
    assert (names[0], names[-1]) == ("lean-out", "over")
    assert [r.rule for r in found.admissible[-1].rules if r.verdict == "overridden"] == [aside["rule"]]


def test_what_cannot_stand_is_not_set_aside() -> None:
    """A wall a hand away is no rule of a code: the YAML is refused, with the rules that may be named."""
    text = refusal(
        (
            "    height: 1.3 m\n",
            "    height: 1.3 m\n    overrides: [{rule: room round the weld, reason: x, by: y}]\n",
        )
    )
    assert "welds[W1].overrides[0].rule: not one of the possible values; given: room round the weld" in text


@pytest.mark.parametrize(
    ("line", "message"),
    [
        ("overrides: [{rule: screens, by: y}]", "welds[W1].overrides[0].reason: the field is missing"),
        (
            "overrides: [{rule: screens, reason: '', by: y}]",
            "welds[W1].overrides[0].reason: the text is empty",
        ),
        ("kind: socket", "welds[W1].kind: not one of the possible values; given: socket"),
    ],
)
def test_bad_input(line: str, message: str) -> None:
    assert message in refusal(("    height: 1.3 m\n", f"    height: 1.3 m\n    {line}\n"))


def test_overrides_survive_json() -> None:
    made = read(
        (
            "    height: 1.3 m\n",
            "    height: 1.3 m\n    kind: fillet\n    overrides: [{rule: screens, reason: r, by: b}]\n",
        )
    )
    assert Order.from_json(made.as_json()) == made


@pytest.mark.parametrize("kind", ["branch", "fillet"])
def test_other_welds_are_not_covered(kind: str) -> None:
    found = choose_technique(*one_weld(kind=kind))
    assert found.candidates == ()
    (stop,) = found.findings
    assert stop.level == "stop" and "not covered" in stop.text and kind in stop.text and stop.relax


def test_a_weld_not_covered_is_a_stopped_plan() -> None:
    from halflayer.flow import plan_weld

    made, weld = one_weld(kind="branch")
    plan = plan_weld(made, weld)
    assert plan.status == "stopped" and plan.chosen is None
    assert plan.findings[0].level == "stop"
