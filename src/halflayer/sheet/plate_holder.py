"""The holder of the stop's plates: two hangers on the legs' pins, outside film and beam, in words and as drawn."""

from __future__ import annotations

from halflayer.order.equipment import FLAT_FILM, StopPlate
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.scene.build import Built
from halflayer.scene.frame import Vec3, about_x
from halflayer.scene.solids import Box, Tube
from halflayer.sheet.figures import Show
from halflayer.sheet.held_words import held_by
from halflayer.shielding.result import Shielding
from halflayer.technique.result import Candidate

BESIDE_M = 0.008  # middle of a hanger from the plates' edge: our own demo holder
ARM_M = 0.002  # farther off a pin a hanger hangs on an arm that is drawn out: our own demo holder
RAIL_M = 0.02  # a rail reaches so far under the plates' edges: our own demo holder


def plates_of(order: Order, shielding: Shielding | None) -> StopPlate | None:
    """The kind of plate that stands as the stop; None without plates, or with blankets folded in their place."""
    if shielding is None or not shielding.fitting.plates:
        return None
    return next((p for p in order.kit.plates if p.id == shielding.fitting.plate), None)


def pins_y_m(built: Built | None) -> float | None:
    """How far the legs' pins stand from the plane through pipe axis and source [m]; None without legs."""
    arm = next(
        (s for s in (built.scene.solids if built else ()) if isinstance(s, Tube) and s.name == "arm right"),
        None,
    )
    return None if arm is None or built is None else abs(about_x(arm.centre, -built.clock_rad)[1])


def hangers_y_m(plate: StopPlate, built: Built) -> float:
    """The same of the hangers: beside plates, film and beam, and not inside the pins [m]."""
    wide = max(plate.across_m, built.film.length_m, built.footprint_m[1])
    return max(wide / 2 + BESIDE_M, pins_y_m(built) or 0.0)


def hanger_lines(plate: StopPlate, built: Built) -> list[list[Vec3]]:
    """Middle lines of hangers and rails: from a pin out, down beside film and plates, and along under their edge."""
    stop = next((s for s in built.scene.solids if isinstance(s, Box) and s.name == "stop"), None)
    pins = pins_y_m(built)
    if stop is None or pins is None:
        return []
    x, _, z = about_x(stop.centre, -built.clock_rad)
    low, out, half = z - stop.size[2] / 2, hangers_y_m(plate, built), stop.size[0] / 2
    lines: list[list[Vec3]] = []
    for side in (-1.0, 1.0):
        inner = side * (plate.across_m / 2 - RAIL_M)
        lines.append(
            [
                (0.0, side * pins, 0.0),
                (0.0, side * out, 0.0),
                (0.0, side * out, low),
                (0.0, inner, low),
            ]
        )
        lines.append([(x - half, side * out, low), (x + half, side * out, low)])
    return [[about_x(p, built.clock_rad) for p in line] for line in lines]


def words(
    order: Order, weld: Weld, c: Candidate, built: Built | None, shielding: Shielding | None, show: Show
) -> str:
    """What holds the plates and how they are set; empty without plates. The steps are common practice, no source."""
    plate = plates_of(order, shielding)
    if plate is None:
        return ""
    held = held_by(order, "plate holder", "; in")
    ours = any(
        g.kind == "plate holder" for g in order.kit.gear
    )  # of one to be brought the shape is not known
    if not ours or built is None or pins_y_m(built) is None:
        return held
    pins, out = pins_y_m(built) or 0.0, hangers_y_m(plate, built)
    arms = "arms out to its " * (out > pins + ARM_M)
    told = f"{held} on the legs' pins, {arms}hangers {show.drawn(out)} aside"
    up = "drawn to touch, tied" if weld.runs == "vertical" else "pulled up to touch"
    turns = ", empty" * (c.arrangement in FLAT_FILM)  # its plates lie behind the film, which is changed first
    return told + (f", {up}" if c.shroud else f", gap by its threads; turns with them{turns}")


def off_pipe_m(weld: Weld, built: Built | None) -> float | None:
    """From the pipe's surface to the stop, as the set-up is drawn [m]; None where no stop stands off it."""
    stop = next(
        (s for s in (built.scene.solids if built else ()) if isinstance(s, Box) and s.name == "stop"), None
    )
    if stop is None or built is None:
        return None
    off = -about_x(stop.centre, -built.clock_rad)[2] - stop.size[2] / 2 - weld.pipe.od / 2
    return off if off > 1e-4 else None
