"""At which exposure a survey point is highest, and which points are read again there.

Source: our choice; that a survey made at one placement says nothing of another is common practice, no source.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

import safety_plan
from halflayer.base.result import Derived
from halflayer.order.models import Order
from halflayer.plan import WeldPlan
from halflayer.sheet import survey, survey_again
from halflayer.sheet.figures import Show
from halflayer.sheet.go import first_of_all
from halflayer.sheet.log_table import log_data
from halflayer.sheet.own_lines import with_own_lines
from halflayer.shielding.asks import Ask
from halflayer.shielding.look import Rate
from halflayer.shielding.safety_result import Contour
from halflayer.shielding.stated import deciding, point
from halflayer.shielding.survey_points import arrange, is_barrier

SV_S = 1e-6 / 3600.0


def rates(*values: float) -> list[Rate]:
    ask = Ask("barrier 0 deg, 8 m", (8.0, 0.0, 1.0), (8.0, 0.0, 1.0), ())
    return [Rate(ask, v * SV_S, 0.01, True, {}) for v in values]


def test_a_point_knows_its_exposure_and_the_rate_at_each() -> None:
    """Of 1, 5 and 2 uSv/h the second decides; without the other shots there is one exposure to tell of."""
    shots = rates(1.0, 5.0, 2.0)
    found = point(deciding(shots, 0.1), 0.1, True, shots)
    assert found.at_exposure == 2
    assert [round(v / SV_S, 6) for v in found.by_exposure_Sv_s] == [1.0, 5.0, 2.0]
    assert found.rate_Sv_s == found.by_exposure_Sv_s[found.at_exposure - 1]
    alone = point(shots[0], 0.1, True)
    assert (alone.at_exposure, alone.by_exposure_Sv_s) == (1, ())


def with_points(*at: tuple[int, tuple[float, ...]]) -> tuple[Order, WeldPlan]:
    """A weld of the plan whose first points have these exposures and rates, the others one exposure."""
    plan = safety_plan.plan()
    w = next(w for w in plan.welds if w.shielding and w.status == "ready")
    assert w.shielding
    ring = [p for p in w.shielding.points if is_barrier(p)][: len(at)]
    made = tuple(
        replace(p, at_exposure=n, by_exposure_Sv_s=tuple(v * SV_S for v in each), turn_back_Sv_s=6 * SV_S)
        for p, (n, each) in zip(ring, at, strict=True)
    )
    assert w.safety
    return Order.from_json(plan.order), replace(
        w, shielding=replace(w.shielding, points=made), safety=replace(w.safety, floors=(), contour=None)
    )


def test_what_reads_clearly_more_later_is_read_again_there() -> None:
    """5 at exposure 3 beside 1 at exposure 1 is read again; 1.2 beside 1 no meter within 20 % tells apart; what is
    highest at exposure 1 is told by that; two at one exposure stand together."""
    order, w = with_points(
        (3, (1.0, 2.0, 5.0)), (2, (1.0, 1.2, 0.5)), (1, (4.0, 1.0, 1.0)), (3, (2.0, 2.0, 3.0))
    )
    assert w.shielding
    weld = order.weld(w.weld)
    points = arrange(order, weld, w.shielding, w.safety.contour if w.safety else None)
    number = {p.name: n for n, p in points.numbered}
    again = sorted(number[w.shielding.points[n].name] for n in (0, 3))
    told = survey_again.words(order, w)
    each = ", ".join(map(str, again))
    assert told == f"{each} at exposure 3{survey_again.LINE}"
    assert {"what": survey_again.NAME, "do": told} in first_of_all(order, w, Show())
    rows = {r["n"]: r for r in survey.rows(weld, w.shielding, points, Show(), order=order)}
    assert all(rows[n]["from"].startswith("(3) ") for n in again)
    assert {n for n, r in rows.items() if r["first"]} == set(again)
    assert survey_again.asked(order, w) == {3: [str(n) for n in again]}
    log = log_data(order, w)
    assert log and log["again"] == {"3": [str(n) for n in again]}


def test_a_row_has_what_turns_back_in_exposure_1_and_what_is_expected_there_with_its_error() -> None:
    """Turn back at 6 where 5 and 3 are expected: in exposure 1 at 6 x 1 / 5 and 6 x 2 / 3, rounded down."""
    order, w = with_points((3, (1.0, 2.0, 5.0)), (3, (2.0, 2.0, 3.0)))
    assert w.shielding
    weld = order.weld(w.weld)
    noisy = replace(
        w.shielding,
        k=0.0,
        points=tuple(replace(p, by_exposure_sigma_rel=(0.1, 0.1, 0.1)) for p in w.shielding.points),
    )
    points = arrange(order, weld, noisy, None)
    rows = {r["n"]: r["first"] for r in survey.rows(weld, noisy, points, Show(), order=order)}
    number = {p.name: n for n, p in points.numbered}
    told = [rows[number[p.name]] for p in noisy.points]
    assert [(f["at"], f["reads"], f["turn_back"]) for f in told] == [
        (3, "1.00 ± 0.10 µSv/h", "1.2 µSv/h"),
        (3, "2.00 ± 0.20 µSv/h", "4 µSv/h"),
    ]
    # A record that does not tell the noise of each exposure has the turn-back reading alone.
    silent = survey.rows(weld, w.shielding, arrange(order, weld, w.shielding, None), Show(), order=order)
    assert {r["first"]["reads"] for r in silent if r["first"]} == {""}


def test_nothing_is_read_again_where_one_exposure_tells_all() -> None:
    order, w = with_points((1, (5.0,)), (1, (3.0,)))
    assert survey_again.words(order, w) == ""
    assert survey_again.NAME not in {f["what"] for f in first_of_all(order, w, Show())}
    # What is lost in background is not sent anybody to.
    order, w = with_points((2, (0.01, 0.1)))
    low = replace(
        w.shielding, points=tuple(replace(p, turn_back_Sv_s=0.15 * SV_S) for p in w.shielding.points)
    )  # type: ignore[type-var,union-attr]
    assert survey_again.words(order, replace(w, shielding=low)) == ""


def test_a_point_lost_in_background_behind_what_the_rope_relies_on_is_read_again_first(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """0.01 at exposure 1, 0.05 at exposure 2, behind a tank: only exposure 2's beam tells that the tank is full."""
    order, w = with_points((2, (0.01, 0.05)), (2, (1.0, 5.0)))
    assert w.shielding and w.safety
    low = replace(w.shielding.points[0], turn_back_Sv_s=0.06 * SV_S)
    line = Contour(1.0, "", (), False, Derived("rope_length", 0.0, "m"), (), ())
    w = replace(
        w,
        shielding=replace(w.shielding, points=(low, w.shielding.points[1])),
        safety=replace(w.safety, contour=line),
    )
    monkeypatch.setattr(survey_again, "relied_on", lambda _: frozenset({"Tank"}))
    monkeypatch.setattr(survey_again, "screens", lambda _o, _w, p, _l: {"Tank"} if p is low else set())
    told = survey_again.words(order, w)
    assert told == f"1, 2 at exposure 2{survey_again.LINE}"
    monkeypatch.setattr(survey_again, "laid_anew", lambda *_: True)
    monkeypatch.setattr(survey_again, "tell_tales", lambda *_: {2: "x"})
    assert survey_again.words(order, w).startswith("2 first in every exposure (shield laid anew)")
    # A cell in the log for each point and exposure asked, a point asked twice in one exposure once.
    assert w.chosen
    shots = len(w.chosen.shots)
    found = survey_again.asked(order, w)
    assert found == {n: ["2"] + ["1"] * (n == 2) for n in range(1, shots + 1)}


def test_a_point_read_in_every_exposure_has_a_figure_of_each_in_its_row(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Turn back at 6 where exposure 1 brings 4: where 2 and 3 bring 1 and 2, at 6 x 1 / 4 and 6 x 2 / 4, by hand: at 6
    a piece left out in exposure 2 would not be told. 3.9 beside 4 is within what a meter tells apart: the same."""
    monkeypatch.setattr(survey_again, "laid_anew", lambda *_: True)
    monkeypatch.setattr(survey_again, "tell_tales", lambda *_: {1: "x"})

    def row(*values: float) -> tuple[str, str, str, str]:
        order, w = with_points((1, values))
        assert w.chosen
        w = replace(w, chosen=replace(w.chosen, shots=(w.chosen.shots[0],) * len(values)))
        said = survey_again.words(order, w)
        made = {"n": 1, "first": None, "reads": "4 \u00b5Sv/h", "turn_back": "6 \u00b5Sv/h", "low": False}
        found = with_own_lines(order, w, [made], Show())[0]
        first = found["first"] or {"at": "", "turn_back": ""}
        return first["turn_back"], first["at"], found["turn_back"], said.partition("turn back ")[2]

    assert row(4.0, 1.0, 2.0) == ("6 \u00b5Sv/h", "2", "1.5 (3) 3", "")
    assert row(4.0, 1.0, 3.9) == ("6 \u00b5Sv/h", "2", "1.5 (3) 6", "")
    assert row(4.0, 1.0, 1.1, 3.9) == ("6 \u00b5Sv/h", "2, 3", "1.6 (4) 6", "")
    assert row(4.0, 3.9, 3.9) == ("", "", "6 \u00b5Sv/h", "")
    # More than the line holds stands in words.
    *_, words = row(4.0, 0.5, 1.0, 2.0)
    assert words.startswith(
        "in exposure 2: point 1 at 0.75 \u00b5Sv/h; in 3: point 1 at 1.5 \u00b5Sv/h; in 4:"
    )
