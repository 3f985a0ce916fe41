"""`halflayer decay`: the activity of a source at another moment, or as a table over days."""

from __future__ import annotations

import json
import math
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any

import click

from halflayer.cli.options import json_option

if TYPE_CHECKING:
    from halflayer.physics.nuclides import Nuclide

DAY_S = 86_400.0


class MomentType(click.ParamType):
    """A date with or without time; without a zone it is UTC."""

    name = "moment"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> datetime:
        """The moment in UTC."""
        try:
            found = value if isinstance(value, datetime) else datetime.fromisoformat(str(value).strip())
            # years at the ends of the calendar leave no room for a time zone or a table of days
            if not 1900 <= found.year <= 2200:
                raise ValueError
        except ValueError:
            accepted = "2026-03-14, 2026-03-14T22:00Z or 2026-03-14T22:00+01:00"
            self.fail(f"{str(value)[:40]!r} is no date; accepted: {accepted}", param, ctx)
        return found.replace(tzinfo=UTC) if found.tzinfo is None else found.astimezone(UTC)


@click.command(
    "decay",
    short_help="Compute the activity of a source at another moment.",
    epilog="Example: halflayer decay Se-75 '2.4 TBq' --on 2026-02-01 --at 2026-03-14T21:00 --days 30",
)
@click.argument("nuclide")
@click.argument("activity")
@click.option("--on", type=MomentType(), required=True, metavar="DATE", help="Date of the certificate.")
@click.option(
    "--at", type=MomentType(), metavar="DATE", help="Moment asked for. Left out: the date of the certificate."
)
@click.option("--days", type=click.IntRange(0, 4000), default=0, help="A table of so many days from --at on.")
@click.option(
    "--every", type=click.IntRange(1, 1000), default=1, show_default=True, help="Days between its lines."
)
@json_option
def command(
    nuclide: str, activity: str, on: datetime, at: datetime | None, days: int, every: int, as_json: bool
) -> int:
    """Print what is left of ACTIVITY (with its unit: TBq, Ci) of NUCLIDE after its decay.

    The uncertainty given is that of the half-life alone; the certificate's own comes on top of it.
    """
    from halflayer.base.errors import InputError, Problem
    from halflayer.base.units import UnitError, parse
    from halflayer.physics.decay import activity_at
    from halflayer.physics.nuclides import nuclide as look_up

    found = look_up(nuclide)
    try:
        given_Bq = parse(activity, "activity")
    except UnitError as error:
        raise InputError(
            [Problem("command line", None, "ACTIVITY", error.problem, error.given, error.accepted)]
        ) from None
    if given_Bq <= 0.0:
        raise InputError(
            [Problem("command line", None, "ACTIVITY", "the value is too small", activity, "above 0")]
        )
    start = on if at is None else at
    values = []
    for n in range(0, days + 1, every):
        when = start + timedelta(days=n)
        try:
            left = activity_at(activity_Bq=given_Bq, reference=on, when=when, half_life_s=found.half_life_s)
        except ValueError as error:
            raise InputError([Problem("command line", None, "--at", str(error), when.isoformat())]) from None
        values.append((when, left, left * _sigma_rel(found, (when - on).total_seconds())))
    click.echo(_json(found, given_Bq, on, values) if as_json else _text(found, activity, on, values))
    return 0


def _sigma_rel(nuclide: Nuclide, elapsed_s: float) -> float:
    """Relative 1 sigma of the activity from that of the half-life: d(2^(-t/T)) = ln 2 t/T^2 dT."""
    half = nuclide.half_life_s
    return math.log(2.0) * abs(elapsed_s) / half * nuclide.half_life_sigma_s / half


def _json(
    nuclide: Nuclide, given_Bq: float, on: datetime, values: list[tuple[datetime, float, float]]
) -> str:
    data = {
        "nuclide": nuclide.name,
        "half_life_s": nuclide.half_life_s,
        "half_life_sigma_s": nuclide.half_life_sigma_s,
        "source": nuclide.source,
        "activity_Bq": given_Bq,
        "on": on.isoformat(),
        "values": [
            {"at": when.isoformat(), "activity_Bq": left, "sigma_Bq": sigma} for when, left, sigma in values
        ],
    }
    return json.dumps(data, ensure_ascii=False, indent=1, allow_nan=False)


def _text(nuclide: Nuclide, given: str, on: datetime, values: list[tuple[datetime, float, float]]) -> str:
    from halflayer.base.units import show
    from halflayer.cli.table import aligned

    days = nuclide.half_life_s / DAY_S
    lines = [
        f"{nuclide.name}, {given} on {on:%Y-%m-%d %H:%M} UTC",
        f"half-life {days:.6g} d ± {nuclide.half_life_sigma_s / DAY_S:.2g} d ({nuclide.source})",
        "",
    ]
    rows = [
        (
            f"{when:%Y-%m-%d %H:%M}",
            show(left, "activity", digits=4),
            show(left, "activity", system="imperial", digits=4),
            f"{sigma / left:.1g}" if left > 0 and sigma > 0 else "0",
        )
        for when, left, sigma in values
    ]
    lines += aligned(("at (UTC)", "activity", "", "rel. 1 sigma (half-life)"), rows, right=(1, 2))
    return "\n".join(lines)
