"""What would make a stopped weld go: rules by agreement, kit, room, barrier or source; by how much; who agrees."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from decimal import Decimal

from halflayer.compare.look import BATCHES, LOOKS_AT_MOST, asks_of, judged, stock_of
from halflayer.compare.result import Look, Relaxation, Way
from halflayer.exposure.time import expose
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.scene.build import build_scene
from halflayer.scene.fitting import Fitting
from halflayer.scene.stop import stop_piece
from halflayer.shielding.look import Setting
from halflayer.shielding.spots import flattest, quick_rates, setting_of
from halflayer.technique.result import Candidate, RuleVerdict, Technique

MOST = 8  # shown, our choice
FEW_RULES = 1  # refused candidates that break more are not near, our choice
MORE_PIECES = 40  # so many more layers are tried at most: beyond that more kit is no answer

NO_DOSE = "dose not computed: no look at it, a limit may be broken with it too"
_MM = r"(\d+(?:\.\d+)?) mm"

# Who must agree to a kind of change, by a word in it, first hit. Common practice, no source.
WHO: tuple[tuple[str, str], ...] = (
    # The first two: ranges and bounds of the code itself, which nobody but them can set aside.
    (
        r"^source for the thickness|^limits of |agreements:|agree |override",
        "the contracting parties, in writing",
    ),
    (r"placements", "who wrote the order"),
    (r"access to the|room|wider gap|insulation", "who runs the plant"),
    (r"source|activity", "who holds the licence for the source"),
    (r"barrier|people|place|limit", "the radiation protection adviser and who runs the site"),
    (r"film|sheet|screens|detector|imaging plate|density", "who runs the radiography"),
    (r".", "who owns the kit"),
)
PAPER_FIRST = ("the contracting parties, in writing", "who wrote the order")


def who_agrees(change: str) -> str:
    """Who must agree to a change, by what it speaks of."""
    return next(who for word, who in WHO if re.search(word, change))


def relaxations(
    order: Order, weld: Weld, technique: Technique, ways: Sequence[Way], seed: int
) -> tuple[Relaxation, ...]:
    """The nearest changes first: whose dose a look knows, fewest changes, on paper before kit and people."""
    found = _by_rules(technique) or _by_verdicts(technique)
    found += [r for w in ways for r in _by_exposure(w)]
    looked = [w for w in ways if w.look is not None and w.look.standing in ("over", "close")]
    for w in sorted(looked, key=lambda w: w.look.ratio_upper if w.look else math.inf)[:1]:
        found += _by_dose(order, weld, w, seed)
    rank = {w: n for n, w in enumerate(PAPER_FIRST)}
    found.sort(key=lambda r: (NO_DOSE in r.basis, len(r.changes), max(rank.get(w, len(rank)) for w in r.who)))
    return tuple(found[:MOST])


def _by_rules(technique: Technique) -> list[Relaxation]:
    """The technique's own changes for refused candidates, each change with who must agree to it."""
    found = []
    for f in technique.findings:
        if f.level != "stop":
            continue
        for line in f.relax:
            way, _, text = line.partition(": ")
            if not text:
                continue
            changes = tuple(text.split("; and "))
            numbers = [m for c in changes for m in re.findall(r"\d[\d.]* ?(?:mm|TBq|deg|%|pieces)", c)]
            found.append(
                Relaxation(
                    way=way,
                    changes=changes,
                    amount=", ".join(dict.fromkeys(numbers)) or "as stated",
                    who=tuple(dict.fromkeys(who_agrees(c) for c in changes)),
                    basis=f"{f.source}; {NO_DOSE}",
                )
            )
    return found


def _by_verdicts(technique: Technique) -> list[Relaxation]:
    """For a weld whose dose stops it: refused candidates that break few rules, and what those rules want."""
    found = []
    for c in technique.candidates:
        if c.verdict != "refused" or len(c.broken) > FEW_RULES:
            continue
        found.append(
            Relaxation(
                way=label(c),
                changes=tuple(f"{r.rule}: {r.required}" for r in c.broken),
                amount="; ".join(by_how_much(r) for r in c.broken),
                who=tuple(dict.fromkeys(who_agrees(f"{r.rule} {r.required}") for r in c.broken)),
                basis="; ".join(dict.fromkeys(r.source for r in c.broken)) + f"; {NO_DOSE}",
            )
        )
    return found


def by_how_much(rule: RuleVerdict) -> str:
    """How far a rule is broken, in the units of its words; what is reached where the words hold no such figures.

    Differences of the printed figures themselves, exact.
    """
    reached = re.search(rf"= {_MM}", rule.reached)
    between = re.search(rf"{_MM} to {_MM}", rule.required)
    at_least = re.search(rf">= {_MM}", rule.required)
    if reached and between:
        now, low, high = (Decimal(t) for t in (reached[1], *between.groups()))
        if now > high:
            return f"{now - high} mm over the {high} mm ({rule.reached})"
        if now < low:
            return f"{low - now} mm under the {low} mm ({rule.reached})"
    if reached and at_least and Decimal(at_least[1]) > Decimal(reached[1]):
        return f"{Decimal(at_least[1]) - Decimal(reached[1])} mm more ({rule.reached})"
    return f"now {rule.reached}"


def _by_exposure(way: Way) -> list[Relaxation]:
    """What would lift a stop of a way's exposure, each change enough by itself."""
    found = []
    for f in way.stops:
        for change in f.relax:
            who = ("who runs the radiography",)
            if "agreed in writing" in change:
                who = ("the contracting parties, in writing",)
            found.append(Relaxation(label(way.candidate), (change,), "as stated", who, f.text))
    return found


def label(candidate: Candidate) -> str:
    """A way in a few words."""
    return f"{candidate.arrangement} with {candidate.source} in {candidate.head}"


def _by_dose(order: Order, weld: Weld, way: Way, seed: int) -> list[Relaxation]:
    """Changes for a way whose dose is over a limit: farther barrier, weaker source, more kit, emptied place."""
    look, name = way.look, label(way.candidate)
    assert look is not None
    over = look.ratio_upper
    basis = f"look at {look.place}: bound {over:.3g} times its limit, 1 sigma {look.sigma_rel:.0%}"
    found = []
    if look.place.startswith("barrier "):
        within = weld.barrier_within_m or order.limits.barrier_within_m
        wanted = math.ceil(within * math.sqrt(over) * 10 - 1e-9) / 10
        found.append(
            Relaxation(
                name,
                (f"a barrier at {wanted:g} m in place of {within:g} m (barrier_within)",),
                f"{wanted - within:.1f} m farther",
                ("the radiation protection adviser and who runs the site",),
                f"{basis}; inverse square from the weld, walls left out",
            )
        )
    else:
        found.append(
            Relaxation(
                name,
                (f"{look.place} emptied and guarded while the source is out, or its limit agreed anew",),
                f"rate up to {over:.2g} times the limit there",
                ("the radiation protection adviser and who runs the site",),
                basis,
            )
        )
    source = next(s for s in order.sources if s.id == way.candidate.source)
    found.append(
        Relaxation(
            name,
            (
                f"source {source.id} at {1 / over:.2g} of its activity: each exposure {over:.2g} times as long",
            ),
            f"{source.activity_Bq / over / 1e12:.2g} TBq on the certificate's date in place of "
            f"{source.activity_Bq / 1e12:.3g} TBq",
            ("who holds the licence for the source",),
            f"{basis}; holds limits that are rates only, a dose per exposure or hour does not change",
        )
    )
    more = _more_kit(order, weld, way, look, seed)
    return [*found, *([more] if more else [])]


def _more_kit(order: Order, weld: Weld, way: Way, look: Look, seed: int) -> Relaxation | None:
    """More layers and plates than the kit holds, looked at until one stands under its limits; None when none does."""
    candidate = way.candidate
    bare = [build_scene(order, weld, candidate, s, Fitting()) for s in candidate.shots[:1]]
    one = Candidate(**(candidate.__dict__ | {"shots": candidate.shots[:1]}))
    exposure = expose(order, weld, one, bare, moment=order.shift.starts, seed=seed, batches=1)
    setting = setting_of(order, weld, candidate, exposure)
    stock, shot = stock_of(setting), flattest(setting)[0]
    if stock.blanket is None and stock.plate is None:
        return None
    plates, layers = max(look.fitting.plates, stock.plates_most), max(look.fitting.layers, stock.layers_most)
    asks = asks_of(setting, exposure, setting.build(Fitting(1, stock.plate, 1, stock.blanket), shot))
    last, more = look, 0
    for n in range(LOOKS_AT_MOST):
        more += max(1, math.ceil(math.log2(max(last.ratio_upper, 1.01))))
        if more > MORE_PIECES:
            return None
        fitting = _larger(setting, stock.plate, plates, stock.blanket, layers, more)
        rates = quick_rates(setting, fitting, shot, asks, seed=seed, batches=BATCHES, keep=True)
        now = judged(fitting, rates, setting.budget(fitting)[1], n + 1)
        if now.standing == "under":
            parts = []
            if fitting.layers > stock.layers_most:
                parts.append(f"{fitting.layers - stock.layers_most} more layers of {stock.blanket}")
            if fitting.plates > stock.plates_most:
                piece = stop_piece(order, stock.plate)
                what = "layers of folded blanket" if piece and piece.folded else "plates"
                parts.append(f"{fitting.plates - stock.plates_most} more {what} {stock.plate}")
            if not parts:  # the kit's own pieces do it: the first look stopped short of them
                piece = stop_piece(order, stock.plate)
                what = "folded layers" if piece and piece.folded else "plates"
                parts.append(f"{fitting.plates} {what} and {fitting.layers} layers, within the kit")
            return Relaxation(
                label(candidate),
                tuple(parts),
                "; ".join(parts),
                ("who owns the kit",),
                f"look with them: bound {now.ratio_upper:.2g} times the limit at {now.place}",
            )
        if now.ratio_upper > 0.9 * last.ratio_upper:
            return None  # more does not help: the dose comes round
        last = now
    return None


def _larger(
    setting: Setting, plate: str | None, plates: int, blanket: str | None, layers: int, more: int
) -> Fitting:
    """The whole stock and so many pieces more, layers where there is a wrap and a plate for each as well."""
    return Fitting(plates + more if plate else 0, plate, layers + more if blanket else 0, blanket)
