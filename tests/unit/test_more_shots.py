"""More exposures of one way: one rule for all who time a way, the clock that hands can hold, and what it costs."""

from __future__ import annotations

import ast
from dataclasses import replace
from functools import partial
from pathlib import Path

import pytest

from halflayer.base.errors import OutOfRange
from halflayer.base.result import Finding
from halflayer.base.units import show
from halflayer.exposure import more_shots
from halflayer.exposure.fine_clock import SOURCE, cost, eased, is_fine, one_more
from halflayer.exposure.more_shots import Timed, timed, with_enough_shots
from halflayer.exposure.result import Coverage
from halflayer.order.models import Order
from halflayer.order.read import read_order
from halflayer.order.weld import Override, Weld
from halflayer.technique.choose import choose_technique
from halflayer.technique.result import Candidate

ROOT = Path(__file__).parents[2]
FINE = Finding("stop", "too fine", SOURCE)
OTHER = Finding("stop", "something else", "a test")
WHOLE = Coverage((), (), 0.01)


@pytest.fixture(scope="module")
def order() -> Order:
    return read_order(ROOT / "examples" / "tarn-mill.yaml")


@pytest.fixture(scope="module")
def outside(order: Order) -> Timed:
    """W11 of the example as the code asks it: nine exposures."""
    weld = order.weld("W11")
    return timed(order, weld, choose_technique(order, weld).admissible[0], batches=1)


def _timed(base: Timed, shots: int, *findings: Finding) -> Timed:
    candidate = replace(base.candidate, shots=base.candidate.shots[:1] * shots)
    exposure = replace(base.exposure, shots=base.exposure.shots[:1] * shots, findings=findings)
    return Timed(candidate, base.built[:1] * shots, exposure)


def test_the_example_s_weld_takes_ten_where_nine_ask_half_a_degree(order: Order, outside: Timed) -> None:
    """By hand: room is half of usable arc less 40 degrees and the lap, 0.5 degrees."""
    (told,) = [f for f in outside.exposure.findings if is_fine(f)]
    assert len(outside.candidate.shots) == 9
    assert "may be off by 0.5 deg" in told.text
    # One way, one margin: by how much ten leave more their own sheet says, with the usable arc that they have then.
    assert told.text.endswith("10 leave more.") and told.text.count(" deg") == 2
    *before, last = with_enough_shots(
        order, order.weld("W11"), outside.candidate, partial(timed, order, order.weld("W11"), batches=1)
    )
    assert [len(t.candidate.shots) for t in (*before, last)] == [9, 10]
    assert not last.stopped
    (told,) = [f for f in last.exposure.findings if f.source == SOURCE]
    assert told.level == "note"
    assert told.text.startswith("10 exposures in place of 9")
    # Ten take less time than nine because their source stands nearer: both distances are told.
    far, near = (t.candidate.geometry.source_to_detector_m for t in (before[0], last))
    assert near < far
    assert f"takes less, as the source stands {show(near, 'length')} from the film in place of" in told.text


def test_what_it_costs_is_the_sum_by_hand(order: Order, outside: Timed) -> None:
    """9 against 10 exposures of the same time t: one t more source out, one round more of walks, survey and reset."""
    nine, ten = _timed(outside, 9), _timed(outside, 10)
    t = float(nine.exposure.shots[0].seconds.value)  # type: ignore[arg-type]
    told = cost(order, ten.candidate, nine.exposure, ten.exposure).text
    head = next(h for h in order.heads if h.id == nine.candidate.head)
    c = order.crew_times
    more = t + 2 * head.travel_s + 2 * c.walk_s + c.survey_s + c.film_change_s + c.reset_s
    words = told.rpartition("about ")[2].removesuffix(" more").split()
    by_hand = sum(
        float(n) * {"h": 3600, "min": 60, "s": 1}[u] for n, u in zip(words[::2], words[1::2], strict=True)
    )
    assert by_hand == pytest.approx(more, rel=0.02)


def test_a_clock_with_room_and_a_gap_and_an_override_ask_nothing(order: Order, outside: Timed) -> None:
    weld, c = order.weld("W11"), outside.candidate
    assert one_more(weld, c, WHOLE)
    wide = replace(c, usable_rad=(c.usable_rad or 0.0) + 0.04)  # 1.1 degrees more on each side
    assert one_more(weld, wide, WHOLE) == []
    assert one_more(weld, c, replace(WHOLE, uncovered=((0.0, 0.1),))) == []
    aside = Override(rule="whole weld shown", reason="agreed so", by="the purchaser")
    assert one_more(weld.model_copy(update={"overrides": (aside,)}), c, WHOLE) == []


def test_a_fine_clock_alone_stops_nothing_where_no_more_exposures_mend_it(
    order: Order, outside: Timed, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(more_shots, "with_more_shots", lambda *a: None)
    (last,) = with_enough_shots(
        order, order.weld("W11"), outside.candidate, lambda c: _timed(outside, 9, FINE)
    )
    assert [f.level for f in last.exposure.findings] == ["warn"]
    (last,) = with_enough_shots(
        order, order.weld("W11"), outside.candidate, lambda c: _timed(outside, 9, FINE, OTHER)
    )
    assert last.stopped
    assert eased(last.exposure) is None


def test_it_goes_on_while_more_mend_and_ends_where_none_does(
    order: Order, outside: Timed, monkeypatch: pytest.MonkeyPatch
) -> None:
    def more(order: Order, weld: Weld, candidate: Candidate, exposure: object) -> Candidate | None:
        return _timed(outside, len(candidate.shots) + 1).candidate if len(candidate.shots) < 12 else None

    monkeypatch.setattr(more_shots, "with_more_shots", more)
    weld, first = order.weld("W11"), _timed(outside, 9).candidate

    def until(stop_below: int, fails_at: int = 99) -> list[int]:
        def time(c: Candidate) -> Timed:
            n = len(c.shots)
            if n >= fails_at:
                raise OutOfRange("a test")
            return _timed(outside, n, *([OTHER] if n < stop_below else []))

        return [len(t.candidate.shots) for t in with_enough_shots(order, weld, first, time)]

    assert until(9) == [9]
    assert until(11) == [9, 10, 11]
    assert until(99) == [9, 10, 11, 12]
    assert until(99, fails_at=10) == [9]
    with pytest.raises(OutOfRange):
        until(99, fails_at=9)


def test_nobody_else_asks_for_more_exposures() -> None:
    """The rule stood in the plan, the comparison, the radiograph and the gallery before."""
    files = [*(ROOT / "src").rglob("*.py"), *(ROOT / "scripts").glob("*.py")]
    users = [
        f.stem
        for f in files
        for node in ast.walk(ast.parse(f.read_text(encoding="utf-8")))
        if isinstance(node, ast.ImportFrom) and any(a.name == "with_more_shots" for a in node.names)
    ]
    assert users == ["more_shots"]


@pytest.mark.parametrize(
    ("layers", "stops", "seconds", "last"),
    [
        (0, False, {9: 1.0, 10: 2.0}, [9, 10]),  # no shield to lay anew: ten are shot
        (1, False, {9: 1.0, 10: 2.0}, [9]),  # longer with the shield: nine, and why
        (1, False, {9: 2.0, 10: 1.0}, [9, 10]),
        (1, True, {9: 2.0, 10: 1.0}, [9, 10, 9]),  # ten break a limit: nine are tried in their place
    ],
)
def test_what_a_radiographer_would_choose(
    layers: int,
    stops: bool,
    seconds: dict[int, float],
    last: list[int],
    order: Order,
    outside: Timed,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    from types import SimpleNamespace

    from halflayer import flow

    def shielded(order: Order, weld: Weld, t: Timed, **how: object) -> flow.Attempt:
        n = len(t.candidate.shots)
        shield = SimpleNamespace(fitting=SimpleNamespace(layers=layers if n == 10 else 0))
        found = (OTHER,) if stops and n == 10 else ()
        return flow.Attempt(t.candidate, t.exposure, shield, None, found)  # type: ignore[arg-type]

    monkeypatch.setattr(flow, "with_enough_shots", lambda *a: (_timed(outside, 9, FINE), _timed(outside, 10)))
    monkeypatch.setattr(flow, "_shielded", shielded)
    monkeypatch.setattr(flow, "_whole_s", lambda o, w, a: seconds[len(a.candidate.shots)])
    weld = order.weld("W11")
    tried = flow._attempt(order, weld, outside.candidate, prove=False, error=0.05, seeds=(1, 2))
    assert [len(a.candidate.shots) for a in tried] == last
    told = [f.text for f in tried[-1].findings if f.source == SOURCE]
    assert any("set finer instead" in t for t in told) is (last == [9])
