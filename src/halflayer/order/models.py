"""The work order: site, code, limits, equipment and welds in one frozen model."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Annotated, Any, Literal

from pydantic import Field

from halflayer.order.allowance import Allowance
from halflayer.order.codes import CLASSED, DIGITAL, Code, IqiKind, TestClass
from halflayer.order.contacts import Contact
from halflayer.order.contract import Acceptance, Agreement, SignedAgreement
from halflayer.order.crew import ChangePlace, CrewTimes, FilmReader, Instrument, Person
from halflayer.order.digital import Detector, DigitalDetector
from halflayer.order.equipment import Film, Head, Kit, MaterialSpec, Source
from halflayer.order.fields import ClockTolerance, Ident, Lap, Model, Moment, Point, PositiveTime, Text
from halflayer.order.limits import AccessRoute, FloorLevel, Limits, Place
from halflayer.order.testing import HoldPoints, HowTested
from halflayer.order.weld import Obstacle, Weld

__all__ = ["CLASSED", "DIGITAL", "Agreement", "Code", "Order", "Shift", "Site"]


class Site(Model):
    """Where the work is done and who must be asked."""

    name: Text
    area: Text | None = None
    adviser: Text  # radiation protection adviser, by role or fictional name
    supervisor: Text | None = None  # radiation protection supervisor of the work; left out: the sheets say so
    owner: Text | None = (
        None  # of the area, by name and number: told before, takes it back; left out: a blank
    )
    local_rules: Text
    # What people are called by from the area, telephone or radio, and where it is; left out: the sheets say so.
    call_by: Text | None = None
    # Where the crew withdraws to from the control position, its reading taken or its source not home, and where it is
    # counted at an evacuation; left out: the sheets say so.
    retreat: Text | None = None
    retreat_at: Point | None = None  # that place, site coordinates: held against a bare source's reach
    muster_point: Text | None = None
    muster_point_at: Point | None = None  # that place, site coordinates: for the sketch of the site
    # Where sources lie between welds and after the shift, and who has the key; left out: the sheets say so.
    source_store: Text | None = None
    # Where that store is, site coordinates: for the dose of what lies in it at people's places; left out: not computed.
    source_store_at: Point | None = None
    # Who watches, isolates and puts back detectors and gauges: name, number, place; without: the sheets say so.
    detectors_by: Text | None = None
    # Where site coordinates begin, and whereto their x points (a compass bearing, a wall); left out: the sheets say so.
    origin: Text | None = None
    x_points_to: Text | None = None


class Break(Model):
    """Time kept free before a weld, its source change included: the whole crew rests, every source locked."""

    before: Ident  # a weld; where it is left to another shift, so is its break
    lasts_s: PositiveTime
    relief: Text | None = None  # who takes over meanwhile or from then on; left out: nobody


class Shift(Model):
    """The planned shift; exposures are decayed to its start unless a weld says otherwise."""

    starts: Moment
    ends: Moment
    teams: Annotated[int, Field(ge=1, le=20)] = 1  # set-ups at work at the same time
    per_week: Annotated[int, Field(ge=1, le=21)] = 1  # shifts like this one in a week, for doses per week
    breaks: tuple[
        Break, ...
    ] = ()  # kept free in the schedule; left out: to be agreed, the sheets say with whom


class Order(Model):
    """A whole work order, as read: SI units, ids unique, references resolved (see `order.check`)."""

    order: Ident
    title: Text
    revision: Text = "A"  # printed on every sheet
    units: Literal["metric", "imperial"] = "metric"  # of the printed sheets
    site: Site
    code: Code  # of every weld that names none of its own
    # Test class of ISO 17636, needed with it; ASME V has none and takes none.
    test_class: Annotated[TestClass | None, Field(alias="class")] = None
    iqi: IqiKind = "wire"  # image quality indicator of every weld that names none: wires, or step-hole plates
    agreements: tuple[Agreement, ...] = ()  # by contract; printed where a plan rests on one
    agreed_by: Text | None = (
        None  # who signs the agreements for the purchaser, such as a Level 3; printed with them
    )
    signed: tuple[
        SignedAgreement, ...
    ] = ()  # those of them that are signed; a weld on another is ready only if it is
    # Who signs them for the contractor, such as its Level 3; left out: the sheets have a line for the name.
    agreed_for_contractor_by: Text | None = None
    procedure: Text | None = None  # written procedure by which the films are made, with its revision
    contractor: Text | None = None  # symbol of the radiography contractor, in lead on every film
    # Who compares the figures that the plan has from memory with the code's text, and signs for it on every sheet.
    code_checked_by: Text | None = None
    acceptance: Acceptance | None = None  # of every weld that states none
    testing: HowTested | None = None  # of every weld, field by field, that says nothing of its own
    hold_points: HoldPoints = HoldPoints()  # who holds the work where, beside the crew
    viewer_luminance: Annotated[float, Field(gt=0)] | None = None  # of the film viewer, cd/m2
    limits: Limits
    shift: Shift
    places: tuple[Place, ...] = ()
    floors: tuple[FloorLevel, ...] = ()  # above and below, where the dose is asked for
    access: tuple[AccessRoute, ...] = ()  # ways into the area
    obstacles: tuple[Obstacle, ...] = ()
    materials: tuple[MaterialSpec, ...] = ()  # beside the built-in ones
    sources: Annotated[tuple[Source, ...], Field(min_length=1)]
    heads: Annotated[tuple[Head, ...], Field(min_length=1)]
    detectors: tuple[Film, ...] = ()  # films; one at least for a code that is for film
    digital: tuple[DigitalDetector, ...] = ()  # plates and panels; one at least for a code that is for them
    kit: Kit
    crew: Annotated[tuple[Person, ...], Field(min_length=1)]
    films_read: FilmReader | None = None  # who reads the films and where; left out: the list asks for it
    crew_times: CrewTimes = CrewTimes()
    source_changes_at: ChangePlace | None = None  # left out: each is counted at the weld that it comes before
    allowance: Allowance = Allowance()
    # Which of the ways that the code allows comes first, after the wanted placements: the softest source
    # needs the least shield; the shortest time is that of all exposures and steps of the crew.
    prefer: Literal["softest source", "shortest time"] = "softest source"
    instruments: tuple[Instrument, ...] = ()
    contacts: tuple[Contact, ...] = ()  # to be called; printed on page 1 and on every contingency card
    # Who signs or decides in the shift (agreements, figures of the code, set-ups taken down), by the name that the
    # order has there, with number; left out: the sheets have a blank for it.
    to_sign: tuple[Contact, ...] = ()
    # How far the clock of head or film may be set off: neighbouring exposures are to lap by twice as much. The
    # default is common practice, no source.
    clock_tolerance_rad: ClockTolerance = math.radians(2.0)
    # Size of a source that lies across the beam: as the code takes it, or its diagonal, the strictest
    # reading of any code.
    source_size: Literal["by the code", "diagonal"] = "by the code"
    # By so much what neighbouring exposures judge laps at least, round the outside of the pipe; left out: 10 mm, of
    # double images no more than 10 degrees of the turn (common practice, no source).
    lap_m: Lap | None = None
    welds: Annotated[tuple[Weld, ...], Field(min_length=1)]

    @property
    def all_detectors(self) -> tuple[Detector, ...]:
        """Films, plates and panels together."""
        return (*self.detectors, *self.digital)

    def code_of(self, weld: Weld) -> Code:
        """The code that a weld is judged by: its own, else the order's."""
        return weld.code or self.code

    def class_of(self, weld: Weld) -> TestClass | None:
        """The test class of a weld: its own, else the order's; None under a code that has none."""
        return (weld.test_class or self.test_class) if self.code_of(weld) in CLASSED else None

    def iqi_of(self, weld: Weld) -> IqiKind:
        """The kind of image quality indicator asked for a weld: its own, else the order's."""
        return weld.iqi or self.iqi

    @property
    def codes(self) -> tuple[Code, ...]:
        """Every code that a weld is judged by, the order's own first."""
        return tuple(dict.fromkeys([self.code, *(self.code_of(w) for w in self.welds)]))

    def judged_detectors(self, weld: Weld) -> tuple[Detector, ...]:
        """The detectors that the weld's code is for."""
        return self.digital if self.code_of(weld) in DIGITAL else self.detectors

    def acceptance_of(self, weld: Weld) -> Acceptance | None:
        """What a weld's films are judged by: its own, else the order's."""
        return weld.acceptance or self.acceptance

    def testing_of(self, weld: Weld) -> HowTested:
        """What is said of a weld and its testing: field by field its own, else the order's."""
        own = weld.testing.model_dump(exclude_none=True) if weld.testing else {}
        return (self.testing or HowTested()).model_copy(update=own)

    @property
    def signers(self) -> tuple[str, str]:
        """Who signs agreements on the technique: for the purchaser and for the contractor."""
        firm = f"contractor {self.contractor}" if self.contractor else "contractor (not named in the order)"
        mine = self.agreed_for_contractor_by or firm
        return self.agreed_by or "purchaser, its Level 3 (not named in the order)", mine

    def unsigned(self, agreements: Iterable[str]) -> tuple[str, ...]:
        """Those of some agreements that nobody has signed yet."""
        done = {s.agreement for s in self.signed}
        return tuple(a for a in agreements if a not in done)

    def code_words(self, weld: Weld | None = None) -> str:
        """Code and class of a weld as they are printed; without a weld those of the order."""
        code, klass = (
            (self.code, self.test_class)
            if weld is None
            else (
                self.code_of(weld),
                self.class_of(weld),
            )
        )
        return code if klass is None else f"{code}, class {klass}"

    def as_json(self) -> dict[str, Any]:
        """The order as plain JSON data with Python names and SI numbers."""
        data = self.model_dump(mode="json")
        for weld, told in zip(self.welds, data["welds"], strict=True):
            if "material" not in weld.contents.model_fields_set:
                del told["contents"][
                    "material"
                ]  # left out stays left out: a sheet says that it was not stated
        return data

    @classmethod
    def from_json(cls, data: dict[str, Any]) -> Order:
        """The inverse of `as_json`, without loss."""
        return cls.model_validate(data, context={"si": True}, by_name=True)

    @property
    def places_and_floors(self) -> tuple[Place | FloorLevel, ...]:
        """Everything that has a name, an occupancy and perhaps a limit of its own."""
        return (*self.places, *self.floors)

    def weld(self, weld_id: str) -> Weld:
        """The weld of that id; KeyError when there is none."""
        for weld in self.welds:
            if weld.id == weld_id:
                return weld
        raise KeyError(weld_id)
