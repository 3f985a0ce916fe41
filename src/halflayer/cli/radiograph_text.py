"""A predicted radiograph as lines for the terminal, with each file that was written."""

from __future__ import annotations

import math
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from halflayer.radiograph.result import Radiograph, Readings, Verdict
    from halflayer.radiograph.visible import Seen


def radiograph_lines(made: Radiograph, out: Path) -> list[str]:
    """The whole text: findings first, then readings, wires and holes, the unrolled weld, and the files."""
    from halflayer.cli.table import aligned, wrapped
    from halflayer.radiograph.map_picture import map_lines
    from halflayer.radiograph.result import WHY_APART

    t, v = made.technique, made.verdict
    r = v.readings
    lines: list[str] = []
    for f in v.findings:
        lines += wrapped(f"{f.level:<6}", f.text, indent=6)
        lines += [line for change in f.relax for line in wrapped("      - ", change, indent=8)]
    head = f"{t.weld}  exposure {t.shot} of {t.shots}  {t.technique}, {t.arrangement}, {t.nuclide}"
    head += f", {t.exposure_s:.0f} s"
    lines += ["", head] if lines else [head]
    if r is not None:
        lines += _readings(v, r)
    if (planned := made.planned) is not None:
        first = f"{v.films[0].detector} alone, " if v.films else ""
        lines += wrapped(
            "planned:",
            f"{first}{planned.weld:.2f} +- {planned.sigma:.2f} at the weld, {planned.least:.2f} to {planned.most:.2f}; "
            f"{WHY_APART}",
            indent=9,
        )
    if v.opening_m is not None:
        lines.append(f"images of the weld {v.opening_m * 1e3:.1f} mm apart")
    if v.scatter_to_primary is not None and v.scatter_to_primary_sigma is not None:
        lines.append(f"scatter to primary {v.scatter_to_primary:.2f} +- {v.scatter_to_primary_sigma:.2f}")
    lines.append(
        f"unsharpness {v.unsharpness_m * 1e3:.2f} mm geometric, {v.inherent_unsharpness_m * 1e3:.2f} mm of the "
        "detector"
    )
    lines += _details("wire", v.wires, v.required)
    lines += _details("hole", v.holes, v.required_hole)
    if made.walls:
        read = [
            (
                f"{w.u_m * 1e3:.0f} mm",
                f"{math.degrees(w.clock_rad):.0f} deg",
                f"{w.wall_m * 1e3:.2f} +- {w.sigma_m * 1e3:.2f} mm",
                f"{round(w.loss_m * 1e3, 2) + 0.0:.2f} mm",
            )
            for w in made.walls
        ]
        lines += ["", *aligned(("along the film", "clock", "wall as read", "lost"), read, right=(0, 1, 2, 3))]
    if v.flaws:
        found = [
            (s.name, f"{s.size_m * 1e3:.2g} mm", f"{s.contrast_to_noise:.1f}", f"{s.chance:.0%}")
            for s in v.flaws
        ]
        lines += ["", *aligned(("flaw", "size", "to noise", "chance"), found, right=(1, 2, 3))]
    if made.weld_map is not None:
        lines += ["", *map_lines(made.weld_map)]
    return [*lines, "", *file_lines(made, out)]


def file_lines(made: Radiograph, out: Path) -> list[str]:
    """Each file written with what it is; pictures with the size that each of them has itself."""
    from PIL import Image as Picture

    from halflayer.cli.table import aligned

    rows = []
    for stem in ("image", "second-film") if made.second is not None else ("image",):
        film = "image" if stem == "image" else "second film of the holder"
        with Picture.open(out / f"{stem}.tif") as full, Picture.open(out / f"{stem}.png") as small:
            n = full.width // small.width
            pixel = made.frame.pixel_m * 1e6
            whole = f"{full.width} x {full.height} pixels of {pixel:g} um"
            less = f"{small.width} x {small.height} pixels of {n * pixel:g} um"
        rows += [
            (f"{stem}.tif", whole, f"{film}, 16 bits"),
            (f"{stem}.dcm", whole, f"{film}, the same values"),
            (f"{stem}.png", less, f"{film}, to look at"),
        ]
    if made.weld_map is not None:
        with Picture.open(out / "weld.png") as drawn:
            rows.append(("weld.png", f"{drawn.width} x {drawn.height} pixels", "the weld unrolled"))
    rows.append(("radiograph.json", "", "all numbers"))
    return [f"{out}, in {made.seconds:.1f} s", *aligned(("file", "size", "what"), rows)]


def _details(kind: str, found: tuple[Seen, ...], required: str | None) -> list[str]:
    """A table of wires or holes."""
    from halflayer.cli.table import aligned

    rows = [
        (
            s.name + (" required" if s.name == required else ""),
            f"{s.size_m * 1e3:g} mm",
            f"{s.contrast:.4f}",
            f"{s.contrast_to_noise:.1f}",
            f"{s.chance:.0%}",
            "seen" if s.visible else "not seen",
        )
        for s in found
    ]
    titles = (kind, "diameter", "contrast", "to noise", "chance", "")
    return ["", *aligned(titles, rows, right=(1, 2, 3, 4))] if rows else []


def _readings(v: Verdict, r: Readings) -> list[str]:
    """Densities, film by film; of a digital detector grey values and the ratio of signal to noise."""
    if v.digital:
        text = f"grey value {r.weld:.0f} at the weld, {r.least:.0f} to {r.most:.0f} over what is judged"
        ratio = "not computed" if r.snr_n is None else f"{r.snr_n:.0f}"
        return [text, f"normalised signal-to-noise ratio {ratio} beside the weld"]
    if not v.films:
        return [f"density {r.weld:.2f} at the weld, {r.least:.2f} to {r.most:.2f} over what is judged"]
    rows = [*v.films, *((v.double,) if v.double else ())]
    return [
        f"density {f.weld:.2f} at the weld, {f.least:.2f} to {f.most:.2f} over what is judged: {name}"
        for f, name in zip(
            rows, [*(f"{f.detector} alone" for f in v.films), "both on top of each other"], strict=False
        )
    ]
