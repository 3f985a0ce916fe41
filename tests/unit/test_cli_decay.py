"""`halflayer decay` gives the activity at another moment, with the uncertainty of the half-life."""

from __future__ import annotations

import json

import pytest

from halflayer.cli.door import run

Out = pytest.CaptureFixture[str]


def _json(capsys: Out, *words: str) -> dict:  # type: ignore[type-arg]
    assert run(["decay", *words, "--json"]) == 0
    return json.loads(capsys.readouterr().out)  # type: ignore[no-any-return]


def test_after_one_half_life_half_is_left(capsys: Out) -> None:
    """Half-life of Se-75: 119.781 d (DDEP evaluation, as in the shipped table); 119.781 d = 119 d 18 h 44 min 38 s."""
    data = _json(capsys, "Se-75", "2 TBq", "--on", "2026-01-01", "--at", "2026-04-30T18:44:38Z")
    assert data["values"][0]["activity_Bq"] == pytest.approx(1e12, rel=1e-6)


def test_the_uncertainty_is_that_of_the_half_life(capsys: Out) -> None:
    """d(2^(-t/T))/dT x sigma_T, by a second road: the difference quotient over the stated sigma."""
    data = _json(capsys, "Ir-192", "1 TBq", "--on", "2026-01-01", "--at", "2026-07-01")
    half, sigma = data["half_life_s"], data["half_life_sigma_s"]
    value = data["values"][0]
    elapsed = 181 * 86400.0
    by_difference = 1e12 * abs(2 ** (-elapsed / (half + sigma)) - 2 ** (-elapsed / (half - sigma))) / 2
    assert value["sigma_Bq"] == pytest.approx(by_difference, rel=1e-4)


def test_a_table_of_days(capsys: Out) -> None:
    data = _json(capsys, "Co-60", "40 Ci", "--on", "2026-01-01", "--days", "10", "--every", "5")
    assert [v["at"][:10] for v in data["values"]] == ["2026-01-01", "2026-01-06", "2026-01-11"]
    assert data["activity_Bq"] == pytest.approx(1.48e12)  # 1 Ci = 3.7e10 Bq
    activities = [v["activity_Bq"] for v in data["values"]]
    assert activities == sorted(activities, reverse=True)


def test_a_moment_before_the_certificate_is_computed_back(capsys: Out) -> None:
    data = _json(capsys, "Yb-169", "1 TBq", "--on", "2026-03-01", "--at", "2026-02-01")
    assert data["values"][0]["activity_Bq"] > 1e12


def test_the_text_names_zone_and_source(capsys: Out) -> None:
    assert run(["decay", "Ir-192", "1 TBq", "--on", "2026-01-01T22:00+01:00", "--days", "1"]) == 0
    text = capsys.readouterr().out
    assert "2026-01-01 21:00 UTC" in text
    assert "DDEP" in text


@pytest.mark.parametrize(
    "words",
    [
        ["Xx-1", "1 TBq"],
        ["Se-75", "5 mm"],
        ["Se-75", "1,5 TBq"],
        ["Se-75", "-1 TBq"],
        ["Se-75", "0 TBq"],
        ["Se-75", "1"],
        ["Se-75", "nan TBq"],
        ["Yb-169", "1 TBq", "--at", "1900-01-01"],
    ],
)
def test_wrong_input_ends_with_2(words: list[str], capsys: Out) -> None:
    nuclide, activity, *more = words
    assert run(["decay", "--on", "2026-01-01", *more, "--", nuclide, activity]) == 2
    told = capsys.readouterr()
    assert told.out == ""
    assert "Traceback" not in told.err
