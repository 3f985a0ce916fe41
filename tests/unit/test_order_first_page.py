"""The first page of the order answers alone: which weld when, who where, what is carried, what is open."""

from __future__ import annotations

import io
from dataclasses import replace
from datetime import timedelta

import pytest
from pypdf import PdfReader

import safety_plan
from halflayer.base.result import Derived
from halflayer.order.models import Order
from halflayer.plan import Condition, Plan
from halflayer.sheet import at_a_glance, only_if, pdf
from halflayer.sheet.call_words import THIRD_PARTY, TO_CALL, call_note, still_to_call, to_call
from halflayer.sheet.cards_together import common_steps
from halflayer.sheet.compose import compose
from halflayer.sheet.figures import Show


@pytest.fixture(scope="module")
def plan() -> Plan:
    return safety_plan.plan()


def _with(plan: Plan, **fields: object) -> Plan:
    return replace(plan, order=Order.from_json(plan.order | fields).as_json())


def test_a_weld_s_time_of_day_is_the_start_of_the_shift_and_its_slot(plan: Plan) -> None:
    order = Order.from_json(plan.order)
    assert plan.schedule is not None
    weld = plan.schedule.slots[0].weld
    slots = [s for s in plan.schedule.slots if s.weld == weld]
    starts = order.shift.starts + timedelta(seconds=min(s.start_s for s in slots))
    told = at_a_glance.when(plan, order, weld)
    assert told.startswith(f"{starts:%H:%M} to ")
    ends = order.shift.starts + timedelta(seconds=max(s.end_s for s in slots))
    hours, minutes = map(int, told[-5:].split(":"))
    assert abs(hours * 60 + minutes - ends.hour * 60 - ends.minute) <= 1  # to the nearest minute
    late = replace(plan, schedule=replace(plan.schedule, slots=(), left_out=((weld, "too long"),)))
    assert at_a_glance.when(late, order, weld) == at_a_glance.ANOTHER
    assert at_a_glance.when(replace(plan, schedule=None), order, weld) == ""


def test_page_1_says_which_weld_when_who_where_what_is_carried_and_what_is_open(plan: Plan) -> None:
    sheet = compose(plan)[0]
    words = " ".join(PdfReader(io.BytesIO(pdf.render(sheet))).pages[0].extract_text().split())
    for w in sheet.data["welds"]:
        assert w["weld"] in words and w["when"] in words
    for p in sheet.data["crew"]:
        assert p["name"] in words and p["where"].split(":")[0] in words
    # The first weld's start is no time at which anybody comes: what is done before it has none.
    for part in (
        "as planned",
        "all before",
        "not timed",
        "lifts",
        "list ticked, signed",
        "each weld has its own sheet",
    ):
        assert part in words, part
    # the parts that tell more are named by their sheets
    assert words.count("(sheet ") >= 3


def test_whom_the_card_asks_for_and_the_order_does_not_name_is_a_line_to_fill_in(plan: Plan) -> None:
    bare = Order.from_json(_with(plan, contacts=[]).order)
    assert still_to_call(bare) == [who for who, _ in TO_CALL]
    assert [c["role"] for c in to_call(bare)] == [*still_to_call(bare), THIRD_PARTY]
    assert {c["phone"] for c in to_call(bare)} == {""}
    assert call_note(to_call(bare)) == "lines: to be filled in before the first exposure"
    full = [{"role": "hospital", "name": "H", "phone": "1"}, {"role": THIRD_PARTY, "name": "", "phone": ""}]
    assert call_note(full) == "checked before the first exposure"
    some = [
        {"role": "radiation protection adviser", "phone": "extension 201"},
        {"role": "hospital", "name": "Ward 3", "phone": "+44 1632 960 100"},
    ]
    order = Order.from_json(_with(plan, contacts=some).order)
    assert still_to_call(order)[0] == "adviser: name" and "hospital" not in still_to_call(order)
    rows = to_call(order)
    assert (rows[0]["name"], rows[0]["phone"]) == ("", "extension 201")
    assert [r["role"] for r in rows].count("hospital") == 1
    sheet = compose(_with(plan, contacts=some))[0]
    first = next(r["text"] for r in sheet.data["glance"] if r["what"] == "do first")
    assert "to be filled in on the contingency card: adviser: name" in first
    fill = next(r["what"] for r in sheet.data["before"] if r["subject"] == "people to call")
    assert "authority" in fill and "hospital" not in fill


def test_a_figure_tied_to_its_unit_stands_beside_a_word() -> None:
    """One source leaves seconds for a second try, another none: the word behind them is not the unit."""
    told = {"A": "none", "B": "7\N{NO-BREAK SPACE}s"}
    for first in ("A", "B"):
        second = "B" if first == "A" else "A"
        cards = [{"source": s, "steps": [f"Try: {told[s]} as ways take it."]} for s in (first, second)]
        (step,) = common_steps(cards)
        assert step == f"Try: {told[first]} ({first}), {told[second]} ({second}) as ways take it."


def test_steps_of_several_cards_keep_every_figure_with_its_source() -> None:
    cards = [
        {"source": "A", "steps": ["Stop.", "Go past 2.2 mSv/h, 37 uSv a minute. Beyond 140 m wait."]},
        {"source": "B", "steps": ["Stop.", "Go past 290 uSv/h, 4.8 uSv a minute. Beyond 50 m wait."]},
    ]
    assert common_steps(cards) == [
        "Stop.",
        "Go past 2.2 mSv/h, 37 uSv (A), 290 uSv/h, 4.8 uSv (B) a minute. Beyond 140 m (A), 50 m (B) wait.",
    ]
    odd = [cards[0], {"source": "B", "steps": ["Stop.", "Stay."]}]
    assert common_steps(odd)[1] == f"A: {cards[0]['steps'][1]} B: Stay."
    assert common_steps([cards[0], {"source": "B", "steps": ["Stop."]}]) == []


def test_what_two_welds_wait_for_alike_is_told_once_and_then_by_what_differs(plan: Plan) -> None:
    texts = (
        "nobody within 140 m; gate locked; door closed; the adviser agrees",
        "nobody within 110 m; gate locked; door closed; the adviser agrees",
    )
    welds = tuple(
        replace(w, conditions=(Condition("changed", t, "x"),))
        for w, t in zip(plan.welds, texts, strict=False)
    )
    mine, others = only_if.by_shift(replace(plan, welds=welds), Show())
    assert [r["text"] for r in mine] == [texts[0], f"as {welds[0].weld}, but: nobody within 110 m"]
    assert others == []
    short = replace(welds[1], conditions=(Condition("changed", "nobody within 110 m; gate locked", "x"),))
    mine, _ = only_if.by_shift(replace(plan, welds=(welds[0], short)), Show())
    assert (
        mine[1]["text"] == "nobody within 110 m; gate locked"
    )  # one that lacks a clause must not inherit it
    assert plan.schedule is not None
    late = replace(plan.schedule, left_out=((welds[1].weld, "too long"),))
    mine, others = only_if.by_shift(replace(plan, welds=welds, schedule=late), Show())
    assert [r["welds"] for r in mine] == [welds[0].weld] and others[0]["text"] == texts[1]


def test_every_page_of_the_order_but_the_last_is_filled_beyond_its_half(plan: Plan) -> None:
    """Measured as the lowest line of text on the page; half of it is our choice."""
    for paper in ("a4", "letter"):
        pages = PdfReader(io.BytesIO(pdf.render(compose(plan, paper=paper)[0]))).pages  # type: ignore[arg-type]
        for page in pages[:-1]:
            lowest: list[float] = []
            foot = 12.0 / 25.4 * 72.0

            def seen(
                text: str,
                cm: list[float],
                tm: list[float],
                *_: object,
                low: list[float] = lowest,
                foot: float = foot,
            ) -> None:
                y = cm[1] * tm[4] + cm[3] * tm[5] + cm[5]
                if text.strip() and y > foot:
                    low.append(y)

            page.extract_text(visitor_text=seen)
            assert min(lowest) < 0.5 * float(page.mediabox.height), page.extract_text()[:200]


def test_ropes_and_lost_shielding_of_another_shift_are_not_on_the_order_s_sheets(plan: Plan) -> None:
    assert plan.schedule is not None
    first, second = (w.weld for w in plan.welds)
    late = replace(plan, schedule=replace(plan.schedule, left_out=((second, "too long"),)))
    sheet = compose(late)[0]
    access = sheet.data["access"]
    assert access["later"] == second and compose(plan)[0].data["access"]["later"] == ""
    assert [r["weld"] for r in access["ropes"]] == [first]
    assert f">{second}<" not in access["sketch"] and f">{first}<" in access["sketch"]
    assert [w["weld"] for w in sheet.data["lost"]["welds"]] == [first]
    words = " ".join(
        " ".join(p.extract_text() for p in PdfReader(io.BytesIO(pdf.render(sheet))).pages).split()
    )
    assert f"not {second}: another shift, planned anew for it" in words


def test_a_clause_with_brackets_is_told_whole(plan: Plan) -> None:
    texts = (
        "tank hides it: one more person (1 sentry; dose as a sentry's); or seen from elsewhere",
        "wall hides it: one more person (1 sentry; dose as a sentry's); or seen from elsewhere",
    )
    welds = tuple(
        replace(w, conditions=(Condition("view", t, "x"),)) for w, t in zip(plan.welds, texts, strict=False)
    )
    mine, _ = only_if.by_shift(replace(plan, welds=welds), Show())
    assert mine[1]["text"] == (
        f"as {welds[0].weld}, but: wall hides it: one more person (1 sentry; dose as a sentry's)"
    )


def test_welds_stand_as_they_are_worked_each_with_the_time_until_which_it_is_begun(plan: Plan) -> None:
    """By hand: each takes an hour with reshoots; begun an hour before the shift's end less closing it still ends, with
    all after it as many hours before. What is open stands by the hour at which the first weld needs it."""
    order = Order.from_json(plan.order)
    assert plan.schedule
    turns = list(dict.fromkeys(s.weld for s in plan.schedule.slots))
    each = tuple(Derived(w, 3600.0, "s") for w in turns)
    most = Derived("shift_end_with_reshoots", 3600.0 * len(turns), "s", inputs=each)
    timed = replace(plan, schedule=replace(plan.schedule, ends_with_reshoots=most))
    rows = compose(timed)[0].data["welds"]
    by = order.shift.ends - timedelta(seconds=order.crew_times.closing_s or 0.0)
    both = [f"{by - timedelta(hours=n):%H:%M}" for n in range(len(turns), 0, -1)]
    assert [r["latest"] for r in rows[: len(turns)]] == [[t, both[-1]] for t in both]
    still = [(3600.0, "b"), (0.0, "a"), (3600.0, "c")]
    start = order.shift.starts
    assert (
        at_a_glance._by_hour(order, still)
        == f"before {start:%H:%M}: a; before {start + timedelta(hours=1):%H:%M}: b, c"
    )
    assert [r["weld"] for r in rows[: len(turns)]] == turns
    status = {w.weld: w.status for w in plan.welds}
    assert [status[r["weld"]] == "stopped" for r in rows] == sorted(s == "stopped" for s in status.values())
