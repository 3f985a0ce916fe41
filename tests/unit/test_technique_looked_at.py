"""Every combination that was judged is kept with its verdicts: nothing that was looked at is left out of the file."""

from __future__ import annotations

import json
import re
from collections import Counter
from dataclasses import replace
from itertools import product

import pytest

import order_factory as of
from halflayer.order.models import Order
from halflayer.records.codec import weld_from_json, weld_to_json
from halflayer.technique.choose import ask_for, choose_technique, rules_for
from halflayer.technique.looked_at import ALIKE, BEHIND_BY, COLUMNS, behind_by, grouped, looked_at_json
from halflayer.technique.placements import PLACEMENTS
from halflayer.technique.result import LookedAt, Technique
from small_plan import small_plan


def order() -> Order:
    """Two films, two clamps, two sources: combinations of all of them."""
    return of.order(
        kit=of.kit(clamps=[*of.kit()["clamps"], {**of.kit()["clamps"][0], "id": "CL2", "width_m": 0.02}]),
        sources=[of.source(), of.source("I1", "Ir-192", mm=2.0)],
        detectors=[
            of.film(),
            of.film("F9", film_class="C6"),
            of.film("F7", dose_for_density_2_Gy=of.film()["dose_for_density_2_Gy"] / 2),
        ],
    )


@pytest.fixture(scope="module")
def found() -> Technique:
    made = order()
    return choose_technique(made, made.welds[0])


def own_rules(t: Technique, one: LookedAt) -> tuple[object, ...]:
    return tuple(t.verdicts[n] for n in one.rules)


def way(one: LookedAt) -> tuple[str, str, str]:
    return one.arrangement, one.source, one.head


def test_there_are_as_many_as_the_placements_propose(found: Technique) -> None:
    """Counted by asking every placement anew."""
    made = order()
    weld = made.welds[0]
    rules, wanted = rules_for(made, weld), Counter[tuple[str, str]]()
    for p, head, source, film in product(PLACEMENTS, made.heads, made.sources, made.judged_detectors(weld)):
        fits = p.name in head.placements and p.head_kind == head.kind and source.nuclide in head.nuclides
        if fits:
            proposed = list(p.propose(ask_for(made, weld, source, head, film, rules)))
            wanted[p.name, source.id] += len(proposed)
    assert Counter((one.arrangement, one.source) for one in found.looked_at) == wanted
    assert len(found.looked_at) > 3 * len(found.candidates)
    assert len({one.clamp for one in found.looked_at}) > 2  # both clamps, and the strap without


def test_each_candidate_is_the_one_of_its_way_that_nothing_stands_before(found: Technique) -> None:
    first = {way(one): one for one in found.looked_at if not one.behind_by}
    assert len(first) == len(found.candidates) == sum(not one.behind_by for one in found.looked_at)
    for c in found.candidates:
        one = first[c.arrangement, c.source, c.head]
        assert own_rules(found, one) == c.rules
        assert (one.clamp, one.legs, one.leg_hole, one.aperture, one.detector, one.verdict) == (
            c.clamp, c.legs, c.leg_hole, c.aperture, c.detector, c.verdict)  # fmt: skip
        assert one.source_to_object_m == c.geometry.source_to_object_m
        assert one.exposures == len(c.shots)


def test_what_puts_one_behind_is_true_of_it(found: Technique) -> None:
    first = {way(one): one for one in found.looked_at if not one.behind_by}
    told = Counter(one.behind_by for one in found.looked_at)

    def broken(one: LookedAt) -> int:
        return sum(v.verdict == "breaks" for v in (found.verdicts[n] for n in one.rules))

    for one in found.looked_at:
        best = first[way(one)]
        assert (one.verdict == "refused") == (broken(one) > 0)
        assert broken(one) >= broken(best)
        if one.behind_by == "more rules broken":
            assert broken(one) > broken(best)
            continue
        assert broken(one) == broken(best)
        if one.behind_by == "more exposures":
            assert one.exposures > best.exposures
        if one.behind_by == "farther source":
            assert one.source_to_object_m > best.source_to_object_m
        assert one.behind_by in ("", ALIKE, *BEHIND_BY)
    assert told["more rules broken"] and len(told) > 2


def test_they_are_told_by_way_with_what_put_the_others_behind(found: Technique) -> None:
    words = grouped(found)
    assert len(words) == len(found.candidates)
    total = 0
    for text, c in zip(words, found.candidates, strict=True):
        name, _, rest = text.partition(": ")
        assert name == f"{c.arrangement} with {c.source} in {c.head}"
        number, *behind = (int(n) for n in re.findall(r"(?<![\w.])\d+(?= (?:judged|by|alike))", rest))
        assert sum(behind) == number - 1  # all but the candidate itself
        total += number
    assert total == len(found.looked_at)


def test_the_first_difference_decides() -> None:
    best = (0, 0, 0.0, 2, 0, 1.0, 0.3)
    assert behind_by((1, 0, 0.0, 1, 0, 0.5, 0.3), best) == "more rules broken"
    assert behind_by((0, 0, 0.0, 2, 0, 1.5, 0.2), best) == "more dose on the film"
    assert behind_by((0, 0, 0.0, 2, 0, 1.0, 0.4), best) == "farther source"
    assert behind_by(best, best) == ALIKE


def test_the_file_has_a_row_for_each_and_every_verdict_once(found: Technique) -> None:
    data = json.loads(json.dumps(looked_at_json(found)))
    assert data["columns"] == list(COLUMNS)
    assert len(data["rows"]) == len(found.looked_at)
    texts = [json.dumps(v, sort_keys=True) for v in data["verdicts"]]
    assert len(set(texts)) == len(texts)
    for row, one in zip(data["rows"], found.looked_at, strict=True):
        told = dict(zip(data["columns"], row, strict=True))
        assert told["source_to_object_mm"] == pytest.approx(one.source_to_object_m * 1e3)
        rules = [data["verdicts"][n] for n in told["rules"]]
        assert [r["rule"] for r in rules] == [v.rule for v in own_rules(found, one)]  # type: ignore[attr-defined]
        assert (told["verdict"] == "refused") == any(r["verdict"] == "breaks" for r in rules)
    used = {n for row in data["rows"] for n in row[-1]}
    assert used == set(range(len(data["verdicts"])))


def test_records_keep_them(found: Technique) -> None:
    w = replace(small_plan().welds[0], technique=found)
    assert weld_from_json(json.loads(json.dumps(weld_to_json(w)))).technique == found
