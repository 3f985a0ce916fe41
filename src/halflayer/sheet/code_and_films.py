"""What the list before the first exposure asks of the code's figures and of who reads the films."""

from __future__ import annotations

import math
from dataclasses import dataclass

from halflayer.exposure.budget import reshoots_allowed, sheets_for
from halflayer.order.models import Order
from halflayer.plan import Plan, WeldPlan, in_shift
from halflayer.sheet import change_turns
from halflayer.sheet.clause import checked_by
from halflayer.sheet.dark_room import NONE
from halflayer.sheet.inspection import short_by_diagonal
from halflayer.sheet.naming import count, weld_list
from halflayer.sheet.reading import not_settled
from halflayer.sheet.shift_clock import clock, minutes_up
from halflayer.sheet.two_films_words import pair_of
from halflayer.shift.begun_by import takes_s
from halflayer.shift.result import LaterFilms
from halflayer.technique import opening_check

FEW = 4  # sentences that need no numbers: our choice
CODE_FIGURES = "code compared"
ACCEPTANCE = "acceptance"


def code_figures(plan: Plan, order: Order) -> list[tuple[str, str]]:
    """What the weld sheets take from a code and nobody has compared with its text; nothing where nothing is shot."""
    if not any(w.status == "ready" for w in plan.welds):
        return []
    found = _size(plan, order)
    size = f"; {found}, the rest planned again (order file: source_size: diagonal)" if found else ""
    return [
        (
            CODE_FIGURES,
            f"Figures of the weld sheets compared with your own copy of the code; {checked_by(order)}{size}.",
        )
    ]


def acceptance(plan: Plan, order: Order) -> list[tuple[str, str]]:
    """What the contract has yet to say of how the films are judged: standard, edition, level; nothing where it has."""
    told = dict.fromkeys(
        lacking for w in in_shift(plan) if (lacking := not_settled(order.acceptance_of(order.weld(w.weld))))
    )
    return (
        [(ACCEPTANCE, f"{'; '.join(told)}; signed by {order.signers[0]}: ________ date ______.")]
        if told
        else []
    )


def _size(plan: Plan, order: Order) -> str:
    """Which welds do not start where the code means the diagonal of a source; empty where none hangs on it."""
    every = [w.id for w in order.welds]
    mine = in_shift(plan)
    short = [w.weld for w in mine if short_by_diagonal(order, order.weld(w.weld), w.chosen)]
    if not short:
        return ""
    # What is left is the order of work then: whoever opens the copy at the site need not plan anew.
    rest = weld_list([w.weld for w in mine if w.weld not in short], every)
    then = f"{rest} alone" if rest else f"{weld_list(short, every)} not shot"
    return f"source size d: if the diagonal in your copy, {then}"


def opened_off(welds: list[WeldPlan]) -> list[WeldPlan]:
    """Those whose ellipse opens less or more than about a weld width, for both Level 3 to accept."""
    return [w for w in welds if any(opening_check.is_off(r) for r in (w.chosen.rules if w.chosen else ()))]


def code_pointer(plan: Plan, order: Order) -> list[dict[str, str]]:
    """One line for page 1 that leads to the line about the code in the list."""
    size = f"; {found}" if (found := _size(plan, order)) else ""
    text = f"sheets' figures compared with your copy of the code; {checked_by(order)}{size}"
    return [{"welds": "every weld", "short": CODE_FIGURES, "text": text} for _ in code_figures(plan, order)]


@dataclass(frozen=True)
class LaterReading:
    """The films that nobody waits for, and the latest start of each weld of the shift [s from its start]."""

    films: LaterFilms
    begun_by_s: dict[str, float]
    of_weld: dict[str, tuple[int, int]]  # its films among them, as planned and with its reshoots
    takes_s: dict[str, float]  # from its start on, with reshoots

    @property
    def again(self) -> list[str]:
        """The welds that could still be begun again once all of their films are read, the soonest first."""
        return [w for w, _ in self._read_by(self.films.from_s, 0)]

    @property
    def again_late(self) -> list[str]:
        """Those of them that could be where all reshoots are made before."""
        late = dict(self._read_by(self.films.most_from_s, 1))
        return [w for w in self.again if w in late]

    @property
    def together(self) -> bool:
        """Whether all of `again` could be, one after the other, once the films of the last of them are read."""
        read = self._read_by(self.films.from_s, 0)
        at = max((s for _, s in read), default=0.0)
        for weld, _ in read:
            if at > self.begun_by_s[weld]:
                return False
            at += self.takes_s.get(weld, 0.0)
        return True

    def _read_by(self, from_s: float, which: int) -> list[tuple[str, float]]:
        """Each weld whose last film is read before its latest start, and when it is [s]: these are read first.

        They are read in the order of their latest starts; a weld that would be past its own waits until they are read.
        """
        at, found = from_s + self.films.first_s, []
        for weld in sorted(self.begun_by_s, key=lambda w: self.begun_by_s[w]):
            ends = at + self.of_weld.get(weld, (0, 0))[which] * self.films.each_s
            if self.films.each_s and ends <= self.begun_by_s[weld]:
                found.append((weld, ends))
                at = ends
        return found


def later_reading(plan: Plan, order: Order) -> LaterReading | None:
    """The hours of the films that nobody waits for, and until when each weld could then be begun again."""
    later = plan.schedule.later_films if plan.schedule else None
    if plan.schedule is None or later is None:
        return None
    begun_by = change_turns.begun_by_in_s(plan, order)
    takes = {w: takes_s(plan.schedule, w) for w in begun_by}
    return LaterReading(later, begun_by, {w.weld: _late_films(order, w) for w in in_shift(plan)}, takes)


def _late_films(order: Order, w: WeldPlan) -> tuple[int, int]:
    """Films of a weld that nobody waits for: as planned, and with what may be shot again."""
    films = {d.id for d in order.detectors}
    if w.chosen is None or w.budget is None or w.chosen.detector not in films or w.budget.last_wait_s:
        return 0, 0
    each = _films_each(order, w)
    planned = max(w.budget.planned - _exposures_waited_for(w), 0) * each
    return planned, planned + reshoots_allowed(order, w.budget.planned) * each


def _films_each(order: Order, w: WeldPlan) -> int:
    """Films of one exposure of a weld."""
    assert w.chosen is not None
    return sheets_for(order, order.weld(w.weld), w.chosen) * (2 if pair_of(w.exposure) else 1)


def films_read(
    order: Order, used: list[WeldPlan], later: LaterReading | None = None, room: str = NONE
) -> list[tuple[str, str]]:
    """Who reads the films and where, blanks for what the order lacks, and who accepts a set-up gone before they are.

    `later`: the hours of the films that nobody waits for. `room`: what the dark room gets. Nothing without a weld on
    film.
    """
    films = {d.id for d in order.detectors}
    mine = [w for w in used if w.chosen and w.chosen.detector in films]
    if not mine:
        return []
    one = order.films_read
    by = (
        f"By {one.by}, {one.qualification or 'level ________'}"
        if one
        else "By (name, level) ________________"
    )
    where = (one.dark_room if one else None) or "dark room ________"
    early = any(_down_before(w) for w in mine)
    accepts = (one.taken_down_accepted_by if one else None) or "________"
    # Nobody else has seen the films where whoever made them reads them.
    own = one is not None and any(p.name in one.by for p in order.crew if p.role != "sentry")
    signed = [
        *["set-ups down before their films are read"] * early,
        *["films read by who shot them"] * own,
    ]
    told = [f"{by}; {where}", *_when_read(order, mine, later, room)]
    told += [f"A film rejected then, set-ups down: {_anew(order, mine, later)}"] * early
    told += [f"Accepted by {accepts}: {', '.join(signed)}; signature ________, time ______"] * bool(signed)
    verdict = order.hold_points.films
    told += [
        f"Verdict, second reading, no time planned: {(verdict and verdict.when) or 'when, where ______'}"
    ]
    told += [words for words in [_reshoots(mine)] if words and early]
    # A line each: whoever reads films at five in the morning looks one thing up.
    if len(told) < FEW:
        return [("films read", " ".join(f"{words}." for words in told))]
    return [("films read", "\n".join(f"{n}) {words}." for n, words in enumerate(told, start=1)))]


def _anew(order: Order, mine: list[WeldPlan], later: LaterReading | None) -> str:
    """What a film rejected after its set-up is down costs, weld by weld."""
    if later is None:
        return "a new set-up"
    every, again = [w.id for w in order.welds], later.again
    past = [w.weld for w in mine if w.weld in later.begun_by_s and w.weld not in again]
    told = (
        [f"{weld_list(past, every)} in another shift, date ______ (“latest, alone” is past)"] if past else []
    )
    if again:
        late = later.again_late
        kept = f" (not {weld_list(late, every)})" if late else ""
        reshot = "" if late == again else f", or once all reshoots were made{kept}"
        one = "" if later.together else "One of "
        told.append(
            f"{one}{weld_list(again, every)} set up anew by “latest, alone” (sheet 1), other films wait; past that"
            f"{reshot}, in another shift too"
        )
    return ". ".join(told) or "a new set-up"


def in_another_shift(plan: Plan, later: LaterReading | None) -> list[str]:
    """The welds whose set-ups are down before their last films are read, and that cannot be begun again then."""
    if later is None:
        return []
    mine = [w for w in in_shift(plan) if _down_before(w)]
    return [w.weld for w in mine if w.weld in later.begun_by_s and w.weld not in later.again]


def _down_before(w: WeldPlan) -> bool:
    """Whether a weld's set-up comes down before its last films are read."""
    b = w.budget
    return b is not None and b.wait_s > 0.0 and b.planned > 1 and not b.last_wait_s


def _reshoots(mine: list[WeldPlan]) -> str:
    """What the time allowed for reshoots serves where set-ups come down before their films are read."""
    spare = sum(math.ceil(w.budget.exposures) - w.budget.planned - w.budget.trial for w in mine if w.budget)
    if not spare:
        return ""
    return f"Reshoots allowed for ({count(spare, 'exposure')}) serve the first shot, read in time, and one broken off"


def _when_read(order: Order, mine: list[WeldPlan], later: LaterReading | None, room: str) -> list[str]:
    """Which films have time in the plan and who keeps the head meanwhile; how many have none."""
    waited, others = 0, 0
    for w in mine:
        assert w.chosen is not None
        each = _films_each(order, w)
        timed = min(len(w.chosen.shots), _exposures_waited_for(w)) * each
        waited, others = waited + timed, others + len(w.chosen.shots) * each - timed
    parts = []
    if waited:
        last = any(w.budget and w.budget.last_wait_s for w in mine)
        which = "first shot and last films" if last else "first shot"
        parts.append(f"Timed: {which} of each weld ({count(waited, 'film')}): {_at_the_head(order)}")
    if later is not None:
        first = ", ".join(later.again) if len(later.begun_by_s) > 1 else ""
        parts += _hours(order, later.films, first, room)
    elif others:
        reader = "" if order.films_read is None else f" by {order.films_read.by}"
        parts.append(
            f"{'The other ' if waited else 'All '}{count(others, 'film')}: read{reader} after the last exposure, in no "
            "time here"
        )
    return parts


def _hours(order: Order, later: LaterFilms, first: str, room: str = NONE) -> list[str]:
    """From when to when the films are read that nobody waits for, which first, and what stays until then."""
    sooner = f"first {first}" if first else ""
    each = f"{minutes_up(later.first_s)} min, then " if later.first_s else ""
    times = order.crew_times
    close = f" ({minutes_up(times.closing_s)} min)" if times.closing_s else ""
    back = f"{minutes_up(times.hand_back_s)} min" if times.hand_back_s else "no time planned"
    alone = order.films_read is not None and all(p.name in order.films_read.by for p in order.crew)
    who = (
        "Before that area surveyed, last rope down"
        if alone
        else "Beside it the others survey the area, take the last rope down"
    )
    return [
        f"The other {count(later.count, 'film')}: {clock(order, later.from_s)} to {clock(order, later.to_s)}; with "
        f"reshoots {later.most}, {clock(order, later.most_from_s)} to {clock(order, later.most_to_s)} ({each}"
        f"{minutes_up(later.each_s)} min a film){f'; {sooner}' if sooner else ''}",
        f"{who}{close}; kit and crew stay; the area is handed back after the last film ({back})",
        f"Films lie in the dark room, {room}",
    ]


def _exposures_waited_for(w: WeldPlan) -> int:
    """Exposures whose films the crew waits for: the first, and all where the set-up stays until the last are read."""
    b = w.budget
    if b is None or not b.wait_s:
        return 0
    return b.planned if b.last_wait_s else 1


def _at_the_head(order: Order) -> str:
    """Who stays at the locked head while the reader of the films is in the dark room: no sentry where another is."""
    reader = order.films_read.by if order.films_read else ""
    stays = [p for p in order.crew if p.name not in reader and reader]
    one = next((p for p in stays if p.role != "sentry"), None)
    who = one.name if one else "name ________,"
    return f"source locked home, {who} stays at the head and has its key"
