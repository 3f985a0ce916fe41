"""To what error a plan is proved: the worst limited figure, said on the sheet, and never of what is not reliable."""

from __future__ import annotations

from dataclasses import replace

import plan_factory
from halflayer.plan_json import plan_json
from halflayer.sheet.proof_words import proof_words
from halflayer.shielding.proof import limited, not_proved, proved_to


def test_the_worst_limited_figure_says_to_what_error() -> None:
    plan = plan_factory.plan()
    shield = plan.welds[0].shielding
    assert shield is not None
    points = [replace(p, reliable=True, sigma_rel=0.031) for p in shield.points]
    points[0] = replace(points[0], limit_Sv_s=1e-9, sigma_rel=0.0461)
    free = replace(points[1], name="free", limit_Sv_s=None, sigma_rel=0.4)
    made = replace(shield, points=(*points, free), proved=True)
    assert proved_to(made) == 0.0461
    assert f"proved to 4.7 % (1 sigma) or better at {len(limited(made))} points" in proof_words(made)
    weld = replace(plan.welds[0], shielding=made)
    assert plan_json(replace(plan, welds=(weld,)))["welds"][0]["dose"]["proved_to"] == 0.0461


def test_a_figure_that_is_not_reliable_proves_nothing() -> None:
    shield = plan_factory.plan().welds[0].shielding
    assert shield is not None
    vague = replace(shield.points[0], reliable=False, limit_Sv_s=1e-9)
    assert proved_to(replace(shield, points=(vague,), proved=True)) is None
    assert proof_words(replace(shield, points=(vague,), proved=True)) == "dose planned, not proved"


def test_what_was_not_asked_to_be_proved_is_not() -> None:
    shield = plan_factory.plan().welds[0].shielding
    assert shield is not None
    assert proved_to(replace(shield, proved=False)) is None


def test_a_limit_of_another_kind_counts_too() -> None:
    shield = plan_factory.plan().welds[0].shielding
    assert shield is not None
    name = shield.limits[0].place
    point = replace(shield.points[0], name=name, limit_Sv_s=None, reliable=True, sigma_rel=0.02)
    assert proved_to(replace(shield, points=(point,), proved=True)) == 0.02


def test_the_places_that_a_proof_did_not_reach_are_named() -> None:
    shield = plan_factory.plan().welds[0].shielding
    assert shield is not None
    known = replace(shield.points[0], reliable=True, sigma_rel=0.049)
    loose = [replace(known, name=f"loose {n}", sigma_rel=0.051) for n in range(4)]
    vague = replace(known, name="vague", reliable=False, sigma_rel=0.01)
    assert not_proved([known], 0.05) == ()
    (told,) = not_proved([*loose, known, vague], 0.05)
    assert told.level == "warn"
    assert told.text == "not proved to 5.0%: loose 0, loose 1, loose 2, loose 3 and 1 more"
    (told,) = not_proved([known, vague], 0.05)
    assert told.text == "not proved to 5.0%: vague"
