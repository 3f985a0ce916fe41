"""Every figure that a build sheet prints can be opened: by name, with what it was made from."""

from __future__ import annotations

import io
import json
import math
import re
from pathlib import Path

import pytest
from pypdf import PdfReader

import plan_factory
from halflayer.base.result import Derived
from halflayer.cli.door import run
from halflayer.cli.trail_text import KINDS, value_text
from halflayer.opened import find, opened, opened_order
from halflayer.order.models import Order
from halflayer.plan import Plan
from halflayer.plan_json import plan_json
from halflayer.sheet import pdf
from halflayer.sheet.compose import compose
from halflayer.sheet.figures import Show
from halflayer.sheet.survey import ring_name
from halflayer.shielding.opened import plain_name
from safety_plan import plan as whole_plan

H = 3600.0


@pytest.fixture(scope="module")
def plan() -> Plan:
    return whole_plan()


@pytest.fixture(scope="module")
def figures(plan: Plan) -> dict[str, Derived]:
    return opened(Order.from_json(plan.order), plan.welds[0])


def _sheet(plan: Plan) -> str:
    sheet = next(s for s in compose(plan) if s.file == "W-01.pdf")
    pages = PdfReader(io.BytesIO(pdf.render(sheet))).pages
    words = " ".join(" ".join(p.extract_text() for p in pages).split())
    return words.replace("/ h ", "/h ")  # broken at the end of a line


def _texts(d: Derived) -> set[str]:
    """How a sheet may print a figure: to the nearest, up, down, alone or with its sigma."""
    if not isinstance(d.value, int | float) or not math.isfinite(d.value):
        return {str(d.value)}
    v, kind, show = float(d.value), KINDS.get(d.unit), Show()
    if kind is None:
        return {f"{v:.2f}", f"{v:g}", f"{v:.1f}", f"{int(v * 100 + 1e-6) / 100:.2f}", f"{v:.0f}"}
    texts = {show.of(d)}
    for digits in (1, 2, 3):
        texts |= {show.value(v, kind, digits=digits), show.up(v, kind, digits=digits)}
        texts.add(show.floor(v, kind, digits=digits))
    if kind == "length":
        texts.add(show.drawn(v))
    return texts | ({show.degrees(v)} if kind == "angle" else set())


def test_the_densities_stand_as_the_plan_has_them(plan: Plan, figures: dict[str, Derived]) -> None:
    shot = plan.welds[0].exposure.shots[0]  # type: ignore[union-attr]
    assert shot.density is not None
    told = [figures[f"density_{w}"].value for w in ("weld", "least", "most")]
    assert told == [shot.density.weld, shot.density.least, shot.density.most]
    assert figures["density_weld"].sigma == shot.density.sigma
    assert shot.density.where_least in figures["density_least"].basis
    inputs = figures["density_least"].inputs
    assert shot.seconds in inputs
    assert "kerma rate" in {d.name for d in inputs}


def test_the_rate_of_every_survey_point_and_place_can_be_asked(
    plan: Plan, figures: dict[str, Derived]
) -> None:
    s = plan.welds[0].shielding
    assert s is not None
    assert len(s.points) > 4
    for p in s.points:
        name, rate = find(figures, p.name) or pytest.fail(p.name)
        assert name == f"rate_{plain_name(p.name)}"
        assert rate.value == p.rate_Sv_s
        # one sigma by hand: noise and budget k at coverage 1.645 in quadrature
        assert rate.sigma == pytest.approx(p.rate_Sv_s * math.sqrt(p.sigma_rel**2 + (s.k / 1.645) ** 2))
        assert figures[f"at_most_{plain_name(p.name)}"].value == p.upper_Sv_s
        assert figures[f"turn_back_{plain_name(p.name)}"].value == p.turn_back_Sv_s


def test_a_ring_point_is_asked_for_as_the_sheet_names_it(plan: Plan, figures: dict[str, Derived]) -> None:
    s = plan.welds[0].shielding
    assert s is not None
    ring = [p for p in s.points if ring_name(p.name).startswith("ring ")]
    assert ring
    for p in ring:
        name, rate = find(figures, ring_name(p.name)) or pytest.fail(p.name)
        assert (name, rate.value) == (f"rate_{plain_name(p.name)}", p.rate_Sv_s)
        named = plain_name(ring_name(p.name).replace("°", " deg"))
        assert find(figures, f"distance_{named}") is not None
    assert find(figures, "ring 17°, 8 m") is None


def test_names_are_plain_and_each_its_own(figures: dict[str, Derived]) -> None:
    assert plain_name("Neighbour's office, first floor") == "neighbour_s_office_first_floor"
    assert plain_name("barrier 255 deg, 8 m") == "barrier_255_deg_8_m"
    assert plain_name("Bühne Süd") == "buhne_sud"
    assert all(re.fullmatch(r"[A-Za-z0-9_.-]+", n) for n in figures)


def test_every_rate_and_density_of_the_sheet_is_among_the_figures(
    plan: Plan, figures: dict[str, Derived]
) -> None:
    """Whatever stands on the sheet with a unit of dose, or as a density, is a figure or a part of one's trail.

    Left out: what the order states itself (limits, tolerance of the meter).
    """
    words = _sheet(plan)
    known = {t for f in figures.values() for _, d in f.walk() for t in _texts(d)}
    order = json.dumps(plan.order)
    printed = re.findall(r"(?:\d[\d.]*(?: ± \d[\d.]*)?) [µm]?Sv(?:/h)?", words)
    assert len(printed) > 20
    background = {"0.2 µSv/h"}  # named on the sheet as common practice, no source
    given = {t for t in printed if _stated(t, order)}
    missing = sorted(set(printed) - known - given - background)
    assert not missing, missing
    densities = re.findall(r"(?:density|lightest|darkest|planned) (\d\.\d\d)(?! [a-zA-Z]?Bq)", words)
    assert densities
    assert not set(densities) - known, set(densities) - known


def _stated(text: str, order: str) -> bool:
    """True for a dose or rate that the order gives, to the nearest digit that is printed."""
    number, unit = re.fullmatch(r"([\d.]+)(?: ± [\d.]+)? (\S+)", text).groups()  # type: ignore[union-attr]
    factor = {"µSv": 1e-6, "mSv": 1e-3, "µSv/h": 1e-6 / H, "mSv/h": 1e-3 / H, "Sv": 1.0}[unit]
    given = [float(x) for x in re.findall(r'_Sv(?:_s)?": ([\d.e+-]+)', order)]
    return any(math.isclose(float(number) * factor, g, rel_tol=0.005) for g in given)


def test_the_file_of_the_plan_has_them_all(plan: Plan, figures: dict[str, Derived]) -> None:
    data = plan_json(plan)
    assert set(data["welds"][0]["figures"]) == set(figures)
    assert data["units"] == "metric"


@pytest.mark.parametrize("name", ["density_least", "Walkway on level 2", "rate_walkway_on_level_2"])
def test_explain_prints_them(
    plan: Plan, name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "plan.json").write_text(json.dumps(plan_json(plan)), encoding="utf-8")
    assert run(["explain", str(tmp_path), "--weld", "W-01", "--of", name]) == 0
    told = capsys.readouterr().out
    assert told.startswith("density_least" if name.startswith("d") else "rate_walkway_on_level_2")
    assert "formula: " in told
    assert run(["explain", str(tmp_path), "--weld", "W-01", "--of", "density"]) == 2
    told = capsys.readouterr().err
    assert all(name in told for name in ("density_least", "density_most", "density_weld"))
    assert "more, listed without --of" in told
    assert told.count(", ") < 40  # not all of some hundred names


def test_an_imperial_order_reads_in_curies_and_inches(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """By hand: 1.86e12 Bq over 3.7e10 are 50.3 Ci, 1 rad is 57.3 degrees, 0.0254 m are 1 in."""
    assert value_text(Derived("a", 1.86e12, "Bq"), "imperial") == "50.3 Ci (1.86e+12 Bq)"
    assert value_text(Derived("a", 0.0254, "m"), "imperial") == "1 in (0.0254 m)"
    assert value_text(Derived("a", 1.0, "rad")) == "57.3° (1 rad)"
    plan = plan_factory.plan(units="imperial")
    (tmp_path / "plan.json").write_text(json.dumps(plan_json(plan)), encoding="utf-8")
    assert run(["explain", str(tmp_path), "--weld", "W-01", "--of", "exposure_time"]) == 0
    told = capsys.readouterr().out
    assert " Ci (" in told
    assert "Bq)" in told


def test_the_order_as_a_whole_has_its_own(plan: Plan) -> None:
    """Of the shift and the contingency card each printed figure by name, with what the plan itself holds."""
    found = opened_order(plan)
    assert plan.schedule is not None
    for person in plan.schedule.crew:
        assert found[f"shift_dose_{person.id}"].value == person.dose.value
        for c in person.limits:
            assert found[f"shift_dose_{person.id}_{plain_name(c.kind)}"].value == c.upper_Sv
    for a in plan.schedule.places:
        assert found[f"shift_average_{plain_name(a.place)}_{plain_name(a.kind)}"].value == a.upper
    assert plan.stuck
    for card in plan.stuck:
        at_1m = card.at_1m.value
        assert isinstance(at_1m, float)
        for row in card.rows:
            bare = found[f"stuck_{card.source}_bare_{plain_name(f'{row.distance_m:g} m')}"]
            # by hand: the inverse square law from the rate at 1 m
            assert bare.value == pytest.approx(at_1m / row.distance_m**2)
    assert all(re.fullmatch(r"[A-Za-z0-9_.-]+", n) for n in found)
    assert not set(found) & set(opened(Order.from_json(plan.order), plan.welds[0]))


def test_explain_opens_the_order_as_a_whole(
    plan: Plan, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "plan.json").write_text(json.dumps(plan_json(plan)), encoding="utf-8")
    assert len(plan.welds) > 1
    assert run(["explain", str(tmp_path)]) == 0
    listed = capsys.readouterr().out
    assert "shift_end" in listed
    assert "exposure_time" not in listed
    assert run(["explain", str(tmp_path), "--of", "shift_end", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["weld"] is None
    assert told["figure"]["value"] == plan.schedule.ends.value  # type: ignore[union-attr]
    assert run(["explain", str(tmp_path), "--of", "exposure_time"]) == 2
    assert "name a weld with --weld" in capsys.readouterr().err


def test_every_rate_of_a_contingency_card_is_among_the_figures(plan: Plan) -> None:
    """To the last digit that is printed, in whatever unit the table has; what the order states itself left out."""
    known = [
        d.value
        for f in opened_order(plan).values()
        for _, d in f.walk()
        if d.unit == "Sv/s" and isinstance(d.value, int | float)
    ]
    sheet = next(s for s in compose(plan) if s.file == "order.pdf")
    texts = [" ".join(p.extract_text().split()) for p in PdfReader(io.BytesIO(pdf.render(sheet))).pages]
    cards = [t for t in texts if "Follow your own contingency plan" in t]
    assert len(cards) == len(plan.stuck)
    stated = json.dumps(plan.order)
    for words in cards:
        printed = set(re.findall(r"(\d[\d.]*) ([µm]?)Sv/h", words))
        assert len(printed) > 5
        for number, prefix in printed:
            scale = {"": 1.0, "m": 1e-3, "µ": 1e-6}[prefix] / H
            digits = number.replace(".", "").strip("0") or "0"
            step = float(number) / int(digits) * scale if digits != "0" else 0.0
            near = any(abs(v - float(number) * scale) <= 1.0001 * step for v in known)
            assert near or _stated(f"{number} {prefix}Sv/h", stated), (number, prefix)


def test_steps_of_the_crew_rises_and_signs_have_names(plan: Plan, figures: dict[str, Derived]) -> None:
    """What a person's steps bring adds up to the whole that has its name; rises and signs are those of the sheet."""
    safety = plan.welds[0].safety
    assert safety is not None and safety.lost is not None and safety.contour is not None
    for person in safety.crew:
        steps = [s for s in person.steps if s.dose_Sv is not None]
        of = plain_name(person.id)
        opened_steps = [figures[f"step_{plain_name(s.what)}_{of}"] for s in steps]
        assert [d.value for d in opened_steps] == [s.dose_Sv for s in steps]
        if steps and len(steps) == len(person.steps):
            assert math.fsum(float(d.value) for d in opened_steps if d.value is not None) == pytest.approx(
                float(figures[f"crew_dose_{person.id}"].value or 0.0)
            )
    for c in safety.lost.cases:
        if c.factor is not None:
            assert figures[f"lost_{plain_name(c.name)}_times_expected"].value == c.factor
    assert [
        figures[f"first_survey_{n}_times_expected"].value for n, _ in enumerate(safety.lost.hints, 1)
    ] == [h.factor for h in safety.lost.hints]
    assert figures["rope_signs"].value == len(safety.contour.signs)
