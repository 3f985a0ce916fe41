"""Which source sits in which head over a shift: welds of one loading together, changes between them, or none at all."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from halflayer.order.equipment import Changer, Head
from halflayer.order.models import Order
from halflayer.shift.result import Job, ShiftPlan, SourceChange


def container(source: str) -> str:
    """What a source that travels to its weld is sent from, and rests in."""
    return f"the container of {source}"


def by_loading(jobs: Sequence[Job]) -> list[list[Job]]:
    """The jobs of each loading (source in one device) together, loadings in the sequence of their first job."""
    found: dict[tuple[str, str], list[Job]] = {}
    for j in jobs:
        found.setdefault((j.source, j.device) if j.source else (j.weld, ""), []).append(j)
    return list(found.values())


def grouped(jobs: Sequence[Job]) -> list[Job]:
    """The jobs with those of one loading together, else in their sequence."""
    return [j for group in by_loading(jobs) for j in group]


def loaded(
    order: Order, jobs: Sequence[Job]
) -> tuple[list[Job], tuple[SourceChange, ...], tuple[tuple[str, str], ...]]:
    """The jobs of this shift, the source changes between them, and the welds left out for want of a changer.

    A source comes to the site in the device of its first weld, a head with the source of its first weld. What another
    weld then wants otherwise takes a source change. Sources are exchanged in a changer only, by people trained for it
    (common practice, no source): without one in the kit such a weld is not shot in this shift.
    """
    changer = next(iter(order.kit.changers), None)
    sits: dict[str, str] = {}  # device by source
    holds: dict[str, str] = {}  # source by device
    came: set[str] = set()  # devices that came with a source: one emptied since brings none of its own
    reads: dict[str, str] = {j.device: j.head or j.device for j in jobs}  # whose readings are a device's
    kept: list[Job] = []
    changes: list[SourceChange] = []
    out: list[tuple[str, str]] = []
    for j in grouped(jobs):
        if not j.source or (sits.get(j.source) == j.device and holds.get(j.device) == j.source):
            kept.append(j)
            continue
        fresh = j.source not in sits and j.device not in came
        if not fresh and changer is None:
            was = (
                f"{j.source} is in {sits[j.source]}"
                if j.source in sits
                else f"{j.device} holds {holds[j.device]}"
            )
            out.append((j.weld, f"{was} in this shift, and the kit holds no source changer"))
            continue
        if not fresh and changer is not None:
            gone = holds.get(j.device, "")
            gone = "" if gone == j.source else gone
            changes.append(_change(order, j, gone, changer.id, sits, reads))
            if gone:
                sits[gone] = changer.id
            holds.pop(sits.get(j.source, ""), None)
        sits[j.source], holds[j.device] = j.device, j.source
        came.add(j.device)
        kept.append(j)
    return kept, tuple(changes), tuple(out)


def _change(
    order: Order, job: Job, gone: str, changer: str, sits: Mapping[str, str], reads: Mapping[str, str]
) -> SourceChange:
    """The change before a weld: what rests where while it is made, and which source is bare on its way how often.

    A source that sits in another device goes into the changer first: two ways. One that comes to the site comes in
    the changer. What else is in the changer rests there all the time.
    """
    came, into = sits.get(job.source, changer), reads[job.device]
    where = {changer: changer} | dict(reads)
    rests: dict[str, tuple[str, ...]] = {job.source: (where[came], changer, into)}
    if gone:
        rests[gone] = (into, changer)
    rests |= {s: (changer,) for s, device in sits.items() if device == changer and s not in rests}
    moved = [(job.source, 1 if came == changer else 2)] + ([(gone, 1)] if gone else [])
    return SourceChange(
        job.weld,
        job.source,
        job.device,
        gone,
        changer,
        order.crew_times.source_change_s,
        tuple((source, tuple(dict.fromkeys(places))) for source, places in rests.items()),
        tuple(moved),
        order.crew_times.source_change_clearing_s or 0.0,
    )


def rests_in(
    order: Order, uses: Sequence[tuple[str, str, str]], shift: ShiftPlan | None, source: str
) -> tuple[Head | Changer, ...]:
    """Heads and changers in which a source rests in a shift; of one that the shift leaves out all it is planned for.

    `uses`: weld, source and head of every ready weld.
    """
    out = {weld for weld, _ in shift.left_out} if shift else set()
    mine = [(weld, head) for weld, what, head in uses if what == source]
    held = {head for weld, head in mine if weld not in out}
    changed = {
        p for c in (shift.changes if shift else ()) for what, at in c.rests if what == source for p in at
    }
    places = held | changed or {head for _, head in mine}
    things: tuple[Head | Changer, ...] = (*order.heads, *order.kit.changers)
    return tuple(t for t in things if t.id in places)
