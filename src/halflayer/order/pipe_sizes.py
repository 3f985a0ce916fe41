"""Pipe sizes by name: NPS or DN with schedule to outside diameter and wall."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache

from halflayer.data import load

_MIXED = re.compile(r"(?:(\d+)[ -])?(\d+)/(\d+)")


@dataclass(frozen=True)
class PipeSize:
    """A row of the table of pipe sizes."""

    nps: float
    dn: int
    schedule: str
    outer_diameter_m: float
    wall_m: float
    standard: str


class UnknownSize(LookupError):
    """A size or schedule that the table does not hold; `field` is the one at fault."""

    def __init__(self, field: str, problem: str, accepted: str) -> None:
        self.field, self.problem, self.accepted = field, problem, accepted
        super().__init__(problem)


@cache
def _sizes() -> tuple[PipeSize, ...]:
    return tuple(
        PipeSize(
            nps=row["nps"],
            dn=int(row["dn"]),
            schedule=row["schedule"],
            outer_diameter_m=round(row["od_mm"] / 1000, 7),
            wall_m=round(row["wall_mm"] / 1000, 7),
            standard=row["standard"],
        )
        for row in load.table("pipe_sizes").rows()
    )


def inches(nps: str) -> float | None:
    """The nominal size of a text such as `4`, `0.5`, `1/2`, `1-1/2` or `1 1/2`; None where it is no size."""
    text = re.sub(r"\s*(\"|in|inch|''|″)$", "", nps.strip().lower().removeprefix("nps").strip())
    mixed = _MIXED.fullmatch(text)
    if mixed and int(mixed[3]) > 0:
        return int(mixed[1] or 0) + int(mixed[2]) / int(mixed[3])
    return float(text) if re.fullmatch(r"\d{1,3}(\.\d{1,4})?", text) else None


def _plain(schedule: str) -> str:
    return re.sub(r"^(SCHEDULE|SCH)\.?\s*", "", schedule.strip().upper())


def find(*, nps: str | None = None, dn: int | None = None, schedule: str) -> PipeSize:
    """The size of that name. Source: ASME B36.10M and B36.19M as in the table `pipe_sizes`.

    Raises: UnknownSize, which lists the sizes of the table or the schedules of the size.
    """
    assert (nps is None) != (dn is None)
    if nps is not None:
        wanted = inches(nps)
        of_size = [s for s in _sizes() if s.nps == wanted]
        known = sorted({s.nps for s in _sizes()})
        if not of_size:
            raise UnknownSize("nps", "no such nominal size", "NPS " + ", ".join(f"{n:g}" for n in known))
    else:
        of_size = [s for s in _sizes() if s.dn == dn]
        if not of_size:
            dns = sorted({s.dn for s in _sizes()})
            raise UnknownSize("dn", "no such nominal size", "DN " + ", ".join(map(str, dns)))
    for size in of_size:
        if size.schedule == _plain(schedule):
            return size
    listed = ", ".join(
        f"{s.schedule} ({s.wall_m * 1000:g} mm)" for s in sorted(of_size, key=lambda s: s.wall_m)
    )
    name = f"NPS {of_size[0].nps:g} / DN {of_size[0].dn}"
    raise UnknownSize("schedule", f"{name} has no such schedule", listed)
