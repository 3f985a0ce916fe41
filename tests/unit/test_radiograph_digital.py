"""Plates and panels: grey value by kerma, noise by normalised SNR, resolution, saturation, and their verdict."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from exposure_cases import built, candidate, order
from halflayer.exposure.scatter_field import ScatterField
from halflayer.order.models import Order
from halflayer.radiograph import files, judge
from halflayer.radiograph.digital import NORMAL_RESOLUTION_M, DigitalResponse
from halflayer.radiograph.predict import density_image, technique_of
from halflayer.radiograph.project import frame
from halflayer.radiograph.response import GRAIN_APERTURE_M2
from halflayer.radiograph.result import Quick, Radiograph
from halflayer.radiograph.setting import Setting, weld_index
from halflayer.radiograph.setting import setting as setting_of
from halflayer.radiograph.surface import Surfaces
from radiograph_cases import wire_iqi


def with_detector(**changes: Any) -> Order:
    """The small order with a plate in place of its film."""
    data = order().as_json()
    detector = {
        "id": "IP1",
        "kind": "imaging plate",
        "basic_resolution_m": 1e-4,
        "snr_n": 120.0,
        "snr_n_dose_Gy": 0.004,
        "snr_n_most": 300.0,
        "saturates_at_Gy": 0.05,
        "dose_uncertainty": 0.2,
        "basis": "made up for tests",
        "sheet": (0.1, 0.4),
    }
    data["digital"] = [detector | changes]
    return Order.from_json(data)


def digital_set_up(made: Order, *, spots: int, seconds: float = 120.0) -> Setting:
    """An exposure in plane onto the plate or panel."""
    c = replace(candidate(made), iqi=wire_iqi("W13"), detector="IP1")
    scene = built(made, c)[0]
    weld, activity = made.welds[0], made.sources[0].activity_Bq
    return setting_of(made, weld, c, c.shots[0], scene, activity_Bq=activity, seconds=seconds, spots=spots)


def exposed(made: Order, kerma_Gy: float, asked: float | None = 70.0) -> tuple[Setting, ScatterField]:
    """An exposure to a total kerma behind the weld."""
    setting = digital_set_up(made, spots=16)
    at = weld_index(setting)
    assert at is not None
    field = ScatterField.even(0.6 * float(setting.kerma[at]))
    candidate = replace(setting.candidate, snr_n_min=asked)
    return replace(setting, candidate=candidate, decays=kerma_Gy / (1.6 * float(setting.kerma[at]))), field


def test_the_normal_area_is_that_of_the_grain_aperture() -> None:
    # 88.6 um squared is the area of a round aperture of 100 um: the two ways to state noise meet.
    assert pytest.approx(GRAIN_APERTURE_M2, rel=1e-3) == NORMAL_RESOLUTION_M**2


def test_noise_is_that_of_the_measured_ratio() -> None:
    setting, _ = exposed(with_detector(), 0.004)
    response = setting.response
    assert isinstance(response, DigitalResponse)
    assert float(response.snr_n(0.004)) == pytest.approx(120.0)
    assert response.noise(0.004, NORMAL_RESOLUTION_M**2) == pytest.approx(1 / 120.0)
    assert response.noise(0.004, 4 * NORMAL_RESOLUTION_M**2) == pytest.approx(1 / 240.0)
    assert float(response.snr_n(100.0)) == pytest.approx(300.0, rel=1e-3)  # its structure holds it back
    assert response.unsharpness_m == pytest.approx(2e-4)  # twice the basic resolution


def test_the_image_has_that_noise_and_grey() -> None:
    setting, field = exposed(with_detector(), 0.01)
    pixels = frame(setting.built.film, pixel_m=1e-4, width_m=0.004, length_m=0.006)
    quiet = density_image(setting, field, pixels, surfaces=Surfaces.plain(), seed=1, grain=False)
    noisy = density_image(setting, field, pixels, surfaces=Surfaces.plain(), seed=1)
    ratio = (noisy - quiet) / quiet
    kerma = float(np.median(quiet)) / 65535.0 * 0.05
    expected = setting.response.noise(kerma, 1e-8)
    # 2,400 pixels: the spread is known to 1.5 %, and the kerma varies over them.
    assert float(ratio.std()) == pytest.approx(expected, rel=0.06)
    assert pytest.approx(float(np.median(quiet)), rel=0.25) == 65535.0 * 0.01 / 0.05


def test_the_verdict_speaks_of_signal_to_noise() -> None:
    setting, field = exposed(with_detector(), 0.01)
    found = judge.verdict(setting, field)
    assert found.digital and found.ok and found.readings is not None
    assert found.readings.snr_n is not None and found.readings.snr_n > 70.0
    data = files.verdict_json(found)
    assert data["density"] is None and data["snr_n"] == found.readings.snr_n and data["grey"]["weld"] > 0
    json.dumps(data, allow_nan=False)
    short, field = exposed(with_detector(), 0.0005)
    stops = [f for f in judge.verdict(short, field).findings if "signal-to-noise" in f.text]
    assert [f.level for f in stops] == ["stop"]


def test_a_saturated_detector_shows_nothing() -> None:
    setting, field = exposed(with_detector(), 0.08)
    found = judge.verdict(setting, field)
    assert any("saturated" in f.text and f.level == "stop" for f in found.findings)
    assert not any(w.visible for w in found.wires)


def test_a_coarse_plate_loses_the_fine_wires() -> None:
    fine, field = exposed(with_detector(), 0.01)
    coarse, _ = exposed(with_detector(basic_resolution_m=4e-4), 0.01)
    a = {w.name: w.contrast_to_noise for w in judge.seen_wires(fine, field)}
    b = {w.name: w.contrast_to_noise for w in judge.seen_wires(coarse, field)}
    assert all(b[name] < a[name] for name in a)
    assert b["W16"] / a["W16"] < b["W10"] / a["W10"]  # the finest lose most


def test_a_panel_averages_its_frames() -> None:
    made = with_detector(kind="panel", frame_s=1.0, saturates_at_Gy=0.001)
    setting = digital_set_up(made, spots=8, seconds=50.0)
    assert isinstance(setting.response, DigitalResponse)
    assert setting.response.full_Gy == pytest.approx(0.05)


def test_words_of_a_digital_detector_are_grey_value_and_ratio(tmp_path: Path) -> None:
    from halflayer.cli.radiograph_text import radiograph_lines
    from halflayer.radiograph.dicom import dataset
    from halflayer.sheet.film_picture import film_words

    setting, field = exposed(with_detector(), 0.01)
    pixels = frame(setting.built.film, pixel_m=1e-3)
    image = density_image(setting, field, pixels, surfaces=Surfaces.plain(), seed=1)
    record = technique_of(setting, 0, seconds=120.0, activity_Bq=1.5e12)
    got = Radiograph(image, pixels, record, judge.verdict(setting, field), 0.1)
    files.write_tiff(got, tmp_path / "image.tif")
    files.write_png(got, tmp_path / "image.png")
    text = "\n".join(radiograph_lines(got, tmp_path))
    assert "grey value" in text and "signal-to-noise ratio" in text
    quick = Quick(0, got.verdict, "", 0.0, 0.0)
    for words in (text, files.caption(got), film_words(quick)):
        assert "density" not in words.lower() and "class" not in words.lower()
    data = files.radiograph_json(got)
    assert data["density"] is None and data["grey"]["weld"] > 0 and data["films"] == []
    # grey values as they are: nothing is rescaled to density, and light is where much radiation comes
    made = dataset(got, outer_diameter_m=0.06, wall_m=0.005)
    assert (made.RescaleType, made.RescaleSlope, made.Modality) == ("US", 1, "CR")
    assert made.PhotometricInterpretation == "MONOCHROME2" and made.DetectorType == "STORAGE"
    panel = replace(got, technique=replace(got.technique, detector_kind="panel"))
    assert dataset(panel, outer_diameter_m=0.06, wall_m=0.005).Modality == "DX"
    assert "film" not in judge.criterion(setting).lower()
