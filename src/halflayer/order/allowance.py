"""Model of what a time budget allows for beside the planned exposures: trial shot, reshoots, taking down."""

from __future__ import annotations

from typing import Literal

from halflayer.order.fields import Fraction, Model, NonNegativeTime, Text


class Allowance(Model):
    """What to allow for in time, film and dose beside the planned exposures; all of it editable.

    A trial shot is the first exposure of a weld, developed and read before the others are shot. Without one the sheets
    ask for the same of exposure 1: the wait stands in every time budget and in the schedule.
    """

    trial: Literal["when not calibrated", "always", "never"] = (
        "when not calibrated"  # of the film or detector
    )
    reshoots: Fraction = 0.10  # of the planned exposures, rounded up at each weld: common practice, no source
    processing_s: NonNegativeTime = (
        900.0  # develop or scan, and read exposure 1 (or the trial), while the crew waits: our choice
    )
    take_down_s: NonNegativeTime | None = None  # left out: as long as mounting the shield (our choice)
    basis: Text = "editable example figures; replace them by your own"
