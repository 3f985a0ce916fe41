"""What a sheet says of the proof of its doses."""

from __future__ import annotations

from halflayer.sheet.figures import percent_up
from halflayer.shielding.proof import limited, proved_to
from halflayer.shielding.result import Shielding


def proof_words(shielding: Shielding | None) -> str:
    """To what error the doses against limits are proved; each figure's own noise stands beside it on page 2."""
    if shielding is None:
        return ""
    reached = proved_to(shielding)
    if reached is None:
        return "dose planned, not proved"
    return f"dose proved to {percent_up(reached)} (1 sigma) or better at {len(limited(shielding))} points with limits"
