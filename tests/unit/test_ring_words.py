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
    assert told.count("at ring 90 deg, 2 m") == 3 * len(welds)
    assert "barrier 90 deg" not in told
    data = json.dumps(plan_json(plan))
    assert "at ring 90 deg, 2 m" in data and "barrier 90 deg" not in data
