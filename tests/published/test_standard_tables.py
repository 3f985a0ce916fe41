"""Inner order of the standards' tables: bands meet, steps follow the series, sizes that examples quote."""

from __future__ import annotations

import math
from itertools import groupby, pairwise

import numpy as np
import pytest

from halflayer.data import load

IQI = [dict(r) for r in load.table("iso17636_1_2013_iqi").rows()]
BANDS = {k: list(g) for k, g in groupby(IQI, key=lambda r: r["table"])}


@pytest.mark.parametrize("name", sorted(BANDS))
def test_iqi_bands_meet_and_their_steps_never_jump(name: str) -> None:
    """ISO 17636-1:2013 Annex B: a thicker wall asks for the next thicker wire (W down) or hole (H up)."""
    rows = BANDS[name]
    assert rows[0]["above_mm"] == 0.0
    for row, following in pairwise(rows):
        assert row["up_to_mm"] == following["above_mm"]
        step = int(following["required"][1:]) - int(row["required"][1:])
        assert step == (-1 if row["iqi_type"] == "wire" else 1)
    assert {r["required"][0] for r in rows} == {"W" if rows[0]["iqi_type"] == "wire" else "H"}


@pytest.mark.parametrize("pair", [("B.1", "B.3"), ("B.2", "B.4"), ("B.5", "B.7"), ("B.9", "B.11")])
def test_class_b_never_asks_for_less_than_class_a(pair: tuple[str, str]) -> None:
    def required(name: str, at_mm: float) -> int:
        for row in BANDS[name]:
            if row["above_mm"] < at_mm and not at_mm > row["up_to_mm"]:
                return int(row["required"][1:])
        raise LookupError(name)

    sign = 1 if BANDS[pair[0]][0]["iqi_type"] == "wire" else -1
    for at_mm in np.arange(0.5, 80.0, 0.5):
        assert sign * required(pair[1], at_mm) >= sign * required(pair[0], at_mm)


def test_wires_and_holes_follow_the_preferred_numbers() -> None:
    """Both series step by 10^(1/10) (ISO 3 series R10), printed rounded: each within 4 % of it."""
    wires = load.table("iso19232_1_wires")["diameter_mm"]
    holes = load.table("iso19232_2_step_holes")["hole_mm"]
    assert wires == pytest.approx(10 ** (np.arange(5, -14, -1) / 10.0), rel=0.04)
    assert holes == pytest.approx(10 ** (np.arange(-9, 9) / 10.0), rel=0.04)


# Sizes as quoted in worked examples of exposure counts and in Monte Carlo cases: outside diameter and wall.
QUOTED = [
    (2.0, 50, "40", 60.3, 3.91),
    (4.0, 100, "80", 114.3, 8.56),
    (6.0, 150, "40", 168.3, 7.11),
    (8.0, 200, "40", 219.1, 8.18),
    (12.0, 300, "40", 323.8, 10.31),
]


@pytest.mark.parametrize(("nps", "dn", "schedule", "od_mm", "wall_mm"), QUOTED)
def test_quoted_pipe_size(nps: float, dn: int, schedule: str, od_mm: float, wall_mm: float) -> None:
    found = [r for r in load.table("pipe_sizes").rows() if r["nps"] == nps and r["schedule"] == schedule]
    assert [(r["dn"], r["od_mm"], r["wall_mm"]) for r in found] == [(dn, od_mm, wall_mm)]


def test_pipe_sizes_are_of_one_piece() -> None:
    """One diameter and DN per nominal size; the number is the diameter in inches from NPS 14 on; a higher
    schedule number is never thinner; STD is 40 up to NPS 10 and XS is 80 up to NPS 8 (ASME B36.10M)."""
    rows = list(load.table("pipe_sizes").rows())
    assert len({(r["nps"], r["schedule"]) for r in rows}) == len(rows)
    walls: dict[float, dict[str, float]] = {}
    for r in rows:
        walls.setdefault(r["nps"], {})[r["schedule"]] = r["wall_mm"]
        assert 0.0 < 2.0 * r["wall_mm"] < r["od_mm"]
        if r["nps"] >= 14.0:
            assert r["od_mm"] == pytest.approx(25.4 * r["nps"], abs=1.0)
    for nps, of in walls.items():
        for standard in {r["standard"] for r in rows if r["nps"] == nps}:
            same = {(r["dn"], r["od_mm"]) for r in rows if (r["nps"], r["standard"]) == (nps, standard)}
            assert len(same) == 1  # NPS 10 is 273 in B36.10M and 273.1 in B36.19M
        numbered = [of[s] for s in sorted((s for s in of if s.isdigit()), key=int)]
        assert numbered == sorted(numbered)
        if nps <= 10.0 and "STD" in of and "40" in of:
            assert of["STD"] == of["40"]
        if nps <= 8.0 and "XS" in of and "80" in of:
            assert of["XS"] == of["80"]


def test_nuclide_ranges() -> None:
    """ISO 17636-1:2013 Table 2 (from memory in the table itself): class B is never wider than class A."""
    rows = [r for r in load.table("iso17636_1_2013_nuclides").rows() if r["by_agreement"] == "no"]
    of = {(r["nuclide"], r["metals"], r["class"]): (r["w_min_mm"], r["w_max_mm"]) for r in rows}
    assert len(of) == len(rows)
    for (name, metals, quality), (low, high) in of.items():
        assert 0.0 <= low < high
        if quality == "B":
            wide = of[name, metals, "A"]
            assert wide[0] <= low < high <= wide[1]


def test_film_screen_bands_cover_every_thickness_once() -> None:
    rows = list(load.table("iso17636_1_2013_film_screens").rows())
    for name in {r["nuclide"] for r in rows}:
        for quality in "AB":
            bands = [r for r in rows if (r["nuclide"], r["class"]) == (name, quality)]
            assert bands[0]["w_from_mm"] == 0.0
            assert math.isnan(bands[-1]["w_to_mm"])
            assert all(a["w_to_mm"] == b["w_from_mm"] for a, b in pairwise(bands))
            assert all(r["front_min_mm"] < r["front_max_mm"] for r in bands)


def test_limit_profiles_differ_in_kind() -> None:
    """A rate of 7.5 uSv/h and a dose of 20 uSv in any one hour are not one limit: both stand as they are."""
    rows = {(r["profile"], r["subject"]): r for r in load.table("limit_profiles").rows()}
    assert rows["uk", "barrier"]["kind"] == "rate"
    assert rows["us", "barrier"]["kind"] == "dose"
    assert rows["us", "barrier"]["averaging"] == "any one hour"
    assert {r["kind"] for r in rows.values()} == {"rate", "dose"}
