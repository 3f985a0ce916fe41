"""Reads a free scene (the file of `halflayer dose`) into a transport problem, all that is wrong told at once."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from pydantic import Field, ValidationError, create_model

from halflayer.base.errors import InputError, OutOfRange
from halflayer.order.fields import Model, yaml_name
from halflayer.order.report import Loc, Report
from halflayer.order.yaml_read import Document, parse, read
from halflayer.physics.materials import MATERIALS, Material, custom, material
from halflayer.physics.nuclides import NUCLIDES, nuclide
from halflayer.scene.solids import IDENTITY, Box, Frustum, HalfSpace, Scene, Solid, SolidError, Sphere, Tube
from halflayer.transport.problem import (
    AreaScore,
    Fault,
    PointScore,
    PointSource,
    Problem,
    ProblemError,
    RingScore,
    Score,
    prepare,
)
from halflayer.transport.scene_file import (
    SHAPES,
    AreaSpec,
    BoxSpec,
    FrustumSpec,
    HalfSpaceSpec,
    MaterialSpec,
    PointSpec,
    RingSpec,
    SceneFile,
    SourceSpec,
    SphereSpec,
    TubeSpec,
)

SCORES: tuple[tuple[str, type[Model]], ...] = (
    ("points", PointSpec),
    ("rings", RingSpec),
    ("areas", AreaSpec),
)

# By the fields of problems and solids: what would be accepted there.
ACCEPTED = (
    (("at",), "a place in air or void, away from every source"),
    (("centre", "through"), "three finite lengths"),
    (("aim", "axis", "normal", "axis_u"), "a direction of three numbers that are not all 0"),
    (("axes",), "three directions at right angles to each other"),
    (("lines",), "energies from the cut up to 3000 keV with photons per decay of 0 or more"),
    (("activity",), "an activity above 0 Bq"),
    (("half_angle",), "an angle above 0 and up to 180 deg"),
    (("half_u_rad", "half_v_rad"), "an angle above 0 and up to 85 deg"),
    (("wall_m",), "a wall above 0 and below the outer radius, or none for a full solid"),
    (("radius", "outer_radius_m", "length_m", "size", "size_m"), "lengths above 0 m, a ring in air or void"),
    (("radius_start_m", "radius_end_m"), "lengths of 0 m or more, not both 0"),
    (("spectrum_edges",), "two or more increasing energies"),
    (("cut",), "an energy from 10 to 200 keV"),
)


def read_scene(path: str | Path) -> Problem:
    """The problem that a scene file states, checked whole.

    Raises: InputError with every problem: file, line, field, what was given, what would be accepted.
    """
    return _problem(read(path))


def parse_scene(text: str, *, file: str) -> Problem:
    """Like `read_scene` for a text in memory; `file` is only named in problems."""
    return _problem(parse(text, file=file))


def _problem(document: Document) -> Problem:
    report = Report(document)
    data = document.data
    report.wrong_fields(SceneFile, _errors(SceneFile, data))
    source = _source(report, data.get("source"))
    own = _materials(report, data.get("materials"))
    surround = _material(report, ("surround",), data.get("surround", "air"), own)
    solids = _solids(report, data.get("solids"), own)
    scores = _scores(report, data)
    if report.problems or source is None or surround is None:
        raise InputError(report.sorted())
    problem = Problem(Scene(tuple(s for _, s in solids), surround), (source,), tuple(s for _, s in scores))
    try:
        prepare(problem)
    except ProblemError as error:
        for fault in error.faults:
            _add_fault(report, fault, solids, scores)
        raise InputError(report.sorted()) from None
    return problem


def _errors(model: type[Model], data: Any) -> list[Any]:
    try:
        model.model_validate(data, by_alias=True, by_name=False)
    except ValidationError as error:
        return list(error.errors(include_url=False, include_input=False))
    return []


def _valid(model: type[Model], raw: Any) -> Any:
    """The model of a part that is right by itself, else None: its errors are in the report already."""
    try:
        return model.model_validate(raw, by_alias=True, by_name=False)
    except ValidationError:
        return None


def _look(report: Report, loc: Loc, model: type[Model], raw: Any) -> Any:
    """Validate one part that `SceneFile` leaves open; its errors go to the report under `loc`."""
    # The report finds what a field accepts by walking down from a model of the whole file: make one
    # in which this part is of this model.
    inner: Any = model
    for step in reversed([s for s in loc if isinstance(s, str)]):
        inner = create_model("Whole", __base__=Model, part=(inner, Field(alias=step)))
    errors = [e | {"loc": (*loc, *e["loc"])} for e in _errors(model, raw)]
    report.wrong_fields(inner, errors)
    return None if errors else _valid(model, raw)


# --- source and materials --------------------------------------------------------------------------------


def _source(report: Report, raw: Any) -> PointSource | None:
    if not isinstance(raw, dict):
        return None  # told by the models
    # looked at as written, so that another wrong field does not hide these
    name, lines = raw.get("nuclide"), raw.get("lines")
    if isinstance(name, str) and name not in NUCLIDES:
        report.unknown(("source", "nuclide"), "unknown nuclide", name, list(NUCLIDES))
    if (name is None) == (lines is None):
        text = "what it emits is stated either by its nuclide or by its lines, not both and not neither"
        report.add(("source",), text, accepted="nuclide: Se-75, or lines: [[400 keV, 1.0]]")
    if raw.get("half_angle") is not None and raw.get("aim") is None:
        report.add(("source", "aim"), "a cone needs a direction to aim in", accepted="aim: [0, 0, -1]")
    spec: SourceSpec | None = _valid(SourceSpec, raw)
    if spec is None or report.problems:
        return None
    if spec.lines is not None:
        energies, photons = zip(*spec.lines, strict=True)
    else:
        found = nuclide(str(spec.nuclide))
        energies, photons = tuple(found.energies_keV), tuple(found.photons_per_decay)
    return PointSource(
        at=spec.at,
        energies_keV=energies,
        photons_per_decay=photons,
        activity_Bq=spec.activity_Bq,
        aim=spec.aim if spec.half_angle_rad is not None else None,  # without a cone it emits all round
        half_angle_rad=spec.half_angle_rad,
        name="source",
    )


def _materials(report: Report, raw: Any) -> dict[str, Material | None]:
    """The file's own materials by name; None for one that is wrong, so that its uses are not told as well."""
    own: dict[str, Material | None] = {}
    for name, item in raw.items() if isinstance(raw, dict) else ():
        own[name] = None
        spec: MaterialSpec | None = _look(report, ("materials", name), MaterialSpec, item)
        if spec is None:
            continue
        try:
            own[name] = custom(
                name, spec.density_kg_m3, spec.mass_fractions, source="given in the scene file"
            )
        except ValueError as error:
            accepted = "element symbols with fractions of a sum between 0.99 and 1.01"
            report.add(("materials", name, "mass_fractions"), str(error), accepted=accepted)
    return own


def _material(report: Report, loc: Loc, name: Any, own: dict[str, Material | None]) -> Material | None:
    if not isinstance(name, str):
        return None  # told by the models
    if name in own:
        return own[name]
    try:
        return material(name)
    except OutOfRange:
        report.unknown(loc, "unknown material", name, [*own, *MATERIALS])
        return None


# --- solids ----------------------------------------------------------------------------------------------


def _solids(report: Report, raw: Any, own: dict[str, Material | None]) -> list[tuple[int, Solid]]:
    """The solids that are right, in the order in which they are painted, with their index in the file."""
    found: list[tuple[int, Solid]] = []
    first: dict[str, int] = {}
    for n, item in enumerate(raw if isinstance(raw, list) else ()):
        if not isinstance(item, dict):
            continue  # told by the models
        loc: Loc = ("solids", n)
        shape = item.get("shape")
        if not isinstance(shape, str) or shape not in SHAPES:
            text = "unknown shape" if "shape" in item else "the field is missing"
            report.add((*loc, "shape"), text, accepted=", ".join(SHAPES))
            continue
        spec = _look(report, loc, SHAPES[shape], item)
        if spec is None:
            continue
        _once(report, loc, spec.name, first)
        matter = _material(report, (*loc, "material"), spec.material, own)
        try:
            # The shape of a solid whose material is not known is looked at as well, so that all is told at once.
            solid = _solid(spec, matter or material("air"))
        except SolidError as error:
            text = str(error).split(": ", 2)[-1]
            report.add((*loc, yaml_name(error.field)), text, accepted=_accepted(error.field))
            continue
        if matter is not None:
            found.append((n, solid))
    return found


def _solid(spec: Any, matter: Material) -> Solid:
    match spec:
        case BoxSpec():
            return Box(spec.name, spec.centre, spec.size, matter, spec.axes or IDENTITY)
        case TubeSpec():
            return Tube(
                spec.name, spec.centre, spec.axis, spec.outer_radius_m, spec.wall_m, spec.length_m, matter
            )
        case SphereSpec():
            return Sphere(spec.name, spec.centre, spec.outer_radius_m, spec.wall_m, matter)
        case FrustumSpec():
            return Frustum(
                spec.name,
                spec.centre,
                spec.axis,
                spec.radius_start_m,
                spec.radius_end_m,
                spec.wall_m,
                spec.length_m,
                matter,
            )
        case HalfSpaceSpec():
            return HalfSpace(spec.name, spec.normal, spec.through, matter)
    raise AssertionError(f"a shape without a solid: {spec!r}")


# --- scores ----------------------------------------------------------------------------------------------


def _scores(report: Report, data: dict[str, Any]) -> list[tuple[Loc, Score]]:
    """All points, rings and areas that are right, with where they stand in the file."""
    found: list[tuple[Loc, Score]] = []
    first: dict[str, int] = {}
    asked = 0
    for key, model in SCORES:
        raw = data.get(key)
        for n, item in enumerate(raw if isinstance(raw, list) else ()):
            asked += 1
            spec = _valid(model, item)
            if spec is not None:
                _once(report, (key, n), spec.name, first)
                found.append(((key, n), _score(spec)))
    if not asked:
        report.add((), "no point, ring or area is asked for", accepted="points: [{name: ..., at: [...]}]")
    return found


def _score(spec: Any) -> Score:
    match spec:
        case PointSpec():
            return PointScore(spec.name, spec.at)
        case RingSpec():
            return RingScore(spec.name, spec.centre, spec.axis, spec.radius_m, spec.polar_rad)
        case AreaSpec():
            return AreaScore(spec.name, spec.centre, spec.normal, spec.size)
    raise AssertionError(f"a score that is not known: {spec!r}")


def _once(report: Report, loc: Loc, name: str, first: dict[str, int]) -> None:
    if name in first:
        text = f"the name stands twice, first in line {first[name]}"
        report.add((*loc, "name"), text, accepted="a name of its own for each")
    else:
        first[name] = report.document.where((*loc, "name"))


def _add_fault(
    report: Report, fault: Fault, solids: list[tuple[int, Solid]], scores: list[tuple[Loc, Score]]
) -> None:
    """A fault of the problem, put where the file says it."""
    loc: Loc = ()
    if fault.part == "source":
        loc = ("source",)
    elif fault.part == "solid":
        loc = next((("solids", n) for n, s in solids if s.name == fault.name), ())
    elif fault.part == "score":
        loc = next((place for place, s in scores if s.name == fault.name), ())
    field = yaml_name(fault.field)
    if field and report.raw((*loc, field)) is not ...:
        loc = (*loc, field)
    report.add(loc, fault.text, accepted=_accepted(fault.field))


def _accepted(field: str) -> str | None:
    """What would be accepted in the place of what a problem or a solid refuses."""
    return next((text for fields, text in ACCEPTED if field in fields), None)
