"""A weld, a way to shoot it and a fitting of shield, built into one scene in the weld's frame."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TypeVar

from halflayer.order.equipment import ON_A_STAND, STRAPPED, Blanket, Film, Shroud
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.scene.beam import Beam, beam, footprint_on_pipe, footprint_on_plane
from halflayer.scene.film_pack import (
    curved_surface,
    film_pack,
    flat_surface,
    inside_surface,
    pack_depth,
)
from halflayer.scene.film_surface import FilmSurface
from halflayer.scene.fitting import Fitting
from halflayer.scene.frame import SiteFrame, Vec3, about_x, add, scaled, site_frame
from halflayer.scene.guide import guide_solids
from halflayer.scene.matter import order_material
from halflayer.scene.pipework import outside_radius, pipework
from halflayer.scene.shroud import foot_of, outer_halves_m, shroud_solids
from halflayer.scene.solids import Box, Frustum, Scene, Solid, Sphere, Tube
from halflayer.scene.stand import box_corners, head_corners, head_solids, kept_off, stand_solids, stop_box
from halflayer.scene.stop import LAID_GAP_M, StopPiece, stop_piece
from halflayer.scene.surroundings import surroundings
from halflayer.scene.wrap import Wrap, sleeve_with_end_covers, sleeve_with_hood, tent
from halflayer.technique.result import Candidate, Shot

S = TypeVar("S", bound=Solid)
NO_STOP = "plane behind the film, no plates stand there"


@dataclass(frozen=True)
class Built:
    """A scene ready for transport and exposure, with source, beam, film and the way back to the site."""

    scene: Scene
    source_at: Vec3
    aim: Vec3
    half_angle_rad: float | None
    rect: tuple[float, float] | None
    axis_along: Vec3
    film: FilmSurface
    beam: Beam  # at clock 0
    clock_rad: float
    frame: SiteFrame
    wrap: Wrap
    footprint_m: tuple[float, float]
    footprint_on: str
    head_centre: Vec3  # middle of the head's body; for leakage
    head_axes: tuple[Vec3, Vec3, Vec3]

    def to_local(self, site: Vec3) -> Vec3:
        """A site point in the weld frame [m]."""
        return self.frame.to_local(site)

    def to_site(self, local: Vec3) -> Vec3:
        """A point of the weld frame in site coordinates [m]."""
        return self.frame.to_site(local)


def turned(solid: S, clock_rad: float) -> S:
    """The solid turned about the pipe axis by a clock angle."""
    if clock_rad == 0.0:
        return solid
    if isinstance(solid, Box):
        ax, ay, az = (about_x(a, clock_rad) for a in solid.axes)
        return replace(solid, centre=about_x(solid.centre, clock_rad), axes=(ax, ay, az))
    if isinstance(solid, Tube | Frustum):
        return replace(solid, centre=about_x(solid.centre, clock_rad), axis=about_x(solid.axis, clock_rad))
    assert isinstance(solid, Sphere)
    return replace(solid, centre=about_x(solid.centre, clock_rad))


def build_scene(order: Order, weld: Weld, candidate: Candidate, shot: Shot, fitting: Fitting) -> Built:
    """Everything that stands around one exposure, painted in order: surroundings, wrap, head, pipe, film, stop.

    Built with the source at clock 0 and turned about the pipe axis to the shot's source clock; floor,
    walls and the pipe's run do not turn. Raises: KeyError for ids that are not in the order.
    """
    film = _by_id(order.all_detectors, candidate.detector)
    head = _by_id(order.heads, candidate.head)
    aperture = _by_id(head.apertures, candidate.aperture) if candidate.aperture else None
    frame = site_frame(weld)
    rays = beam(weld, candidate, head, aperture)
    plate = stop_piece(order, fitting.plate) if fitting.plate else None
    blanket = _by_id(order.kit.blankets, fitting.blanket) if fitting.blanket else None
    if candidate.arrangement in ON_A_STAND:
        moving, wrap, surface, footprint, on = _stand(
            order, weld, candidate, film, rays, plate, blanket, fitting
        )
    elif candidate.arrangement in STRAPPED:
        moving, wrap, surface, footprint, on = _strap(order, weld, candidate, film, rays, blanket, fitting)
    else:
        moving, wrap, surface, footprint, on = _bore(order, weld, candidate, film, blanket, fitting)
    clock = shot.source_clock_rad if candidate.arrangement != "bore" else 0.0
    wraps = [turned(s, clock) for s in wrap.solids]
    # The wrap is painted first and the pipe over it, so that the pipe goes through the wrap; head, film and
    # stop come last because they stand where nothing else is.
    solids = [*surroundings(order, weld, frame), *wraps]
    if candidate.shroud:  # cut level by air, which must not cut the floor
        solids = [*wraps, *surroundings(order, weld, frame)]
    solids += [turned(s, clock) for s in moving["head"]]
    solids += pipework(order, weld)
    solids += [turned(s, clock) for s in moving["rest"]]
    centre = add(rays.at, scaled(rays.aim, head.source_to_face_m - head.body[2] / 2))
    axes = (rays.along, (0.0, 1.0, 0.0), scaled(rays.aim, -1.0))
    return Built(
        scene=Scene(tuple(solids), order_material(order, "air")),
        source_at=about_x(rays.at, clock),
        aim=about_x(rays.aim, clock),
        half_angle_rad=rays.half_angle_rad,
        rect=rays.rect,
        axis_along=about_x(rays.along, clock),
        film=replace(
            surface,
            centre=about_x(surface.centre, clock),
            normal=about_x(surface.normal, clock),
            across=about_x(surface.across, clock),
        ),
        beam=rays,
        clock_rad=clock,
        frame=frame,
        wrap=wrap,
        footprint_m=footprint,
        footprint_on=on,
        head_centre=about_x(centre, clock),
        head_axes=tuple(about_x(a, clock) for a in axes),  # type: ignore[arg-type]
    )


Parts = tuple[dict[str, list[Solid]], Wrap, FilmSurface, tuple[float, float], str]
NO_WRAP = Wrap((), 0.0, "no wrap")


def _stand(
    order: Order,
    weld: Weld,
    candidate: Candidate,
    film: Film,
    rays: Beam,
    plate: StopPiece | None,
    blanket: Blanket | None,
    fitting: Fitting,
) -> Parts:
    head = _by_id(order.heads, candidate.head)
    within = candidate.arrangement == "outside"  # the film lies in the pipe, the stop right under it
    surface = (inside_surface if within else flat_surface)(weld, film, candidate)
    under = -outside_radius(weld) if within else surface.centre[2] - pack_depth(film)
    face = add(rays.at, scaled(rays.aim, head.source_to_face_m))
    shroud: Shroud | None = _by_id(order.kit.shrouds, candidate.shroud) if candidate.shroud else None
    gap = LAID_GAP_M if plate is not None and plate.folded else order.kit.stop_gap_m
    top = under - gap
    if shroud is not None:
        top = foot_of(shroud, face=face, aim=rays.aim)[2]
    rest: list[Solid] = []
    if candidate.clamp and candidate.clamp_x_m is not None:
        rest += stand_solids(
            order,
            weld,
            _by_id(order.kit.clamps, candidate.clamp),
            candidate.clamp_x_m,
            head,
            rays.at,
            clear_y_m=legs_clear_m(rays, shroud),
        )
    pack = film_pack(order, film, surface)
    rest += pack
    inside = [c for s in pack if isinstance(s, Box) for c in box_corners(s)]
    if within:
        half, r = surface.width_m / 2, outside_radius(weld)
        inside += [(x, y, z) for x in (-half, half) for y in (-r, r) for z in (-r, r)]
    if plate is not None:
        # The tent is laid out for the stop that stands, at least one plate deep, so that it closes below it.
        deep = stop_box(plate, max(fitting.plates, 1), top_z=top, axis_x=_axis_x(rays, top))
        deep = kept_off(deep, [*rest, *pipework(order, weld)])
        inside += box_corners(deep)
        if fitting.plates:
            rest.append(deep)
    wrap = NO_WRAP
    if shroud is not None:
        wrap = _shroud_as_wrap(order, weld, shroud, rays, face)
    elif blanket is not None:
        wrap = tent(
            order,
            blanket,
            fitting.layers,
            face=face,
            aim=rays.aim,
            head=head,
            head_corners=head_corners(head, rays.at, rays.lean_rad),
            corners=tuple(inside),
            pipe_radius_m=outside_radius(weld),
        )
    parts = {"head": head_solids(order, head, rays.at, rays.lean_rad, rays.opening()), "rest": rest}
    if plate is None and shroud is None:
        return parts, wrap, surface, footprint_on_plane(rays, under), "blanket"
    # Without plates the same plane, where nothing stands.
    return parts, wrap, surface, footprint_on_plane(rays, top), "stop" if fitting.plates else NO_STOP


def legs_clear_m(rays: Beam, shroud: Shroud | None) -> float:
    """What the legs stand clear of, from the middle plane [m]: the shroud, and the beam at the pipe's axis."""
    half = rays.rect[1] if rays.rect else rays.half_angle_rad or 0.0
    lit = math.hypot(rays.at[0], rays.at[2]) * math.tan(half)
    return max(lit, outer_halves_m(shroud)[1] if shroud else 0.0)


def _shroud_as_wrap(order: Order, weld: Weld, shroud: Shroud, rays: Beam, face: Vec3) -> Wrap:
    """The shroud in the place of a wrap: no blankets, however many layers are asked for."""
    along, across = (1000 * s for s in shroud.inner)
    return Wrap(
        solids=shroud_solids(
            order,
            shroud,
            face=face,
            aim=rays.aim,
            lean_rad=rays.lean_rad,
            pipe_radius_m=outside_radius(weld),
            port_halves_m=rays.opening(beyond_m=shroud.wall_m),
        ),
        layer_area_m2=0.0,
        outline=(
            f"{shroud.form} shroud {shroud.id} from the head's face to the stop, {along:.0f} x {across:.0f} mm "
            f"inside, {shroud.wall_m * 1000:g} mm {shroud.material}; no blankets"
        ),
        shroud=shroud.id,
    )


def _strap(
    order: Order,
    weld: Weld,
    candidate: Candidate,
    film: Film,
    rays: Beam,
    blanket: Blanket | None,
    fitting: Fitting,
) -> Parts:
    head = _by_id(order.heads, candidate.head)
    surface = curved_surface(weld, film, candidate, all_round=False)
    assert surface.radius_m is not None
    pack_m = surface.radius_m - outside_radius(weld) + pack_depth(film)
    footprint = footprint_on_pipe(rays, surface.radius_m + pack_depth(film))
    wrap = NO_WRAP
    if blanket is not None:
        wrap = sleeve_with_hood(
            order,
            weld,
            blanket,
            fitting.layers,
            head=head,
            source_z=rays.at[2],
            footprint_m=footprint,
            pack_m=pack_m,
        )
    parts = {
        "head": head_solids(order, head, rays.at, 0.0, rays.opening()),
        "rest": film_pack(order, film, surface),
    }
    if candidate.guide:
        guide = _by_id(order.kit.guides, candidate.guide)
        back = rays.at[2] - head.source_to_face_m + head.body[2]
        parts["rest"] += guide_solids(order, guide, back_z=back)
    return parts, wrap, surface, footprint, "blanket"


def _bore(
    order: Order, weld: Weld, candidate: Candidate, film: Film, blanket: Blanket | None, fitting: Fitting
) -> Parts:
    surface = curved_surface(weld, film, candidate, all_round=True)
    assert surface.radius_m is not None
    wrap = NO_WRAP
    if blanket is not None:
        wrap = sleeve_with_end_covers(
            order, weld, blanket, fitting.layers, film_radius_m=surface.radius_m, pack_m=pack_depth(film)
        )
    parts: dict[str, list[Solid]] = {"head": [], "rest": film_pack(order, film, surface)}
    # Open all round: the source lights the whole turn, and the pipe's length as far as its ends.
    return parts, wrap, surface, (surface.width_m, 2 * math.pi * surface.radius_m), "blanket"


def _axis_x(rays: Beam, z_m: float) -> float:
    """x where the beam axis meets the plane z."""
    return rays.at[0] + (z_m - rays.at[2]) / rays.aim[2] * rays.aim[0]


def _by_id(items: tuple, wanted: str | None):  # type: ignore[no-untyped-def]
    for item in items:
        if item.id == wanted:
            return item
    raise KeyError(wanted)
