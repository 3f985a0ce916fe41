"""Models of people and their tools: crew, instruments, times per step."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, model_validator
from pydantic_core import PydanticCustomError

from halflayer.order.fields import (
    DoseEquivalent,
    DoseRate,
    Fraction,
    Ident,
    Model,
    Moment,
    NonNegativeDose,
    NonNegativeTime,
    Point,
    PositiveLength,
    PositiveTime,
    Speed,
    Text,
)


class Person(Model):
    """A member of the crew."""

    id: Ident
    name: Text
    role: Literal["radiographer in charge", "radiographer", "assistant", "sentry"]
    qualification: Text | None = (
        None  # for the test, such as level and certificate; left out: the sheets say so
    )
    dose_this_year_Sv: NonNegativeDose | None = None
    # By what the person is called in the shift: a radio channel, a number; left out: the sheets have a blank.
    call_by: Text | None = None
    # What the person does at the head; empty: all of it, a sentry none of it.
    tasks: tuple[Literal["set-up", "film change", "survey"], ...] = ()


class FilmReader(Model):
    """Who develops and reads the films of the shift, and where."""

    by: Text  # by name
    qualification: Text | None = None  # level and certificate; left out: the list asks for it
    dark_room: Text | None = None  # where the films are developed and read; left out: the list asks for it
    dark_room_at: Point | None = None  # that place, site coordinates: for the sketch of the site
    second: Text | None = (
        None  # second reader, by name, where whoever reads them shoots too; left out: a blank
    )
    # Who accepts that set-ups are taken down before their last films are read, where the order has it so.
    taken_down_accepted_by: Text | None = None

    @model_validator(mode="after")
    def _another(self) -> FilmReader:
        if self.second is not None and self.second.partition(",")[0].partition(" (")[0] in self.by:
            raise PydanticCustomError(
                "second reader",
                "the second reader is the first one",
                {"accepted": "another person, or left out", "field": "second"},
            )
        return self


class Instrument(Model):
    """A dose-rate meter, alarm or densitometer."""

    id: Ident
    kind: Literal["survey meter", "personal alarm", "dosimeter", "densitometer"]
    calibrated_until: Moment  # a note says when the shift ends later
    # Lowest and highest dose rate that it reads; left out: not checked against limits and the bare source.
    range_Sv_s: tuple[DoseRate, DoseRate] | None = None
    # How far a reading may lie off the true rate, calibration, energy and angle together; left out: the sheets say so.
    tolerance: Annotated[Fraction, Field(gt=0, lt=1)] | None = None
    alarm_Sv_s: DoseRate | None = (
        None  # rate at which it sounds; left out: set by the list before the first exposure
    )
    alarm_dose_Sv: DoseEquivalent | None = None  # dose at which it sounds
    note: Text | None = None

    @model_validator(mode="after")
    def _alarm(self) -> Instrument:
        if self.kind == "densitometer" and (self.alarm_Sv_s is not None or self.alarm_dose_Sv is not None):
            raise PydanticCustomError(
                "alarm",
                "a densitometer has no alarm",
                {"accepted": "alarm set points of a personal alarm, dosimeter or survey meter"},
            )
        if self.alarm_Sv_s is not None and self.range_Sv_s is not None:
            low, high = self.range_Sv_s
            if not low <= self.alarm_Sv_s <= high:
                raise PydanticCustomError(
                    "alarm",
                    "the alarm lies outside the instrument's range",
                    {"accepted": "a rate between both ends of `range`", "field": "alarm"},
                )
        return self

    @model_validator(mode="after")
    def _rising(self) -> Instrument:
        if self.range_Sv_s is not None and not self.range_Sv_s[0] < self.range_Sv_s[1]:
            raise PydanticCustomError(
                "range",
                "the range does not rise",
                {"accepted": "[lowest, highest], such as [0.1 uSv/h, 10 mSv/h]"},
            )
        return self


class ChangePlace(Model):
    """Where the source changes of the shift are made: doses at places and ways in are reckoned from there."""

    name: Text = "place of the source changes"
    at: Point  # middle between head and changer, site coordinates
    # Who keeps everybody else beyond a bare source's reach meanwhile, by role; left out: the owner of the area, and a
    # change waits until somebody has said so by name.
    kept_by: Text | None = None


class CrewTimes(Model):
    """Times per step and exposure: editable data for the crew's dose."""

    set_up_s: PositiveTime = 600.0  # beside the head, source stored, once a weld
    # Between two exposures of a weld, source stored, to turn and set the head: a wrap comes off before and on after it.
    reset_s: PositiveTime = 240.0
    hand_distance_m: PositiveLength = 0.5  # body to head while setting up
    survey_s: PositiveTime = 60.0  # walking in with the meter after each exposure, source stored
    survey_distance_m: PositiveLength = 1.0
    film_change_s: NonNegativeTime = 60.0  # after each exposure, at the hand distance: our choice
    walk_s: NonNegativeTime = (
        20.0  # one way between control position and head, after each exposure: our choice
    )
    # Rope and signs: the last weld's down, this one's up, while others set up: the schedule holds what is longer than
    # that, all of it where everybody sets up. Then the area is searched. Left out: not computed.
    roping_s: NonNegativeTime | None = None
    search_s: NonNegativeTime | None = None
    # Loaded head (or container) and kit carried to a weld from the store or the last weld, what is not used any more
    # carried back meanwhile by another; left out: not computed.
    moving_s: NonNegativeTime | None = None
    moving_distance_m: PositiveLength = 0.3  # body to it meanwhile: our choice
    hands_on_s: NonNegativeTime | None = None  # hands on the head, a weld; left out: hand dose not computed
    # Least distance between the crew and the bare source on its way to a spider; left out: not computed there.
    transit_distance_m: PositiveLength | None = None
    # One source out of a head and another in, by the changer, checks and survey included: our choice.
    source_change_s: PositiveTime = 900.0
    # Everybody out of a bare source's reach before it, each place signed for; left out: in no time, the sheets say so.
    source_change_clearing_s: NonNegativeTime | None = None
    # Body to head, container and changer all that time, sources at rest in them; left out: dose not computed.
    source_change_distance_m: PositiveLength | None = None
    # A source bare on its way between one of them and the changer, each way; left out: dose not computed.
    source_change_way_s: NonNegativeTime | None = None
    # Least distance of those who change it to the bare source then; left out: dose not computed.
    source_change_away_m: PositiveLength | None = None
    reading_s: PositiveTime = (
        10.0  # one reading of the meter, on the way in to a source still out: our choice
    )
    # Points of a survey that are read with the source out first, in exposure 1 where it lasts as long, else before it
    # without film, at the least: more where more are due then or exposures are too short for the others, which are read
    # during exposures. Left out: that survey is in no time and no dose.
    first_survey_points: Annotated[int, Field(ge=1, le=60)] | None = None
    reading_way_s: NonNegativeTime = 10.0  # least time from one to the next, however near it is: our choice
    # Walking speed along the points of that survey, meter in hand; doors and ladders on the way make it less.
    survey_speed_m_s: Speed = 1.0  # our choice: an example, slower than a plain walk of 1.4 m/s (from memory)
    # After the last weld: area surveyed, rope and signs down, beside the reading of films; left out: none is kept free.
    closing_s: NonNegativeTime | None = None
    # After closing and the last film: the area handed back to its owner, in writing; left out: none is kept free.
    hand_back_s: NonNegativeTime | None = None
    basis: Text = "editable example times; replace them by your own"
