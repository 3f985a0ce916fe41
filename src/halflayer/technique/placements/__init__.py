"""The placements: where head and detector can stand at a weld, one module for each."""

from __future__ import annotations

from halflayer.technique.placements.base import Placement
from halflayer.technique.placements.bore import Bore
from halflayer.technique.placements.lean_back import LeanBack
from halflayer.technique.placements.lean_out import LeanOut
from halflayer.technique.placements.outside import Outside
from halflayer.technique.placements.over import Over
from halflayer.technique.placements.shrouded import LeanOutShrouded, OverShrouded
from halflayer.technique.placements.strap import Strap
from halflayer.technique.placements.strap_guided import StrapGuided

# Ways that open an ellipse stand first: in plane asks whether an ellipse can be shot.
PLACEMENTS: tuple[Placement, ...] = (
    LeanOut(),
    LeanBack(),
    LeanOutShrouded(),
    Over(),
    OverShrouded(),
    Outside(),
    Strap(),
    StrapGuided(),
    Bore(),
)
