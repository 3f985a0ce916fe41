"""The image as a DICOM file: 16 bits, pixel spacing, the technique in its elements, checked while it is written.

Industrial practice (ASTM E2339) keeps component data in the patient module and adds elements of group 0014;
this file does the same: the component is the weld, the study is the order.
"""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from halflayer import __version__
from halflayer.radiograph.files import PER_DENSITY, caption, sixteen_bits, window
from halflayer.radiograph.result import Radiograph

if TYPE_CHECKING:
    from pydicom.dataset import FileDataset


def write_dicom(
    radiograph: Radiograph,
    path: Path,
    *,
    steps: NDArray[np.uint16] | None = None,
    outer_diameter_m: float,
    wall_m: float,
) -> None:
    """Write the DICOM file, every value checked against its type by pydicom.

    Secondary capture of a digitised film (modality RG), or of a digital detector (CR, DX). Stored values are
    those of the TIFF; the rescale elements turn a film's into thousandths of optical density (type OD).
    """
    from pydicom import config

    # Elements are checked by the reading mode when they are set, and by the writing mode when they are written.
    before = config.settings.reading_validation_mode, config.settings.writing_validation_mode
    config.settings.reading_validation_mode = config.settings.writing_validation_mode = config.RAISE
    try:
        data = dataset(radiograph, steps=steps, outer_diameter_m=outer_diameter_m, wall_m=wall_m)
        data.save_as(path, enforce_file_format=True)
    finally:
        config.settings.reading_validation_mode, config.settings.writing_validation_mode = before


def dataset(
    radiograph: Radiograph,
    *,
    steps: NDArray[np.uint16] | None = None,
    outer_diameter_m: float,
    wall_m: float,
) -> FileDataset:
    """The file's elements in memory."""
    from pydicom.dataset import FileDataset, FileMetaDataset
    from pydicom.uid import ExplicitVRLittleEndian, SecondaryCaptureImageStorage, generate_uid

    t, v, f = radiograph.technique, radiograph.verdict, radiograph.frame
    pixels = sixteen_bits(radiograph) if steps is None else steps
    key = [t.order, t.weld, str(t.shot), t.made_at, str(f), __version__]
    meta = FileMetaDataset()
    meta.MediaStorageSOPClassUID = SecondaryCaptureImageStorage
    meta.MediaStorageSOPInstanceUID = generate_uid(entropy_srcs=[*key, pixels.tobytes().hex()[:4096]])
    meta.TransferSyntaxUID = ExplicitVRLittleEndian
    meta.ImplementationClassUID = generate_uid(entropy_srcs=["halflayer", __version__])
    meta.ImplementationVersionName = f"HALFLAYER {__version__}"[:16]
    d = FileDataset("", {}, file_meta=meta, preamble=b"\0" * 128)
    d.SpecificCharacterSet = "ISO_IR 192"
    d.SOPClassUID = meta.MediaStorageSOPClassUID
    d.SOPInstanceUID = meta.MediaStorageSOPInstanceUID
    d.StudyInstanceUID = generate_uid(entropy_srcs=[t.order, t.made_at])
    d.SeriesInstanceUID = generate_uid(entropy_srcs=[t.order, t.weld, t.made_at])
    _component(d, radiograph, outer_diameter_m, wall_m)
    moment = datetime.fromisoformat(t.made_at)
    d.StudyDate = d.ContentDate = moment.strftime("%Y%m%d")
    d.StudyTime = d.ContentTime = moment.strftime("%H%M%S")
    d.AccessionNumber = ""
    d.ReferringPhysicianName = ""
    d.StudyID = t.order[:16]
    d.SeriesNumber = 1
    d.InstanceNumber = t.shot
    panel = t.detector_kind == "panel"
    d.Modality = "RG" if not v.digital else "DX" if panel else "CR"
    d.ConversionType = "SYN"
    d.Manufacturer = "halflayer"
    d.SoftwareVersions = __version__
    d.SeriesDescription = f"predicted radiograph of weld {t.weld}"[:64]
    d.ImageType = ["DERIVED", "SECONDARY"]
    d.DerivationDescription = "predicted from a work order; not a film"
    d.ImageComments = caption(radiograph)
    d.BurnedInAnnotation = "NO"
    d.DistanceSourceToDetector = _ds(t.source_to_detector_m * 1e3)
    d.DistanceSourceToPatient = _ds(t.source_to_object_m * 1e3)
    d.FocalSpots = [_ds(t.focal_m * 1e3)]
    d.ExposureTimeInms = float(t.exposure_s * 1e3)
    # a panel may convert directly or by a scintillator: the order does not say
    d.DetectorType = "FILM" if not v.digital else "" if panel else "STORAGE"
    d.DetectorDescription = f"{t.detector}, {t.film_class}, {t.screens}"[:1024]
    d.RadiationSetting = "GR"
    d.SourceIsotopeName = t.nuclide[:64]
    d.ProtocolName = f"{t.technique}, {t.arrangement}"[:64]
    d.PixelSpacing = d.NominalScannedPixelSpacing = [_ds(f.pixel_m * 1e3)] * 2
    d.Rows, d.Columns = pixels.shape
    d.SamplesPerPixel = 1
    d.PhotometricInterpretation = "MONOCHROME1" if not v.digital else "MONOCHROME2"
    d.BitsAllocated = d.BitsStored = 16
    d.HighBit = 15
    d.PixelRepresentation = 0
    d.RescaleIntercept = "0"
    d.RescaleSlope = _ds(1000.0 / PER_DENSITY) if not v.digital else "1"
    d.RescaleType = "OD" if not v.digital else "US"
    low, high = window(radiograph)
    factor = 1000.0 if not v.digital else 1.0
    d.WindowCenter, d.WindowWidth = _ds(factor * (low + high) / 2), _ds(factor * (high - low))
    d.PixelData = np.ascontiguousarray(pixels).astype("<u2", copy=False).tobytes()
    return d


def _component(d: Any, radiograph: Radiograph, outer_diameter_m: float, wall_m: float) -> None:
    t, v = radiograph.technique, radiograph.verdict
    d.PatientName = f"{t.weld}^{t.order}"[:64]
    d.PatientID = f"{t.order}/{t.weld}"[:64]
    d.PatientBirthDate = ""
    d.PatientSex = "O"
    d.ComponentShape = "PIPE"
    d.MaterialGrade = t.material
    d.MaterialThickness = _ds(wall_m * 1e3)
    d.MaterialPipeDiameter = _ds(outer_diameter_m * 1e3)
    d.OuterDiameter = _ds(outer_diameter_m * 1e3)
    d.InnerDiameter = _ds((outer_diameter_m - 2 * wall_m) * 1e3)
    asked = v.required or v.required_hole
    if asked:
        d.ImageQualityIndicatorType = ["WIRE" if v.required else "HOLE"]
        d.ImageQualityIndicatorSize = [asked]
        d.ImageQualityIndicatorMaterial = [t.material[:64]]


def _ds(value: float) -> str:
    """A decimal in at most 16 characters."""
    return f"{value:.10g}"
