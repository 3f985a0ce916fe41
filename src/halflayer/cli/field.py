"""`halflayer field`: the dose field of a box in a free scene, by Monte Carlo, as a VTK file."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

import click

from halflayer.cli.door import INTERRUPTED
from halflayer.cli.dose import where
from halflayer.cli.options import (
    FILE,
    Seconds,
    backend_option,
    check_backend,
    error_option,
    json_option,
    progress_option,
    seed_option,
)

if TYPE_CHECKING:
    from halflayer.transport.grid import Grid
    from halflayer.transport.volume import DoseField

DEFAULT_SECONDS = 60.0  # our choice: what a person waits for
MOST_VOXELS = 1_000_000  # our choice: sums of all of them stay under 50 MB
MOST_BATCHES = 1_000_000
PER_HOUR = 3600.0


@click.command(
    "field",
    short_help="Compute the dose field of a box in a free scene.",
    epilog="Example: halflayer field examples/lead-sphere.yaml --low '-2 m, -2 m, -2 m' --high '2 m, 2 m, 2 m' "
    "--voxels 40x40x40 --out out/field.vti",
)
@click.argument("scene", type=FILE)
@click.option("--low", required=True, metavar="X,Y,Z", help="Low corner of the box: '-5 m, -5 m, -1 m'.")
@click.option("--high", required=True, metavar="X,Y,Z", help="High corner of the box.")
@click.option(
    "--voxels", default="60x60x30", show_default=True, metavar="NxNxN", help="Voxels along x, y, z."
)
@error_option("10%", "End when 99 % of the open voxels asked for are known to this, 1 sigma.")
@click.option("--above", metavar="RATE", help="Ask that error only of voxels with more than this rate.")
@click.option(
    "--seconds",
    type=Seconds(),
    default=DEFAULT_SECONDS,
    show_default=True,
    metavar="S",
    help="End after that.",
)
@seed_option("Random seed; the same one, the same photons.")
@backend_option("auto", "Where to compute.")
@click.option("--out", type=FILE, required=True, metavar="FIELD.vti", help="Write the field to this file.")
@progress_option
@json_option
def command(
    scene: Path,
    low: str,
    high: str,
    voxels: str,
    error: float,
    above: str | None,
    seconds: float,
    seed: int,
    backend: Literal["auto", "cpu", "cuda"],
    out: Path,
    progress: bool | None,
    as_json: bool,
) -> int:
    """Compute the ambient dose equivalent rate H*(10) in every voxel of a box in SCENE (YAML, as for `dose`).

    Every voxel has its error and whether that can be relied on. The points of the scene are not used. After Ctrl-C
    what was computed so far is written and labelled partial, exit code 130.
    """
    from halflayer.cli.out_folder import check_file, write_text
    from halflayer.cli.progress import progress as progress_line
    from halflayer.transport.free_scene import read_scene

    check_file(out)
    grid, least = asked(low, high, voxels, above)
    problem = read_scene(scene)
    check_backend(backend)
    with progress_line(progress) as line:
        from halflayer.base.errors import InputError, Problem
        from halflayer.transport import vtk
        from halflayer.transport.problem import ProblemError
        from halflayer.transport.volume import dose_field
        from halflayer.transport.warm import compile_kernels

        line("compiling, or loading what is compiled", 0.0)
        compile_kernels()

        def tell(now: DoseField) -> None:
            known = now.share_known(error=error, above_Sv_s=least)
            line(
                f"{now.histories:,} histories, {known:.1%} of the voxels known",
                max(known, now.seconds / seconds),
            )

        try:
            field = dose_field(
                problem,
                grid,
                seed=seed,
                error=error,
                above_Sv_s=least,
                most_batches=MOST_BATCHES,
                seconds=seconds,
                backend=backend,
                progress=tell,
            )
        except ProblemError as wrong:  # a box in which nothing can be asked
            accepted = "a box that holds air or void"
            found = [Problem(str(scene), None, "--low, --high", f.text, None, accepted) for f in wrong.faults]
            raise InputError(found) from None
    write_text(out, vtk.text(field, title=f"Scene {scene.name}."))
    data = summary(field, error=error, above_Sv_s=least)
    if as_json:
        click.echo(json.dumps(data | {"out": str(out)}, ensure_ascii=False, indent=1, allow_nan=False))
    else:
        click.echo("\n".join(_lines(data, out, where(field.backend, backend))))
    return INTERRUPTED if field.partial else 0


def asked(low: str, high: str, voxels: str, above: str | None) -> tuple[Grid, float]:
    """The voxels and the rate [Sv/s] that options ask for. Raises: InputError with all that is wrong."""
    from halflayer.base.errors import InputError, Problem
    from halflayer.base.units import UnitError, parse
    from halflayer.transport.grid import Grid

    wrong: list[Problem] = []

    def quantity(option: str, text: str, kind: str) -> float:
        try:
            return parse(text, kind)
        except UnitError as error:
            wrong.append(Problem("command line", None, option, error.problem, error.given, error.accepted))
            return 0.0

    def corner(option: str, text: str) -> tuple[float, float, float]:
        parts = [p.strip() for p in text.split(",")]
        if len(parts) != 3:
            wrong.append(
                Problem("command line", None, option, "three lengths are needed", text, "-5 m, -5 m, -1 m")
            )
            return (0.0, 0.0, 0.0)
        x, y, z = (quantity(option, p, "length") for p in parts)
        return (x, y, z)

    a, b = corner("--low", low), corner("--high", high)
    counts = [int(n) if n.isdecimal() and len(n) < 8 else 0 for n in voxels.lower().split("x")]
    if len(counts) != 3 or min(counts) < 1:
        text = "three whole numbers above 0 are needed"
        wrong.append(Problem("command line", None, "--voxels", text, voxels, "60x60x30"))
    elif counts[0] * counts[1] * counts[2] > MOST_VOXELS:
        text = "there are too many voxels"
        wrong.append(
            Problem("command line", None, "--voxels", text, voxels, f"at most {MOST_VOXELS:,} in all")
        )
    least = quantity("--above", above, "equivalent_rate") if above is not None else 0.0
    if not wrong and not all(q - p > 1e-6 for p, q in zip(a, b, strict=True)):
        text = "the box has no volume: each of its lengths must be larger than that of --low"
        wrong.append(Problem("command line", None, "--high", text, high, f"above {low}"))
    if wrong:
        raise InputError(wrong)
    nx, ny, nz = counts
    size = ((b[0] - a[0]) / nx, (b[1] - a[1]) / ny, (b[2] - a[2]) / nz)
    return Grid(a, size, (nx, ny, nz)), least


def summary(field: DoseField, *, error: float, above_Sv_s: float) -> dict[str, Any]:
    """What the run reached, as plain JSON data."""
    wanted = (field.open > 0.5) & (field.rate_Sv_s > above_Sv_s)
    count = int(wanted.sum())
    return {
        **({"partial": True} if field.partial else {}),
        "voxels": list(field.grid.shape),
        "error": error,
        "above_Sv_per_h": above_Sv_s * PER_HOUR,
        "open_voxels_above": count,
        "share_known": field.share_known(error=error, above_Sv_s=above_Sv_s),
        "share_reliable": float(field.reliable[wanted].mean()) if count else 1.0,
        "highest_H10_rate_Sv_per_h": float(field.rate_Sv_s.max()) * PER_HOUR,
        "histories": field.histories,
        "lost": field.lost,
        "seconds": field.seconds,
        "seed": field.seed,
        "backend": field.backend,
    }


def _lines(data: dict[str, Any], out: Path, computed_on: str) -> list[str]:
    from halflayer.base.units import show
    from halflayer.cautions import DOSE
    from halflayer.cli.table import wrapped

    above = show(data["above_Sv_per_h"] / PER_HOUR, "equivalent_rate") if data["above_Sv_per_h"] else "0"
    x, y, z = data["voxels"]
    return [
        *(["partial: stopped before its time"] if data.get("partial") else []),
        f"{x} x {y} x {z} voxels; {data['open_voxels_above']:,} in the open above {above}:",
        f"{100 * data['share_known']:.4g} % known to {100 * data['error']:.3g} % (1 sigma), "
        f"{100 * data['share_reliable']:.4g} % reliable",
        f"{data['histories']:,} histories in {data['seconds']:.1f} s on {computed_on}, seed {data['seed']}",
        f"field   {out}",
        "",
        *wrapped("", DOSE, indent=0),
    ]
