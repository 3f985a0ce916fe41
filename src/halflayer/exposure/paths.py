"""Where the evaluated weld falls on the film, and the primary air kerma rate there, line by line."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from halflayer.order.equipment import Source
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.physics import dosimetry, nuclides
from halflayer.scene.film_surface import FilmSurface
from halflayer.scene.frame import Vec3, about_x
from halflayer.scene.matter import order_material
from halflayer.scene.solids import Scene
from halflayer.scene.trace import materials_along, optical_depths
from halflayer.technique.result import Candidate, Shot

Array = NDArray[np.float64]

# The solids of the film pack. A film's dose figure is stated as the kerma free in air where the film lies and
# holds its screens already, so the pack is taken out before anything is computed.
PACK = frozenset({"front screen", "film", "back screen", "backing lead"})
BESIDE_M = 0.005  # our choice: the wall beside the cap is looked at 5 mm from the cap's foot
ARC_STATIONS = 13  # our choice: points along each evaluated arc, its ends and middle among them


class ShotScene(Protocol):
    """What the exposure needs of a built shot (`scene.build.Built` has it)."""

    @property
    def scene(self) -> Scene: ...  # noqa: D102
    @property
    def source_at(self) -> Vec3: ...  # noqa: D102
    @property
    def aim(self) -> Vec3: ...  # noqa: D102
    @property
    def half_angle_rad(self) -> float | None: ...  # noqa: D102
    @property
    def rect(self) -> tuple[float, float] | None: ...  # noqa: D102
    @property
    def axis_along(self) -> Vec3: ...  # noqa: D102
    @property
    def film(self) -> FilmSurface: ...  # noqa: D102


@dataclass(frozen=True)
class FilmPoint:
    """A point of the evaluated weld and its image on the film."""

    where: str
    crown: bool  # on the weld's crown, else on the wall beside the cap
    from_middle_rad: float  # clock from the middle of its evaluated arc
    u_m: float  # on the film, along the pipe
    v_m: float  # on the film, across the pipe or round the arc
    at: Vec3
    on_sheet: bool
    in_beam: bool
    x_m: float = 0.0  # of the weld's place along the pipe: 0 on the crown, else to its side


def is_double_image(candidate: Candidate) -> bool:
    """True when both walls are judged on one film (ellipse and in plane)."""
    return candidate.technique.startswith("DWDI")


def without_pack(scene: Scene) -> Scene:
    """The scene without the film pack."""
    return replace(scene, solids=tuple(s for s in scene.solids if s.name not in PACK))


def film_hit(film: FilmSurface, start: Vec3, through: Vec3) -> tuple[float, float] | None:
    """(u, v) [m] where the ray from `start` through a point meets the film's surface; None where it does not.

    The surface is followed beyond the sheet's edges. A curved film is met on its far side, one that bulges
    towards the source (inside the pipe) on its near side.
    """
    u, v = film_hits(film, np.array([start]), np.array([through]))[0, 0]
    return None if math.isnan(u) else (float(u), float(v))


def film_hits(film: FilmSurface, starts: Array, through: Array) -> Array:
    """`film_hit` from each of some starts (n, 3) through each of some points (m, 3): (n, m, 2), NaN where not met."""
    along, across, normal = (np.asarray(a) for a in (film.along, film.across, film.normal))
    o = (starts - np.asarray(film.centre))[:, None, :]
    d = through[None, :, :] - starts[:, None, :]
    with np.errstate(divide="ignore", invalid="ignore"):
        if film.kind == "flat":
            t = -(o @ normal) / (d @ normal)
            p = o + t[..., None] * d
            v = p @ across
        else:
            assert film.radius_m is not None
            r = film.radius_m
            # In the plane across the pipe, with the pipe axis as origin: x across, y away from the film's middle.
            ox, oy = o @ across, (o @ normal) - (r if film.hollow else -r)
            dx, dy = d @ across, d @ normal
            a, b, c = dx * dx + dy * dy, ox * dx + oy * dy, ox * ox + oy * oy - r * r
            root = np.sqrt(b * b - a * c)  # NaN where the ray passes beside
            t = (-b + (root if film.hollow else -root)) / a
            p = o + t[..., None] * d
            from_middle = -(oy + t * dy) if film.hollow else oy + t * dy
            v = r * np.arctan2(ox + t * dx, from_middle)
        out = np.stack([p @ along, v], axis=-1)
        out[~((t > 0.0) & np.isfinite(t))] = np.nan
    return out


def in_beam(built: ShotScene, point: Vec3) -> bool:
    """True when the straight way from the source to a point lies inside the aperture's cone or rectangle."""
    d = np.asarray(point) - np.asarray(built.source_at)
    aim = np.asarray(built.aim)
    ahead = float(d @ aim)
    slack = 1e-9
    if built.half_angle_rad is not None:
        sideways = float(np.linalg.norm(d - ahead * aim))
        return math.atan2(sideways, ahead) <= built.half_angle_rad + slack
    if built.rect is not None:
        axis = np.asarray(built.axis_along)
        across = np.cross(aim, axis)
        return (
            abs(math.atan2(float(d @ axis), ahead)) <= built.rect[0] + slack
            and abs(math.atan2(float(d @ across), ahead)) <= built.rect[1] + slack
        )
    return True


def evaluated_arcs(candidate: Candidate, shot: Shot) -> tuple[tuple[str, float, float], ...]:
    """Arcs of the weld that one shot judges: (wall, clock of the middle, half of the arc), angles in rad.

    Double image: each of N shots judges 90/N degrees and half a lap to either side of the beam on both walls, so that
    the shots together cover the weld. Otherwise the stated arc on the detector's side.
    """
    if is_double_image(candidate):
        half = (math.pi / len(candidate.shots) + candidate.lap_rad) / 2
        source = shot.source_clock_rad
        return (("source-side wall", source, half), ("film-side wall", source + math.pi, half))
    return (("wall", shot.detector_clock_rad, shot.evaluated_rad / 2),)


def film_points(weld: Weld, candidate: Candidate, shot: Shot, built: ShotScene) -> tuple[FilmPoint, ...]:
    """Images on the film of the weld's crown and of the wall beside the cap, over the evaluated arcs.

    Points whose ray misses the film's surface altogether are left out (`time` says so).
    """
    points: list[FilmPoint] = []
    for wall, middle, half in evaluated_arcs(candidate, shot):
        closed = half >= math.pi * 0.999
        for offset in np.linspace(-half, half, ARC_STATIONS)[: -1 if closed else None]:
            points += points_at(weld, built, wall, middle, float(offset))
    return tuple(points)


def in_degrees(offset_rad: float) -> str:
    """How far a place is from the middle, to the tenth to which sectors and markers are printed.

    >>> in_degrees(-0.5), in_degrees(math.radians(35))
    ('28.6', '35')
    """
    return f"{abs(math.degrees(offset_rad)):.1f}".removesuffix(".0")


def points_at(weld: Weld, built: ShotScene, wall: str, middle: float, offset: float) -> list[FilmPoint]:
    """Images of one place of the weld, `offset` from the middle of its arc [rad]: crown and both sides of the cap."""
    points = []
    beside = weld.cap.width_m / 2 + BESIDE_M
    for x, radius, crown in (
        (0.0, weld.pipe.od / 2 + weld.cap.height_m, True),
        (-beside, weld.pipe.od / 2, False),
        (beside, weld.pipe.od / 2, False),
    ):
        spot = about_x((x, 0.0, radius), middle + offset)
        hit = film_hit(built.film, built.source_at, spot)
        if hit is None:
            continue
        u, v = hit
        at = built.film.at(u, v)
        inside = abs(u) <= built.film.width_m / 2 + 1e-9 and abs(v) <= built.film.length_m / 2 + 1e-9
        what = "weld crown" if crown else "beside the cap"
        points.append(
            FilmPoint(
                where=f"{what}, {wall}, {in_degrees(offset)} degrees from the middle",
                crown=crown,
                from_middle_rad=offset,
                u_m=u,
                v_m=v,
                at=at,
                on_sheet=inside,
                in_beam=in_beam(built, at),
                x_m=x,
            )
        )
    return points


def source_lines(order: Order, source: Source) -> tuple[Array, Array]:
    """Photon lines behind the capsule: energies [keV] and photons per decay, both (n,)."""
    capsule = order_material(order, source.capsule_material)
    return nuclides.filtered(nuclides.nuclide(source.nuclide), capsule, source.capsule_wall_m)


def primary_kerma(
    scene: Scene, source_at: Vec3, points: Array, energies_keV: Array, photons_per_decay: Array
) -> Array:
    """Uncollided air kerma rate per activity at each point, Gy/(Bq s): (n,).

    Sum over the lines of yield x air kerma per fluence x exp(-depth) / (4 pi R^2). Kerma follows fluence, so
    an oblique film needs no cosine: a thin emulsion's path grows as its cross-section shrinks.
    points : (n, 3) [m].
    """
    depth = optical_depths(scene, source_at, points, energies_keV)
    r2 = np.sum((points - np.asarray(source_at)) ** 2, axis=1)
    lines = photons_per_decay * dosimetry.air_kerma_per_fluence(energies_keV)
    return np.exp(-depth) @ lines / (4.0 * math.pi * r2)


def crossed(scene: Scene, source_at: Vec3, point: Vec3) -> dict[str, float]:
    """Metres of each material on the straight way from the source to a point, in the order met."""
    way = np.asarray(point) - np.asarray(source_at)
    found: dict[str, float] = {}
    for material, _, metres in materials_along(scene, source_at, tuple(way), float(np.linalg.norm(way))):
        found[material] = found.get(material, 0.0) + metres
    return found
