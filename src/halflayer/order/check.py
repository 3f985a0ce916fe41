"""Checks that no single field can answer: references, names, places inside matter, sizes that cannot be.

`problems(...)` looks at every part that is valid by itself, so that all trouble is told at once; `notes(order)`
states what a person must know about an order that is accepted.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

from halflayer.order.bound_checks import bound_problems
from halflayer.order.code_checks import code_problems
from halflayer.order.equipment import Blanket, MaterialSpec, Source
from halflayer.order.fields import Model
from halflayer.order.flaw_checks import flaw_problems
from halflayer.order.gear_checks import gear_problems
from halflayer.order.head_checks import head_problems
from halflayer.order.kit_checks import kit_problems
from halflayer.order.models import Shift
from halflayer.order.notes import notes
from halflayer.order.parts import LISTS, Parts
from halflayer.order.reference_checks import reference_problems
from halflayer.order.report import Loc, Report
from halflayer.order.side_checks import side_problems
from halflayer.order.site_checks import half_m, site_problems
from halflayer.order.weld import Weld

__all__ = ["Parts", "notes", "problems"]

# What is plausible for a weld's cap, our choice: the widest preparations stay well below.
CAP_WIDTH_PER_WALL, CAP_WIDTH_PLUS_M = 4.0, 0.015
CAP_HEIGHT_MOST_M = 0.010
MOST_HALF_LIVES = 20.0  # our choice: a millionth, or a million times, the certified activity is a wrong date

# Names that a file cannot have, or that the plan's own files have.
_NO_FILE = re.compile(r"(order|plan|con|prn|aux|nul|com\d|lpt\d)(\..*)?", re.IGNORECASE)
THINGS = {  # what becomes a line of the kit list, in words
    ("heads",): "a head",
    ("detectors",): "a film",
    ("digital",): "a plate or panel",
    **{path: f"one of the {path[1]}" for path in LISTS if path[0] == "kit"},
}


def problems(parts: Parts, report: Report) -> None:
    """Add to the report what is wrong between the parts of an order."""
    _names(report)
    code_problems(report)
    _thing_ids(parts, report)
    materials = _materials(parts, report)
    _nuclides(parts, report)
    for n, head in parts["heads"]:
        head_problems(report, ("heads", n), head)
    reference_problems(parts["heads"], report)
    for n, weld in parts["welds"]:
        _weld(report, ("welds", n), weld)
    site_problems(parts, report)
    for n, blanket in parts.items.get(("kit", "blankets"), []):
        _blanket(report, ("kit", "blankets", n), blanket, materials)
    gear_problems(parts.items.get(("kit", "gear"), []), report)
    kit_problems(parts, report)
    bound_problems(parts, report)


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
            report.unknown(loc, "unknown material", name, known)
    return own


def _own_material(report: Report, loc: Loc, spec: MaterialSpec) -> Any:
    from halflayer.base.errors import OutOfRange
    from halflayer.physics import materials

    if spec.mass_fractions is None:
        try:
            return materials.material(spec.name)
        except OutOfRange:
            text = "unknown material, and no mass_fractions are given"
            report.unknown((*loc, "name"), text, spec.name, materials.names())
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


def _weld(report: Report, loc: Loc, weld: Weld) -> None:
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
    half = half_m(weld)
    if weld.runs == "horizontal" and weld.height_m <= half:
        text = "the pipe would lie in the floor"
        report.add(
            (*loc, "height"), text, accepted=f"the height of the pipe's axis, above {half * 1000:.3g} mm"
        )
