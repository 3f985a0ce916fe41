"""Lean-out: head on a stand, swung along the pipe away from the clamp and aimed back; the weld opens to an ellipse."""

from __future__ import annotations

from collections.abc import Iterator

from halflayer.order.equipment import PlacementName
from halflayer.technique.ask import Ask, Proposal
from halflayer.technique.placements.stand import stand_proposals
from halflayer.technique.rules import TechniqueName


class LeanOut:
    """Double wall double image as an ellipse."""

    name: PlacementName = "lean-out"
    technique: TechniqueName = "DWDI ellipse"
    head_kind = "shielded"

    def propose(self, ask: Ask) -> Iterator[Proposal]:
        """The stands that the kit allows, leaned by the step that opens the ellipse as wanted."""
        yield from stand_proposals(ask, self.technique, arrangement=self.name, leans=True)
