"""Checks that no single field can answer: references, names, places inside matter, sizes that cannot be.

`problems(...)` looks at every part that is valid by itself, so that all trouble is told at once; `notes(order)`
states what a person must know about an order that is accepted.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any, get_args

from halflayer.order.code_checks import code_problems
from halflayer.order.equipment import Blanket, Head, MaterialSpec, PlacementName, Source
from halflayer.order.fields import Model
from halflayer.order.flaw_checks import flaw_problems
from halflayer.order.gear_checks import gear_problems
from halflayer.order.head_shape import in_the_beam
from halflayer.order.limits import Place
from halflayer.order.models import Shift
from halflayer.order.notes import notes
from halflayer.order.reference_checks import reference_problems
from halflayer.order.report import Loc, Report, nearest
from halflayer.order.side_checks import side_problems
from halflayer.order.weld import Obstacle, Weld

__all__ = ["Parts", "notes", "problems"]

# What is plausible for a weld's cap, our choice: the widest preparations stay well below.
CAP_WIDTH_PER_WALL, CAP_WIDTH_PLUS_M = 4.0, 0.015
CAP_HEIGHT_MOST_M = 0.010
MOST_HALF_LIVES = 20.0  # our choice: a millionth, or a million times, the certified activity is a wrong date
RUN_M = 1.0  # plain pipe is taken to go on so far beside a weld

# Names that a file cannot have, or that the plan's own files have.
_NO_FILE = re.compile(r"(order|plan|con|prn|aux|nul|com\d|lpt\d)(\..*)?", re.IGNORECASE)
LISTS = (
    ("places",),
    ("floors",),
    ("access",),
    ("obstacles",),
    ("sources",),
    ("heads",),
    ("detectors",),
    ("digital",),
    ("crew",),
    ("instruments",),
    ("materials",),
    ("welds",),
    *(
        ("kit", kind)
        for kind in (
            "plates",
            "blankets",
            "shrouds",
            "clamps",
            "legs",
            "guides",
            "carriers",
            "changers",
            "gear",
        )
    ),
)

THINGS = {  # what becomes a line of the kit list, in words
    ("heads",): "a head",
    ("detectors",): "a film",
    ("digital",): "a plate or panel",
    **{path: f"one of the {path[1]}" for path in LISTS if path[0] == "kit"},
}


@dataclass
class Parts:
    """What of an order is valid by itself: the items of its lists with their index, and its single parts."""

    items: dict[tuple[str, ...], list[tuple[int, Any]]] = field(default_factory=dict)
    single: dict[str, Any] = field(default_factory=dict)

    def __getitem__(self, name: str) -> list[tuple[int, Any]]:
        return self.items.get((name,), [])


def problems(parts: Parts, report: Report) -> None:
    """Add to the report what is wrong between the parts of an order."""
    _names(report)
    code_problems(report)
    _thing_ids(parts, report)
    materials = _materials(parts, report)
    shift = parts.single.get("shift")
    if isinstance(shift, Shift) and shift.ends <= shift.starts:
        report.add(
            ("shift", "ends"), "the shift ends before it starts", accepted=f"after {shift.starts.isoformat()}"
        )
    _nuclides(parts, report)
    for n, head in parts["heads"]:
        _head(report, ("heads", n), head)
    reference_problems(parts["heads"], report)
    for n, weld in parts["welds"]:
        _weld(parts, report, ("welds", n), weld)
    for n, place in parts["places"]:
        _place(parts, report, ("places", n), place)
    for n, blanket in parts.items.get(("kit", "blankets"), []):
        _blanket(report, ("kit", "blankets", n), blanket, materials)
    gear_problems(parts.items.get(("kit", "gear"), []), report)


def _thing_ids(parts: Parts, report: Report) -> None:
    """Things that are carried to a weld are told apart by their ids, whatever list they stand in.

    The kit list adds up pieces by id, and a stop and a wrap of one id share their stock.
    """
    seen: dict[str, tuple[Loc, str]] = {}
    for path, what in THINGS.items():
        for n, thing in parts.items.get(path, []):
            first = seen.setdefault(thing.id.casefold(), (path, what))
            if first[0] != path:  # within one list it is told already
                text = f"the id is taken by {first[1]}"
                report.add((*path, n, "id"), text, accepted="ids that differ by more than case")


# --- names ---------------------------------------------------------------------------------------------


def _names(report: Report) -> None:
    """Ids of each list differ by more than case; so do the names that results are told apart by."""
    for path in LISTS:
        raw = report.raw(path)
        if not isinstance(raw, list):
            continue
        _unlike(report, path, raw, "name" if path == ("materials",) else "id")
        if path in (("places",), ("floors",), ("access",), ("crew",), ("obstacles",)):
            _unlike(report, path, raw, "name")
        for n, item in enumerate(raw):
            if path == ("heads",) and isinstance(item, dict) and isinstance(item.get("apertures"), list):
                _unlike(report, (*path, n, "apertures"), item["apertures"], "id")
            if path == ("welds",) and isinstance(item, dict):
                _file_name(report, (*path, n, "id"), item.get("id"))


def _unlike(report: Report, path: Loc, items: list[Any], key: str) -> None:
    seen: dict[str, int] = {}
    for n, item in enumerate(items):
        value = item.get(key) if isinstance(item, dict) else None
        if isinstance(value, bool) or not isinstance(value, str | int | float):
            continue
        plain = str(value).strip().casefold()
        if plain in seen:
            line = report.document.where((*path, seen[plain], key))
            text = f"the {key} is taken, in line {line}"
            report.add((*path, n, key), text, accepted=f"{key}s that differ by more than case")
        else:
            seen[plain] = n


def _file_name(report: Report, loc: Loc, value: Any) -> None:
    if isinstance(value, str) and (_NO_FILE.fullmatch(value) or value.endswith(".")):
        text = "the id of a weld names its sheet, and no file of its own can have this name"
        report.add(loc, text, accepted="another id, such as W1")


# --- materials and nuclides ----------------------------------------------------------------------------


def _materials(parts: Parts, report: Report) -> dict[str, Any]:
    """Check every material named in the order; the order's own materials by name."""
    from halflayer.base.errors import OutOfRange
    from halflayer.physics import materials

    raw = report.raw(("materials",))
    claimed = [i.get("name") for i in raw if isinstance(i, dict)] if isinstance(raw, list) else []
    own: dict[str, Any] = {}
    for n, spec in parts["materials"]:
        found = _own_material(report, ("materials", n), spec)
        if found is not None:
            own[spec.name] = found
    for loc, name in _named_materials(parts):
        if name in claimed:
            continue
        try:
            materials.material(name)
        except OutOfRange:
            known = [str(c) for c in claimed if isinstance(c, str)] + list(materials.names())
            report.add(loc, "unknown material", accepted=nearest(name, known))
    return own


def _own_material(report: Report, loc: Loc, spec: MaterialSpec) -> Any:
    from halflayer.base.errors import OutOfRange
    from halflayer.physics import materials

    if spec.mass_fractions is None:
        try:
            return materials.material(spec.name)
        except OutOfRange:
            text = "unknown material, and no mass_fractions are given"
            report.add((*loc, "name"), text, accepted=nearest(spec.name, materials.names()))
            return None
    if spec.density_kg_m3 is None:
        report.add(
            (*loc, "density"), "a material of one's own needs its density", accepted="such as 7.85 g/cm3"
        )
        return None
    try:
        return materials.custom(spec.name, spec.density_kg_m3, spec.mass_fractions)
    except ValueError as error:
        report.add((*loc, "mass_fractions"), str(error), accepted="{W: 0.85, C: 0.15}, sum 1 within 1 %")
        return None


def _named_materials(parts: Parts) -> Iterator[tuple[Loc, str]]:
    for path, items in parts.items.items():
        if path == ("materials",):
            continue
        for n, item in items:
            yield from _material_fields((*path, n), item)


def _material_fields(loc: Loc, model: Model) -> Iterator[tuple[Loc, str]]:
    """Every field `material`, `..._material` of a model and of the models in it, where it is stated."""
    for name, info in type(model).model_fields.items():
        value = getattr(model, name)
        at = (*loc, str(info.alias or name))
        if name.endswith("material") and isinstance(value, str):
            yield at, value
        elif isinstance(value, Model):
            yield from _material_fields(at, value)
        elif isinstance(value, tuple):
            for n, item in enumerate(value):
                if isinstance(item, Model):
                    yield from _material_fields((*at, n), item)


def _nuclides(parts: Parts, report: Report) -> None:
    from halflayer.physics.nuclides import NUCLIDES, nuclide

    shift = parts.single.get("shift")

    def check(loc: Loc, name: str) -> None:
        if name not in NUCLIDES:
            report.add(loc, "unknown nuclide", accepted=", ".join(NUCLIDES))

    sources: list[tuple[int, Source]] = parts["sources"]
    for n, source in sources:
        check(("sources", n, "nuclide"), source.nuclide)
        if source.nuclide in NUCLIDES and isinstance(shift, Shift):
            lives = abs((source.on - shift.starts).total_seconds()) / nuclide(source.nuclide).half_life_s
            if lives > MOST_HALF_LIVES:
                text = f"the certificate lies {lives:.0f} half-lives from the shift"
                accepted = f"a date within {MOST_HALF_LIVES:g} half-lives of {shift.starts:%Y-%m-%d}"
                report.add(("sources", n, "on"), text, accepted=accepted)
    for n, head in parts["heads"]:
        for k, name in enumerate(head.nuclides):
            check(("heads", n, "nuclides", k), name)


# --- equipment -----------------------------------------------------------------------------------------


def _head(report: Report, loc: Loc, head: Head) -> None:
    n = in_the_beam(head)
    if n is not None and head.solids is not None:
        text = f"the {head.solids[n].material} stands in the beam between source and front face"
        report.add(
            (*loc, "solids", n), text, accepted="a port painted after it, such as a frustum of air along -z"
        )
    if head.source_to_face_m >= head.body[2]:
        text = "the source lies outside the head's body"
        report.add(
            (*loc, "source_to_face"), text, accepted=f"below {head.body[2] * 1000:g} mm, the body's height"
        )
    wrong = "bore" if head.kind == "shielded" else next((p for p in head.placements if p != "bore"), None)
    if wrong in head.placements:
        text = f"a {head.kind} head cannot be placed so"
        accepted = (
            ", ".join(sorted(set(get_args(PlacementName)) - {"bore"})) if head.kind == "shielded" else "bore"
        )
        report.add((*loc, "placements", head.placements.index(wrong)), text, accepted=accepted)


def _blanket(report: Report, loc: Loc, blanket: Blanket, own: dict[str, Any]) -> None:
    from halflayer.base.errors import OutOfRange
    from halflayer.physics import materials

    try:
        base = own.get(blanket.material) or materials.material(blanket.material)
        materials.sheet_from_areal_density(
            base, areal_kg_m2=blanket.areal_density_kg_m2, thickness_m=blanket.thickness_m
        )
    except OutOfRange:
        return  # an unknown material is told elsewhere
    except ValueError as error:
        accepted = f"at least {blanket.areal_density_kg_m2 / base.density_kg_m3 * 1000:.3g} mm for this mass"
        report.add((*loc, "thickness"), str(error), accepted=accepted)


# --- welds and places ----------------------------------------------------------------------------------


def _weld(parts: Parts, report: Report, loc: Loc, weld: Weld) -> None:
    pipe, cap = weld.pipe, weld.cap
    if pipe.outer_diameter_m is None or pipe.wall_m is None:
        return  # an unknown size name is told elsewhere
    widest = min(CAP_WIDTH_PER_WALL * pipe.wall_m + CAP_WIDTH_PLUS_M, pipe.outer_diameter_m)
    if cap.width_m > widest:
        text = "the cap is wider than a weld of this pipe can be"
        report.add((*loc, "cap", "width"), text, accepted=f"up to {widest * 1000:.3g} mm")
    for name, value in (("height", cap.height_m), ("root", cap.root_m)):
        most = min(CAP_HEIGHT_MOST_M, pipe.bore / 2)
        if value > most:
            report.add(
                (*loc, "cap", name), "higher than a weld can be", accepted=f"up to {most * 1000:.3g} mm"
            )
    for n, field_name, text, accepted in flaw_problems(weld):
        report.add((*loc, "flaws", n, field_name), text, accepted=accepted)
    for side, text, accepted in side_problems(weld):
        report.add((*loc, side, "wall"), text, accepted=accepted)
    half = _half(weld)
    if weld.runs == "horizontal" and weld.height_m <= half:
        text = "the pipe would lie in the floor"
        report.add(
            (*loc, "height"), text, accepted=f"the height of the pipe's axis, above {half * 1000:.3g} mm"
        )
    centre = (*weld.at, weld.floor_level_m + weld.height_m)
    for _, obstacle in parts["obstacles"]:
        if _solid(obstacle) and _in_box(centre, obstacle):
            text = f"the weld lies inside the obstacle {obstacle.id}"
            report.add((*loc, "at"), text, accepted="a weld outside the obstacles")


def _place(parts: Parts, report: Report, loc: Loc, place: Place) -> None:
    for _, obstacle in parts["obstacles"]:
        if _solid(obstacle) and _in_box(place.at, obstacle):
            text = f"the place lies inside the obstacle {obstacle.id}"
            report.add((*loc, "at"), text, accepted="a point outside the obstacles")
    for _, weld in parts["welds"]:
        if _in_pipe(place.at, weld):
            report.add(
                (*loc, "at"), f"the place lies inside the pipe of {weld.id}", accepted="a point outside it"
            )
        depth = weld.floor_level_m - place.at[2]
        thick = math.inf if weld.floor_thickness_m is None else weld.floor_thickness_m
        if weld.floor_material and _is_solid(weld.floor_material) and 0 < depth < thick:
            text = f"the place lies inside the floor of {weld.id}"
            accepted = f"z above {weld.floor_level_m:g} m"
            if math.isinf(thick):
                accepted += ", or the weld's floor_thickness (without it the floor is solid ground)"
            else:
                accepted += f" or below {weld.floor_level_m - thick:g} m"
            report.add((*loc, "at"), text, accepted=accepted)


def _half(weld: Weld) -> float:
    return weld.pipe.od / 2 + (weld.insulation.thickness_m if weld.insulation else 0.0)


def _in_pipe(point: tuple[float, float, float], weld: Weld) -> bool:
    if weld.pipe.outer_diameter_m is None:
        return False
    dx, dy = point[0] - weld.at[0], point[1] - weld.at[1]
    dz = point[2] - weld.floor_level_m - weld.height_m
    if weld.runs == "vertical":
        along, off = dz, math.hypot(dx, dy)
    else:
        c, s = math.cos(weld.heading_rad), math.sin(weld.heading_rad)
        along, off = dx * c + dy * s, math.hypot(dy * c - dx * s, dz)
    return off < _half(weld) and -_run(weld, "left") < along < _run(weld, "right")


def _run(weld: Weld, side: str) -> float:
    neighbour = getattr(weld, side)
    return float(neighbour.distance_m) + (RUN_M if neighbour.kind == "pipe" else 0.0)


def _is_solid(material: str) -> bool:
    return material.strip().lower() not in ("air", "dry air", "vacuum", "void", "nothing")


def _solid(obstacle: Obstacle) -> bool:
    return _is_solid(obstacle.material)


def _in_box(point: tuple[float, float, float], obstacle: Obstacle) -> bool:
    return all(abs(p - c) < s / 2 for p, c, s in zip(point, obstacle.centre, obstacle.size, strict=True))
