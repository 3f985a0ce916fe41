"""Over: head on a stand in the weld plane, film and stop across the pipe; both walls fall on each other."""

from __future__ import annotations

from collections.abc import Iterator

from halflayer.order.equipment import PlacementName
from halflayer.technique.ask import Ask, Proposal
from halflayer.technique.placements.stand import stand_proposals
from halflayer.technique.rules import TechniqueName


class Over:
    """Double wall double image in plane."""

    name: PlacementName = "over"
    technique: TechniqueName = "DWDI in plane"
    head_kind = "shielded"

    def propose(self, ask: Ask) -> Iterator[Proposal]:
        """The stands that the kit allows, source above the weld without offset."""
        yield from stand_proposals(ask, self.technique, arrangement=self.name, leans=False)
