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
    # What the crew waits for exposure 1 (or the trial): developed or scanned, with the way and the reading where these
    # are not stated by themselves; our choice.
    processing_s: NonNegativeTime = 900.0
    film_way_s: NonNegativeTime | None = None  # to the dark room with it, unloaded; left out: in `processing`
    viewing_s: NonNegativeTime | None = None  # densities, indicator and marks read; left out: in `processing`
    # Each film that nobody waits for, read after the last exposure; left out: as `viewing`, that of exposure 1.
    later_film_s: NonNegativeTime | None = None
    # Each film holder unloaded and loaded anew, where those owned do not suffice; left out: in no time, said so.
    holder_load_s: NonNegativeTime | None = None
    # The set-up stays until its last films are accepted: the crew waits for them. Else it is taken down at once, and
    # one rejected later is a new set-up, in no time.
    accepted_before_taking_down: bool = False
    last_films_s: NonNegativeTime | None = None  # develop and read them then; left out: as for exposure 1
    take_down_s: NonNegativeTime | None = None  # left out: as long as mounting the shield (our choice)
    basis: Text = "editable example figures; replace them by your own"

    @property
    def first_wait_s(self) -> float:
        """How long the crew waits for exposure 1 of a weld: way, processing and reading."""
        return self.processing_s + (self.film_way_s or 0.0) + (self.viewing_s or 0.0)

    @property
    def last_wait_s(self) -> float:
        """How long the crew waits for the last films of a weld before taking down; 0 where it does not."""
        if not self.accepted_before_taking_down:
            return 0.0
        return self.first_wait_s if self.last_films_s is None else self.last_films_s
