"""The figures and pictures of docs/validation.md are those of the recorded checks, and nobody's memory."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT / "scripts"))

import plots  # noqa: E402
import validation  # noqa: E402


def test_page_and_pictures_are_what_the_script_writes() -> None:
    page = (ROOT / "docs" / "validation.md").read_text()
    written, pictures = validation.whole(page)
    assert page == written, "run: python scripts/validation.py write"
    assert pictures
    for name, svg in pictures.items():
        assert (ROOT / "docs" / "pictures" / name).read_text() == svg, name


def test_what_was_recorded_lies_within_what_the_tests_allow() -> None:
    """Build-up rows are from memory, unverified: there medians decide (test_buildup_factors)."""
    for name in ("reference", "beside"):
        data = validation.load(name)
        assert data is not None, name
        for r in data["rows"]:
            assert r["found"] / r["reference"] == pytest.approx(1.0, abs=r["allowed_rel"]), r["case"]


def test_a_point_outside_its_band_is_drawn_in_red() -> None:
    inside = plots.Point("inside", 1.02, 0.01, 0.03)
    outside = plots.Point("outside <&>", 1.05, 0.01, 0.03)
    assert plots.OUT not in plots.ratio_plot("t", [inside])
    drawn = plots.ratio_plot("t", [inside, outside])
    assert drawn.count(f'fill="{plots.OUT}"') == 1
    assert "outside &lt;&amp;&gt;" in drawn


def test_chi_square_bound_is_the_printed_one() -> None:
    """99.9 % points of chi-square for 10 and 100 degrees of freedom, 29.588 and 149.449 (from memory, unverified)."""
    assert validation.bound(10) == pytest.approx(29.588, rel=0.01)
    assert validation.bound(100) == pytest.approx(149.449, rel=0.002)
