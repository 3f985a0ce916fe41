"""Comparing ways: what a look may say, who must agree to a change, one row for every candidate."""

from __future__ import annotations

import dataclasses
import json
import math
from typing import Any

import pytest

import order_factory as of
import placement_orders as po
from halflayer.base.result import Finding
from halflayer.cli.compare import comparison_lines
from halflayer.cli.door import run
from halflayer.compare import look, ways
from halflayer.compare.as_json import comparison_json
from halflayer.compare.look import NOISE_LEAST, Stock, asks_of, judged, next_fitting, stock_of
from halflayer.compare.relax import NO_DOSE, by_how_much, relaxations, who_agrees
from halflayer.compare.result import Comparison, Look, Way
from halflayer.exposure.result import Exposure
from halflayer.exposure.time import expose
from halflayer.scene.build import build_scene
from halflayer.scene.fitting import Fitting
from halflayer.shielding import spots
from halflayer.shielding.asks import Ask, Kind
from halflayer.shielding.look import Rate
from halflayer.shielding.spots import flattest, quick_rates, setting_of
from halflayer.technique.choose import choose_technique
from halflayer.technique.result import RuleVerdict, Technique

LIMIT = 7.5e-6 / 3600
FIT = Fitting(4, "PB3", 2, "W25")


def timed(order: Any, weld: Any, c: Any) -> Exposure:
    """Exposure times with next to no work on scatter."""
    bare = [build_scene(order, weld, c, shot, Fitting()) for shot in c.shots]
    return expose(order, weld, c, bare, moment=order.shift.starts, seed=1, batches=1)


def rate(share: float, *, sigma: float = 0.05, reliable: bool = True, name: str = "office") -> Rate:
    """A rate of so many times the limit."""
    kinds = (Kind("rate", "instantaneous", LIMIT, None),)
    radius = 6.0 if name.startswith("barrier") else None
    ask = Ask(name, (5.0, 0.0, 1.0), (5.0, 0.0, 1.0), kinds, 0.0 if radius else None, radius)
    return Rate(ask, share * LIMIT, sigma, reliable, {"from the pipe": 1.0})


@pytest.mark.parametrize(
    ("share", "sigma", "reliable", "standing"),
    [
        (0.5, 0.05, True, "under"),  # 0.5 x 1.08 x 1.2 = 0.65
        (0.9, 0.05, True, "close"),  # 0.9 x 1.08 x 1.2 = 1.17 > 1, estimate under the limit
        (1.5, 0.05, True, "over"),
        (0.5, 0.05, False, "under"),  # 30 % noise at least: 0.5 x 1.49 x 1.2 = 0.90
        (0.6, 0.05, False, "close"),  # 0.6 x 1.49 x 1.2 = 1.07
        (1.5, 0.05, False, "close"),  # 1.5 x (1 - 0.49) = 0.76: the noise may hide a hold
        (3.0, math.inf, False, "close"),  # nothing known of the noise: never "over" by chance
        (80.0, math.inf, False, "over"),
    ],
)
def test_a_look_says_what_its_noise_allows(share: float, sigma: float, reliable: bool, standing: str) -> None:
    found = judged(FIT, [rate(share, sigma=sigma, reliable=reliable)], 0.2, 1)
    assert found.standing == standing
    assert found.ratio == pytest.approx(share)
    if not reliable:
        assert found.sigma_rel >= NOISE_LEAST


def test_the_worst_place_is_the_nearest_to_its_limit_and_the_barrier_is_told() -> None:
    found = judged(FIT, [rate(0.3), rate(0.4, name="barrier 15 deg, 6 m"), rate(0.2)], 0.0, 1)
    assert found.place == "barrier 15 deg, 6 m"
    assert found.barrier_Sv_s == pytest.approx(0.4 * LIMIT * (1 + 1.645 * 0.05))


@pytest.mark.parametrize(
    ("bound", "layers"),
    [
        (8.0, 6),  # three halvings are missing: three layers more
        (1.1, 4),
        (0.9, 3),  # under, with nothing to spare: no further look
        (0.51, 3),
        (0.24, 2),  # two halvings and a little to spare: one layer less, one stays to spare
        (0.06, 0),  # four to spare
    ],
)
def test_the_next_look_never_adds_to_what_is_under_its_limits(bound: float, layers: int) -> None:
    stock = Stock("PB3", 6, "W25", 9)
    now = Look(Fitting(4, "PB3", 3, "W25"), "under", bound, bound, "office", LIMIT, 0.1, True, None, {}, 1)
    after = next_fitting(stock, now)
    assert (after.plates, after.layers) == (4, layers)


def test_nothing_is_mounted_where_the_bare_set_up_holds(monkeypatch: pytest.MonkeyPatch) -> None:
    """W2 of the example: a narrow beam's count mounted nine folded blankets where the plan mounts none."""
    looked: list[Fitting] = []

    def quiet(setting: Any, fitting: Fitting, *_: Any, **__: Any) -> list[Any]:
        looked.append(fitting)
        return [rate(0.3)]

    monkeypatch.setattr(look, "quick_rates", quiet)
    made = po.order("strap", sources=[of.source(mm=2.0)])
    weld, c = made.welds[0], po.best(made, "strap")
    exposure = timed(made, weld, c)
    found = look.look_at(setting_of(made, weld, c, exposure), exposure, seed=1)
    assert [(f.plates, f.layers) for f in looked] == [(0, 0)]
    assert (found.standing, found.fitting.plates, found.fitting.layers) == ("under", 0, 0)


def test_a_look_takes_no_more_layers_than_the_stock_gives_whole() -> None:
    """The sleeve of a strapped head takes more pieces for each layer more: 20 pieces of 0.4 m x 1.2 m."""
    made = po.order(
        "strap", sources=[of.source(mm=2.0)], kit={"blankets": [of.kit()["blankets"][0] | {"count": 20}]}
    )
    weld, c = made.welds[0], po.best(made, "strap")
    setting = setting_of(made, weld, c, timed(made, weld, c))
    stock = stock_of(setting)

    def pieces(layers: int) -> int:
        return setting.build(Fitting(0, None, layers, stock.blanket), c.shots[0]).wrap.pieces(layers)

    assert 0 < stock.layers_most < 20
    assert pieces(stock.layers_most) <= 20 < pieces(stock.layers_most + 1)


def test_a_look_hands_on_what_it_learned(monkeypatch: pytest.MonkeyPatch) -> None:
    """The second fitting of a way starts from the lesson of the first; two comparisons alike give the same looks."""
    hints: list[object] = []
    real = spots.Run

    def spy(*args: Any, **named: Any) -> Any:
        hints.append(named.get("hint"))
        return real(*args, **named)

    monkeypatch.setattr(spots, "Run", spy)
    made = po.order("strap", sources=[of.source(mm=2.0)])
    weld, c = made.welds[0], po.best(made, "strap")
    exposure = timed(made, weld, c)
    found = []
    for _ in range(2):
        hints.clear()
        setting = setting_of(made, weld, c, exposure)
        asks = asks_of(setting, exposure, setting.build(Fitting(0, None, 1, "W25"), c.shots[0]))[:3]
        for layers in (2, 3):
            rates = quick_rates(
                setting, Fitting(0, None, layers, "W25"), c.shots[0], asks, seed=1, batches=2, keep=True
            )
        assert hints[0] is None and hints[1] is not None
        found.append([r.rate_Sv_s for r in rates])
    assert found[0] == found[1]


@pytest.mark.parametrize(
    ("change", "who"),
    [
        ("agree Se-75 from 5 mm (agreements: se75-from-5mm)", "the contracting parties, in writing"),
        ("source for the thickness Se-75: 5 mm to 40 mm of steel", "the contracting parties, in writing"),
        ("limits of DWDI in plane outside diameter <= 100 mm", "the contracting parties, in writing"),
        ("a 1.9 mm source", "who holds the licence for the source"),
        ("access to the inside of the pipe at the weld", "who runs the plant"),
        ("40 mm more room at the sides for the head", "who runs the plant"),
        ("more reach: 60 mm", "who owns the kit"),
        ("a film of class C4 or better", "who runs the radiography"),
        ("ask for lean-back in the weld's placements", "who wrote the order"),
    ],
)
def test_who_must_agree(change: str, who: str) -> None:
    assert who_agrees(change) == who


@pytest.mark.parametrize(
    ("required", "reached", "amount"),
    [
        ("Se-75: 5 mm to 40 mm of steel", "w = 43.9 mm", "3.9 mm over the 40 mm (w = 43.9 mm)"),
        ("Se-75: 10 mm to 40 mm of steel", "w = 6.76 mm", "3.24 mm under the 10 mm (w = 6.76 mm)"),
        ("f >= 199.7 mm (7.5 d b^(2/3) with d = 3 mm)", "f = 178.9 mm", "20.8 mm more (f = 178.9 mm)"),
        ("a source can be brought in", "no access inside stated", "now no access inside stated"),
    ],
)
def test_by_how_much_a_rule_is_broken(required: str, reached: str, amount: str) -> None:
    """Differences done by hand."""
    assert by_how_much(RuleVerdict("r", required, reached, "breaks", "x")) == amount


def test_changes_whose_dose_a_look_knows_come_first(monkeypatch: pytest.MonkeyPatch) -> None:
    order = of.order(welds=[of.weld()], agreements=["se75-from-5mm"])
    weld = order.welds[0]
    monkeypatch.setattr("halflayer.compare.relax._more_kit", lambda *_: None)
    look = Look(FIT, "over", 3.9, 4.0, "barrier 90 deg, 6 m", 3.9 * LIMIT, 0.3, False, 4 * LIMIT, {}, 3)
    made = looked(order, weld, look)
    rule = RuleVerdict("source for the thickness", "Se-75: 5 mm to 40 mm", "w = 43.9 mm", "breaks", "ISO")
    other = dataclasses.replace(made[0].candidate, verdict="refused", rules=(rule,))
    found = relaxations(order, weld, Technique(weld.id, (made[0].candidate, other), ()), made, 1)
    assert [NO_DOSE in r.basis for r in found] == [False, False, True]
    assert found[-1].who == ("the contracting parties, in writing",)
    assert found[-1].amount.startswith("3.9 mm over")


def thin_pipe() -> tuple[Any, Any]:
    order = of.order(welds=[of.weld(od=33.4, wall=3.38, cap=6, sources=["S1"])])
    return order, order.welds[0]


def test_a_weld_that_the_rules_stop_gets_its_nearest_changes_with_amount_and_who() -> None:
    """Se-75 below 10 mm of steel needs an agreement: the change that ISO 17636-1 Table 2's note allows comes first."""
    order, weld = thin_pipe()
    found = ways.compare(order, weld)
    assert not found.goes
    assert all(w.look is None and w.note.startswith("refused by the rules") for w in found.ways)
    first = found.relaxations[0]
    assert "se75-from-5mm" in first.changes[0]
    assert first.who == ("the contracting parties, in writing",)
    assert "5 mm" in first.amount


def looked(order: Any, weld: Any, look: Look) -> list[Way]:
    c = choose_technique(order, weld).admissible[0]
    return [Way(c, look, len(c.shots), None, None, None, 10.0, None, "look")]


def test_a_barrier_over_its_limit_moves_out_by_the_root(monkeypatch: pytest.MonkeyPatch) -> None:
    """4 times the limit at 6 m falls to it at 12 m by inverse square, or with a quarter of the activity."""
    order = of.order(welds=[of.weld()], agreements=["se75-from-5mm"])
    weld = order.welds[0]
    monkeypatch.setattr("halflayer.compare.relax._more_kit", lambda *_: None)
    look = Look(FIT, "over", 3.9, 4.0, "barrier 90 deg, 6 m", 3.9 * LIMIT, 0.3, False, 4 * LIMIT, {}, 3)
    made = looked(order, weld, look)
    found = relaxations(order, weld, Technique(weld.id, (made[0].candidate,), ()), made, 1)
    texts = [r.changes[0] for r in found]
    assert any("a barrier at 12 m in place of 6 m" in t for t in texts)
    source = next(r for r in found if "S1" in r.changes[0])
    assert "0.25 of its activity" in source.changes[0]
    assert source.amount.startswith("0.38 TBq")  # a quarter of 1.5
    at_office = dataclasses.replace(look, place="office")
    again = relaxations(order, weld, Technique(weld.id, (), ()), looked(order, weld, at_office), 1)
    assert any(r.changes[0].startswith("office emptied and guarded") for r in again)


def test_one_row_for_every_candidate_in_json_and_text() -> None:
    order, weld = thin_pipe()
    found = ways.compare(order, weld)
    data = json.loads(json.dumps(comparison_json(found), allow_nan=False))
    technique = choose_technique(order, weld)
    assert len(data["ways"]) == len(technique.candidates)
    assert {w["verdict"] for w in data["ways"]} == {"refused"}
    assert data["ways"][0]["look"] is None
    assert data["ways"][0]["rules"]
    assert data["relaxations"][0]["who"]
    text = "\n".join(comparison_lines(found, "metric"))
    assert "nearest changes that would make it go" in text
    assert "not plans" in text


def test_a_look_in_json_and_text() -> None:
    order = of.order(welds=[of.weld()], agreements=["se75-from-5mm"])
    weld = order.welds[0]
    look = judged(FIT, [rate(0.5, name="barrier 15 deg, 6 m")], 0.2, 2)
    found = Comparison(
        weld.id, tuple(looked(order, weld, look)), (), (Finding("note", "x"),), ways.CAUTIONS, 1
    )
    data = comparison_json(found)
    shown = data["ways"][0]["look"]
    assert (shown["stop_plates"], shown["blanket_layers"], shown["standing"]) == (4, 2, "under")
    assert shown["rate_Sv_per_h"] == pytest.approx(0.5 * 7.5e-6)
    assert shown["barrier_Sv_per_h"] == pytest.approx(0.5 * 7.5e-6 * (1 + 1.645 * 0.05) * 1.2)
    assert data["goes"] is True
    text = " ".join(" ".join(comparison_lines(found, "imperial")).split())
    assert "under its limits hold" in text
    assert "Rules: hold" in text
    # A plan of the same way may come out with no shield at all: the list says why its own differs.
    assert "not the least that holds. A plan searches for that" in text


def test_a_way_under_its_dose_limits_that_breaks_a_rule_says_both() -> None:
    """`under its limits` alone would read as a way to go, where no plan takes it."""
    order = of.order(welds=[of.weld()], agreements=["se75-from-5mm"])
    weld = order.welds[0]
    look = judged(FIT, [rate(0.5, name="barrier 15 deg, 6 m")], 0.2, 2)
    (way, *_) = looked(order, weld, look)
    stopped = dataclasses.replace(way, stops=(Finding("stop", "the weld is not shown whole"),))
    found = Comparison(weld.id, (stopped,), (), (), ways.CAUTIONS, 1)
    text = " ".join(" ".join(comparison_lines(found, "metric")).split())
    assert "1 way, 1 looked at" in text
    assert "under its limits one is broken" in text
    assert "Rules: BROKEN, no plan takes this way: the weld is not shown whole" in text
    data = comparison_json(found)
    assert data["goes"] is False
    assert data["ways"][0]["rules_broken"] == ["the weld is not shown whole"]
    assert data["ways"][0]["look"]["standing"] == "under"


def test_blankets_folded_into_a_stop_are_not_called_plates() -> None:
    order = of.order(welds=[of.weld()], agreements=["se75-from-5mm"])
    weld = order.welds[0]
    (way, *_) = looked(order, weld, judged(FIT, [rate(0.5)], 0.2, 2))
    for folded, words in ((True, "4 folded + 2"), (False, "4 plates + 2")):
        one = (dataclasses.replace(way, folded=folded),)
        found = Comparison(weld.id, one, (), (), ways.CAUTIONS, 1)
        text = "\n".join(comparison_lines(found, "metric"))
        assert words in text
        assert "stop plates" not in text
        shown = comparison_json(found)["ways"][0]["look"]
        assert shown["stop_of"] == ("folded blankets" if folded else "plates")


def test_the_command_refuses_a_weld_that_is_not_there(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["compare", "examples/one-weld-imperial.yaml", "--weld", "nothing"]) == 2
    assert "the order has no such weld" in capsys.readouterr().err
    assert run(["compare", "examples/tarn-mill.yaml", "--json"]) == 2
    assert "which weld is not said" in capsys.readouterr().out


@pytest.mark.slow
def test_a_look_agrees_with_a_long_run_at_the_same_fitting() -> None:
    """The look's estimate at its worst place lies within three of its stated sigmas of a run of 48 batches."""
    order = of.order(welds=[of.weld()], agreements=["se75-from-5mm"])
    weld = order.welds[0]
    found = ways.compare(order, weld)
    way = next(w for w in found.ways if w.look)
    c, look = way.candidate, way.look
    assert look is not None
    bare = [build_scene(order, weld, c, s, Fitting()) for s in c.shots]
    times = expose(order, weld, c, bare, moment=order.shift.starts, seed=1, batches=2)
    setting = setting_of(order, weld, c, times)
    shot = flattest(setting)[0]
    asks = [a for a in asks_of(setting, times, setting.build(look.fitting, shot)) if a.name == look.place]
    (long,) = setting.rates(look.fitting, shot, asks, seed=9, batches=48)
    assert look.rate_Sv_s == pytest.approx(long.rate_Sv_s, abs=3 * look.sigma_rel * look.rate_Sv_s)
    assert way.exposure_s is not None
    assert way.set_up_s is not None
    assert way.whole_s is not None
    assert way.whole_s.value > way.set_up_s.value + way.exposure_s.value
