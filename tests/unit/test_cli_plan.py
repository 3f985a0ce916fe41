"""`plan`, `plans` and `explain` around a made-up plan: what is written, kept, printed and refused."""

from __future__ import annotations

import json
import shutil
import sqlite3
import sys
import types
from collections.abc import Iterable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

import field_factory
import plan_factory
import safety_plan
from halflayer.cli.door import run
from halflayer.cli.plan_text import plan_lines
from halflayer.plan import Condition, Plan, WeldPlan
from halflayer.sheet import go
from halflayer.sheet.content import Sheet
from halflayer.sheet.figures import Show
from small_plan import small_plan

Out = pytest.CaptureFixture[str]
ORDER = Path(__file__).parents[2] / "examples" / "tarn-mill.yaml"


class Flow(types.ModuleType):
    """Stands in for `halflayer.flow`: gives a made-up plan and remembers how it was asked."""

    SEEDS = (1, 2)

    def __init__(self) -> None:
        super().__init__("halflayer.flow")
        self.plan: Plan = plan_factory.plan()
        self.asked: list[dict[str, Any]] = []

    def plan_order(self, order: Any, **how: Any) -> Plan:
        how["progress"]("W-01: technique", 0.1)
        self.asked.append({"order": order.order, **how})
        return self.plan

    def content_hash(self, order: Any, **how: Any) -> str:
        return self.plan.content


@pytest.fixture
def flow(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Iterator[Flow]:
    """A flow that computes nothing, and records of the test's own."""
    module = Flow()
    monkeypatch.setitem(sys.modules, "halflayer.flow", module)
    monkeypatch.setenv("HALFLAYER_HOME", str(tmp_path / "home"))
    return module


@pytest.fixture
def no_sheets(monkeypatch: pytest.MonkeyPatch) -> None:
    """Sheets of one word, for tests of other things than sheets."""

    def write(plan: Plan, folder: Path, *, sheets: Iterable[Sheet], **layout: object) -> None:
        for sheet in sheets:
            (folder / sheet.file).write_text("sheet")

    monkeypatch.setattr("halflayer.sheet.pdf.write", write)


def _plan(*words: object) -> int:
    return run(["plan", str(ORDER), *map(str, words)])


def test_a_plan_is_written_kept_and_told(flow: Flow, no_sheets: None, tmp_path: Path, capsys: Out) -> None:
    out = tmp_path / "sheets"
    assert _plan("--out", out, "--seed", 7) == 1  # one weld of it is stopped
    names = {p.name for p in out.iterdir()}
    assert names == {"plan.json", "order.pdf", *(f"W-0{n}.pdf" for n in range(1, 6))}
    data = json.loads((out / "plan.json").read_text())
    assert set(data["files"]) == names - {"plan.json"}
    assert [w["status"] for w in data["welds"]] == ["ready"] * 4 + ["stopped"]
    assert flow.asked[0]["order"] == "TM-0147"
    assert flow.asked[0]["seeds"] == (7, 8)
    told = capsys.readouterr()
    lines = told.out.splitlines()
    assert "5 welds: 4 wait for signatures alone (W-01 to W-04); 1 stopped" in lines[0]
    assert any(line.startswith("W-0") and "until signed: " in line for line in lines)
    finding = next(n for n, line in enumerate(lines) if line.startswith("W-05") and "stop" in line)
    table = next(n for n, line in enumerate(lines) if line.startswith("weld ") and "worst place" in line)
    assert finding < table  # the finding comes first
    assert str(out / "order.pdf") in told.out
    assert "record  1" in told.out
    assert "\r" not in told.err  # no progress line where nobody watches


def test_a_field_is_asked_for_and_its_files_lie_beside_the_sheets(
    flow: Flow, tmp_path: Path, capsys: Out, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The field itself is made up here: how it is computed is tested elsewhere."""
    from halflayer import dose_fields
    from halflayer.shielding.field_of_weld import WeldField

    asked = []

    def with_fields(plan: Plan, *, seed: int, progress: Any) -> tuple[Plan, dict[str, WeldField]]:
        asked.append(seed)
        progress("W-01: dose field", 0.5)
        plan = field_factory.with_level(plan, "W-01")
        level = plan.welds[0].dose_field
        assert level is not None
        made = field_factory.voxels()
        return plan, {"W-01": WeldField("W-01", (made, made), (1.0, 2.0, 3.0), level)}

    monkeypatch.setattr(dose_fields, "with_fields", with_fields)
    flow.plan = replace(flow.plan, welds=flow.plan.welds[:1])
    out = tmp_path / "sheets"
    assert _plan("--out", out, "--field", "--seed", 4) == 0
    assert asked == [5]
    names = {p.name for p in out.iterdir()}
    own = {"W-01.isodose.svg", "W-01.isodose.png", "W-01.exposure-1.vti", "W-01.exposure-2.vti"}
    assert names == {"plan.json", "order.pdf", "W-01.pdf"} | own
    assert set(json.loads((out / "plan.json").read_text())["files"]) == names - {"plan.json"}
    assert 'Origin="1.0 2.0 3.0"' in (out / "W-01.exposure-2.vti").read_text()
    said = capsys.readouterr().out
    assert "order.pdf and 1 build sheet beside it" in said
    assert all(name in said for name in own)
    # What is kept brings back the sheet and the drawing, not the voxels.
    assert run(["plans", "export", "1", "--out", str(tmp_path / "again")]) == 0
    again = {p.name for p in (tmp_path / "again").iterdir()}
    assert again == names - {"W-01.exposure-1.vti", "W-01.exposure-2.vti"}


def test_the_table_is_aligned_and_says_what_the_plan_says(
    flow: Flow, no_sheets: None, tmp_path: Path, capsys: Out
) -> None:
    flow.plan = small_plan()
    _plan("--out", tmp_path / "sheets")
    lines = capsys.readouterr().out.splitlines()
    head = next(line for line in lines if line.startswith("weld "))
    row = next(line for line in lines[lines.index(head) :] if line.startswith("W1 "))
    for title, cell in (
        ("status", "do not start until"),  # its source size is to be signed for
        ("arrangement", "lean-out"),
        ("source", "S1"),
        ("worst place", "gate: 5.2 µSv/h of 7.5 µSv/h, holds"),
    ):
        assert row[head.index(title) :].startswith(cell)
    for title, cell in (("time", "2 x 71 s"), ("plates", "5"), ("layers", "2"), ("rope to", "4.3 m")):
        assert row[: head.index(title) + len(title)].endswith(cell)
    stopped = next(line for line in lines if line.startswith("W2 ") and "stopped" in line)
    assert stopped.split() == ["W2", "stopped", *["-"] * 7]


def test_a_verdict_says_what_it_leaves_out_and_a_weld_of_another_shift_that_it_is_one() -> None:
    """The words of a row are those of the conditions above it, and the rope's distance is that of the sheets."""
    plan = safety_plan.plan()
    first, *others = plan.welds
    asked = Condition("floor kept empty", "nobody on it", "search 1 m above the floor, over all exposures")
    plan = replace(plan, welds=(replace(first, conditions=(asked,)), *others))
    assert plan.schedule is not None and first.safety and first.safety.contour
    later = replace(plan, schedule=replace(plan.schedule, left_out=((first.weld, "too long"),)))
    (row,) = (line for line in plan_lines(plan) if line.startswith(f"{first.weld} ") and " x " in line)
    assert "do not start until" in row
    assert row.endswith("(until: floor kept empty)")
    assert f" {go.farthest(first, Show())} " in row
    (row,) = (line for line in plan_lines(later) if line.startswith(f"{first.weld} ") and " x " in line)
    assert "another shift" in row and "do not start until" not in row


def test_json_is_the_file_and_where_it_is(flow: Flow, no_sheets: None, tmp_path: Path, capsys: Out) -> None:
    out = tmp_path / "sheets"
    assert _plan("--out", out, "--json") == 1
    printed = json.loads(capsys.readouterr().out)
    assert (printed.pop("out"), printed.pop("record")) == (str(out), 1)
    assert printed == json.loads((out / "plan.json").read_text())


def test_a_plan_without_a_stopped_weld_ends_with_0(flow: Flow, no_sheets: None, tmp_path: Path) -> None:
    flow.plan = small_plan(welds=small_plan().welds[:1])
    assert _plan("--out", tmp_path / "sheets") == 0


def test_options_reach_the_flow(flow: Flow, no_sheets: None, tmp_path: Path) -> None:
    assert _plan("--out", tmp_path / "s", "--weld", "W1", "--prove", "--error", "2%") in (0, 1, 2)
    ids = [w["id"] for w in _order_json()["welds"]]
    assert _plan("--out", tmp_path / "s", "--weld", ids[1], "--prove", "--error", "2%") == 1
    asked = flow.asked[-1]
    assert (asked["weld"], asked["prove"], asked["error"]) == (ids[1], True, 0.02)


def _order_json() -> dict[str, Any]:
    from halflayer.order.read import read_order

    return read_order(ORDER).as_json()


def test_an_unknown_weld_is_told_with_the_known_ones(flow: Flow, tmp_path: Path, capsys: Out) -> None:
    assert _plan("--out", tmp_path / "s", "--weld", "NOPE") == 2
    told = capsys.readouterr().err
    assert "given: NOPE" in told
    assert _order_json()["welds"][0]["id"] in told
    assert not (tmp_path / "s").exists()


def test_no_store_keeps_no_record(flow: Flow, no_sheets: None, tmp_path: Path, capsys: Out) -> None:
    assert _plan("--out", tmp_path / "s", "--no-store") == 1
    assert not (tmp_path / "home").exists()
    assert not any(line.startswith("record") for line in capsys.readouterr().out.splitlines())


def test_records_that_cannot_be_used_are_told_before_the_work(
    flow: Flow, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Out
) -> None:
    monkeypatch.setenv("HALFLAYER_DB", "nonsense://")
    assert _plan("--out", tmp_path / "s") == 2
    assert "HALFLAYER_DB" in capsys.readouterr().err
    assert flow.asked == []
    assert not (tmp_path / "s").exists()


@pytest.mark.parametrize("error", [KeyboardInterrupt, RuntimeError])
def test_sheets_that_end_early_leave_neither_folder_nor_record(
    flow: Flow, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, error: type[BaseException]
) -> None:
    def write(plan: Plan, folder: Path, **layout: object) -> None:
        (folder / "order.pdf").write_text("half a sheet")
        raise error

    monkeypatch.setattr("halflayer.sheet.pdf.write", write)
    assert _plan("--out", tmp_path / "s") in (130, 3)
    assert [p.name for p in tmp_path.iterdir()] == ["home"]
    with sqlite3.connect(tmp_path / "home" / "halflayer.sqlite") as database:
        assert database.execute("SELECT count(*) FROM plans").fetchone() == (0,)


def test_progress_is_shown_when_asked(flow: Flow, no_sheets: None, tmp_path: Path, capsys: Out) -> None:
    _plan("--out", tmp_path / "s", "--progress")
    assert "10%  W-01: technique" in capsys.readouterr().err


# --- plans ----------------------------------------------------------------------------------------------


@pytest.fixture
def kept(flow: Flow, no_sheets: None, tmp_path: Path, capsys: Out) -> str:
    """What `plan` printed; the plan is number 1 of the records."""
    _plan("--out", tmp_path / "first")
    return capsys.readouterr().out


def test_plans_lists_what_is_kept(kept: str, capsys: Out) -> None:
    assert run(["plans"]) == 0
    title, row = capsys.readouterr().out.splitlines()
    assert "TM-0147 rev B" in row
    for head, cell in (("no condition", "4 of 5"), ("not until", "0"), ("stopped", "1")):
        assert row[title.index(head) :].startswith(cell)
    assert run(["plans", "--json"]) == 0
    (one,) = json.loads(capsys.readouterr().out)["plans"]
    assert (one["id"], one["welds"], one["stopped"]) == (1, 5, 1)
    assert (one["ready"], one["ready_only_if"]) == (4, 0)
    assert run(["plans", "--order", "OTHER"]) == 0
    assert "no plans" in capsys.readouterr().out


def test_show_prints_what_plan_printed(kept: str, capsys: Out) -> None:
    assert run(["plans", "show", "1"]) == 1
    shown = capsys.readouterr().out
    without_sheets = [line for line in kept.splitlines() if not line.startswith("sheets")]
    assert shown.splitlines() == without_sheets


def test_export_writes_the_same_files_from_the_record(kept: str, tmp_path: Path, capsys: Out) -> None:
    again = tmp_path / "again"
    assert run(["plans", "export", "1", "--out", str(again)]) == 1
    first = tmp_path / "first"
    assert {p.name: p.read_bytes() for p in again.iterdir()} == {
        p.name: p.read_bytes() for p in first.iterdir()
    }


def test_the_order_comes_back_as_it_was_read(kept: str, capsys: Out) -> None:
    assert run(["plans", "order", "1"]) == 0
    assert capsys.readouterr().out == ORDER.read_text(encoding="utf-8")


@pytest.mark.parametrize("reference", ["2", "ffffffff", "x", "-1"])
def test_a_plan_that_is_not_there_is_told(kept: str, reference: str, capsys: Out) -> None:
    assert run(["plans", "show", "--", reference]) == 2
    assert "no plan" in capsys.readouterr().err


# --- explain --------------------------------------------------------------------------------------------


def test_explain_reads_the_folder(kept: str, tmp_path: Path, capsys: Out) -> None:
    shutil.rmtree(tmp_path / "home")
    assert run(["explain", str(tmp_path / "first"), "--weld", "W-01", "--of", "exposure_time"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[0] == "exposure_time t = 3 min 25 s ± 24 s (205 ± 24 s)"
    assert "│  formula: t = D / (K x F)" in lines
    assert "├─ activity_at_shot A = 1.86 ± 0.11 TBq (1.86e+12 ± 1.1e+11 Bq)" in lines
    # 1.0349e7 s over 86400 are 119.78 d; 0.02 d is 1728 s, rounded up
    assert "│  └─ half_life = 119.78 ± 0.02 d (1.0349e+07 ± 1.8e+03 s)" in lines
    assert "│        source: DDEP" in lines


def test_explain_takes_the_stored_plan_of_the_same_content(
    kept: str, flow: Flow, monkeypatch: pytest.MonkeyPatch, capsys: Out
) -> None:
    ids = [w.id for w in _read().welds]
    renamed = tuple(_of_the_example(w, i) for w, i in zip(flow.plan.welds, ids, strict=False))
    other = Plan(flow.plan.order, flow.plan.made_at, flow.plan.version, "ef" * 32, renamed)
    from halflayer.records.store import save

    save(other)
    monkeypatch.setattr(flow, "plan", other)
    flow.asked.clear()
    assert run(["explain", str(ORDER), "--weld", ids[0], "--of", "exposure_time", "--json"]) == 0
    figure = json.loads(capsys.readouterr().out)["figure"]
    assert figure["inputs"][0]["inputs"][1]["source"] == "DDEP"
    assert flow.asked == []  # nothing was planned again


def test_explain_plans_the_weld_when_there_is_no_stored_plan(
    flow: Flow, monkeypatch: pytest.MonkeyPatch, capsys: Out
) -> None:
    weld = _read().welds[0].id
    mine = (_of_the_example(flow.plan.welds[0], weld),)
    monkeypatch.setattr(flow, "plan", Plan(flow.plan.order, flow.plan.made_at, "0", "ef" * 32, mine))
    assert run(["explain", str(ORDER), "--weld", weld]) == 0
    assert "exposure_time" in capsys.readouterr().out
    assert flow.asked[0]["weld"] == weld


def _of_the_example(one: WeldPlan, weld: str) -> WeldPlan:
    """A made-up plan as of a weld of the example: with film of it, without a shield, which is of another kit."""
    chosen = one.chosen and replace(one.chosen, detector=_read().detectors[0].id)
    return plan_factory.renamed(one, weld=weld, shielding=None, chosen=chosen)


def _read() -> Any:
    from halflayer.order.read import read_order

    return read_order(ORDER)


def test_explain_lists_names_for_an_unknown_one(kept: str, tmp_path: Path, capsys: Out) -> None:
    assert run(["explain", str(tmp_path / "first"), "--weld", "W-01", "--of", "nonsense"]) == 2
    assert "exposure_time" in capsys.readouterr().err
    assert run(["explain", str(tmp_path / "first"), "--weld", "NOPE"]) == 2
    assert "W-01" in capsys.readouterr().err
    assert run(["explain", str(tmp_path / "first"), "--of", "exposure_time"]) == 2
    assert "name a weld" in capsys.readouterr().err  # of the order as a whole this plan holds no figures


@pytest.mark.parametrize("text", ["", "[]", "{}", "null", "[" * 100_000, '{"welds": [{"weld": 1}]}', "\x00"])
def test_explain_of_a_folder_that_is_not_ours(tmp_path: Path, text: str, capsys: Out) -> None:
    (tmp_path / "plan.json").write_text(text)
    assert run(["explain", str(tmp_path), "--weld", "W1", "--of", "x"]) == 2
    assert "Traceback" not in capsys.readouterr().err
    (tmp_path / "plan.json").unlink()
    assert run(["explain", str(tmp_path), "--weld", "W1", "--of", "x"]) == 2
