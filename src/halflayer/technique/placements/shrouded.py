"""Over and lean-out with a rigid shroud between head and stop in place of the wrap."""

from __future__ import annotations

from collections.abc import Iterator

from halflayer.order.equipment import PlacementName
from halflayer.technique.ask import Ask, Proposal
from halflayer.technique.placements import shrouds
from halflayer.technique.placements.stand import stand_proposals
from halflayer.technique.rules import TechniqueName


class LeanOutShrouded:
    """Double wall double image as an ellipse, in a skewed shroud."""

    name: PlacementName = "lean-out-shrouded"
    technique: TechniqueName = "DWDI ellipse"
    head_kind = "shielded"

    def propose(self, ask: Ask) -> Iterator[Proposal]:
        """Each skewed shroud of the kit on the stands that the kit allows; none without such a shroud."""
        yield from stand_proposals(
            ask, self.technique, arrangement=self.name, leans=True, kinds=shrouds.kinds(ask, "skewed")
        )


class OverShrouded:
    """Double wall double image in plane, in a straight shroud."""

    name: PlacementName = "over-shrouded"
    technique: TechniqueName = "DWDI in plane"
    head_kind = "shielded"

    def propose(self, ask: Ask) -> Iterator[Proposal]:
        """Each straight shroud of the kit on the stands that the kit allows; none without such a shroud."""
        yield from stand_proposals(
            ask, self.technique, arrangement=self.name, leans=False, kinds=shrouds.kinds(ask, "straight")
        )
