"""`halflayer dose`: the dose rates of a free scene by Monte Carlo."""

from __future__ import annotations

import json
import math
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

import click

from halflayer.cli.options import (
    FILE,
    Seconds,
    Share,
    backend_option,
    check_backend,
    json_option,
    progress_option,
    seed_option,
)

if TYPE_CHECKING:
    from halflayer.cli.progress import Progress
    from halflayer.transport.field import Field

# Our choice, for a call that states neither: what a person waits for, and an error that is of use.
DEFAULT_ERROR = 0.02
DEFAULT_SECONDS = 60.0
# Our choice, for --error alone: a point that nothing reaches has no error that could be met.
LONGEST_SECONDS = 600.0
PER_HOUR = 3600.0
INTERRUPTED = 130  # exit code after Ctrl-C


@click.command(
    "dose",
    short_help="Compute the dose rates of a free scene.",
    epilog="Example: halflayer dose examples/lead-sphere.yaml --error 2% --out out/lead-sphere.json",
)
@click.argument("scene", type=FILE)
@click.option(
    "--error", type=Share(), metavar="SHARE", help="End when every score is known to this, 1 sigma (2%)."
)
@click.option("--seconds", type=Seconds(), metavar="S", help="End after so many seconds.")
@seed_option("Random seed; the same one, the same numbers.")
@backend_option("auto", "Where to compute.")
@click.option("--out", type=FILE, metavar="RESULT.json", help="Write the result to this file.")
@progress_option
@json_option
def command(
    scene: Path,
    error: float | None,
    seconds: float | None,
    seed: int,
    backend: Literal["auto", "cpu", "cuda"],
    out: Path | None,
    progress: bool | None,
    as_json: bool,
) -> int:
    """Compute air kerma rate and ambient dose equivalent rate H*(10) at the points of SCENE (YAML).

    The first of --error (the worst over all scores) and --seconds that is reached ends the run; without
    either it is 2 % or 60 s, with --error alone 600 s at most. A score that is not reliable is an estimate
    without a trusted error. After Ctrl-C what was computed so far is written and labelled partial, exit code 130.
    """
    from halflayer.cli.out_folder import check_file, write_json
    from halflayer.cli.progress import progress as progress_line
    from halflayer.transport.free_scene import read_scene

    if out is not None:
        check_file(out)
    problem = read_scene(scene)
    check_backend(backend)
    if error is None and seconds is None:
        error, seconds = DEFAULT_ERROR, DEFAULT_SECONDS
    with progress_line(progress) as line:
        from halflayer.transport.run import transport
        from halflayer.transport.warm import compile_kernels

        line("compiling, or loading what is compiled", 0.0)
        compile_kernels()  # so that neither --seconds nor the time told holds a compilation
        field = transport(
            problem,
            seed=seed,
            error=error,
            seconds=LONGEST_SECONDS if seconds is None else seconds,
            progress=lambda now: _tell(line, now, error, seconds),
            backend=backend,
        )
    data = result_json(field)
    if out is not None:
        write_json(out, data)
    if as_json:
        click.echo(json.dumps(data, ensure_ascii=False, indent=1, allow_nan=False))
    else:
        click.echo("\n".join(_lines(field, out, backend)))
    return INTERRUPTED if field.partial else 0


def result_json(field: Field) -> dict[str, Any]:
    """The result in the shape that scripts rely on; an error that is not known is null.

    `partial` stands in it, true, only where Ctrl-C ended the run before its budget.
    """
    return {
        **({"partial": True} if field.partial else {}),
        "points": [
            {
                "name": r.name,
                "air_kerma_rate_Gy_per_h": _number(r.air_kerma_rate_Gy_s * PER_HOUR),
                "H10_rate_Sv_per_h": _number(r.h10_rate_Sv_s * PER_HOUR),
                "sigma_rel": _number(r.sigma_rel),
                "H10_sigma_rel": _number(r.h10_sigma_rel),
                "reliable": bool(r.reliable),
                "uncollided_air_kerma_rate_Gy_per_h": _number(r.uncollided_kerma_Gy_s * PER_HOUR),
            }
            for r in field.readings
        ],
        "histories": int(field.histories),
        "seconds": float(field.seconds),
        "backend": field.backend,
        "seed": int(field.seed),
    }


def _number(value: float) -> float | None:
    return float(value) if math.isfinite(value) else None


def _tell(line: Progress, now: Field, error: float | None, seconds: float | None) -> None:
    """One step of progress: the error falls with the root of the work."""
    worst = now.worst_error
    by_error = (error / worst) ** 2 if error is not None and worst > 0.0 else 0.0
    by_time = now.seconds / seconds if seconds is not None else 0.0
    line(f"{now.histories:,} histories, worst error {100 * worst:.2g} %", max(by_error, by_time))


def where(used: str, asked: str) -> str:
    """The backend that was used; with auto, why it is not the GPU."""
    if asked != "auto" or used == "cuda":
        return used
    from halflayer.transport.gpu import missing

    return f"{used} ({missing() or 'the GPU has not the memory for this run'})"


NOT_RELIABLE = (
    "reliable: no. Too few photons, or single ones, make this figure: it is an estimate, its 1 sigma may be too small "
    "by any factor, and --error does not hold for it. Run longer (--seconds, or a smaller --error)."
)


def _lines(field: Field, out: Path | None, asked: str) -> list[str]:
    from halflayer.base.units import show
    from halflayer.cautions import DOSE
    from halflayer.cli.table import aligned, wrapped

    rows = [
        (
            r.name,
            show(float(r.air_kerma_rate_Gy_s), "dose_rate"),
            _percent(r.sigma_rel),
            show(float(r.h10_rate_Sv_s), "equivalent_rate"),
            _percent(r.h10_sigma_rel),
            show(float(r.uncollided_kerma_Gy_s), "dose_rate"),
            "yes" if r.reliable else "no",
        )
        for r in field.readings
    ]
    head = ("point", "air kerma rate", "1 sigma", "H*(10) rate", "1 sigma", "uncollided kerma", "reliable")
    lines = ["STOPPED before its budget: partial result", ""] if field.partial else []
    lines += aligned(head, rows, right=(1, 2, 3, 4, 5))
    if any(not r.reliable for r in field.readings):
        lines += ["", *wrapped("", NOT_RELIABLE, indent=0)]
    lines += [
        "",
        f"{field.histories:,} histories in {field.seconds:.2f} s, {where(field.backend, asked)}, seed {field.seed}",
    ]
    if out is not None:
        lines.append(f"result  {out}")
    return [*lines, "", *wrapped("", DOSE, indent=0)]


def _percent(share: float) -> str:
    return f"{100 * share:.2g} %" if math.isfinite(share) else "not known"
