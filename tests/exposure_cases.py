"""Welds, films and built shots for the tests of the exposure: real scenes of a small made-up order."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

import numpy as np
import pytest

from halflayer.exposure import paths, scatter
from halflayer.exposure.paths import FilmPoint
from halflayer.order.equipment import Film, Screens
from halflayer.order.models import Order
from halflayer.physics import nuclides
from halflayer.physics.materials import material
from halflayer.scene.build import Built, build_scene
from halflayer.scene.film_surface import FilmSurface
from halflayer.scene.fitting import Fitting
from halflayer.scene.frame import Vec3
from halflayer.scene.solids import Box, Scene
from halflayer.technique.result import Candidate, Geometry, Shot

MOMENT = datetime(2026, 3, 2, 20, 0, tzinfo=UTC)


def film(**changes: object) -> Film:
    """A C5 film with lead screens, 10 mGy for density 2."""
    facts: dict[str, Any] = {
        "id": "F1",
        "kind": "film",
        "film_class": "C5",
        "dose_for_density_2_Gy": 0.010,
        "dose_uncertainty": 0.3,
        "basis": "made up for tests",
        "gradient_at_2": None,
        "base_fog": 0.25,
        "calibration": 1.0,
        "processing": "P1",
        "screens": Screens.model_construct(
            material="lead", front_m=1e-4, back_m=1.5e-4, backing_lead_m=0.001
        ),
        "sheet": (0.1, 0.4),
        "cassette_m": 0.002,
    }
    return Film.model_construct(**{**facts, **changes})


def order(
    *,
    od_m: float = 0.0603,
    wall_m: float = 0.0055,
    cap_m: float = 0.0015,
    nuclide: str = "Se-75",
    activity_Bq: float = 1.5e12,
    contents: str = "air",
    insulation: dict[str, Any] | None = None,
    **film_changes: Any,
) -> Order:
    """An order of one weld W1 with source S1, head H1 (15 degrees), spider H2 and film F1."""
    screens = film_changes.pop("screens", None)
    detector = film(**film_changes).model_dump(mode="json")
    if screens:
        detector["screens"] = screens
    weld = {
        "id": "W1",
        "pipe": {"outer_diameter_m": od_m, "wall_m": wall_m, "material": "steel"},
        "cap": {"width_m": 0.010, "height_m": cap_m, "root_m": 0.0},
        "contents": {"material": contents},
        "insulation": insulation,
        "at": (0.0, 0.0),
        "height_m": 1.2,
        "left": {"distance_m": 1.0},
        "right": {"distance_m": 1.0},
    }
    head = {
        "id": "H1",
        "nuclides": ["Se-75", "Ir-192"],
        "placements": ["over", "lean-out", "strap"],
        "apertures": [
            {"id": "a15", "shape": "round", "half_angle_rad": math.radians(15.0)},
            {"id": "a40", "shape": "round", "half_angle_rad": math.radians(40.0)},
        ],
        "leakage": {"activity_Bq": 3e12, "at_1m_Sv_s": 1e-9},
        "body": (0.1, 0.1, 0.15),
        "source_to_face_m": 0.03,
        "mass_kg": 7.0,
        "travel_s": 1.0,
    }
    spider = {
        "id": "H2",
        "kind": "spider",
        "nuclides": ["Se-75", "Ir-192"],
        "placements": ["bore"],
        "body": (0.02, 0.02, 0.02),
        "source_to_face_m": 0.01,
        "mass_kg": 0.3,
        "travel_s": 5.0,
    }
    source = {
        "id": "S1",
        "nuclide": nuclide,
        "activity_Bq": activity_Bq,
        "on": "2026-03-02T20:00:00+00:00",
        "diameter_m": 0.002,
        "length_m": 0.002,
    }
    return Order.from_json(
        {
            "order": "T-1",
            "title": "Small test order",
            "site": {"name": "Test site", "adviser": "adviser", "local_rules": "rules"},
            "code": "ISO 17636-1:2013",
            "test_class": "A",
            "limits": {
                "barrier": {"rate_Sv_s": 2e-9, "basis": "test"},
                "barrier_within_m": 10.0,
                "crew": {"per_shift_Sv": 1e-4, "basis": "test"},
            },
            "shift": {"starts": "2026-03-02T20:00:00+00:00", "ends": "2026-03-03T06:00:00+00:00"},
            "sources": [source],
            "heads": [head, spider],
            "detectors": [detector],
            "kit": {},
            "crew": [{"id": "P1", "name": "A. Person", "role": "radiographer in charge"}],
            "welds": [weld],
        }
    )


def candidate(
    made: Order,
    arrangement: str = "over",
    *,
    standoff_m: float = 0.4,
    offset_m: float = 0.0,
    shots: int = 3,
    evaluated_rad: float = 2 * math.pi,
    aperture: str | None = "a15",
    density: tuple[float, float] = (2.0, 4.0),
) -> Candidate:
    """A way to shoot W1; only what scene and exposure read is filled with care."""
    pipe = made.welds[0].pipe
    technique = {
        "over": "DWDI in plane",
        "lean-out": "DWDI ellipse",
        "strap": "DWSI contact",
        "bore": "SWSI panoramic",
    }[arrangement]
    b = (pipe.od if arrangement in ("over", "lean-out") else pipe.wall) + 0.004
    turn = math.pi / shots if arrangement in ("over", "lean-out") else 2 * math.pi / shots
    clocks = [n * turn for n in range(shots)]
    geometry = Geometry(
        source_to_detector_m=standoff_m + pipe.od + 0.004,
        source_to_object_m=standoff_m,
        object_to_detector_m=b,
        minimum_source_to_object_m=0.1,
        unsharpness_m=0.0004,
        axial_offset_m=offset_m,
        tilt_rad=0.0,
        standoff_m=standoff_m,
        opening_m=None,
        nominal_m=2 * pipe.wall,
        iqi_thickness_m=2 * pipe.wall,
        crossed_m=2 * pipe.wall,
        focal_m=0.003,
    )
    return Candidate(
        technique=technique,
        arrangement=arrangement,  # type: ignore[arg-type]
        source="S1",
        head="H2" if arrangement == "bore" else "H1",
        aperture=None if arrangement == "bore" else aperture,
        detector="F1",
        clamp=None,
        clamp_x_m=None,
        legs=None,
        leg_hole=None,
        geometry=geometry,
        shots=tuple(Shot(c, (c + math.pi) % (2 * math.pi), evaluated_rad) for c in clocks),
        usable_rad=None,
        density_min=density[0],
        density_max=density[1],
        iqi=None,
        rules=(),
        verdict="admissible",
        agreements_used=(),
        derived=(),
    )


def built(made: Order, way: Candidate) -> tuple[Built, ...]:
    """The scenes of all shots without a shield."""
    return tuple(build_scene(made, made.welds[0], way, shot, Fitting()) for shot in way.shots)


@dataclass(frozen=True)
class PlateShot:
    """A broad plate with a flat film behind it and a source in front, the beam wider than the film."""

    scene: Scene
    source_at: Vec3
    aim: Vec3
    half_angle_rad: float | None
    film: FilmSurface
    rect: tuple[float, float] | None = None
    axis_along: Vec3 = (1.0, 0.0, 0.0)


def plate_shot(
    *,
    thickness_m: float,
    matter: str = "steel",
    edge_m: float = 0.3,
    distance_m: float = 0.6,
    gap_m: float = 0.001,
    surround: str = "air",
) -> PlateShot:
    """Source `distance_m` from the film, plate right in front of the film, a beam that lights all of it."""
    film_z = 0.0
    middle = film_z + gap_m + thickness_m / 2
    plate = Box("plate", (0.0, 0.0, middle), (edge_m, edge_m, thickness_m), material(matter))
    to_front = distance_m - gap_m - thickness_m
    return PlateShot(
        scene=Scene((plate,), material(surround)),
        source_at=(0.0, 0.0, distance_m),
        aim=(0.0, 0.0, -1.0),
        half_angle_rad=math.atan(0.5 * edge_m * math.sqrt(2.0) / to_front),
        film=FilmSurface(
            "flat", (0.0, 0.0, film_z), (0.0, 0.0, 1.0), (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), 0.2, 0.2
        ),
    )


def without_monte_carlo(monkeypatch: pytest.MonkeyPatch) -> None:
    """Scatter at the film as a fifth of the primary at each point, without noise and without a run."""

    def none(shot: Any, scene: Any, points: Any, lines: Any, *, seed: int, batches: int, **_: Any) -> Any:
        at = np.array([p.at for p in points])
        return 0.2 * paths.primary_kerma(scene, shot.source_at, at, *lines), np.zeros(len(points))

    monkeypatch.setattr(scatter, "film_scatter", none)


# A general-purpose Monte Carlo library (PENELOPE 2018 data): scatter-to-primary air kerma at the back face of an
# iron plate of 300 x 300 mm, source 500 mm in front of it, mean over the middle 60 x 60 mm; its relative sigma.
BEHIND_A_PLATE = [("Se-75", 0.020, 1.36983, 0.0046), ("Ir-192", 0.040, 2.40415, 0.0048)]


def behind_a_plate(
    nuclide: str, thickness_m: float, middle: FilmPoint
) -> tuple[Any, tuple[np.ndarray, np.ndarray], float]:
    """The shot of `BEHIND_A_PLATE` in vacuum, its lines, and the primary in the middle."""
    gap = 1e-4
    shot = plate_shot(
        thickness_m=thickness_m,
        matter="iron",
        distance_m=0.5 + thickness_m + gap,
        gap_m=gap,
        surround="vacuum",
    )
    n = nuclides.nuclide(nuclide)
    lines = (n.energies_keV, n.photons_per_decay)
    primary = float(paths.primary_kerma(shot.scene, shot.source_at, np.array([middle.at]), *lines)[0])
    return shot, lines, primary
