"""Findings about an accepted order: certificates dated ahead, calibrations, heads, crew, stated sizes."""

from __future__ import annotations

import pytest

from halflayer.base.result import Finding
from halflayer.order.check import notes
from halflayer.order.notes import activity_at_shift_Bq
from order_cases import order


def finding(*edits: tuple[str, str]) -> Finding:
    found = notes(order(*edits))
    assert len(found) == 1, found
    return found[0]


def test_nothing_to_say() -> None:
    assert notes(order()) == ()


def test_certificate_dated_ahead_is_computed_back() -> None:
    """Half-life of Se-75 119.781 d (DDEP): 12 days ahead of the shift's day, 11.083 d from 22:00."""
    found = finding(("on: 2026-11-02", "on: 2026-11-25"))
    assert found.level == "note"
    assert found.text == (
        "the certificate of source SE-1 is dated 2026-11-25, after the shift of 2026-11-13; its activity is "
        "computed back to 2.13 TBq"
    )
    read = order(("on: 2026-11-02", "on: 2026-11-25"))
    now = activity_at_shift_Bq(read.sources[0], read.shift.starts)
    assert now == pytest.approx(2e12 * 2 ** ((11 + 2 / 24) / 119.781), rel=1e-4)


def test_old_certificate() -> None:
    found = finding(("on: 2026-11-02", "on: 2025-01-02"))
    assert found.level == "warn"
    assert "older than 5 half-lives" in found.text


def test_calibration_that_ends_during_the_shift() -> None:
    found = notes(order(("calibrated_until: 2027-03-31", "calibrated_until: 2026-11-14")))
    assert [f.level for f in found] == ["warn", "warn"]
    assert found[0].text == ("the calibration of survey meter SM ends 2026-11-14, before the shift ends")
    assert "no survey meter" in found[1].text


def test_no_survey_meter() -> None:
    found = finding(("kind: survey meter", "kind: densitometer"))
    assert (found.level, found.source) == ("warn", "10 CFR 34.49(b); the order: instruments")


def test_fewer_alarms_than_people_are_told() -> None:
    """Each individual wears an operating alarm ratemeter: 10 CFR 34.47(a) (from memory)."""
    found = finding(("id: PA-2, kind: personal alarm", "id: PA-2, kind: dosimeter"))
    assert found.level == "warn"
    assert found.text == "1 personal alarm in date for 2 people: each wears one of their own"


def test_head_that_may_not_hold_the_source_stops() -> None:
    found = finding(("    maximum_activity: 3 TBq\n", "    maximum_activity: 1 TBq\n"))
    assert found.level == "stop"
    assert "source SE-1 holds 1.87 TBq at the start of the shift, more than the 1 TBq" in found.text
    assert "a weaker source" in found.relax


def test_another_head_may_hold_it() -> None:
    spider = (
        "    maximum_activity: 1 TBq\n"
        "  - {id: SP, kind: spider, nuclides: [Se-75], placements: [bore], body: [0.3 m, 0.1 m, 0.1 m], "
        "source_to_face: 10 mm, mass: 3 kg}\n"
    )
    found = finding(("    maximum_activity: 3 TBq\n", spider))
    assert found.level == "warn"
    assert found.text.endswith("it may be used in SP only")


def test_source_that_no_head_takes() -> None:
    assert (
        "no head of the order takes source SE-1" in finding(("nuclides: [Se-75]", "nuclides: [Ir-192]")).text
    )


def test_crew_of_one() -> None:
    found = finding(("  - {id: P2, name: Tom, role: radiographer}\n", ""))
    assert (found.level, found.source) == ("warn", "10 CFR 34.41; the order: crew")


def test_nobody_in_charge() -> None:
    assert "no radiographer in charge" in finding(("role: radiographer in charge", "role: assistant")).text


@pytest.mark.parametrize(("wall", "told"), [("5.1 mm", False), ("4.5 mm", True), ("6.4 mm", True)])
def test_stated_wall_far_from_the_table(wall: str, told: bool) -> None:
    """12.5 % mill tolerance on the 5.54 mm of DN 50 schedule 80 (the tolerance: from memory, unverified)."""
    read = order(("outer_diameter: 60.3 mm, wall: 5.54 mm", f"dn: 50, schedule: 80, wall: {wall}"))
    assert any("is the size's own" in f.text for f in notes(read)) is told


def test_stops_come_first() -> None:
    found = notes(
        order(
            ("on: 2026-11-02", "on: 2026-11-25"),
            ("    maximum_activity: 3 TBq\n", "    maximum_activity: 1 TBq\n"),
            ("  - {id: P2, name: Tom, role: radiographer}\n", ""),
        )
    )
    assert [f.level for f in found] == ["stop", "warn", "note"]
