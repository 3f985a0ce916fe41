"""What a contract says of the testing beside the code: the weld when it is tested, and who holds the work where."""

from __future__ import annotations

from typing import Literal

from halflayer.order.fields import Model, Moment, Text


class HowTested(Model):
    """What a report names of a weld and its testing; what is left out has a blank on the weld's second page."""

    grade: Text | None = None  # of a material that is named without one
    joint_preparation: Text | None = None
    welding_process: Text | None = None
    drawing: Text | None = None
    extent: Text | None = None  # how much of the weld is tested, such as 100 %
    stage: Text | None = None  # before or after heat treatment
    waiting_time: Text | None = None  # from the end of welding to the exposure, least
    surface: Text | None = None  # how the cap is left, and who looks at it


class HoldPoint(Model):
    """A point at which the work waits for somebody, or at which somebody is called to watch."""

    kind: Literal["hold", "witness"] = "hold"
    by: Text  # by role and name
    when: Text | None = None  # until when, in words; left out: as the list has it
    signed: Moment | None = None  # where it is signed before the shift
    document: Text | None = None  # where that is written


class HoldPoints(Model):
    """Who holds the work at which point; one that is left out has blanks in the list before the first exposure."""

    technique: HoldPoint | None = None  # the written technique, approved
    release: HoldPoint | None = None  # each weld, released for radiography
    set_up: HoldPoint | None = None  # exposure 1 of a weld, set up
    first_film: HoldPoint | None = None  # read before the exposures that follow
    films: HoldPoint | None = None  # the verdict on all films
    report: HoldPoint | None = None  # report and films, handed over
