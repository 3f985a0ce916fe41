"""Film pack with screens and backing lead, flat under the pipe or bent round it, as solids at clock 0."""

from __future__ import annotations

import math

from halflayer.order.equipment import Film
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.scene.film_surface import FilmSurface
from halflayer.scene.matter import order_material
from halflayer.scene.pipework import X, outside_radius
from halflayer.scene.solids import Box, Solid, Tube
from halflayer.technique.result import Candidate

BASE_M = 0.0002  # polyester base with its emulsions, our choice of a usual thickness
Y = (0.0, 1.0, 0.0)


def _gap(weld: Weld, film: Film, candidate: Candidate) -> float:
    """Distance from the pipe's outside surface to the emulsion, at least the cassette behind cap or insulation."""
    b = candidate.geometry.object_to_detector_m
    if candidate.technique.startswith("DWDI"):
        b -= weld.pipe.od
    else:
        b -= weld.pipe.wall
    least = film.screens.front_m + 1e-4
    return max(b, least, outside_radius(weld) - weld.pipe.od / 2 + least)


def flat_surface(weld: Weld, film: Film, candidate: Candidate) -> FilmSurface:
    """The sheet flat under the pipe, its middle where the beam axis meets it, its short side along the pipe.

    The short side holds both images of an ellipse, and the clamp needs the room beside it.
    """
    g = candidate.geometry
    gap = _gap(weld, film, candidate)
    to_axis = g.standoff_m + weld.pipe.od / 2
    x = -g.axial_offset_m * (weld.pipe.od / 2 + gap) / to_axis
    width, length = sorted(film.sheet)
    return FilmSurface(
        "flat", (x, 0.0, -(weld.pipe.od / 2 + gap)), (0.0, 0.0, 1.0), X, Y, width_m=width, length_m=length
    )


def curved_surface(weld: Weld, film: Film, candidate: Candidate, *, all_round: bool) -> FilmSurface:
    """The sheet bent round the far side of the pipe, or all round it for a panoramic exposure."""
    radius = weld.pipe.od / 2 + _gap(weld, film, candidate)
    turn = 2 * math.pi * radius
    length = turn if all_round else min(max(film.sheet), turn)
    return FilmSurface(
        "curved",
        (0.0, 0.0, -radius),
        (0.0, 0.0, 1.0),
        X,
        Y,
        width_m=min(film.sheet),
        length_m=length,
        radius_m=radius,
    )


def inside_surface(weld: Weld, film: Film, candidate: Candidate) -> FilmSurface:
    """The sheet bent inside the pipe behind the wall that faces the source."""
    least = weld.pipe.wall + weld.cap.root_m + film.screens.front_m + 1e-4
    radius = weld.pipe.od / 2 - max(candidate.geometry.object_to_detector_m, least)
    return FilmSurface(
        "curved",
        (0.0, 0.0, radius),
        (0.0, 0.0, 1.0),
        X,
        Y,
        width_m=min(film.sheet),
        length_m=min(max(film.sheet), 2 * math.pi * radius),
        radius_m=radius,
        hollow=False,
    )


def _layers(film: Film) -> list[tuple[str, str, float]]:
    """The pack from the source side: name, material, thickness [m]."""
    s = film.screens
    stack = [
        ("front screen", s.material, s.front_m),
        ("film", "polyester", BASE_M),
        ("back screen", s.material, s.back_m),
        ("backing lead", "lead", s.backing_lead_m),
    ]
    return [layer for layer in stack if layer[2] > 0]


def pack_depth(film: Film) -> float:
    """Thickness of the pack behind the emulsion plane [m]."""
    return BASE_M + film.screens.back_m + film.screens.backing_lead_m


def film_pack(order: Order, film: Film, surface: FilmSurface) -> list[Solid]:
    """The pack's layers; the emulsion plane is the front of the film base. A curved pack closes all round.

    A bent sheet that goes round part of the pipe is modelled as a ring: what lies beyond its ends is as thin
    as a screen and hardly scatters; the backing lead of a ring would shield, so a partial pack leaves it out
    of the ring and the dose beside it errs on the high side.
    """
    solids: list[Solid] = []
    if surface.kind == "flat":
        z = surface.centre[2] + film.screens.front_m
        for name, material, t in _layers(film):
            centre = (surface.centre[0], surface.centre[1], z - t / 2)
            size = (surface.width_m, surface.length_m, t)
            solids.append(Box(name, centre, size, order_material(order, material)))
            z -= t
        return solids
    assert surface.radius_m is not None
    whole = surface.length_m >= 2 * math.pi * surface.radius_m * 0.999
    if not surface.hollow:  # from the front screen inwards; a partial pack as above
        r = surface.radius_m + film.screens.front_m
        for name, material, t in _layers(film):
            if whole or name == "film":
                matter = order_material(order, material)
                solids.append(Tube(name, (0, 0, 0), X, r, t, surface.width_m, matter))
            r -= t
        return solids
    r = surface.radius_m - film.screens.front_m
    for name, material, t in _layers(film):
        if whole or name == "film":
            solids.append(
                Tube(name, (0, 0, 0), X, r + t, t, surface.width_m, order_material(order, material))
            )
        r += t
    return solids
