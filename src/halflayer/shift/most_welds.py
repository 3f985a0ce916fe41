"""Which welds a shift takes where not all end in it: the most, with the fewest source changes."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from itertools import combinations, permutations

from halflayer.order.models import Order
from halflayer.shift.count_on import seconds_with_reshoots
from halflayer.shift.loading import by_loading, loaded
from halflayer.shift.result import Job, SourceChange

# Every sequence of the loadings is tried up to SEQUENCES of them, every choice up to CHOICES (our choice: a second at
# most); beyond them the order's own sequence, or all of its loadings, alone.
SEQUENCES, CHOICES = 6, 8

Loaded = tuple[list[Job], tuple[SourceChange, ...]]


def most_welds(order: Order, jobs: Sequence[Job], listed: Loaded, room_s: float) -> list[Job] | None:
    """Jobs of which more end within the teams' time than of `listed`, or as many with fewer source changes.

    None where there is no such choice: the order's sequence then stands. A change takes its clearing and has a source
    bare, so that of as many welds those with the fewest changes come first; then those that keep most of `listed`, and
    those that take least time. Of one choice of loadings the shortest welds are the most: exact but for trial shots
    that welds share, and for the limits above.
    """
    first = {j.weld for j in listed[0]}
    best, top = None, (len(listed[0]), -len(listed[1]), len(first), 0.0)
    for chosen in _choices(order, jobs):
        kept, changes = _with_most(order, chosen, first, room_s)
        same = sum(j.weld in first for j in kept)
        found = (len(kept), -len(changes), same, -sum(seconds_with_reshoots(kept, changes)))
        if found[:2] > top[:2] or (best is not None and found > top):
            best, top = kept, found
    return best


def _choices(order: Order, jobs: Sequence[Job]) -> Iterator[list[Job]]:
    """Jobs of some loadings, those of one together, the loadings in the sequence that takes the fewest changes.

    Of such sequences the one nearest to the order's; none for loadings that cannot all be had in one shift.
    """
    groups = by_loading(jobs)
    sizes = range(1, len(groups) + 1) if len(groups) <= CHOICES else (len(groups),)
    for size in sizes:
        for some in combinations(groups, size):
            best, least = None, float("inf")
            for sequence in permutations(some) if len(groups) <= SEQUENCES else (some,):
                _, changes, out = loaded(order, [group[0] for group in sequence])
                if not out and len(changes) < least:
                    best, least = sequence, len(changes)
                if least == 0:
                    break
            if best is not None:
                yield [j for group in best for j in group]


def _with_most(order: Order, jobs: Sequence[Job], first: Collection[str], room_s: float) -> Loaded:
    """As many of some jobs as end in time, loaded in their sequence; of as many those that hold most of `first`."""
    short = sorted(jobs, key=lambda j: seconds_with_reshoots([j], ())[0])  # keeps the sequence of those alike
    kept: Loaded = ([], ())
    for one in short:
        if sum(seconds_with_reshoots([*kept[0], one], ())) > room_s:
            break  # whatever is loaded: none that follows is shorter
        kept = _in_time(order, jobs, [*kept[0], one], room_s) or kept
    own, others = ([j for j in short if (j.weld in first) is mine] for mine in (True, False))
    for n in range(min(len(own), len(kept[0])), 0, -1):
        if n + len(others) < len(kept[0]):
            break
        if found := _in_time(order, jobs, [*own[:n], *others[: len(kept[0]) - n]], room_s):
            return found
    return kept


def _in_time(order: Order, jobs: Sequence[Job], some: Sequence[Job], room_s: float) -> Loaded | None:
    """Some of the jobs, loaded in the sequence of all; None where a head cannot be loaded for one, or they end late."""
    own = {id(s) for s in some}
    held, changes, out = loaded(order, [j for j in jobs if id(j) in own])
    return None if out or sum(seconds_with_reshoots(held, changes)) > room_s else (held, changes)
