"""Which source sits in which head over a shift: welds of one loading together, changes between them, or none at all."""

from __future__ import annotations

from collections.abc import Sequence

from halflayer.order.models import Order
from halflayer.shift.result import Job, SourceChange


def grouped(jobs: Sequence[Job]) -> list[Job]:
    """The jobs with those of one loading (source in one device) together, else in their sequence."""
    first: dict[tuple[str, str], int] = {}
    for n, j in enumerate(jobs):
        first.setdefault((j.source, j.device) if j.source else (j.weld, ""), n)
    return sorted(jobs, key=lambda j: first[(j.source, j.device) if j.source else (j.weld, "")])


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
    kept: list[Job] = []
    changes: list[SourceChange] = []
    out: list[tuple[str, str]] = []
    for j in grouped(jobs):
        if not j.source or (sits.get(j.source) == j.device and holds.get(j.device) == j.source):
            kept.append(j)
            continue
        fresh = j.source not in sits and j.device not in holds
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
            changes.append(
                SourceChange(j.weld, j.source, j.device, gone, changer.id, order.crew_times.source_change_s)
            )
            if gone:
                sits[gone] = changer.id
            holds.pop(sits.get(j.source, ""), None)
        sits[j.source], holds[j.device] = j.device, j.source
        kept.append(j)
    return kept, tuple(changes), tuple(out)
