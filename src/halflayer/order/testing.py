"""What a contract says of the testing beside the code: the weld when it is tested, and who holds the work where."""

from __future__ import annotations

from typing import Literal

from halflayer.order.fields import Model, Moment, PositiveTime, SizeName, Text


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


class Made(Model):
    """Which weld it is and who has made it, as a report names it; what is left out has a blank on its second page."""

    joint: SizeName | None = None  # number on the drawing
    spool: SizeName | None = None
    stamp: SizeName | None = None  # welder's; several with a stroke between, such as K4/M9


class HoldPoint(Model):
    """A point at which the work waits for somebody, or at which somebody is called to watch."""

    kind: Literal["hold", "witness"] = "hold"
    by: Text  # by role and name
    call_by: Text | None = None  # number or channel, where no other part of the order has it
    when: Text | None = (
        None  # until when, in words; of a set-up the welds that it is of; left out: as the list has it
    )
    notice_s: PositiveTime | None = None  # how long before a witness is called; left out: a blank in the list
    signed: Moment | None = None  # where it is signed before the shift
    document: Text | None = None  # where that is written


class ReportPoint(HoldPoint):
    """The report and the films, handed over: who takes them, who has written it, how long they are kept."""

    written_by: Text | None = None  # left out: a blank in the list
    kept: Text | None = None  # such as 10 years; left out: the same


class HoldPoints(Model):
    """Who holds the work at which point; one that is left out has blanks in the list before the first exposure."""

    technique: HoldPoint | None = None  # the written technique, approved
    release: HoldPoint | None = None  # each weld, released for radiography
    set_up: HoldPoint | None = None  # exposure 1 of a weld, set up
    first_film: HoldPoint | None = None  # read before the exposures that follow
    films: HoldPoint | None = None  # the verdict on all films; when: where too
    report: ReportPoint | None = None  # report and films, handed over
