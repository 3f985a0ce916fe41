"""Kit that no dose rests on: what opens a head, gets a source back, warns, talks, holds plates, straps and tubes."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from halflayer.order.equipment import FLAT_FILM, ON_A_STAND, STRAPPED, Film
from halflayer.order.gear import Gear
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.plan import Plan, in_shift
from halflayer.sheet.figures import Show
from halflayer.sheet.further_people import persons
from halflayer.sheet.held_words import far_end_m, spread_by
from halflayer.sheet.kit_beside import other, ready
from halflayer.sheet.load_plan import Load
from halflayer.sheet.naming import weld_list
from halflayer.sheet.shroud_parts import parts_at_axis
from halflayer.sheet.tube_course import bare_course
from halflayer.sheet.watchers import watching
from halflayer.shielding.control_spot import along_floor_m
from halflayer.shielding.stuck_steps import RECOVERY_ONLY
from halflayer.shielding.travelling import travels


@dataclass(frozen=True)
class Need:
    """What must be there: its kind in the order's gear, words, pieces, and the welds or the use that ask for it."""

    kind: str
    what: str
    note: str
    pieces: int
    most: str
    head: str = ""  # that a remote control opens
    reach_m: float = 0.0  # that it must work over
    a_set: bool = False  # pieces are not counted

    def takes(self, gear: Gear) -> bool:
        """True for gear of the kind that fits."""
        return gear.kind == self.kind and (not self.head or self.head in gear.heads)


def crew_away_m(order: Order, weld: Weld) -> float:
    """How far from the weld its control position is: a place of the crew, or the wanted barrier distance, the order's
    where the weld's own is nearer (`crew_line`).
    """
    own = [p.at for p in order.places if p.kind == "crew"]
    centre = (*weld.at, weld.floor_level_m + weld.height_m)
    if own:
        return max(math.dist(at, centre) for at in own)
    return max(weld.barrier_within_m or 0.0, order.limits.barrier_within_m)


PUT_IN = ("bore", "outside")  # spider, or film and strut: through an open end

# Where the signal of the exposure must be seen, common practice, no source.
SIGNALS = "1 at the rope, 1 at each way in with a sentry, 1 at each post for what the others do not see"


def signals(order: Order, plan: Plan) -> int:
    """Beacons of one weld, the most of the shift: one at the rope, one a way in with a sentry, one a hidden side.

    Who watches a way to a floor is a sentry at a way in.
    """
    found = [1]
    for w in in_shift(plan):
        if access := w.safety.access if w.safety else None:
            at_ways = sum(r.sentry for r in access.routes) + watching(order, w)
            found.append(1 + at_ways + len(access.more_towards_rad))
    return max(found)


def needs(order: Order, plan: Plan, show: Show) -> list[Need]:
    """What the ready welds ask for, in the sequence of the list."""
    mine = ready(plan)
    if not mine:
        return []
    found: list[Need] = []

    def named(welds: list[str]) -> str:
        return weld_list(welds, [w.id for w in order.welds])

    for head in dict.fromkeys(w.chosen.head for w in mine if w.chosen and not travels(order, w.chosen)):
        welds = [w.weld for w in mine if w.chosen and w.chosen.head == head]
        # As its cable is laid: down to the floor and along it.
        reach = max(along_floor_m(order.weld(w), crew_away_m(order, order.weld(w))) for w in welds)
        by_far: dict[float, list[str]] = {}
        for w in welds:
            by_far.setdefault(crew_away_m(order, order.weld(w)), []).append(w)
        # Each weld's own, so that none reads as farther out than its sheet's control position.
        froms = [
            show.up(far, "length") + (f" ({named(by_far[far])})" if len(by_far) > 1 else "")
            for far in sorted(by_far)
        ]
        note = f"opens {head} from {', '.join(froms)}"
        found.append(Need("remote control", "remote control", note, 1, named(welds), head, reach))
    found += [
        Need("tongs", "tongs", RECOVERY_ONLY, 1, "the shift"),
        Need("recovery pot", "recovery pot", RECOVERY_ONLY, 1, "the shift"),
        Need("horn", "horn", "warning before the source goes out", order.shift.teams, "each exposure"),
        Need(
            "beacon",
            "beacon",
            f"while it is out: {SIGNALS}",
            signals(order, plan) * order.shift.teams,
            "each exposure",
        ),
        Need("radio", "radio", "one a person", persons(order, plan), "the shift"),
    ]
    plated = [
        w
        for w in mine
        if w.chosen
        and w.chosen.arrangement in ON_A_STAND
        and w.shielding
        and w.shielding.fitting.plates
        and any(p.id == w.shielding.fitting.plate for p in order.kit.plates)  # folded blankets are tied on
    ]
    if plated:
        most = max(w.shielding.fitting.plates for w in plated if w.shielding)
        note = f"holds {most} plate{'s' * (most > 1)} on the legs' pins"
        found.append(Need("plate holder", "plate holder", note, 1, named([w.weld for w in plated])))
    strapped = [w for w in mine if w.chosen and w.chosen.arrangement in STRAPPED]
    if strapped:
        girth = max(math.pi * order.weld(w.weld).pipe.od for w in strapped)
        note = f"{show.up(girth, 'length')} round the pipe"
        on = named([w.weld for w in strapped])
        both = 2 * min(order.shift.teams, len(strapped))
        found.append(Need("straps", "straps for the head", note, both, on))
    # A strap holds halves that part along the beam; round others it would lie in the beam or under the plates.
    shrouded = [w for w in mine if w.chosen and _parts_along_beam(order, w.chosen.shroud)]
    if shrouded:
        girth = max(_girth_m(order, w.chosen.shroud) for w in shrouded if w.chosen)
        on = named([w.weld for w in shrouded])
        note = f"{show.up(girth, 'length')} round both halves of the shroud"
        found.append(Need("straps", "strap for the shroud", note, min(order.shift.teams, len(shrouded)), on))
    flat = [w for w in mine if w.chosen and w.chosen.arrangement in FLAT_FILM]
    if flat:
        sheets = [
            f.sheet
            for f in order.detectors
            if isinstance(f, Film) and f.id in {w.chosen.detector for w in flat if w.chosen}
        ]
        largest = max(sheets, key=lambda s: s[0] * s[1], default=None)
        size = f", {show.drawn(*largest)}, no larger" if largest else ""
        note = f"stiff{size}, behind the holder: a film under ties goes round the pipe"
        found.append(Need("film board", "film board", note, 1, named([w.weld for w in flat])))
    inside = [w for w in mine if w.chosen and w.chosen.arrangement == "outside"]
    if inside:
        bores = sorted({order.weld(w.weld).pipe.bore for w in inside})
        note = f"with a pad, holds the film inside, across {' or '.join(show.drawn(b) for b in bores)}"
        found.append(Need("strut", "strut", note, 1, named([w.weld for w in inside])))
    own = ("outside",) * bool(
        spread_by(order)
    )  # a strut that is told how it is spread comes with what does it
    by_rod = [a for a in PUT_IN if a not in own]
    far = {w.weld: far_end_m(order.weld(w.weld)) for w in mine if w.chosen and w.chosen.arrangement in by_rod}
    put = {weld: m for weld, m in far.items() if m is not None}
    if put:
        note = f"{show.up(max(put.values()), 'length')} or longer, into the bore"
        found.append(Need("rod", "rod", note, 1, named([*put])))
    wrapped = [w for w in mine if w.shielding and w.shielding.fitting.layers]
    tied = [w for w in mine if w.chosen and w.chosen.arrangement != "outside"]
    if tied or wrapped:
        # A film inside is pressed to the wall; every other one is tied on.
        what = " and ".join([*["films"] * bool(tied), *["blankets"] * bool(wrapped)])
        on = named([w.weld for w in mine if w in tied or w in wrapped])
        note = "on each film, on each layer" if tied and wrapped else f"on each {'film' if tied else 'layer'}"
        found.append(Need("ties", f"ties for {what}", note, 1, on, a_set=True))
    borne: list[tuple[list[str], str, int]] = []
    for head in dict.fromkeys(w.chosen.head for w in mine if w.chosen and w.chosen.arrangement == "bore"):
        if any(g.kind == "source tube" and head in g.heads for g in order.kit.gear):
            welds = [w.weld for w in mine if w.chosen and w.chosen.head == head]
            note = f"from the container to {head}, no shield counted"
            found.append(Need("source tube", "tube of the source", note, 1, named(welds), head))
            stands = max((len(bare_course(order.weld(w))) for w in welds), default=0)
            if stands:
                borne.append((welds, "the tube of the source on its way", stands))
    for tube in order.kit.guides:
        welds = [w.weld for w in mine if any(d.name == "guide" and d.value == tube.id for d in _settings(w))]
        if welds:
            size = f"{tube.id}, {show.up(tube.length_m, 'length')}, {show.value(tube.mass_kg, 'mass')}"
            borne.append((welds, size, 0))
    if borne:  # of a guide tube every support of the kit, of a bare source's tube so many as it has places
        note = f"carries {' or '.join(what for _, what, _ in borne)}"
        welds = [w for each, _, _ in borne for w in each]
        pieces = max(n for _, _, n in borne)
        a_set = not all(n for _, _, n in borne)
        found.append(
            Need("tube support", "supports of the tube", note, pieces or 1, named(welds), a_set=a_set)
        )
    return found


def _settings(w: Any) -> Any:
    return w.chosen.settings if w.chosen else ()


def _parts_along_beam(order: Order, shroud: str | None) -> bool:
    found = next((s for s in order.kit.shrouds if s.id == shroud), None)
    return found is not None and not parts_at_axis(found)


def _girth_m(order: Order, shroud: str | None) -> float:
    """Round a shroud's four walls outside; 0 for an id that the kit lacks."""
    found = next((s for s in order.kit.shrouds if s.id == shroud), None)
    return 2 * (sum(found.inner) + 4 * found.wall_m) if found else 0.0


def gear_rows(order: Order, plan: Plan, show: Show) -> list[dict[str, Any]]:
    """Rows of the kit list: what the order's kit has for each need, else that it is to be brought."""
    rows: list[dict[str, Any]] = []
    for need in needs(order, plan, show):
        pieces: int | str = "1 set" if need.a_set else need.pieces
        row = other("–", need.what, need.note, pieces, need.most)
        mine = [g for g in order.kit.gear if need.takes(g)]
        if not mine:
            row["note"] += "; not in the order: bring"
            rows.append(row)
            continue
        have = sum(g.count for g in mine)
        row["id"], row["stock"] = ", ".join(g.id for g in mine), str(have)
        row["short"] = have < need.pieces or not _reaches(need, mine)
        lengths = [show.value(g.length_m, "length") for g in mine if g.length_m is not None]
        said = [f"{' or '.join(lengths)} long" if lengths else "", *(g.note or "" for g in mine)]
        row["note"] = "; ".join(x for x in (need.note, *said) if x)
        # Of one kind for several uses each piece is there once.
        if order.shift.teams == 1 and any(r["id"] == row["id"] for r in rows):
            row["note"] += "; the same as above, at other welds"
            row["mass"] = "as above"
        elif all(g.mass_kg is not None for g in mine):
            row["mass"] = show.up(math.fsum(m * n for m, n in _carried(need, mine)), "mass", digits=3)
        rows.append(row)
    return rows


def _reaches(need: Need, mine: list[Gear]) -> bool:
    return not need.reach_m or any(g.length_m is None or g.length_m >= need.reach_m for g in mine)


def _carried(need: Need, mine: list[Gear]) -> list[tuple[float, int]]:
    """Mass of a piece and pieces of each gear that is taken: as many as needed, of a set all."""
    left = sum(g.count for g in mine) if need.a_set else need.pieces
    taken = []
    for g in mine:
        n = min(g.count, left)
        left -= n
        taken.append((g.mass_kg or 0.0, n))
    return taken


def gear_loads(order: Order, plan: Plan) -> list[Load]:
    """The same as pieces to be carried, as far as the order states what they weigh; no piece of the kit twice.

    What one team uses for several things it uses one after the other.
    """
    loads: dict[str, Load] = {}
    for need in needs(order, plan, Show()):
        mine = [g for g in order.kit.gear if need.takes(g) and g.mass_kg is not None]
        for g, (mass_kg, n) in zip(mine, _carried(need, mine), strict=True):
            if not n:
                continue
            before = loads.get(g.id)
            if before is not None:
                n = max(n, before.pieces) if order.shift.teams == 1 else min(n + before.pieces, g.count)
            loads[g.id] = Load(g.id, before.what if before else need.what, n, mass_kg)
    return list(loads.values())


def gear_short(order: Order, plan: Plan, show: Show) -> list[str]:
    """What of it the kit holds too little of, or too short, in words."""
    words = []
    for need in needs(order, plan, show):
        mine = [g for g in order.kit.gear if need.takes(g)]
        have = sum(g.count for g in mine)
        if mine and have < need.pieces:
            words.append(f"KIT SHORT: {need.pieces} of {need.what} are needed, the kit holds {have}")
        if mine and not _reaches(need, mine):
            ids = ", ".join(g.id for g in mine)
            words.append(
                f"KIT SHORT: {ids} is shorter than the {show.up(need.reach_m, 'length')} of floor from which "
                f"{need.head} is opened ({need.most})"
            )
    return words


def opened_with(order: Order, head: str, show: Show) -> str:
    """The remote control of a head, for its line on the weld's sheet; empty where the order has none."""
    g = next((g for g in order.kit.gear if g.kind == "remote control" and head in g.heads), None)
    if g is None:
        return ""
    return f"opened with {g.id}" + (f" ({show.value(g.length_m, 'length')})" if g.length_m else "")
