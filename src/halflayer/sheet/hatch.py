"""One hatch per kind of material, as SVG patterns in mm of paper, with the name that the legend gives it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from halflayer.physics.materials import Material
from halflayer.sheet.svg import INK, PAPER, Canvas

Kind = Literal[
    "air",
    "lead",
    "blanket",
    "steel",
    "alloy",
    "light metal",
    "heavy metal",
    "stone",
    "wool",
    "liquid",
    "polymer",
]


@dataclass(frozen=True)
class Hatch:
    """A pattern tile of `width_mm` x `height_mm` with the path drawn in it, turned by `turn_deg`."""

    legend: str
    width_mm: float
    height_mm: float
    path: str
    stroke_mm: float
    turn_deg: float = 0.0


# Our choice throughout; told apart by direction, spacing and form, never by colour alone.
HATCHES: dict[Kind, Hatch] = {
    "lead": Hatch("lead", 0.75, 0.75, "M0 0.375H0.75", 0.2, -45),
    "steel": Hatch("steel", 1.9, 1.9, "M0 0.95H1.9", 0.14, -45),
    "blanket": Hatch("blanket", 2.4, 0.95, "M-0.6 0.475Q0 0 0.6 0.475T1.8 0.475T3 0.475", 0.17),
    "alloy": Hatch("nickel or copper alloy", 2.4, 2.4, "M0 0.6H2.4M0 1.2H2.4", 0.13, -45),
    "light metal": Hatch("light metal", 2.2, 2.2, "M0 1.1H1.3M1.8 1.1H2", 0.14, 45),
    "heavy metal": Hatch("tungsten or uranium", 0.95, 0.95, "M0 0.475H0.95M0.475 0V0.95", 0.15, -45),
    "stone": Hatch("concrete, stone", 3.2, 3.2, "M0.5 0.6h0.02M2.1 0.4h0.02M1.2 1.5l0.5 -0.7l0.4 0.8zM2.7 2.2h0.02"
                   "M0.6 2.5h0.02M1.8 2.9h0.02", 0.22),
    "wool": Hatch("insulation", 1.8, 1.8, "M0 1.35L0.45 0.45L0.9 1.35L1.35 0.45L1.8 1.35", 0.12),
    "liquid": Hatch("liquid", 3.0, 1.8, "M0.2 0.45H1.5M1.7 1.35H2.8", 0.14),
    "polymer": Hatch("plastic", 1.7, 1.7, "M0.55 0.85h0.6M0.85 0.55v0.6", 0.12),
}  # fmt: skip

_HEAVY = ("W", "Ta", "U", "Re", "Ir", "Pt", "Au")
_DENSE = ("Pb", "Bi", "Sb", "Sn", "Ba", "Gd", *_HEAVY)
_BINDER = ("H", "C", "O", "N", "Si", "Cl", "S")


def kind_of(material: Material) -> Kind:
    """The hatch of a material, by what it is made of, so that materials of one's own have one too."""

    def share(*symbols: str) -> float:
        return sum(material.mass_fractions.get(s, 0.0) for s in symbols)

    if material.density_kg_m3 < 20 or not material.mass_fractions:
        return "air"
    if share(*_DENSE) >= 0.2 and share(*_BINDER) >= 0.02:
        return "blanket"
    if share("Pb", "Bi", "Sb", "Sn") >= 0.5:
        return "lead"
    if share(*_HEAVY) >= 0.5:
        return "heavy metal"
    if share("Fe") >= 0.4:
        return "steel"
    if share("Ni", "Cu", "Zn", "Cr", "Mo", "Fe", "Co") >= 0.5:
        return "alloy"
    if share("Al", "Ti", "Mg") >= 0.6:
        return "light metal"
    if material.density_kg_m3 < 600:
        return "wool"
    if share("Si", "Ca", "Al", "Mg", "K", "Na", "Fe", "Ba") >= 0.25:
        return "stone"
    if "emulsion" in material.name or share("Br", "I", "Ag") > 0.01:
        return "polymer"
    # Liquids that fill pipes are water and oils: by hydrogen and density they are those without a solid's name.
    if share("H") >= 0.05 and share("O") >= 0.6:  # water, with a little of something else
        return "liquid"
    if material.density_kg_m3 <= 1100 and material.name.lower() not in _SOLIDS:
        return "liquid"
    return "polymer"


_SOLIDS = ("polyester", "polyethylene", "natural rubber", "silicone rubber", "wood")


def fill(canvas: Canvas, kind: Kind) -> str:
    """The fill of that hatch on a canvas; defines the pattern there on first use."""
    if kind == "air":
        return PAPER
    h = HATCHES[kind]
    key = "hatch-" + kind.replace(" ", "-")
    turn = f' patternTransform="rotate({h.turn_deg:g})"' if h.turn_deg else ""
    canvas.define(
        key,
        f'<pattern id="{key}" width="{h.width_mm:g}" height="{h.height_mm:g}" patternUnits="userSpaceOnUse"{turn}>'
        f'<path d="{h.path}" fill="none" stroke="{INK}" stroke-width="{h.stroke_mm:g}" stroke-linecap="round"/>'
        "</pattern>",
    )
    return f"url(#{key})"


def legend(canvas: Canvas, kinds: list[Kind], *, x: float, y: float, width: float, size_mm: float) -> float:
    """Swatches with their names in rows from (x, y) down; gives the y below the last row."""
    from halflayer.sheet.typeface import text_width

    at, row = x, y
    for kind in kinds:
        if kind == "air":
            continue
        name = HATCHES[kind].legend
        need = 9.5 + text_width(name, size_mm) + 3.5
        if at + need > x + width and at > x:
            at, row = x, row + 5.2
        box = [(at, row), (at + 8, row), (at + 8, row + 3.6), (at, row + 3.6)]
        canvas.path([box], fill=fill(canvas, kind), stroke_mm=0.3, kind=f"legend {kind}")
        canvas.text((at + 9.5, row + 2.85), name, size_mm=size_mm)
        at += need
    return row + 5.2
