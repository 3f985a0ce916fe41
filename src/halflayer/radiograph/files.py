"""Image files: TIFF of 16 bits with its resolution, PNG to look at, and the numbers as plain data."""

from __future__ import annotations

import io
import math
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from halflayer.exposure.result import Density
from halflayer.radiograph.result import FilmReadings, Radiograph, Readings, Verdict, WeldMap
from halflayer.radiograph.visible import Seen

Image = NDArray[np.float32]
PER_DENSITY = 10_000  # steps of a 16-bit file for one unit of optical density
INCH_M = 0.0254
PNG_WIDEST = 2400  # pixels: what a screen shows (our choice)


def sixteen_bits(radiograph: Radiograph) -> NDArray[np.uint16]:
    """The image in whole steps: density x 10,000 for film (6.5535 at most), the grey value for a digital detector."""
    factor = np.float32(1.0 if radiograph.verdict.digital else PER_DENSITY)
    out: NDArray[np.uint16] = np.clip(radiograph.image * factor + np.float32(0.5), 0, 65535).astype(np.uint16)
    return out


def write_tiff(radiograph: Radiograph, path: Path, *, steps: NDArray[np.uint16] | None = None) -> None:
    """Write the 16-bit TIFF: grey, resolution in pixels per inch, the technique as its description."""
    from PIL import Image as Picture

    per_inch = INCH_M / radiograph.frame.pixel_m
    data = sixteen_bits(radiograph) if steps is None else steps
    Picture.fromarray(data).save(
        path,
        format="TIFF",
        dpi=(per_inch, per_inch),
        description=caption(radiograph),
        software="halflayer",
    )


def window(radiograph: Radiograph) -> tuple[float, float]:
    """Lightest and darkest reading that a picture shows: the evaluated weld with room on both sides."""
    r = radiograph.verdict.readings
    if radiograph.verdict.digital:
        low, high = (r.least, r.most) if r else (0.0, 65535.0)
        room = 0.6 * max(high - low, 0.1 * high)
        return max(low - room, 0.0), min(high + room, 65535.0)
    return film_window(r)


def film_window(r: Readings | None) -> tuple[float, float]:
    """Lightest and darkest density that a picture of a film shows."""
    if r is None:
        return 0.3, 4.0
    return max(min(r.least - 1.0, 1.2), 0.3), max(r.most + 0.4, 3.2)


def to_look_at(radiograph: Radiograph, *, widest: int = PNG_WIDEST) -> NDArray[np.uint8]:
    """The film as it lies on a light box: dark where dense; made smaller by whole steps where it is too wide."""
    low, high = window(radiograph)
    image = radiograph.image
    n = max(1, math.ceil(max(image.shape) / widest))
    if n > 1:
        rows, columns = image.shape[0] // n, image.shape[1] // n
        image = image[: rows * n, : columns * n].reshape(rows, n, columns, n).mean(axis=(1, 3))
    share = (image - low) / (high - low)
    light = share if radiograph.verdict.digital else 1.0 - share
    out: NDArray[np.uint8] = (255.0 * np.clip(light, 0.0, 1.0)).astype(np.uint8)
    return out


def write_png(radiograph: Radiograph, path: Path) -> None:
    """Write the picture to look at."""
    path.write_bytes(png_bytes(to_look_at(radiograph)))


def png_bytes(picture: NDArray[np.uint8], *, small: bool = True) -> bytes:
    """A grey picture as PNG; `small` takes the time to find the shortest file."""
    from PIL import Image as Picture

    out = io.BytesIO()
    Picture.fromarray(picture).save(out, format="PNG", optimize=small)
    return out.getvalue()


def second_film(radiograph: Radiograph) -> Radiograph | None:
    """The second film of the holder as a radiograph of its own, to be written like the first; None without one."""
    if radiograph.second is None:
        return None
    v = radiograph.verdict
    film = v.films[1] if len(v.films) > 1 else None
    readings = v.readings
    if readings is not None and film is not None:
        readings = replace(readings, weld=film.weld, least=film.least, most=film.most)
    technique = replace(
        radiograph.technique,
        detector=film.detector if film else "second film",
        film_class=film.film_class if film else "",
    )
    verdict = replace(v, readings=readings)
    return replace(radiograph, image=radiograph.second, second=None, technique=technique, verdict=verdict)


def caption(radiograph: Radiograph) -> str:
    """The technique in one line of plain ASCII."""
    t = radiograph.technique
    return (
        (
            f"predicted radiograph, not a film: order {t.order}, weld {t.weld}, exposure {t.shot} of {t.shots}, "
            f"{t.technique} ({t.arrangement}), {t.nuclide} {t.activity_Bq / 1e12:.3g} TBq, {t.exposure_s:.0f} s, "
            f"source to detector {t.source_to_detector_m * 1e3:.0f} mm, focal size {t.focal_m * 1e3:.2g} mm, "
            f"{t.detector} ({t.film_class}), screens {t.screens}"
        )
        .encode("ascii", "replace")
        .decode()
    )


def radiograph_json(radiograph: Radiograph) -> dict[str, Any]:
    """The numbers of a radiograph in the shape that scripts rely on; every key is always there."""
    v, t, f = radiograph.verdict, radiograph.technique, radiograph.frame
    return {
        **verdict_json(v),
        "seconds": radiograph.seconds,
        "order": t.order,
        "weld": t.weld,
        "exposure": t.shot,
        "exposures": t.shots,
        "technique": t.technique,
        "arrangement": t.arrangement,
        "source": t.source,
        "nuclide": t.nuclide,
        "activity_Bq": t.activity_Bq,
        "exposure_seconds": t.exposure_s,
        "detector": t.detector,
        "pixel_um": f.pixel_m * 1e6,
        "rows": f.rows,
        "columns": f.columns,
        "walls": [
            {
                "along_film_mm": w.u_m * 1e3,
                "clock_deg": math.degrees(w.clock_rad),
                "wall_mm": w.wall_m * 1e3,
                "sigma_mm": w.sigma_m * 1e3,
                "nominal_mm": w.nominal_m * 1e3,
                "loss_mm": w.loss_m * 1e3,
            }
            for w in radiograph.walls
        ],
        "coverage": map_json(radiograph.weld_map) if radiograph.weld_map else None,
        "planned_density": _planned(radiograph.planned) if radiograph.planned else None,
    }


def verdict_json(v: Verdict) -> dict[str, Any]:
    """A verdict as plain data."""
    r = v.readings
    digital = v.digital
    span = {
        "weld": r.weld if r else None,
        "min": r.least if r else None,
        "max": r.most if r else None,
    }
    return {
        "density": None if digital else span,
        "grey": span if digital else None,
        "snr_n": r.snr_n if digital and r else None,
        "films": [_film(f) for f in v.films],
        "double": _film(v.double) if v.double else None,
        "wires": [_detail(s) for s in v.wires],
        "holes": [_detail(s) for s in v.holes],
        "required_hole": v.required_hole,
        "smallest_hole": v.smallest_hole,
        "smallest_visible": v.smallest_visible,
        "required": v.required,
        "ok": v.ok,
        "ellipse_opening_mm": None if v.opening_m is None else v.opening_m * 1e3,
        "scatter_to_primary": _n(v.scatter_to_primary),
        "scatter_to_primary_sigma": _n(v.scatter_to_primary_sigma),
        "unsharpness_mm": v.unsharpness_m * 1e3,
        "inherent_unsharpness_mm": v.inherent_unsharpness_m * 1e3,
        "flaws": [_flaw(s) for s in v.flaws],
        "findings": [f.text for f in v.findings],
        "advice": [list(f.relax) for f in v.findings],
    }


def _film(f: FilmReadings) -> dict[str, Any]:
    return {"detector": f.detector, "weld": f.weld, "min": f.least, "max": f.most}


def _planned(d: Density) -> dict[str, Any]:
    """Densities of the exposure stage, with one standard deviation of that at the weld."""
    return {"weld": d.weld, "min": d.least, "max": d.most, "sigma": d.sigma}


def map_json(found: WeldMap) -> dict[str, Any]:
    """The coverage as plain data, in the shape of a plan's."""
    return {
        "covered": [
            {
                "exposure": c.exposure,
                "wall": c.wall,
                "from_deg": math.degrees(c.start_rad),
                "length_deg": math.degrees(c.length_rad),
                "ends": list(c.ends),
            }
            for c in found.coverage.covered
        ],
        "uncovered": [
            {"from_deg": math.degrees(a), "length_deg": math.degrees(length)}
            for a, length in found.coverage.uncovered
        ],
        "step_deg": math.degrees(found.coverage.step_rad),
    }


def _detail(s: Seen) -> dict[str, Any]:
    return {
        "designation": s.name,
        "diameter_mm": s.size_m * 1e3,
        "contrast": _n(s.contrast),
        "contrast_to_noise": _n(s.contrast_to_noise),
        "visible": s.visible,
        "chance": _n(s.chance),
    }


def _flaw(s: Seen) -> dict[str, Any]:
    return {
        "name": s.name,
        "size_mm": s.size_m * 1e3,
        "contrast": _n(s.contrast),
        "contrast_to_noise": _n(s.contrast_to_noise),
        "chance": _n(s.chance),
    }


def _n(value: float | None) -> float | None:
    return float(value) if value is not None and math.isfinite(value) else None
