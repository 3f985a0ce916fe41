"""`halflayer radiograph`: what the film of a planned exposure will show."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from contextlib import contextmanager
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

import click

from halflayer.cli.options import (
    FILE,
    backend_option,
    check_backend,
    json_option,
    progress_option,
    seed_option,
)

if TYPE_CHECKING:
    from halflayer.exposure.result import Exposure
    from halflayer.order.models import Order
    from halflayer.order.weld import Weld
    from halflayer.radiograph.result import Radiograph
    from halflayer.radiograph.setting import Indicator
    from halflayer.scene.build import Built
    from halflayer.technique.result import Candidate

WAYS_AT_MOST = 4  # looked at for one that shows the whole weld: our choice, each takes a second or two
FILES = frozenset(
    {
        *("image.tif", "image.png", "image.dcm", "radiograph.json", "weld.png"),
        *("second-film.tif", "second-film.png", "second-film.dcm"),
    }
)


class Pixel(click.ParamType):
    """A pixel size such as `50 um` or `0.1 mm`."""

    name = "size"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:
        """The size in metres."""
        if isinstance(value, float):
            return value
        match = re.fullmatch(r"\s*(\d{1,6}(?:\.\d{0,6})?)\s*(um|µm|mm)\s*", str(value))
        size = float(match[1]) * (1e-3 if match[2] == "mm" else 1e-6) if match else 0.0
        if size <= 0.0:
            self.fail(f"{value!r} is not a pixel size above zero, such as '50 um' or '0.1 mm'", param, ctx)
        return size


@click.command(
    "radiograph",
    short_help="Predict what the film of a weld will show.",
    epilog="Example: halflayer radiograph examples/tarn-mill.yaml --weld W2 --out out/w2-film",
)
@click.argument("order", type=FILE)
@click.option("--weld", metavar="ID", required=True, help="The weld.")
@click.option("--out", type=FILE, required=True, metavar="DIR", help="Folder for the image and its numbers.")
@click.option(
    "--exposure", type=click.IntRange(1, 99), default=1, show_default=True, help="Which exposure of it."
)
@click.option("--pixel", type=Pixel(), default="50 um", show_default=True, help="Size of a pixel.")
@seed_option("Random seed; the same one, the same image.")
@click.option("--walls", is_flag=True, help="Read the wall from both edges of the pipe's image (flat film).")
@click.option(
    "--indicator",
    type=click.Choice(["wires", "holes", "both"]),
    default=None,
    help="Lay wires, plates with holes, or both; left out, what the order asks for (iqi).",
)
@backend_option("cpu", "What traces the pixels: the CPU, a CUDA device, or that where there is one.")
@progress_option
@json_option
def command(
    order: Path,
    weld: str,
    out: Path,
    exposure: int,
    pixel: float,
    seed: int,
    walls: bool,
    indicator: Indicator | None,
    backend: Literal["auto", "cpu", "cuda"],
    progress: bool | None,
    as_json: bool,
) -> int:
    """Predict the radiograph of a weld of ORDER (YAML): density, wires, ellipse, and a picture.

    The best technique that the code allows and that shows the whole weld is taken, without a shield (the shield stands
    behind the film). Writes image.tif (16 bits, optical density x 10,000, or the grey value of a digital
    detector), image.dcm, image.png, the unrolled weld as weld.png and radiograph.json into DIR, and the second
    film of a holder beside them. Exit code 0: every place judged readable and the required wire seen; 1: not, or no
    technique; 2: bad input.
    """
    from halflayer.cli.plan import check_weld
    from halflayer.cli.progress import progress as progress_line
    from halflayer.order.read import read_order

    _check_folder(out)
    check_backend(backend)
    work = read_order(order)
    check_weld(work, weld, file=order)
    with progress_line(progress) as line:
        line("technique and exposure time", 0.0)
        found, reasons = _timed(work, work.weld(weld))
        if found is None:
            return _none(weld, reasons, out, as_json)
        line("image", 0.5)
        made = _predicted(work, work.weld(weld), found, exposure, pixel, seed, walls, indicator, backend)
        line("files", 0.9)
        data = radiograph_data(made)
        _write(made, work.weld(weld), data, out)
    if as_json:
        click.echo(json.dumps(data | {"out": str(out)}, ensure_ascii=False, indent=1, allow_nan=False))
    else:
        from halflayer.cli.radiograph_text import radiograph_lines

        click.echo("\n".join(radiograph_lines(made, out)))
    return 0 if made.verdict.ok else 1


def _timed(work: Order, weld: Weld) -> tuple[tuple[Candidate, list[Built], Exposure] | None, list[str]]:
    """The first way that can be timed and shows the whole weld, with more exposures where that takes them, as planned.

    Where none of the first few does, the first that can be timed; else why there is none.
    """
    from halflayer.base.errors import OutOfRange
    from halflayer.exposure.more_shots import Timed, timed, with_enough_shots
    from halflayer.technique.choose import choose_technique

    technique = choose_technique(work, weld)
    reasons = [f.text for f in technique.findings if f.level == "stop"]
    first: Timed | None = None
    for candidate in technique.admissible[:WAYS_AT_MOST]:
        try:
            tried = with_enough_shots(work, weld, candidate, partial(timed, work, weld))
        except OutOfRange as outside:
            reasons.append(f"{candidate.arrangement} with {candidate.source}: {outside}")
            continue
        first = first or tried[0]
        if not tried[-1].stopped:
            first = tried[-1]
            break
    found = None if first is None else (first.candidate, list(first.built), first.exposure)
    return found, reasons or ["the code allows no technique with what the crew brings"]


def _predicted(
    work: Order,
    weld: Weld,
    found: tuple[Candidate, list[Built], Exposure],
    exposure: int,
    pixel_m: float,
    seed: int,
    walls: bool = False,
    indicator: Indicator | None = None,
    backend: Literal["auto", "cpu", "cuda"] = "cpu",
) -> Radiograph:
    from halflayer.base.errors import InputError, OutOfRange, Problem
    from halflayer.radiograph.predict import predict
    from halflayer.transport.gpu import choose

    candidate, built, times = found
    if exposure > len(built):
        text = "the weld has fewer exposures"
        raise InputError(
            [Problem("command line", None, "--exposure", text, str(exposure), f"1 to {len(built)}")]
        )
    if indicator in ("wires", "both") and candidate.iqi is not None and candidate.iqi.type == "step-hole":
        text = "the order asks for step-hole plates at this weld, so no wire is asked for"
        accepted = "holes, or iqi: wire in the order"
        raise InputError([Problem("command line", None, "--indicator", text, indicator, accepted)])
    seconds, activity = times.shots[exposure - 1].seconds.value, times.activity.value
    assert isinstance(seconds, float) and isinstance(activity, float)
    try:
        return predict(
            work,
            weld,
            candidate,
            built[exposure - 1],
            shot=exposure - 1,
            activity_Bq=activity,
            seconds=seconds,
            pixel_m=pixel_m,
            seed=seed,
            walls=walls,
            indicator=indicator,
            backend=choose(backend),
            second=second.detector if (second := times.shots[exposure - 1].second) else None,
            behind=second.behind if second else 1.0,
            all_built=built,
            times=times.shots,
        )
    except OutOfRange as outside:
        raise InputError(
            [Problem("command line", None, "--pixel", str(outside), f"{pixel_m * 1e6:g} um", outside.clause)]
        ) from outside


def radiograph_data(made: Radiograph) -> dict[str, Any]:
    """The numbers of a radiograph as they are written."""
    from halflayer.radiograph.files import radiograph_json

    return radiograph_json(made)


def _none(weld: str, reasons: list[str], out: Path, as_json: bool) -> int:
    """No technique: a stated finding, and nothing to look at."""
    if as_json:
        data = {"weld": weld, "ok": False, "findings": reasons, "out": None}
        click.echo(json.dumps(data, ensure_ascii=False, indent=1))
    else:
        click.echo("\n".join([f"{weld}  no radiograph to predict", *(f"  stop  {r}" for r in reasons)]))
        click.echo(f"nothing was written to {out}")
    return 1


def _check_folder(out: Path) -> None:
    """Refuse a folder with files that this command did not write. Raises: InputError."""
    from halflayer.base.errors import InputError, Problem
    from halflayer.cli.out_folder import MARK, _check_parent

    if out.is_symlink() or (out.exists() and not out.is_dir()):
        raise InputError(
            [Problem("command line", None, "--out", "this is not a folder", str(out), "a folder")]
        )
    strange = sorted({p.name for p in out.iterdir()} - FILES) if out.is_dir() else []
    if strange:
        text = f"the folder holds files that halflayer radiograph did not write: {', '.join(strange[:5])}"
        accepted = "a new folder, or one that halflayer radiograph wrote"
        if MARK in strange:
            text = "this folder holds a plan, which a radiograph would mix with"
            accepted = f"another folder for the radiograph, such as {out}-film"
        raise InputError([Problem("command line", None, "--out", text, str(out), accepted)])
    _check_parent(out)


@contextmanager
def _beside(out: Path) -> Iterator[Path]:
    """A temporary folder beside `out` whose files take their places at the end."""
    import shutil
    import tempfile

    from halflayer.base.errors import InputError, Problem

    def refused(text: str, accepted: str) -> InputError:
        return InputError([Problem("command line", None, "--out", text, str(out), accepted)])

    try:
        out.mkdir(parents=True, exist_ok=True)
        temporary = Path(tempfile.mkdtemp(prefix=f".{out.name}.", suffix=".part", dir=out.absolute().parent))
    except OSError as error:
        raise refused(
            f"the folder cannot be made: {error.strerror}", "a folder that you may write in"
        ) from error
    try:
        yield temporary
        for file in temporary.iterdir():
            file.replace(out / file.name)
    except OSError as error:
        raise refused(
            f"the files cannot be written: {error.strerror}", "a folder with room to write in"
        ) from error
    finally:
        shutil.rmtree(temporary, ignore_errors=True)


def _write(made: Radiograph, weld: Weld, data: dict[str, Any], out: Path) -> None:
    from halflayer.cli.out_folder import json_text
    from halflayer.radiograph import files
    from halflayer.radiograph.dicom import write_dicom
    from halflayer.radiograph.map_picture import write_map

    with _beside(out) as folder:
        for name, one in (("image", made), ("second-film", files.second_film(made))):
            if one is None:
                continue
            steps = files.sixteen_bits(one)
            files.write_tiff(one, folder / f"{name}.tif", steps=steps)
            files.write_png(one, folder / f"{name}.png")
            write_dicom(
                one,
                folder / f"{name}.dcm",
                steps=steps,
                outer_diameter_m=weld.pipe.od,
                wall_m=weld.pipe.wall,
            )
        if made.weld_map is not None:
            write_map(made, folder / "weld.png", outer_diameter_m=weld.pipe.od)
        (folder / "radiograph.json").write_text(json_text(data), encoding="utf-8")
