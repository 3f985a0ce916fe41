"""Generated pixels, parts, films, flaws and exposures that no image is made of: clear errors or findings."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from functools import lru_cache
from pathlib import Path
from typing import Any

import click
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from exposure_cases import built, candidate, order
from halflayer.base.errors import InputError, OutOfRange
from halflayer.base.result import Derived
from halflayer.cli.radiograph import Pixel
from halflayer.exposure.result import ShotTime
from halflayer.exposure.scatter_field import ScatterField
from halflayer.order.models import Order
from halflayer.order.read import parse_order
from halflayer.radiograph.files import verdict_json
from halflayer.radiograph.judge import verdict
from halflayer.radiograph.project import PIXELS_MOST, frame, primary
from halflayer.radiograph.quick import quick
from halflayer.radiograph.seen_flaws import seen_flaws
from halflayer.radiograph.setting import setting
from halflayer.scene.film_surface import FilmSurface
from radiograph_cases import set_up, way

FEW = settings(max_examples=15, deadline=None)
MANY = settings(max_examples=100, deadline=None)
EXAMPLE = (Path(__file__).parents[2] / "examples" / "one-weld-imperial.yaml").read_text(encoding="utf-8")
sizes = st.one_of(st.floats(allow_nan=True, allow_infinity=True), st.floats(-1.0, 1.0), st.just(0.0))


@MANY
@given(st.one_of(st.text(max_size=30), st.floats().map(str), st.integers().map(lambda n: f"{n} um")))
def test_a_pixel_is_a_size_above_zero_or_refused(words: str) -> None:
    size, refused = math.nan, ""
    try:
        size = Pixel().convert(words, None, None)
    except click.BadParameter as error:
        refused = error.message
    assert "pixel size" in refused or 0.0 < size < math.inf


@lru_cache(maxsize=1)
def _film() -> FilmSurface:
    made = order()
    return built(made, candidate(made))[0].film


@MANY
@given(pixel=sizes, width=st.none() | sizes, length=st.none() | sizes, middle=st.tuples(sizes, sizes))
def test_a_frame_fits_the_film_and_the_memory_or_is_refused(
    pixel: float, width: float | None, length: float | None, middle: tuple[float, float]
) -> None:
    film, found, refused = _film(), None, ""
    try:
        found = frame(film, pixel_m=pixel, width_m=width, length_m=length, middle=middle)
    except OutOfRange as error:
        refused = error.clause
    if found is None:
        assert refused
        return
    assert 1 <= found.rows * found.columns <= PIXELS_MOST
    reach = film.width_m / 2 + pixel
    assert abs(found.u_m[0]) <= reach and abs(found.u_m[-1]) <= reach


@FEW
@given(
    u=st.floats(-2.0, 2.0),
    v=st.floats(-2.0, 2.0),
    z=st.floats(-1.0, 2.0),
    tilt=st.floats(-math.pi, math.pi),
)
def test_a_film_anywhere_gets_a_verdict(u: float, v: float, z: float, tilt: float) -> None:
    # The film thrown about the room, turned any way, in front of the pipe or behind the source.
    made = order()
    c, scene = way(made)
    normal = (0.0, math.sin(tilt), math.cos(tilt))
    across = (0.0, math.cos(tilt), -math.sin(tilt))
    film = replace(scene.film, centre=(u, v, z), normal=normal, across=across)
    timed = ShotTime(Derived("exposure_time", 60.0, "s"), None, 1e-4, 0.7, 0.02)
    found = quick(made, made.welds[0], c, replace(scene, film=film), timed, activity_Bq=1.5e12, picture=False)
    json.dumps(verdict_json(found.verdict), allow_nan=False)
    if found.verdict.readings is None:
        assert not found.verdict.ok
        assert any("misses the beam" in f.text and f.relax for f in found.verdict.findings)
    else:
        assert found.verdict.readings.least <= found.verdict.readings.weld <= found.verdict.readings.most


@FEW
@given(decades=st.floats(-30.0, 12.0))
def test_any_exposure_gets_a_verdict_in_numbers(decades: float) -> None:
    # From no decay at all to a film burnt out many times over.
    made = set_up(spots=5)
    exposed = replace(made, decays=made.decays * 10.0**decades)
    field = ScatterField.even(0.7 * float(made.kerma.max()))
    found = verdict(exposed, field)
    json.dumps(verdict_json(found), allow_nan=False)
    assert found.readings is not None and 0.0 < found.readings.least <= found.readings.most <= 6.5
    if not 2.0 <= found.readings.weld <= 4.0:
        assert found.findings
    for wire in found.wires:
        assert 0.0 <= wire.chance <= 1.0 and wire.contrast_to_noise >= 0.0


numbers = st.sampled_from(
    ["101", "102", "2011", "301", "3041", "4011", "402", "5011", "504", "515", "wall loss inside",
     "wall loss outside"]
)  # fmt: skip
lengths = st.none() | st.one_of(
    st.floats(1e-3, 100.0).map(lambda x: f"{x:.4f} mm"),
    st.sampled_from(["0 mm", "-2 mm", "5 m", "nan mm", "x"]),
)


@settings(max_examples=20, deadline=None)
@given(
    imperfection=numbers,
    clock=st.floats(-720.0, 720.0).map(lambda x: f"{x:.2f} deg"),
    along=lengths,
    below=lengths,
    width=lengths,
    length=lengths,
    height=lengths,
)
def test_a_flaw_is_inside_the_metal_or_refused_by_name(imperfection: str, **given_: str | None) -> None:
    line = ", ".join(
        f"{k}: {v}" for k, v in {"imperfection": imperfection, **given_}.items() if v is not None
    )
    text = EXAMPLE.replace(
        "    height: 4 ft 3 in\n", f"    height: 4 ft 3 in\n    flaws:\n      - {{{line}}}\n"
    )
    made, refused = None, ""
    try:
        made = parse_order(text, file="o")
    except InputError as error:
        refused = str(error)
    if made is None:
        assert "flaws" in refused
        return
    (flaw,) = made.welds[0].flaws
    weld = made.welds[0]
    assert flaw.width_m > 0.0
    # what is accepted can be looked at: set the same flaw in the small order's pipe where it fits
    data = order(od_m=weld.pipe.od, wall_m=weld.pipe.wall).as_json()
    data["welds"][0]["flaws"] = [json.loads(flaw.model_dump_json())]
    looked = Order.from_json(data)
    c, scene = way(looked)
    one = setting(looked, looked.welds[0], c, c.shots[0], scene, activity_Bq=1.5e12, seconds=60.0, spots=5)
    (found,) = seen_flaws(one, ScatterField.even(0.7 * float(one.kerma.max())))
    assert math.isfinite(found.contrast_to_noise) and 0.0 <= found.chance <= 1.0


def test_a_film_of_one_pixel_is_an_image() -> None:
    made = set_up(spots=5)
    for pixels in (
        frame(made.built.film, pixel_m=5e-3, width_m=1e-3, length_m=1e-3),
        frame(made.built.film, pixel_m=5e-3, width_m=5e-3),
        frame(made.built.film, pixel_m=5e-5, width_m=1.5e-4, length_m=2e-4),
        frame(made.built.film, pixel_m=5e-5, width_m=5e-5, length_m=4.5e-4),
    ):
        image = primary(made.optics, pixels)
        assert image.shape == (pixels.rows, pixels.columns)
        assert bool(np.all(np.isfinite(image))) and float(image.min()) >= 0.0


def test_a_command_line_that_cannot_be_is_told_in_a_sentence(tmp_path: Any, capsys: Any) -> None:
    from halflayer.cli.door import run

    example = str(Path(__file__).parents[2] / "examples" / "one-weld-imperial.yaml")
    words = ["radiograph", example, "--weld", "S-101", "--out", str(tmp_path / "r"), "--indicator", "beads"]
    assert run(words) == 2
    assert "--indicator" in capsys.readouterr().err


@pytest.mark.parametrize("size", [0.0, -0.01, math.nan, math.inf])
def test_parts_of_no_size_are_refused(size: float) -> None:
    made = order()
    film = built(made, candidate(made))[0].film
    with pytest.raises(OutOfRange, match="part"):
        frame(film, pixel_m=1e-4, width_m=size)


def test_a_gpu_that_is_not_there_is_refused_before_any_work(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    from halflayer.cli.door import run

    monkeypatch.setattr("halflayer.transport.gpu.missing", lambda: "no CUDA device is there")
    example = str(Path(__file__).parents[2] / "examples" / "one-weld-imperial.yaml")
    words = ["radiograph", example, "--weld", "S-101", "--out", str(tmp_path / "r"), "--backend", "cuda"]
    assert run(words) == 2
    told = capsys.readouterr().err
    assert "no CUDA device" in told and "auto or cpu" in told
    assert not (tmp_path / "r").exists()
