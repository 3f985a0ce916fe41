"""One word for a point of the survey ring on sheets, on the terminal and in plan.json."""

from __future__ import annotations

import json
from dataclasses import replace

import plan_factory
from halflayer.base.result import Finding
from halflayer.base.ring_words import ring_words
from halflayer.cli.plan_text import plan_lines
from halflayer.plan_json import plan_json
from halflayer.sheet.figures import Show

TEXT = "more layers do not help: the upper bound at barrier 90 deg, 2 m is 22.3 times it; barrier line 90 deg, 1 m"


def test_the_line_of_the_barrier_and_its_limit_keep_their_name() -> None:
    assert ring_words(TEXT).endswith("barrier line 90 deg, 1 m") and "at ring 90 deg, 2 m" in ring_words(TEXT)
    assert ring_words("barrier 7.5 uSv/h, barrier 5.9 m") == "barrier 7.5 uSv/h, barrier 5.9 m"
    assert Show().converted(TEXT).startswith("more layers do not help: the upper bound at ring 90°, 2 m")
    assert "ring 90°, 6.6 ft" in Show("imperial").converted(TEXT)


def test_terminal_and_plan_json_say_ring_where_the_sheets_do() -> None:
    """Wrapped lines too: a name that a line's end parts is named before it is parted."""
    made = plan_factory.plan()
    welds = tuple(
        replace(w, findings=(*w.findings, Finding("warn", f"{TEXT} {TEXT} {TEXT}"))) for w in made.welds
    )
    plan = replace(made, welds=welds)
    told = " ".join(" ".join(plan_lines(plan)).split())
    assert told.count("at ring 90°, 2 m") == 3  # the same words at all welds: told once
    assert "barrier 90" not in told
    data = json.dumps(plan_json(plan))
    assert "at ring 90 deg, 2 m" in data and "barrier 90 deg" not in data


def test_findings_on_the_terminal_stand_in_the_order_s_units_and_once() -> None:
    """1 foot is 0.3048 m, 1 rem is 0.01 Sv: 3.048 m and 10 uSv/h by hand."""
    made = plan_factory.plan(units="imperial")
    text = "limits do not hold: up to 10 uSv/h at the gate, 3.048 m off"
    warned = Finding("warn", text, "looks", ("a barrier 3.048 m away",))
    plan = replace(made, welds=tuple(replace(w, findings=(warned,)) for w in made.welds))
    told = " ".join(" ".join(plan_lines(plan)).split())
    assert told.count("limits do not hold: up to 1 mrem/h at the gate, 10 ft off (looks)") == 1
    assert told.count("would be lifted by: a barrier 10 ft away") == 1
    assert "uSv" not in told
