"""Measures the engine's checks and writes their figures and pictures into docs/validation.md.

    python scripts/validation.py measure [reference] [beside] [build-up]   into docs/checks/NAME.json
    python scripts/validation.py take deep-shields FILE.json               a benchmark's own record
    python scripts/validation.py write                                     page and pictures from docs/checks

The figures come from the same functions that the tests call, so page and tests cannot differ in what they compare.
`beside` needs the library of the comparison (tests/peer_library.py). Only what stands between the two marks of the
page is written; the rest of it is written by hand.
"""

from __future__ import annotations

import json
import math
import os
import platform
import statistics
import sys
from collections.abc import Callable, Iterator
from datetime import date
from importlib.metadata import version
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parent.parent
CHECKS = ROOT / "docs" / "checks"
PICTURES = ROOT / "docs" / "pictures"
PAGE = ROOT / "docs" / "validation.md"
BEGIN, END = (
    "<!-- written by scripts/validation.py: begin -->",
    "<!-- written by scripts/validation.py: end -->",
)
for folder in ("tests", "tests/agreement", "tests/published", "scripts"):
    sys.path.insert(0, str(ROOT / folder))

from plots import Point, ratio_plot  # noqa: E402  (the path must be known first)

Row = dict[str, Any]


def machine() -> dict[str, str]:
    """What a figure was measured on."""
    model = next(
        (
            line.split(":", 1)[1].strip()
            for line in Path("/proc/cpuinfo").read_text().splitlines()
            if line.startswith("model name")
        ),
        platform.machine(),
    )
    return {
        "date": date.today().isoformat(),
        "machine": f"{os.cpu_count()} cores of a shared machine ({model})",
        "python": platform.python_version(),
        "numba": version("numba"),
    }


def row(
    group: str, case: str, found: tuple[float, float], stands: tuple[float, float], allowed: float
) -> Row:
    """One comparison: value and relative sigma of ours and of the other, and what was allowed (relative)."""
    return {
        "group": group,
        "case": case,
        "found": found[0],
        "sigma_rel": found[1],
        "reference": stands[0],
        "reference_sigma_rel": stands[1],
        "allowed_rel": allowed,
    }


# --- measuring -------------------------------------------------------------------------------------------


def reference() -> Iterator[Row]:
    """All stored cases, with our own cross sections and with the other attenuation loaded."""
    import test_reference_transport as t

    for loaded, group in ((False, "own data"), (True, "other attenuation")):
        for r, found, sigma in t.all_cases(loaded):
            theirs = float(r["rel_sigma"])
            allowed = t.allowed(sigma, theirs, t.depth(r, loaded))
            name = f"{r['case']} {r['source']} {r['shield']}"
            if r["geometry"] == "sphere":
                name += f" {r['thickness_mm']} mm"
            else:
                name += f" {r['quantity']}"
            yield row(group, name, (found, sigma), (float(r["value"]), theirs), allowed)


def beside() -> Iterator[Row]:
    """Cases that the library of the comparison runs here and now."""
    import test_library_beside as t

    for name, ours, theirs, allowed in t.everything():
        yield row("beside", name, ours, theirs, allowed)


def build_up() -> Iterator[Row]:
    """Build-up of Goldstein and Wilkins and of ANSI/ANS-6.4.3, row by row."""
    import test_buildup_factors as t

    for source in ("Goldstein", "ANSI"):
        for (medium, energy), rows in t.printed(source, 4.0).items():
            for depth, (found, sigma) in zip(
                rows, t.build_up(medium, energy, list(rows), batches=40), strict=True
            ):
                name = f"{medium} {energy / 1000:g} MeV, {depth:g} mean free paths"
                yield row(medium, name, (found, sigma), (rows[depth], 0.0), t.TABLE_TOLERANCE)


MEASURES: dict[str, Callable[[], Iterator[Row]]] = {
    "reference": reference,
    "beside": beside,
    "build-up": build_up,
}


def measure(names: list[str]) -> None:
    CHECKS.mkdir(exist_ok=True)
    for name in names or list(MEASURES):
        rows = []
        for r in MEASURES[name]():
            rows.append(r)
            print(name, r["group"], r["case"], f"{r['found'] / r['reference'] - 1:+.2%}", flush=True)
            data = machine() | {"rows": rows}
            (CHECKS / f"{name}.json").write_text(json.dumps(data, indent=1) + "\n")


def take(name: str, file: Path) -> None:
    """Keep a benchmark's record among the checks, with the machine it was measured on."""
    CHECKS.mkdir(exist_ok=True)
    data = machine() | json.loads(file.read_text())
    (CHECKS / f"{name}.json").write_text(json.dumps(data, indent=1) + "\n")


# --- writing ---------------------------------------------------------------------------------------------


def pulls(rows: list[Row]) -> list[float]:
    """Differences in units of a third of what is allowed, as the tests' chi-square takes them."""
    return [(r["found"] / r["reference"] - 1.0) / (r["allowed_rel"] / 3.0) for r in rows]


def bound(n: int) -> float:
    """The 99.9 % point of chi-square with n degrees of freedom (Wilson and Hilferty's approximation)."""
    return n * (1.0 - 2.0 / (9.0 * n) + 3.0902 * math.sqrt(2.0 / (9.0 * n))) ** 3


def points(rows: list[Row]) -> list[Point]:
    return [
        Point(
            r["case"],
            r["found"] / r["reference"],
            math.hypot(r["sigma_rel"], r["reference_sigma_rel"]) * r["found"] / r["reference"],
            r["allowed_rel"],
        )
        for r in rows
    ]


def summary(group: str, rows: list[Row]) -> str:
    apart = [r["found"] / r["reference"] - 1.0 for r in rows]
    worst = max(rows, key=lambda r: abs(r["found"] / r["reference"] - 1.0) / r["allowed_rel"])
    off = worst["found"] / worst["reference"] - 1.0
    outside = sum(abs(a) > r["allowed_rel"] for a, r in zip(apart, rows, strict=True))
    return (
        f"| {group} | {len(rows)} | {100 * statistics.median(apart):+.1f} % | {outside} | "
        f"{worst['case']}: {100 * off:+.1f} % (allowed {100 * worst['allowed_rel']:.1f} %) | "
        f"{sum(p * p for p in pulls(rows)):.0f} (bound {bound(len(rows)):.0f}) |"
    )


def grouped(rows: list[Row]) -> dict[str, list[Row]]:
    out: dict[str, list[Row]] = {}
    for r in rows:
        out.setdefault(r["group"], []).append(r)
    return out


def load(name: str) -> dict[str, Any] | None:
    path = CHECKS / f"{name}.json"
    return json.loads(path.read_text()) if path.exists() else None


def on(data: dict[str, Any]) -> str:
    return f"{data['date']}, {data['machine']}, Python {data['python']}, numba {data['numba']}"


HEAD = (
    "| | cases | median difference | outside | nearest to its bound | chi-square |\n|---|---|---|---|---|---|"
)


def comparisons(pictures: dict[str, str]) -> Iterator[str]:
    """The section on the general-purpose library: stored cases, and those run beside ours."""
    stored, there = load("reference"), load("beside")
    lines, plots = [], []
    for data, title, file in (
        (stored, "stored cases", "reference"),
        (there, "run side by side", "beside"),
    ):
        if data is None:
            continue
        for group, rows in grouped(data["rows"]).items():
            label = f"{title}, {group}" if group != "beside" else title
            name = f"check-{file}-{group.replace(' ', '-')}.svg" if group != "beside" else "check-beside.svg"
            lines.append(summary(label, rows))
            svg = ratio_plot(f"Ours over theirs: {label}", points(rows))
            plots.append((name, svg, label))
    if not lines:
        return
    yield "### A general-purpose Monte Carlo library (PENELOPE 2018 data)\n"
    yield HEAD
    yield from lines
    yield (
        "\nBars are one combined standard deviation, grey bands what the tests allow: 3 combined sigma or 3 %, and"
        "\nwith our own data 1.2 % per mean free path in lead and tungsten. Chi-square takes a third of that as the"
        "\nstandard uncertainty; its bound is the 99.9 % point."
    )
    for when in sorted({on(data) for data in (stored, there) if data is not None}):
        yield f"Measured {when}."
    yield ""
    for name, svg, label in plots:
        pictures[name] = svg
        yield f"![Ratio of our result to the library's, {label}](pictures/{name})\n"


def build_up_factors(pictures: dict[str, str]) -> Iterator[str]:
    data = load("build-up")
    if data is None:
        return
    yield "### Build-up factors\n"
    yield "Exposure build-up of a point source in an endless medium over the printed one, 1 to 4 mean free paths.\n"
    yield "| medium | rows | median of the ratios | least | most | our largest sigma |\n|---|---|---|---|---|---|"
    for medium, rows in grouped(data["rows"]).items():
        ratios = [r["found"] / r["reference"] for r in rows]
        yield (
            f"| {medium} | {len(rows)} | {statistics.median(ratios):.3f} | {min(ratios):.3f} | {max(ratios):.3f} | "
            f"{100 * max(r['sigma_rel'] for r in rows):.0f} % |"
        )
    yield (
        "\nGoldstein and Wilkins 1954 and, for water, ANSI/ANS-6.4.3-1991, from memory and unverified, so that only"
        "\nmedians are held (to 5 %). K X-rays and annihilation photons are in ours and not in all of theirs."
        f"\nMeasured {on(data)}.\n"
    )
    pictures["check-build-up.svg"] = ratio_plot(
        "Build-up factors: ours over the printed ones", points(data["rows"])
    )
    yield "![Ratio of build-up factors to printed ones](pictures/check-build-up.svg)\n"


def spread(pictures: dict[str, str]) -> Iterator[str]:
    data = load("deep-shields")
    if data is None:
        return
    yield "### Spread over seeds behind closed lead\n"
    yield (
        "A point source of 400 keV in a shell of inner radius 5 cm; runs that differ by their seed alone, against a"
        "\nlong run with another. `benchmarks/deep_shields.py` repeats it.\n"
    )
    yield (
        "| lead | seeds | median stated error | spread over stated | worst run, in sigma | mean of runs less long run, "
        "in sigma | reliable |\n|---|---|---|---|---|---|---|"
    )
    for s in data["shells"]:
        yield (
            f"| {s['wall_mm']} mm | {len(s['runs'])} | {100 * s['median_sigma_rel']:.2f} % | "
            f"{s['spread_over_stated']:.2f} | {s['worst_run_in_sigma']:.1f} | "
            f"{s['mean_of_runs_less_long_in_sigma']:+.1f} | {s['reliable_runs']} |"
        )
        name = f"check-seeds-{s['wall_mm']}mm.svg"
        long = s["long"]["value"]
        marks = [
            Point(f"seed {i + 1}", r["value"] / long, r["sigma_rel"] * r["value"] / long, None)
            for i, r in enumerate(s["runs"])
        ]
        pictures[name] = ratio_plot(f"{s['wall_mm']} mm of lead: each seed over the long run", marks)
    yield f"\nMeasured {on(data)}.\n"
    for s in data["shells"]:
        yield f"![Runs over the long run, {s['wall_mm']} mm of lead](pictures/check-seeds-{s['wall_mm']}mm.svg)\n"


def section() -> tuple[str, dict[str, str]]:
    """What stands between the marks of the page, and the pictures by file name."""
    pictures: dict[str, str] = {}
    parts = [BEGIN, "", *comparisons(pictures), *build_up_factors(pictures), *spread(pictures), END]
    return "\n".join(parts), pictures


def whole(page: str) -> tuple[str, dict[str, str]]:
    """The page with its section written anew, and the pictures."""
    text, pictures = section()
    before, rest = page.split(BEGIN, 1)
    return before + text + rest.split(END, 1)[1], pictures


def write() -> None:
    page, pictures = whole(PAGE.read_text())
    PAGE.write_text(page)
    PICTURES.mkdir(exist_ok=True)
    for name, svg in pictures.items():
        (PICTURES / name).write_text(svg)


def main(words: list[str]) -> int:
    if words[:1] == ["measure"] and set(words[1:]) <= set(MEASURES):
        measure(words[1:])
    elif words[:1] == ["take"] and len(words) == 3:
        take(words[1], Path(words[2]))
    elif words == ["write"]:
        write()
    else:
        print(__doc__, file=sys.stderr)
        return 2
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
