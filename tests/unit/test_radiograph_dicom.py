"""The DICOM file: accepted by pydicom's own checks when read back, with technique, pixels and scale in it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from pydicom import config, dcmread
from pydicom.dataset import Dataset, validate_file_meta
from pydicom.uid import UID

from exposure_cases import order
from halflayer.exposure.scatter_field import ScatterField
from halflayer.radiograph import dicom
from halflayer.radiograph.files import sixteen_bits, write_tiff
from halflayer.radiograph.predict import predict
from halflayer.radiograph.result import Radiograph
from halflayer.radiograph.setting import Setting, by_ratio
from radiograph_cases import way

# Elements of type 1 and 2 of the modules of a secondary capture image: patient, general study, general series, general
# equipment, SC equipment, general image, image pixel, SOP common (DICOM PS3.3 A.8.1, from memory, unverified).
WITH_VALUE = (
    "StudyInstanceUID SeriesInstanceUID Modality ConversionType SOPClassUID SOPInstanceUID InstanceNumber "
    "SamplesPerPixel PhotometricInterpretation Rows Columns BitsAllocated BitsStored HighBit PixelRepresentation"
)
PRESENT = (
    "PatientName PatientID PatientBirthDate PatientSex StudyDate StudyTime AccessionNumber ReferringPhysicianName "
    "StudyID SeriesNumber Manufacturer"
)


@pytest.fixture
def strict() -> Iterator[None]:
    """Every value that is read or written against the standard is an error."""
    kept = config.settings.reading_validation_mode, config.settings.writing_validation_mode
    config.settings.reading_validation_mode = config.settings.writing_validation_mode = config.RAISE
    yield
    config.settings.reading_validation_mode, config.settings.writing_validation_mode = kept


@pytest.fixture
def film(monkeypatch: pytest.MonkeyPatch) -> Radiograph:
    """A small predicted film without a Monte Carlo run."""

    def even(made: Setting, *_: Any, **__: Any) -> ScatterField:
        return by_ratio(made, 0.7, 0.02)

    monkeypatch.setattr("halflayer.radiograph.predict.by_monte_carlo", even)
    made = order()
    c, scene = way(made, "over")
    return predict(made, made.welds[0], c, scene, activity_Bq=1.5e12, seconds=90.0, pixel_m=5e-4)


def written(film: Radiograph, folder: Path) -> Dataset:
    """Written and read back from the disk."""
    path = folder / "image.dcm"
    dicom.write_dicom(film, path, outer_diameter_m=0.0603, wall_m=0.0055)
    return dcmread(path)


def test_it_passes_the_checks_of_its_library(film: Radiograph, tmp_path: Path, strict: None) -> None:
    read = written(film, tmp_path)
    validate_file_meta(read.file_meta, enforce_standard=True)
    for element in read.iterall():
        assert element.value is not None or element.VM == 0
    for name in WITH_VALUE.split():
        assert getattr(read, name) not in ("", None), name
    for name in PRESENT.split():
        assert name in read, name
    for name in ("StudyInstanceUID", "SeriesInstanceUID", "SOPInstanceUID"):
        assert UID(getattr(read, name)).is_valid


def test_its_pixels_are_those_of_the_tiff_in_thousandths_of_density(film: Radiograph, tmp_path: Path) -> None:
    from PIL import Image

    read = written(film, tmp_path)
    write_tiff(film, tmp_path / "image.tif")
    with Image.open(tmp_path / "image.tif") as picture:
        assert np.array_equal(read.pixel_array, np.asarray(picture))
    assert np.array_equal(read.pixel_array, sixteen_bits(film))
    density = read.pixel_array * float(read.RescaleSlope) + float(read.RescaleIntercept)
    assert read.RescaleType == "OD"
    assert density == pytest.approx(1000.0 * np.clip(film.image, 0.0, 6.5535), abs=0.06)
    assert [float(x) for x in read.PixelSpacing] == [0.5, 0.5]
    assert read.PhotometricInterpretation == "MONOCHROME1"  # dense is dark
    low, width = float(read.WindowCenter) - float(read.WindowWidth) / 2, float(read.WindowWidth)
    assert film.verdict.readings is not None
    assert low < 1000.0 * film.verdict.readings.least < 1000.0 * film.verdict.readings.most < low + width


def test_the_technique_stands_in_its_tags(film: Radiograph, tmp_path: Path) -> None:
    read, t = written(film, tmp_path), film.technique
    assert float(read.DistanceSourceToDetector) == pytest.approx(1e3 * t.source_to_detector_m)
    assert float(read.DistanceSourceToPatient) == pytest.approx(1e3 * t.source_to_object_m)
    assert float(read.FocalSpots) == pytest.approx(1e3 * t.focal_m)
    assert float(read.ExposureTimeInms) == pytest.approx(90_000.0)
    assert (read.SourceIsotopeName, read.RadiationSetting) == ("Se-75", "GR")
    assert read.ProtocolName == "DWDI in plane, over"
    assert read.ComponentShape == "PIPE" and read.MaterialGrade == "steel"
    assert float(read.MaterialThickness) == pytest.approx(5.5)
    assert float(read.OuterDiameter) == float(read.MaterialPipeDiameter) == pytest.approx(60.3)
    assert float(read.InnerDiameter) == pytest.approx(49.3)
    assert (read.ImageQualityIndicatorType, read.ImageQualityIndicatorSize) == ("WIRE", "W13")
    assert read.DetectorType == "FILM" and "C5" in read.DetectorDescription
    assert "predicted" in read.ImageComments and "90 s" in read.ImageComments


def test_the_longest_names_of_an_order_are_taken(film: Radiograph, tmp_path: Path, strict: None) -> None:
    # Ids have 40 characters at most, texts 500 (order.fields).
    words = replace(film.technique, order="A" * 40, weld="B" * 40, material="\\" + "m" * 499, nuclide="Se-75")
    read = written(replace(film, technique=words), tmp_path)
    assert str(read.PatientName).startswith("B" * 40 + "^A")
    for element in read.iterall():
        assert element.value is not None or element.VM == 0


def test_a_value_that_the_standard_does_not_take_is_not_written(film: Radiograph, tmp_path: Path) -> None:
    # A material grade is short text: 1024 characters at most (DICOM PS3.5, table 6.2-1, from memory, unverified).
    before = config.settings.reading_validation_mode, config.settings.writing_validation_mode
    wrong = replace(film, technique=replace(film.technique, material="x" * 2000))
    with pytest.raises(ValueError, match="length"):
        dicom.write_dicom(wrong, tmp_path / "image.dcm", outer_diameter_m=0.0603, wall_m=0.0055)
    assert (config.settings.reading_validation_mode, config.settings.writing_validation_mode) == before
    assert not (tmp_path / "image.dcm").exists()
