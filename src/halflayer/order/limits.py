"""Models of dose limits and of the places where they hold."""

from __future__ import annotations

from typing import Literal

from pydantic import model_validator
from pydantic_core import PydanticCustomError

from halflayer.order.contacts import Contact
from halflayer.order.fields import (
    DoseEquivalent,
    DoseRate,
    Fraction,
    Ident,
    Length,
    Model,
    Point,
    PositiveLength,
    Text,
)


class Limit(Model):
    """One limit, of one kind or several: a rate, a dose in any hour, per exposure, per shift, week or year.

    All values are ambient dose equivalent H*(10). `basis` names the rule or decision the limit rests on and
    is printed with it. `profile` names a published limit that fills in the values and the basis which are
    not stated (see `order.profiles`); what is stated beside it stands.
    """

    profile: Text | None = None  # name of a published limit, such as `uk barrier`
    rate_Sv_s: DoseRate | None = None  # at any moment
    in_any_hour_Sv: DoseEquivalent | None = None
    per_exposure_Sv: DoseEquivalent | None = None
    per_shift_Sv: DoseEquivalent | None = None  # per shift and person
    per_week_Sv: DoseEquivalent | None = None
    per_year_Sv: DoseEquivalent | None = None
    basis: Text  # rule or decision, printed with the limit; a profile brings its own

    @model_validator(mode="after")
    def _one_at_least(self) -> Limit:
        kinds = (
            self.rate_Sv_s,
            self.in_any_hour_Sv,
            self.per_exposure_Sv,
            self.per_shift_Sv,
            self.per_week_Sv,
            self.per_year_Sv,
        )
        if all(k is None for k in kinds):
            raise PydanticCustomError(
                "limit",
                "a limit needs a value",
                {
                    "accepted": "rate, in_any_hour, per_exposure, per_shift, per_week or per_year; or a profile"
                },
            )
        return self


class Limits(Model):
    """Limits of the whole order: at the barrier, for people at work in the crew."""

    barrier: Limit
    barrier_within_m: PositiveLength  # the barrier must not stand farther from the weld centre than this
    crew: Limit  # per shift and person (and per exposure where stated)


class Place(Model):
    """A place where people are or that radiation can disturb, in site coordinates (z above site level 0)."""

    id: Ident
    name: Text
    at: Point  # x, y, z in site coordinates
    kind: Literal[
        "people", "crew", "smoke detector", "flame detector", "level gauge", "stored film", "other"
    ] = "people"
    limit: Limit | None = None  # left out: reported without a limit
    occupancy: Fraction = 1.0  # stated share of time that someone is there; used for shift doses only
    contact: Contact | None = None  # who answers there, told before the work; printed with the notices


Corner = tuple[Length, Length]


class FloorLevel(Model):
    """A floor above or below the welds: the dose is worked out 1 m above its level, over or under each weld.

    The slab between is not made from it: state it as an obstacle or as the weld's floor thickness.
    """

    id: Ident
    name: Text
    level_m: Length  # walking level in site coordinates
    limit: Limit | None = None  # left out: the limit at the barrier holds there
    occupancy: Fraction = (
        1.0  # stated share of time that someone is there; used for shift and week doses only
    )
    # Two opposite corners in plan of where the floor is: its highest dose is searched there. Left out: about each weld.
    area: tuple[Corner, Corner] | None = None
    # Nobody on it while a source is out, its ways watched, in place of more shield or where none holds the limit: a
    # condition of the weld then. Without it the limit binds, whoever is there.
    may_be_emptied: bool = False
    emptied_agreed_by: Text | None = None  # who agreed; required beside it, printed with the condition
    contact: Contact | None = None  # who answers there, told before the work; printed with notices, condition

    @model_validator(mode="after")
    def _agreed(self) -> FloorLevel:
        if self.may_be_emptied and self.emptied_agreed_by is None:
            raise PydanticCustomError(
                "floor",
                "who agreed that the floor may be emptied is not said",
                {
                    "accepted": "emptied_agreed_by: who answers for the floor, or may_be_emptied: false",
                    "field": "emptied_agreed_by",
                },
            )
        if self.emptied_agreed_by is not None and not self.may_be_emptied:
            raise PydanticCustomError(
                "floor",
                "somebody agreed that the floor may be emptied, and may_be_emptied is not true",
                {"accepted": "may_be_emptied: true, or no emptied_agreed_by", "field": "may_be_emptied"},
            )
        return self


class AccessRoute(Model):
    """A way by which someone could come into the area: door, stair, ladder, hatch, passage."""

    id: Ident
    name: Text
    at: Point  # where it meets the area, site coordinates
    kind: Literal["door", "stair", "ladder", "hatch", "passage", "other"] = "other"
    side: Literal["same floor", "above", "below", "behind a wall"] = "same floor"
    locked: bool = False  # held shut for the whole shift, key with the crew: needs no sentry
