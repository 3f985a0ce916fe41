"""The program as its user meets it: real engine, real sheets, real records."""

from __future__ import annotations

import json
import math
from pathlib import Path

import pytest

from halflayer.cli.door import run

Out = pytest.CaptureFixture[str]
EXAMPLES = Path(__file__).parents[2] / "examples"

BARE = """
source: {lines: [[400 keV, 1.0]], activity: 1 TBq, at: [0 mm, 0 mm, 0 mm]}
surround: vacuum
points: [{name: one, at: [1 m, 0 mm, 0 mm]}, {name: two, at: [0 mm, 2 m, 0 mm]}]
"""


def test_a_bare_source_follows_the_inverse_square(tmp_path: Path, capsys: Out) -> None:
    """Air kerma rate of a point source in vacuum by hand: A y E (mu_en/rho) / (4 pi r2).

    mu_en/rho of dry air at 400 keV: 0.02949 cm2/g (NIST, NISTIR 5632, Table 4), printed to 4 digits.
    """
    scene = tmp_path / "bare.yaml"
    scene.write_text(BARE)
    assert run(["dose", str(scene), "--out", str(tmp_path / "r.json")]) == 0
    one, two = json.loads((tmp_path / "r.json").read_text())["points"]
    by_hand = 1e12 * 400 * 1.602176634e-16 * 0.002949 / (4 * math.pi) * 3600
    assert one["air_kerma_rate_Gy_per_h"] == pytest.approx(by_hand, rel=2e-4)
    assert two["air_kerma_rate_Gy_per_h"] == pytest.approx(by_hand / 4, rel=2e-4)
    assert one["uncollided_air_kerma_rate_Gy_per_h"] == pytest.approx(
        one["air_kerma_rate_Gy_per_h"], rel=1e-12
    )
    assert one["sigma_rel"] == 0.0


def test_the_same_seed_gives_the_same_result(tmp_path: Path, capsys: Out) -> None:
    scene = EXAMPLES / "lead-sphere.yaml"
    results = []
    for n, seed in enumerate((3, 3, 4)):
        out = tmp_path / f"{n}.json"
        assert run(["dose", str(scene), "--error", "3%", "--seed", str(seed), "--out", str(out)]) == 0
        results.append(json.loads(out.read_text())["points"])
    assert results[0] == results[1]
    assert results[0] != results[2]


@pytest.mark.slow
def test_an_order_twice_gives_the_same_files_and_one_record(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Out
) -> None:
    monkeypatch.setenv("HALFLAYER_HOME", str(tmp_path / "home"))
    order = EXAMPLES / "one-weld-imperial.yaml"
    codes = [run(["plan", str(order), "--out", str(tmp_path / name), "--json"]) for name in ("a", "b")]
    assert codes[0] in (0, 1)
    assert codes[0] == codes[1]
    files = {p.name: p.read_bytes() for p in (tmp_path / "a").iterdir()}
    assert {p.name: p.read_bytes() for p in (tmp_path / "b").iterdir()} == files
    assert files["order.pdf"].startswith(b"%PDF")
    capsys.readouterr()
    assert run(["plans", "--json"]) == 0
    (kept,) = json.loads(capsys.readouterr().out)["plans"]
    assert run(["plans", "export", str(kept["id"]), "--out", str(tmp_path / "c")]) == codes[0]
    assert {p.name: p.read_bytes() for p in (tmp_path / "c").iterdir()} == files
    capsys.readouterr()
    # the stored plan of the same content answers: no second planning, so this takes no time
    weld = json.loads(files["plan.json"])["welds"][0]
    assert run(["explain", str(order), "--weld", weld["weld"], "--of", "exposure_time", "--json"]) == 0
    figure = json.loads(capsys.readouterr().out)["figure"]
    assert figure == weld["figures"]["exposure_time"]
    names = {f["name"] for f in _under(figure)}
    assert {"half_life", "activity"} <= names


def _under(figure: dict) -> list[dict]:  # type: ignore[type-arg]
    return [figure, *(f for i in figure["inputs"] for f in _under(i))]
