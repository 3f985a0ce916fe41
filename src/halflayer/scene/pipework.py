"""Pipe, weld, contents, insulation and what stands next to the weld, as solids in the weld frame."""

from __future__ import annotations

import math

from halflayer.order.models import Order
from halflayer.order.weld import Neighbour, Weld
from halflayer.scene.matter import order_material
from halflayer.scene.solids import Frustum, Solid, Sphere, Tube

X = (1.0, 0.0, 0.0)
CAP_FOOT_M = 1e-5  # the cap reaches this far into the wall so that no film of air is left between them
# Sizes of neighbours as multiples of the outside diameter: our choice of round shapes of about the right
# mass (flange class not stated in an order); they scatter, they do not shield.
FLANGE_RADIUS, FLANGE_LENGTH = 0.85, 0.25
VALVE_RADIUS, VALVE_LENGTH = 0.75, 1.2
WIDER = ("flange", "valve")  # than the pipe: nothing is wound on over them, and a stop may not run into them
# Plain pipe goes on so far past its stated straight run and is closed there: what runs down its bore must not
# come out of an end that is not there. Our choice; a run of 1 m with an open end gave 2 to 4 times the dose rate
# 6 m along the pipe of a contact shot (measured).
RUN_BEYOND_M = 10.0
PLUG_M = 0.1


def pipe_span(weld: Weld) -> tuple[float, float]:
    """x of the pipe's two ends as modelled [m]: to the neighbour, or on past a plain run."""

    def reach(n: Neighbour) -> float:
        return n.distance_m + (RUN_BEYOND_M if n.kind == "pipe" else 0.0)

    return -max(reach(weld.left), weld.cap.width_m), max(reach(weld.right), weld.cap.width_m)


def _neighbour(weld: Weld, side: float, n: Neighbour, order: Order) -> list[Solid]:
    od, wall = weld.pipe.od, weld.pipe.wall
    steel = order_material(order, weld.pipe.material)
    x = side * max(n.distance_m, weld.cap.width_m)
    name = f"{n.kind} {'right' if side > 0 else 'left'}"
    if n.kind == "flange":
        length = FLANGE_LENGTH * od
        return [
            Tube(
                name,
                (x + side * length / 2, 0, 0),
                X,
                FLANGE_RADIUS * od,
                FLANGE_RADIUS * od - od / 2 + wall,
                length,
                steel,
            )
        ]
    if n.kind == "valve":
        length = VALVE_LENGTH * od
        return [
            Tube(
                name,
                (x + side * length / 2, 0, 0),
                X,
                VALVE_RADIUS * od,
                min(2.5 * wall, 0.7 * VALVE_RADIUS * od),
                length,
                steel,
            )
        ]
    if n.kind in ("elbow", "tee"):
        # The bend starts here; a closed shell of the same wall stands for it, whichever way it turns.
        return [Sphere(name, (x, 0, 0), od / 2 * 1.02, min(wall, 0.45 * od), steel)]
    if n.kind == "reducer":
        length, small = 0.8 * od, 0.38 * od
        a, b = (small, od / 2) if side < 0 else (od / 2, small)
        return [Frustum(name, (x + side * length / 2, 0, 0), X, a, b, min(wall, 0.9 * small), length, steel)]
    if n.kind == "cap":
        return [Tube(name, (x + side * wall / 2, 0, 0), X, od / 2, None, wall, steel)]
    return []


def pipework(order: Order, weld: Weld) -> list[Solid]:
    """Solids of the pipe with its weld, painted from the inside out.

    The rod of contents comes first so that whatever was painted before (a wrap that the pipe goes through)
    does not fill the bore.
    """
    od, wall = weld.pipe.od, weld.pipe.wall
    left, right = pipe_span(weld)
    length, middle = right - left, (left + right) / 2
    steel = order_material(order, weld.pipe.material)
    contents = order_material(order, weld.contents.material, density_kg_m3=weld.contents.density_kg_m3)
    solids: list[Solid] = []
    if weld.insulation:
        t = weld.insulation.thickness_m
        wool = order_material(order, weld.insulation.material, density_kg_m3=weld.insulation.density_kg_m3)
        half = (weld.insulation.removed_m or 0.0) / 2
        runs = [(left, right)] if half == 0.0 else [(left, -half), (half, right)]
        solids += [
            Tube("insulation", ((a + b) / 2, 0, 0), X, od / 2 + t, t, b - a, wool) for a, b in runs if b > a
        ]
    solids.append(Tube("contents", (middle, 0, 0), X, od / 2, None, length, contents))
    for side, n in ((-1.0, weld.left), (1.0, weld.right)):
        solids.extend(_neighbour(weld, side, n, order))
    solids.append(Tube("pipe", (middle, 0, 0), X, od / 2, wall, length, steel))
    for x, n in ((left, weld.left), (right, weld.right)):
        if n.kind == "pipe":
            inside = x - math.copysign(PLUG_M / 2, x)
            solids.append(Tube("pipe end", (inside, 0, 0), X, od / 2, None, PLUG_M, steel))
    for side, n in ((-1.0, weld.left), (1.0, weld.right)):
        thicker = (n.wall_m or wall) - wall
        if thicker > 0:  # from the root on; the taper is left out
            a, b = side * weld.cap.width_m / 6, left if side < 0 else right
            outer = od / 2 - wall + CAP_FOOT_M
            name = f"thicker wall {'right' if side > 0 else 'left'}"
            ring = Tube(name, ((a + b) / 2, 0, 0), X, outer, thicker + CAP_FOOT_M, abs(b - a), steel)
            solids.append(ring)
    cap = weld.cap
    if cap.height_m > 0:
        solids.append(
            Tube(
                "weld cap", (0, 0, 0), X, od / 2 + cap.height_m, cap.height_m + CAP_FOOT_M, cap.width_m, steel
            )
        )
    if cap.root_m > 0 and cap.root_m < weld.pipe.bore / 2:
        solids.append(
            Tube(
                "weld root",
                (0, 0, 0),
                X,
                weld.pipe.bore / 2 + CAP_FOOT_M,
                cap.root_m + CAP_FOOT_M,
                root_width_m(weld),
                steel,
            )
        )
    return solids


def root_width_m(weld: Weld) -> float:
    """Width of the root [m]: our choice, a third of the cap's."""
    return weld.cap.width_m / 3


def outside_radius(weld: Weld) -> float:
    """Radius of the pipe at the weld, with its insulation where that is left on there [m]."""
    left = weld.insulation_at_weld
    return weld.pipe.od / 2 + (left.thickness_m if left else 0.0)
