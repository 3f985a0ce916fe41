"""Orders for tests, built in Python with SI numbers: a full small kit, and one call to change what a test needs."""

from __future__ import annotations

from typing import Any

from halflayer.order.models import Order
from halflayer.order.weld import Weld

MM = 1e-3
DEG = 0.017453292519943295


def source(
    ident: str = "S1", nuclide: str = "Se-75", *, mm: float = 3.0, TBq: float = 1.5, **more: Any
) -> dict:
    """A source with equal diameter and length `mm`."""
    return {
        "id": ident,
        "nuclide": nuclide,
        "activity_Bq": TBq * 1e12,
        "on": "2026-03-01T08:00:00Z",
        "diameter_m": mm * MM,
        "length_m": mm * MM,
        **more,
    }


def head(ident: str = "H1", **more: Any) -> dict:
    """A small shielded head for the stand and the strap, with a round and a rectangular aperture."""
    return {
        "id": ident,
        "nuclides": ["Se-75", "Ir-192"],
        "placements": ["over", "lean-out", "strap"],
        "apertures": [
            {"id": "R20", "shape": "round", "half_angle_rad": 20 * DEG},
            {"id": "R35", "shape": "round", "half_angle_rad": 35 * DEG},
            {"id": "P10x30", "shape": "rectangular", "half_along_rad": 10 * DEG, "half_across_rad": 30 * DEG},
        ],
        "leakage": {"activity_Bq": 3e12, "at_1m_Sv_s": 5e-6 / 3600, "stored_at_1m_Sv_s": 5e-6 / 3600},
        "body": [0.10, 0.10, 0.16],
        "source_to_face_m": 0.03,
        "mass_kg": 9.0,
        **more,
    }


def spider(ident: str = "SP", **more: Any) -> dict:
    """A spider that centres a bare source in a bore."""
    return {
        "id": ident,
        "kind": "spider",
        "nuclides": ["Se-75", "Ir-192"],
        "placements": ["bore"],
        "body": [0.08, 0.12, 0.12],
        "source_to_face_m": 0.01,
        "mass_kg": 3.0,
        **more,
    }


def film(ident: str = "F5", film_class: str = "C5", **more: Any) -> dict:
    """A film in lead screens, 100 x 400 mm."""
    return {
        "id": ident,
        "film_class": film_class,
        "dose_for_density_2_Gy": 0.010,
        "dose_uncertainty": 0.5,
        "basis": "test figure",
        "processing": "5 min at 20 degC",
        "screens": {"front_m": 0.1 * MM, "back_m": 0.1 * MM, "backing_lead_m": 1.0 * MM},
        "sheet": [0.10, 0.40],
        **more,
    }


def kit(**more: Any) -> dict:
    """Plates, blankets, clamps for all pipes up to 340 mm, and two rows of legs."""
    return {
        "plates": [{"id": "PB3", "thickness_m": 3 * MM, "along_m": 0.2, "across_m": 0.25, "count": 20}],
        "blankets": [
            {
                "id": "W25",
                "material": "tungsten rubber",
                "areal_density_kg_m2": 25.0,
                "thickness_m": 6 * MM,
                "width_m": 0.4,
                "length_m": 1.2,
                "count": 30,
            }
        ],
        "clamps": [
            {
                "id": "CL",
                "diameter_min_m": 0.02,
                "diameter_max_m": 0.34,
                "from_weld_m": 0.15,
                "mass_kg": 3.0,
            }
        ],
        "legs": [
            {
                "id": "L1",
                "reach_min_m": 0.15,
                "reach_max_m": 0.50,
                "hole_pitch_m": 0.01,
                "lean_max_rad": 40 * DEG,
                "lean_step_rad": 1 * DEG,
                "carries_kg": 60.0,
                "mass_kg": 6.0,
            }
        ],
        **more,
    }


def weld(ident: str = "W1", *, od: float = 60.3, wall: float = 5.54, cap: float = 8.0, **more: Any) -> dict:
    """A girth weld on steel pipe, sizes in mm, plain pipe on both sides, nothing near."""
    return {
        "id": ident,
        "pipe": {"outer_diameter_m": od * MM, "wall_m": wall * MM, "material": "steel"},
        "cap": {"width_m": cap * MM, "height_m": 0.002, "root_m": 0.0},
        "at": [0.0, 0.0],
        "height_m": 1.2,
        "left": {"kind": "pipe", "distance_m": 1.0},
        "right": {"kind": "pipe", "distance_m": 1.0},
        **more,
    }


def order(
    *,
    test_class: str = "A",
    agreements: list[str] | tuple[str, ...] = (),
    welds: list[dict] | None = None,
    **more: Any,
) -> Order:
    """A whole order; every part can be replaced by name."""
    data: dict[str, Any] = {
        "order": "T-1",
        "title": "Welds for tests",
        "site": {"name": "Test bench", "adviser": "adviser on duty", "local_rules": "none"},
        "code": "ISO 17636-1:2013",
        "test_class": test_class,
        "agreements": list(agreements),
        "limits": {
            "barrier": {"rate_Sv_s": 7.5e-6 / 3600, "basis": "example"},
            "barrier_within_m": 6.0,
            "crew": {"per_shift_Sv": 2e-5, "basis": "example"},
        },
        "shift": {"starts": "2026-03-02T20:00:00Z", "ends": "2026-03-03T04:00:00Z"},
        "sources": [source()],
        "heads": [head(), spider()],
        "detectors": [film()],
        "kit": kit(),
        "crew": [{"id": "c1", "name": "A. Person", "role": "radiographer in charge"}],
        "welds": welds if welds is not None else [weld()],
    }
    data.update(more)
    return Order.model_validate(data, context={"si": True}, by_name=True)


def one_weld(
    *, test_class: str = "A", agreements: tuple[str, ...] = (), **weld_fields: Any
) -> tuple[Order, Weld]:
    """An order of a single weld, and that weld; keywords go to `weld`."""
    made = order(test_class=test_class, agreements=agreements, welds=[weld(**weld_fields)])
    return made, made.welds[0]
