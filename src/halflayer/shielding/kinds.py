"""Which kind of stop and of wrap: each is sized, and of those that hold the one that costs least is taken."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from functools import lru_cache

from halflayer.base.result import Finding
from halflayer.exposure.result import Exposure
from halflayer.order.equipment import Blanket
from halflayer.scene.fitting import Fitting
from halflayer.scene.stop import StopPiece
from halflayer.scene.wrap import Wrap
from halflayer.shielding import kit
from halflayer.shielding.accept import Begun, accept, as_look, begun
from halflayer.shielding.asked import asks_of
from halflayer.shielding.asks import Ask
from halflayer.shielding.floor_size import Memo, size_for_floors
from halflayer.shielding.guess import first_guess
from halflayer.shielding.look import Rate, Setting
from halflayer.shielding.size import Look, Proposal, Sized, propose, settle

# Numbers of batches of the fixed sequences: our choice, measured in docs/validation.md.
LOOK_FIRST = 2  # of a shot, at all places
LOOK_BATCHES = 2  # a step of the sizing, at the places that came out highest
LOOK_ERROR = 0.15  # noise of the worst place that is small enough for a first step
LOOK_NOISE = 0.3  # noise of a step beyond which single events are taken to make the figure
WATCHED = 6  # places looked at after the first step of a shot; the acceptance sees them all
WORTH_TRYING = 0.75  # other kinds are sized where they promise to cost less than this part (our choice)


@dataclass
class _Acceptance:
    """The rates of the last accepted fitting, by shot."""

    rates: dict[Fitting, list[list[Rate]]] = field(default_factory=dict)
    begun: dict[Fitting, Begun] = field(default_factory=dict)


@dataclass(frozen=True)
class Kind:
    """What came of one kind of stop and one kind of wrap."""

    sized: Sized
    rates: list[list[Rate]] | None
    asks: list[Ask]
    unseen: list[Ask]
    findings: tuple[Finding, ...]


@dataclass(frozen=True)
class _Tried:
    """One kind of stop and one kind of wrap as proposed, with all of it that there is and how it is settled."""

    proposed: Proposal
    most: _Most
    settled: Callable[[], Kind]

    @property
    def cost_s(self) -> float:
        """What is proposed costs so much; the acceptance can only make it dearer [s of work]."""
        return self.proposed.cost(self.proposed.fitting)


def least_kind(
    setting: Setting,
    exposure: Exposure,
    within: float,
    seeds: tuple[int, int],
    prove_to: float | None,
    floors: Memo | None,
) -> Kind:
    """The kinds of stop and wrap that hold for the least cost; where none holds, the first with most in stock.

    Once one kind is proposed, another is sized only where as much mass of it in the way would clearly cost less, and
    what is proposed at more than an accepted kind costs is not accepted itself.
    """
    best: Kind | None = None
    refused: list[_Most] = []
    left = list(kit.kinds_to_compare(setting.order, setting.candidate))
    while left:
        tried: list[_Tried] = []
        for pair in list(left):
            held = best.sized.fitting if best is not None and best.sized.held else None
            if held is None and (do := [t for t in tried if t.proposed.short is None]):
                held = min(do, key=lambda t: t.cost_s).proposed.fitting
            if held is not None and not _saves(setting, held, *pair):
                continue
            left.remove(pair)
            most = _most(setting, *pair)
            if not any(most.is_no_more_than(r) for r in refused):
                known = tried[0].proposed.shot if tried else None
                tried.append(_tried(setting, exposure, most, *pair, within, seeds, prove_to, floors, known))
                if tried[-1].proposed.short is not None:
                    refused.append(most)
        if not tried:
            break
        short_last = sorted(tried, key=lambda t: math.inf if t.proposed.short else t.cost_s)
        for t in short_last:
            holds = best is not None and best.sized.held
            if best is not None and holds and t.cost_s >= _cost_s(setting, best.sized.fitting):
                continue
            if t.proposed.short is None and any(t.most.is_no_more_than(r) for r in refused):
                continue
            kind = t.settled()
            if best is None or _better(setting, kind, best):
                best = kind
            if not kind.sized.held:
                refused.append(t.most)
    assert best is not None
    return best


@dataclass(frozen=True)
class _Most:
    """All that the stock of one kind of stop and one kind of wrap can put in the way: matter, mass per area [kg/m2]."""

    stop: str
    stop_kg_m2: float
    wrap: str
    wrap_kg_m2: float

    def is_no_more_than(self, other: _Most) -> bool:
        """True where it is the same matter and no more of it: what does not do with the other does not with this."""
        same_stop = self.stop_kg_m2 == 0.0 or self.stop == other.stop
        same_wrap = self.wrap_kg_m2 == 0.0 or self.wrap == other.wrap
        less = self.stop_kg_m2 <= other.stop_kg_m2 and self.wrap_kg_m2 <= other.wrap_kg_m2
        return same_stop and same_wrap and less


def _most(setting: Setting, plate: StopPiece | None, blanket: Blanket | None) -> _Most:
    shot = setting.candidate.shots[0]

    def wrap(layers: int) -> Wrap:
        return setting.build(Fitting(0, None, layers, blanket.id if blanket else None), shot).wrap

    return _Most(
        plate.matter.name if plate else "",
        plate.count * plate.thickness_m * plate.matter.density_kg_m3 if plate else 0.0,
        blanket.material if blanket else "",
        kit.layers_in_stock(blanket, wrap) * blanket.areal_density_kg_m2 if blanket else 0.0,
    )


def _cost_s(setting: Setting, fitting: Fitting) -> float:
    """What a fitting costs [s of work], see `kit.cost_s`."""
    return kit.cost_s(setting.order, fitting, setting.build(fitting, setting.candidate.shots[0]).wrap)


def _better(setting: Setting, kind: Kind, best: Kind) -> bool:
    """Whether a kind that was sized is to be taken: it holds where the other does not, or for less."""
    if kind.sized.held != best.sized.held:
        return kind.sized.held
    return kind.sized.held and _cost_s(setting, kind.sized.fitting) < _cost_s(setting, best.sized.fitting)


def _saves(setting: Setting, held: Fitting, plate: StopPiece | None, blanket: Blanket | None) -> bool:
    """Whether other kinds of stop and wrap promise to cost clearly less than a fitting that holds.

    Both are taken in such numbers that as much mass per area stands in the way, within what stock allows.
    """
    order = setting.order
    stop, wrap = kit.plate_kind(order, held), kit.blanket_kind(order, held)
    plates = layers = 0
    if held.plates and stop:
        if plate is None:
            return False
        wanted = held.plates * stop.thickness_m * stop.matter.density_kg_m3
        plates = math.ceil(wanted / (plate.thickness_m * plate.matter.density_kg_m3) - 1e-9)
    if held.layers and wrap:
        if blanket is None:
            return False
        layers = math.ceil(held.layers * wrap.areal_density_kg_m2 / blanket.areal_density_kg_m2 - 1e-9)
    like = Fitting(plates, plate.id if plate else None, layers, blanket.id if blanket else None)
    if (plate and plates > plate.count) or like == held or not (plates or layers):
        return False
    as_wrapped = setting.build(like, setting.candidate.shots[0]).wrap
    if blanket and kit.pieces(order, like, as_wrapped) > blanket.count:
        return False
    return kit.cost_s(order, like, as_wrapped) < WORTH_TRYING * _cost_s(setting, held)


def _tried(
    setting: Setting,
    exposure: Exposure,
    most: _Most,
    plate: StopPiece | None,
    blanket: Blanket | None,
    within: float,
    seeds: tuple[int, int],
    prove_to: float | None,
    floors: Memo | None,
    worst: int | None,
) -> _Tried:
    """Fewest pieces of one kind of stop and one kind of wrap, and how they are settled with what the floors want.

    `worst`: the shot that decided with another kind; which it is goes by where the source stands.
    """
    order, candidate = setting.order, setting.candidate

    def fit(plates: int, layers: int) -> Fitting:
        return Fitting(
            plate.whole(plates) if plate else 0,
            plate.id if plate else None,
            layers if blanket else 0,
            blanket.id if blanket else None,
        )

    @lru_cache(maxsize=64)
    def wrap(layers: int) -> Wrap:
        return setting.build(fit(0, layers), candidate.shots[0]).wrap

    asks, unseen = asks_of(setting, exposure, fit(1, 1), within)
    memory = _Acceptance()

    watched: dict[int, list[Ask]] = {}

    glanced: dict[tuple[Fitting, int], Look] = {}

    def glance(fitting: Fitting, shot: int) -> Look:
        """All places, by a run so short that it tells which are the highest and little of how high."""
        if (fitting, shot) not in glanced:
            k = setting.budget(fitting)[1]
            rates = setting.rates(fitting, candidate.shots[shot], asks, seed=seeds[0], batches=LOOK_FIRST)
            watched[shot] = _highest(rates, k)
            glanced[(fitting, shot)] = as_look([_without_chance(r) for r in rates], k)
        return glanced[(fitting, shot)]

    def look(fitting: Fitting, shot: int) -> Look:
        """All places at first, then those alone that came out highest: a run for few places knows them far better."""
        k = setting.budget(fitting)[1]
        if shot not in watched or (fitting, shot) in glanced:
            first = glance(fitting, shot)
            if first.sigma_rel <= LOOK_ERROR:
                return first
        rates = setting.rates(
            fitting,
            candidate.shots[shot],
            watched[shot],
            seed=seeds[0],
            batches=2 * LOOK_BATCHES,
            first=LOOK_BATCHES,
            enough=lambda found: as_look(found, k).sigma_rel <= LOOK_NOISE,
        )
        return as_look([_without_chance(r) for r in rates], k)

    def refused(fitting: Fitting) -> Look | None:
        if fitting not in memory.begun:
            memory.begun[fitting] = begun(setting, fitting, asks, seed=seeds[1])
        return memory.begun[fitting][1]

    def accepted(fitting: Fitting) -> Look:
        refused(fitting)
        memory.rates[fitting], stands = accept(
            setting, fitting, asks, seed=seeds[1], prove_to=prove_to, known=memory.begun[fitting]
        )
        return stands

    plates_max = plate.count if plate else 0
    layers_max = kit.layers_in_stock(blanket, wrap) if blanket else 0
    told: list[Finding] = []

    def widened(fitting: Fitting) -> Fitting:
        if floors is None:
            return fitting
        wanted = size_for_floors(
            setting,
            exposure,
            fitting,
            fit(plates_max, layers_max),
            seeds=seeds,
            cost=lambda f: _cost_s(setting, f),
            memo=floors,
        )
        told.extend(wanted.findings)
        return fit(wanted.fitting.plates, wanted.fitting.layers)

    proposed = propose(
        plate=plate.id if plate else None,
        plates_max=plates_max,
        blanket=blanket.id if blanket else None,
        layers_max=layers_max,
        shots=len(candidate.shots),
        guess=first_guess(setting, plate, blanket, within),
        look=look,
        glance=glance,
        worst=worst,
        whole=plate.whole if plate else lambda layers: layers,
        cost=lambda f: kit.cost_s(order, f, wrap(f.layers)),
    )

    def settled() -> Kind:
        sized = settle(proposed, accepted, widened=widened, refused=refused)
        return Kind(sized, memory.rates.get(sized.fitting), asks, unseen, tuple(told))

    return _Tried(proposed, most, settled)


def _without_chance(r: Rate) -> Rate:
    """A rate for a step of the sizing, where one rare photon may have brought most of it: that part is left out.

    A share f of the sum in one event makes a relative sigma of about f. The sizing only proposes; what it leaves out
    here the acceptance finds, by other photons and with the whole of its noise.
    """
    if r.noise <= LOOK_NOISE:
        return r
    return replace(
        r, rate_Sv_s=r.rate_Sv_s * max(1.0 - r.noise, 0.0), sigma_rel=LOOK_NOISE, spread_rel=LOOK_NOISE
    )


def _highest(rates: Sequence[Rate], k: float) -> list[Ask]:
    """The places that may turn out to be the worst, a few."""
    by_ratio = sorted(rates, key=lambda r: -r.ratio(k))[:WATCHED]
    return [r.ask for r in by_ratio if r.ratio(k) >= by_ratio[0].ratio(k) / WATCHED]
