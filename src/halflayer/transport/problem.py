"""A transport problem as its user states it: scene, sources, scores; and its check before anything runs."""

from __future__ import annotations

import hashlib
import json
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any, NamedTuple

from halflayer.scene.solids import IDENTITY, Axes, Scene, Vec3

if TYPE_CHECKING:
    from halflayer.transport.packing import Prepared
    from halflayer.transport.tables import Override


class Fault(NamedTuple):
    """One thing wrong: `part` is "source", "solid", "score" or "problem"; `name` and `field` say which."""

    part: str
    name: str
    field: str
    text: str

    def __str__(self) -> str:
        name = f" {self.name!r}" if self.name else ""
        return (
            f"{self.part}{name}: {self.field}: {self.text}"
            if self.field
            else f"{self.part}{name}: {self.text}"
        )


class ProblemError(ValueError):
    """A problem that cannot be computed; `faults` lists everything found."""

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__("\n".join(str(f) for f in self.faults))


@dataclass(frozen=True)
class Rect:
    """A rectangular aperture: half angles of a pyramid along `axis_u` and across it, both under 85 degrees."""

    half_u_rad: float
    half_v_rad: float
    axis_u: Vec3


def _floats(values: Any) -> tuple[float, ...]:
    return tuple(float(v) for v in values)


@dataclass(frozen=True)
class PointSource:
    """A point source that emits isotropically; an aperture only cuts.

    Photons in the beam per second = activity x sum of photons per decay x solid angle / (4 pi). A capsule or a
    filter is in the lines already. With `half_angle_rad` a cone about `aim`, with `aperture` a pyramid, with
    neither all directions. Lines under the cut are left out.
    """

    at: Vec3
    energies_keV: tuple[float, ...]
    photons_per_decay: tuple[float, ...]
    activity_Bq: float
    aim: Vec3 | None = None
    half_angle_rad: float | None = None
    aperture: Rect | None = None
    name: str = "beam"

    def __post_init__(self) -> None:
        object.__setattr__(self, "at", _floats(self.at))
        object.__setattr__(self, "energies_keV", _floats(self.energies_keV))
        object.__setattr__(self, "photons_per_decay", _floats(self.photons_per_decay))
        if self.aim is not None:
            object.__setattr__(self, "aim", _floats(self.aim))

    @property
    def solid_angle_sr(self) -> float:
        """Solid angle of the aperture."""
        if self.aperture is not None:
            # Solid angle of a right rectangular pyramid with half sides a, b at unit distance:
            # 4 atan(a b / sqrt(1 + a2 + b2)) (elementary; the integral over the rectangle).
            a, b = math.tan(self.aperture.half_u_rad), math.tan(self.aperture.half_v_rad)
            return 4.0 * math.atan(a * b / math.sqrt(1.0 + a * a + b * b))
        if self.half_angle_rad is not None:
            # 2 pi (1 - cos) without cancellation.
            return 4.0 * math.pi * math.sin(0.5 * self.half_angle_rad) ** 2
        return 4.0 * math.pi


@dataclass(frozen=True)
class LeakageSource:
    """Leakage of a head known by measurement: its surface, a sphere or a box, shines outward.

    Every place of the surface has the same radiance in all outward directions (emission by the cosine law).
    We take that law, and not one even in solid angle, because the dose rate then stays finite at the surface
    and is radiance x solid angle of the head as seen from a place, at any distance: one figure describes
    both readings. The radiance is the larger of what the two readings need: that of the dose rate at the
    surface, and that at 1 m from the surface (for a box: in front of the middle of its largest face).
    `photons` are relative numbers of photons of each energy.
    """

    centre: Vec3
    energies_keV: tuple[float, ...]
    photons: tuple[float, ...]
    radius_m: float | None = None
    size_m: Vec3 | None = None
    axes: Axes = IDENTITY
    h10_surface_Sv_s: float | None = None
    h10_1m_Sv_s: float | None = None
    name: str = "leakage"

    def __post_init__(self) -> None:
        object.__setattr__(self, "centre", _floats(self.centre))
        object.__setattr__(self, "energies_keV", _floats(self.energies_keV))
        object.__setattr__(self, "photons", _floats(self.photons))
        object.__setattr__(self, "axes", tuple(_floats(a) for a in self.axes))
        if self.size_m is not None:
            object.__setattr__(self, "size_m", _floats(self.size_m))


Source = PointSource | LeakageSource


@dataclass(frozen=True)
class PointScore:
    """Dose rate at a point in air or void."""

    name: str
    at: Vec3

    def __post_init__(self) -> None:
        object.__setattr__(self, "at", _floats(self.at))


@dataclass(frozen=True)
class RingScore:
    """Mean dose rate over a ring: all points at `radius_m` from `centre` and the angle `polar_rad` from `axis`."""

    name: str
    centre: Vec3
    axis: Vec3
    radius_m: float
    polar_rad: float

    def __post_init__(self) -> None:
        object.__setattr__(self, "centre", _floats(self.centre))
        object.__setattr__(self, "axis", _floats(self.axis))


@dataclass(frozen=True)
class AreaScore:
    """Mean dose rate over a flat patch with edge lengths `size_m` [m] along `axis_u` and across it.

    It may lie on or in matter (a film plane): air kerma there is that of a thin layer of air. `axis_u` is made
    perpendicular to the normal; without one a horizontal direction is taken. `spectrum_edges_keV` asks for
    the air kerma in bins of photon energy as well.
    """

    name: str
    centre: Vec3
    normal: Vec3
    size_m: tuple[float, float]
    axis_u: Vec3 | None = None
    spectrum_edges_keV: tuple[float, ...] = ()

    def __post_init__(self) -> None:
        object.__setattr__(self, "centre", _floats(self.centre))
        object.__setattr__(self, "normal", _floats(self.normal))
        object.__setattr__(self, "size_m", _floats(self.size_m))
        object.__setattr__(self, "spectrum_edges_keV", _floats(self.spectrum_edges_keV))
        if self.axis_u is not None:
            object.__setattr__(self, "axis_u", _floats(self.axis_u))


Score = PointScore | RingScore | AreaScore


@dataclass(frozen=True)
class Problem:
    """What is to be computed. `attenuation_override`: total mu/rho by material name (comparisons, filters)."""

    scene: Scene
    sources: tuple[Source, ...]
    scores: tuple[Score, ...]
    cut_keV: float = 20.0
    attenuation_override: Override | None = field(default=None, compare=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "sources", tuple(self.sources))
        object.__setattr__(self, "scores", tuple(self.scores))
        object.__setattr__(self, "cut_keV", float(self.cut_keV))

    def digest(self) -> str:
        """A hash of everything that decides the answer: partial results of other problems do not merge."""
        text = json.dumps(
            [
                self.scene.to_json(),
                [[type(s).__name__, repr(s)] for s in (*self.sources, *self.scores)],
                self.cut_keV,
                {
                    k: [list(map(float, v[0])), list(map(float, v[1]))]
                    for k, v in (self.attenuation_override or {}).items()
                },
            ],
            sort_keys=True,
        )
        return hashlib.sha256(text.encode()).hexdigest()[:16]


def kept_lines(
    energies_keV: Sequence[float], photons_: Sequence[float], cut_keV: float
) -> list[tuple[float, float]]:
    """The lines at or above the cut that carry photons."""
    return [(e, y) for e, y in zip(energies_keV, photons_, strict=True) if e >= cut_keV and y > 0.0]


def without_solids(problem: Problem) -> Problem:
    """The same sources and scores with nothing in the way: the unshielded case."""
    return replace(problem, scene=Scene((), problem.scene.surround))


def prepare(problem: Problem) -> Prepared:
    """Check the problem and pack it for the kernels.

    Raises: ProblemError naming the source, solid or score at fault, all faults at once.
    """
    from halflayer.transport import packing, validate

    faults = validate.faults(problem)
    if faults:
        raise ProblemError(faults)
    return packing.pack(problem)
