"""What the floors above and below a weld want beside the shield of its places: the search for it within the stock."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from halflayer.base.result import Finding
from halflayer.base.units import show
from halflayer.exposure.result import Exposure
from halflayer.scene.fitting import Fitting
from halflayer.shielding import kit
from halflayer.shielding.asks import Ask
from halflayer.shielding.crew import mounting_s
from halflayer.shielding.dose_findings import FAR
from halflayer.shielding.floors import FIRST, LESSONS, Searched, searched
from halflayer.shielding.look import Rate, Setting
from halflayer.shielding.resets import reset_of
from halflayer.shielding.safety_result import FloorDose
from halflayer.shielding.size import least

GUESS = 2  # steps more to begin with (our choice)
AGAIN = 3  # steps more after the acceptance refused what the search found (our choice)
LOOK_BATCHES = (
    6  # at most of a step of the search, at the few points that stand over their limits (our choice)
)
SURE_BATCHES = 24  # at most, of a floor whose search leaves it open (our choice)
POINTS = 4  # of them, the highest (our choice)

# A floor that the order says may be emptied is closed where laying for it takes longer than this, else shielded (our
# choice; common practice, no source).
WORTH_S = 1800.0
LAID = "shielded: a floor is closed only where its shield takes over 30 min more"
CLOSED = (
    "floor closed in place of more shield: 30 min and more saved, on a floor the order says may be emptied"
)

Memo = dict[
    Fitting, tuple[FloorDose, ...]
]  # what was searched already, for who wants it of the fitting chosen


@dataclass(frozen=True)
class ForFloors:
    """The fitting that holds the floors too, or that of the places where no stock holds them."""

    fitting: Fitting
    findings: tuple[Finding, ...]


def size_for_floors(
    setting: Setting,
    exposure: Exposure,
    held: Fitting,
    stock: Fitting,
    *,
    seeds: tuple[int, int],
    cost: Callable[[Fitting], float],
    memo: Memo,
) -> ForFloors:
    """Fewest plates or layers more than `held`, up to `stock`, with which the floors hold their limits.

    The kind of piece that lowers the worst floor most for its cost is added first, the other kind where all of it does
    not do. Searched with random numbers of `seeds[0]`, accepted with those of `seeds[1]`; places are accepted by the
    sizing that asks. `memo` keeps the floors of every fitting searched with these.
    """
    # Copies of the hints, as in every search of floors: what other runs learn does not hang on them.
    here = replace(setting, hints=dict(setting.hints))

    def of(fitting: Fitting) -> Searched:
        found = searched(here, exposure, fitting, here.budget(fitting)[1], seed=seeds[1])
        memo[fitting] = found.doses
        return found

    first = of(held)
    before = _worst(first.doses)
    if before is None:
        return ForFloors(held, ())
    ratio = _ratio(here, first, seeds[0])
    for fitting in _candidates(held, stock, ratio, cost):
        found = of(fitting)
        if not any(map(_near, found.doses)) or _surely_held(here, found, fitting, seeds[1]):
            more_s = _laying_s(here, fitting) - _laying_s(here, held)
            after = next((f for f in memo[fitting] if f.floor == before.floor), None)
            told = _both_ways(held, fitting, before, after, more_s)
            # Engineering before people (Ionising Radiations Regulations 2017, regulation 9), as far as practicable.
            if more_s > WORTH_S and all(f.emptied_by and f.stated for f in first.doses if f.ok is False):
                text = f"{told}; the floor is closed: laying takes over {show(WORTH_S, 'time')} more"
                return ForFloors(held, (Finding("note", text, CLOSED),))
            return ForFloors(
                fitting,
                (
                    _added(held, fitting, before),
                    *([Finding("note", told, LAID)] if before.emptied_by else []),
                ),
            )
    return ForFloors(held, (_not_held(stock, before),))


def _laying_s(setting: Setting, fitting: Fitting) -> float:
    """Time to mount a fitting and for the resets between its exposures [s]: what more of it costs the shift."""
    order, shots = setting.order, setting.candidate.shots
    items = kit.items(order, setting.weld, setting.candidate, fitting, setting.build(fitting, shots[0]).wrap)
    return mounting_s(order, items) + (len(shots) - 1) * reset_of(order, items).seconds


def _both_ways(
    held: Fitting, fitting: Fitting, before: FloorDose, after: FloorDose | None, more_s: float
) -> str:
    """The floor closed or the shield thicker, with what each costs and what the floor gets by it."""
    limit = show(before.limit_Sv_s or 0.0, "equivalent_rate", round_up=False)
    most = show(before.upper_Sv_s or 0.0, "equivalent_rate", digits=2)
    there = (
        show(after.upper_Sv_s, "equivalent_rate", digits=2) if after and after.upper_Sv_s is not None else "-"
    )
    return (
        f"two ways for {before.floor}, limit {limit}: closed and its ways watched, {_parts(held, fitting)} fewer, "
        f"up to {most} there with nobody on it; or with them up to {there}, "
        f"mounting and resets {show(abs(more_s), 'time', round_up=True)} "
        f"{'longer' if more_s >= 0 else 'shorter'}; the crew's dose by the way not taken is not computed"
    )


def _worst(floors: Sequence[FloorDose]) -> FloorDose | None:
    """The floor that exceeds its limit most; None where none does."""
    return max(
        (f for f in floors if f.ok is False),
        key=lambda f: (f.upper_Sv_s or 0.0) / (f.limit_Sv_s or 1.0),
        default=None,
    )


def _near(f: FloorDose) -> bool:
    """Whether a floor is over its limit, or so near to it that a figure which is not reliable does not prove it."""
    return f.ok is False or (
        f.ok is None and f.limit_Sv_s is not None and FAR * (f.upper_Sv_s or 0.0) > f.limit_Sv_s
    )


def _ratio(setting: Setting, first: Searched, seed: int) -> Callable[[Fitting], float]:
    """Upper bound over limit at the highest points of the floors by the exposure that brings most there."""
    k = setting.budget(Fitting())[1]
    worst = [max(rates, key=lambda r: r.ratio(k)).ratio(k) for rates in first.by_shot]
    shot = setting.candidate.shots[worst.index(max(worst))]
    highest = sorted(first.by_shot[worst.index(max(worst))], key=lambda r: -r.ratio(k))[:POINTS]
    asks: list[Ask] = [r.ask for r in highest]
    seen: dict[Fitting, float] = {}

    def ratio(fitting: Fitting) -> float:
        if fitting not in seen:
            k = setting.budget(fitting)[1]

            def enough(found: list[Rate]) -> bool:
                return max(found, key=lambda r: r.ratio(k)).reliable

            rates = setting.rates(
                fitting,
                shot,
                asks,
                seed=seed,
                batches=LOOK_BATCHES,
                first=FIRST,
                enough=enough,
                lessons=LESSONS,
            )
            seen[fitting] = max(r.ratio(k) for r in rates)
        return seen[fitting]

    return ratio


def _surely_held(setting: Setting, found: Searched, fitting: Fitting, seed: int) -> bool:
    """Whether floors of which a search is not sure hold once their highest points are run on, exposure by exposure.

    More layers do not make a figure more reliable: without this a floor at two thirds of its limit took four more.
    """
    if any(f.ok is False for f in found.doses):
        return False
    k = setting.budget(fitting)[1]
    for shot, rates in zip(setting.candidate.shots, found.by_shot, strict=True):
        highest = sorted(rates, key=lambda r: -r.ratio(k))[:POINTS]
        if all(r.reliable for r in highest):
            continue
        again = setting.rates(
            fitting,
            shot,
            [r.ask for r in highest],
            seed=seed,
            batches=SURE_BATCHES,
            first=LOOK_BATCHES,
            enough=lambda now: all(r.reliable for r in now),
            lessons=LESSONS,
        )
        if not all(r.reliable and r.ratio(k) <= 1.0 for r in again):
            return False
    return True


def _candidates(
    held: Fitting, stock: Fitting, ratio: Callable[[Fitting], float], cost: Callable[[Fitting], float]
) -> list[Fitting]:
    """The fitting that the search proposes, and larger ones in case it is refused; none where no stock does."""
    kinds = [name for name in ("layers", "plates") if getattr(stock, name) > getattr(held, name)]

    def more(base: Fitting, kind: str, n: int) -> Fitting:
        names = {"layers": ("blanket", stock.blanket), "plates": ("plate", stock.plate)}[kind]
        return replace(base, **{kind: getattr(base, kind) + n, names[0]: names[1]})

    def gain(kind: str) -> float:
        step = more(held, kind, min(GUESS, getattr(stock, kind) - getattr(held, kind)))
        return math.log(ratio(held) / max(ratio(step), 1e-12)) / max(cost(step) - cost(held), 1.0)

    if len(kinds) > 1:
        kinds.sort(key=gain, reverse=True)
    base = held
    for kind in kinds:
        room = getattr(stock, kind) - getattr(base, kind)
        n = least(room, min(GUESS, room), lambda n, kind=kind, base=base: ratio(more(base, kind, n)))  # type: ignore[misc]
        if n is not None:
            return [more(base, kind, m) for m in range(max(n, 1), min(n + AGAIN, room) + 1)]
        base = more(base, kind, room)
    return []


def _parts(held: Fitting, fitting: Fitting) -> str:
    """What a fitting has more than another, in words."""
    parts = [
        f"{n} {what}{'s' * (n != 1)}"
        for n, what in ((fitting.plates - held.plates, "plate"), (fitting.layers - held.layers, "layer"))
        if n
    ]
    return " and ".join(parts)


def _added(held: Fitting, fitting: Fitting, before: FloorDose) -> Finding:
    return Finding(
        "note",
        f"{_parts(held, fitting)} more than first sized for the places, for {_told(before)} without",
    )


def _not_held(stock: Fitting, before: FloorDose) -> Finding:
    return Finding(
        "warn",
        f"no shield of the kit holds the limit on {_told(before)}; tried up to {stock.plates} plates and "
        f"{stock.layers} layers",
        source="shield search",
        relax=(emptied_words(before), "more or heavier plates or blankets", "a weaker source"),
    )


def emptied_words(f: FloorDose) -> str:
    """What lifts a floor's limit by people: it is in the order already, or somebody has to agree to it first."""
    if f.emptied_by or not f.stated:
        return "the floor kept empty and guarded"
    return "the floor kept empty and guarded, once who answers for it agrees (may_be_emptied in the order)"


def _told(f: FloorDose) -> str:
    assert f.upper_Sv_s is not None and f.limit_Sv_s is not None
    return (
        f"{f.floor}: up to {show(f.upper_Sv_s, 'equivalent_rate', digits=2)} of "
        f"{show(f.limit_Sv_s, 'equivalent_rate', round_up=False)}"
    )
