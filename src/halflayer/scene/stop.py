"""One layer of a stop behind the pipe: a plate, or a small blanket folded to a square and laid under the film."""

from __future__ import annotations

import math
from dataclasses import dataclass

from halflayer.order.equipment import Blanket, StopPlate
from halflayer.order.models import Order
from halflayer.physics.materials import Material
from halflayer.scene.matter import blanket_material, order_material

LAID_GAP_M = 0.002  # film pack to the first folded blanket, which lies close to it: our choice


@dataclass(frozen=True)
class StopPiece:
    """A layer of the stop by size and matter; `count` layers in stock, `per_piece` of them from one piece."""

    id: str
    what: str  # "stop plate" or "folded blanket"
    matter: Material
    thickness_m: float
    along_m: float  # along the pipe
    across_m: float
    count: int
    tolerance: float  # of thickness or mass per area, coverage factor 1.645
    mounting_s: float  # for one layer
    piece_kg: float  # mass of one piece
    per_piece: int = 1

    @property
    def folded(self) -> bool:
        """True for a blanket that lies folded under the pipe, without plates."""
        return self.what == "folded blanket"

    def pieces(self, layers: int) -> int:
        """Whole pieces that so many layers take."""
        return math.ceil(layers / self.per_piece)

    def whole(self, layers: int) -> int:
        """Layers that whole pieces bring where so many are wanted: a folded piece lies there with all of its layers."""
        return self.pieces(layers) * self.per_piece

    def mass_kg(self, layers: int) -> float:
        """Mass of so many layers, in whole pieces [kg]."""
        return self.pieces(layers) * self.piece_kg


def plate_piece(order: Order, plate: StopPlate) -> StopPiece:
    """A stop plate as a layer."""
    matter = order_material(order, plate.material)
    return StopPiece(
        id=plate.id,
        what="stop plate",
        matter=matter,
        thickness_m=plate.thickness_m,
        along_m=plate.along_m,
        across_m=plate.across_m,
        count=plate.count,
        tolerance=plate.tolerance,
        mounting_s=plate.mounting_s,
        piece_kg=plate.along_m * plate.across_m * plate.thickness_m * matter.density_kg_m3,
    )


def folded_piece(order: Order, blanket: Blanket) -> StopPiece:
    """A blanket folded to a square of about its width: so many layers lie on each other (our choice)."""
    n = blanket.folds
    return StopPiece(
        id=blanket.id,
        what="folded blanket",
        matter=blanket_material(order, blanket),
        thickness_m=blanket.thickness_m,
        along_m=blanket.width_m,
        across_m=blanket.length_m / n,
        count=n * blanket.count,
        tolerance=blanket.tolerance,
        mounting_s=blanket.mounting_s / n,
        piece_kg=blanket.width_m * blanket.length_m * blanket.areal_density_kg_m2,
        per_piece=n,
    )


def smallest_blanket(order: Order) -> Blanket | None:
    """The kind of blanket that is folded into a stop: the smallest in stock; None without one.

    A kind whose id is also that of plates is left out: a stop is named by its id.
    """
    taken = {p.id for p in order.kit.plates}
    return min(
        (b for b in order.kit.blankets if b.count and b.id not in taken),
        key=lambda b: b.width_m * b.length_m,
        default=None,
    )


def stop_piece(order: Order, ident: str | None) -> StopPiece | None:
    """The layer of that id, among plates first and then among blankets; None when there is none."""
    for plate in order.kit.plates:
        if plate.id == ident:
            return plate_piece(order, plate)
    for blanket in order.kit.blankets:
        if blanket.id == ident:
            return folded_piece(order, blanket)
    return None
