"""One question to a placement: this weld with this source, head and film under these rules; and what it answers."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from functools import cached_property

from halflayer.base.result import Derived
from halflayer.order.digital import Detector
from halflayer.order.equipment import Aperture, Head, PlacementName, Source
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.technique.geometry import View
from halflayer.technique.metal import metal_group
from halflayer.technique.result import RuleVerdict, Shot, Verdict
from halflayer.technique.rules import Answer, MinimumDistance, Rules, TechniqueName

LAP_M = 0.010  # of what neighbouring exposures judge: common practice, no source
LAP_MOST_RAD = math.radians(
    10.0
)  # of double images where the order states no lap: common practice, no source
ONLY_BY_DE = "not reached: it holds by the code's b alone"  # of a least distance, and looked for in findings
NOT_WITH_CAP = "does not hold from the cap, by the pipe's surface alone"  # the same


@dataclass(frozen=True)
class Check:
    """A rule's verdict, the changes each of which would lift it alone, and the agreement it rests on."""

    verdict: RuleVerdict
    relax: tuple[str, ...] = ()
    agreement: str | None = None


def check(
    rule: str,
    *,
    required: str,
    reached: str,
    holds: bool | None,
    source: str,
    relax: tuple[str, ...] = (),
    agreement: str | None = None,
) -> Check:
    """A check in words; `holds` None: the rule does not ask anything here."""
    verdict: Verdict = "not asked" if holds is None else "holds" if holds else "breaks"
    return Check(RuleVerdict(rule, required, reached, verdict, source), () if holds else relax, agreement)


def overlap_asked(order: Order, rules: Rules) -> Answer[float]:
    """By how much single images lap: the code's length, or the order's where that is more [m]."""
    code, own = rules.overlap(), order.lap_m
    return code if own is None or own <= code.value else Answer(own, "the order", "stated", "lap")


def size_of_source(order: Order, rules: Rules, source: Source, view: View) -> Answer[float]:
    """Size d of a source [m]: as the code takes it, or its diagonal where the order asks for the strictest reading."""
    code = rules.source_size(diameter_m=source.diameter_m, length_m=source.length_m, view=view)
    diagonal = math.hypot(source.diameter_m, source.length_m)
    if order.source_size != "diagonal" or view == "along" or code.value >= diagonal - 1e-12:
        return code
    return Answer(diagonal, "the order", "stated", "its diagonal")


@dataclass(frozen=True)
class Ask:
    """A weld with one source, head and film under the rules of a code, with the lengths that everyone needs [m]."""

    order: Order
    weld: Weld
    source: Source
    head: Head
    film: Detector
    rules: Rules

    @property
    def od(self) -> float:
        """Outside diameter De."""
        return self.weld.pipe.od

    @property
    def radius(self) -> float:
        """Outside radius R."""
        return self.weld.pipe.od / 2

    @property
    def wall(self) -> float:
        """Wall t."""
        return self.weld.pipe.wall

    def at_least(self, count: int) -> int:
        """Exposures by the code, or as many as the order wants of this weld if that is more."""
        return max(count, self.weld.exposures or 0)

    @property
    def insulation(self) -> float:
        """Insulation left on the pipe at the weld; 0 without."""
        left = self.weld.insulation_at_weld
        return left.thickness_m if left else 0.0

    @property
    def crown(self) -> float:
        """Height over the pipe's surface of what lies on it at the weld: cap or insulation."""
        return max(self.weld.cap.height_m, self.insulation)

    @property
    def gap(self) -> float:
        """Pipe surface to film: the cassette lies on cap or insulation."""
        return self.crown + self.film.cassette_m

    @cached_property
    def metal(self) -> str | None:
        """Group of the pipe's metal."""
        return metal_group(self.order, self.weld.pipe.material)

    def focal(self, view: View | None = None) -> float:
        """Source size by the way the source stands in the beam, or as seen in the given view."""
        seen: View = view or ("along" if self.source.axis == "along the beam" else "across")
        return size_of_source(self.order, self.rules, self.source, seen).value

    def overlap(self) -> Answer[float]:
        """By how much single images lap: the code's length, or the order's where that is more [m]."""
        return overlap_asked(self.order, self.rules)

    def double_lap_rad(self) -> float:
        """By how much what neighbouring double images judge laps, about the axis [rad].

        The order's, else 10 mm round the pipe and no more than 10 degrees of the turn (common practice, no source: on
        a small tube 10 mm would be an eighth of the turn); never less than both clocks may be off.
        """
        own = self.order.lap_m
        lap = min(LAP_M / self.radius, LAP_MOST_RAD) if own is None else own / self.radius
        return max(lap, 2.0 * self.order.clock_tolerance_rad)

    def zone(self) -> Answer[float]:
        """Half width of the zone that is judged."""
        return self.rules.evaluated_half_width(weld_width_m=self.weld.cap.width_m)

    @property
    def upright(self) -> bool:
        """True for a vertical pipe: the source then always stands beside it."""
        return self.weld.runs == "vertical"


@dataclass(frozen=True)
class Proposal:
    """A placement's answer: where everything stands, and its own checks [m, rad]."""

    technique: TechniqueName
    arrangement: PlacementName
    standoff_m: float
    offset_m: float
    lean_rad: float
    source_to_object_m: float
    object_to_detector_m: float
    focal_m: float
    minimum: Answer[MinimumDistance]
    shots: tuple[Shot, ...]
    checks: tuple[Check, ...]
    aperture: Aperture | None = None
    clamp: str | None = None
    clamp_x_m: float | None = None
    legs: str | None = None
    leg_hole: int | None = None
    opening_m: float | None = None
    usable_rad: float | None = None
    lap_rad: float = 0.0  # that what neighbouring exposures judge has in common, about the axis
    shroud: str | None = None
    guide: str | None = None
    settings: tuple[Derived, ...] = ()  # what hands set: clamp, hole, steps of lean ...
    trail: tuple[Derived, ...] = field(default=())  # figures that only this placement knows
