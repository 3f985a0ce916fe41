"""`halflayer compare`: every way to shoot a weld side by side, and what would make a stopped weld go."""

from __future__ import annotations

import json
import math
from pathlib import Path
from typing import TYPE_CHECKING, Literal

import click

from halflayer.cli.options import FILE, json_option, progress_option, seed_option

if TYPE_CHECKING:
    from halflayer.compare.result import Comparison, Relaxation, Way

System = Literal["metric", "imperial"]
HEAD = (
    "way",
    "source",
    "shots",
    "exposure",
    "set-up",
    "whole",
    "shield",
    "added",
    "crew",
    "dose by a look",
    "rules",
)
RIGHT = (2, 3, 4, 5, 7, 8)
STANDING = {
    "under": "under its limits",
    "over": "over a limit",
    "close": "too close to tell",
    "not looked at": "no limit",
}
RULES = {True: "hold", False: "one is broken"}  # a way under its dose limits may still break a rule


@click.command(
    "compare",
    short_help="Compare the ways to shoot a weld by quick looks.",
    epilog="Example: halflayer compare examples/tarn-mill.yaml --weld W2",
)
@click.argument("order", type=FILE)
@click.option("--weld", metavar="ID", help="The weld; may be left out when there is only one.")
@seed_option("Random seed of the looks.")
@progress_option
@json_option
def command(order: Path, weld: str | None, seed: int, progress: bool | None, as_json: bool) -> int:
    """Show time, dose, mass, set-up time and rules of every way to shoot a weld of ORDER (YAML).

    Doses are looks: short runs of one exposure of each way, with their noise, not proved and no plan. For a weld
    that no way shoots within its limits the nearest changes that would make it go: what, by how much, who agrees.
    Dose and rules have a verdict each: a way under its dose limits may break a rule, and is then no way to go.
    Exit code 0: a look puts a way under every limit and no rule is broken; 1: none; 2: bad input.
    """
    from halflayer.cli.progress import progress as progress_line
    from halflayer.order.read import read_order

    work = read_order(order)
    chosen = _one(order, weld, [w.id for w in work.welds])
    with progress_line(progress) as line:
        from halflayer.compare.ways import compare

        found = compare(work, work.weld(chosen), seed=seed, progress=line)
    if as_json:
        from halflayer.base.ring_words import ring_words_in
        from halflayer.compare.as_json import comparison_json

        click.echo(
            json.dumps(ring_words_in(comparison_json(found)), ensure_ascii=False, indent=1, allow_nan=False)
        )
    else:
        system: System = "imperial" if work.units == "imperial" else "metric"
        click.echo("\n".join(comparison_lines(found, system)))
    return 0 if found.goes else 1


def _one(path: Path, weld: str | None, ids: list[str]) -> str:
    from halflayer.base.errors import InputError, Problem

    if weld is None and len(ids) == 1:
        return ids[0]
    if weld is None or weld not in ids:
        text = "which weld is not said" if weld is None else "the order has no such weld"
        raise InputError([Problem(str(path), None, "--weld", text, weld, ", ".join(ids))])
    return weld


def comparison_lines(found: Comparison, system: System) -> list[str]:
    """The comparison as text: ways looked at, ways refused with their rules, what would make it go, cautions."""
    from halflayer.cli.table import aligned, wrapped
    from halflayer.sheet.naming import count

    looked = [w for w in found.ways if w.look is not None]
    lines = [
        f"{found.weld}: {count(len(found.ways), 'way')}, {len(looked)} looked at (shield: stop + layers of the wrap)",
        "",
    ]
    if looked:
        lines += [*aligned(HEAD, (_row(w, system) for w in looked), right=RIGHT), ""]
        lines += [line for w in looked for line in wrapped("", f"{_label(w)}: {_worst(w)}", indent=2)]
    for w in found.ways:
        if w.look is None:
            lines += wrapped("", f"{_label(w)}: {_reason(w)}", indent=2)
    if found.judged:
        lines += ["", "combinations of films, shrouds, clamps and legs by way:"]
        lines += [line for text in found.judged for line in wrapped("", text, indent=2)]
    if found.relaxations:
        lines += ["", "nearest changes that would make it go:"]
        for n, r in enumerate(found.relaxations, start=1):
            lines += wrapped(f"{n:>2}. ", _relaxation(r), indent=4)
    stops = [f for f in found.findings if f.level == "stop"]
    lines += [""] + [line for f in stops for line in wrapped("stop  ", f.text, indent=6)] if stops else [""]
    return [*lines, *(line for c in found.cautions for line in wrapped("", c, indent=0))]


def _label(w: Way) -> str:
    return f"{w.candidate.arrangement} with {w.candidate.source} in {w.candidate.head}"


def _worst(w: Way) -> str:
    look = w.look
    assert look is not None
    bound = f", bound {look.ratio_upper:.2g} times the limit" if look.ratio_upper > 0 else ""
    rules = "hold" if not w.stops else "BROKEN, no plan takes this way: " + "; ".join(f.text for f in w.stops)
    return f"dose: {w.note}{bound}. Rules: {rules}"


def _reason(w: Way) -> str:
    broken = [f"{r.rule}: {r.required} wanted, {r.reached} ({r.source})" for r in w.candidate.broken]
    return "; ".join(broken) if broken else w.note


def _relaxation(r: Relaxation) -> str:
    return f"{r.way}: {' and '.join(r.changes)}. By: {r.amount}. To agree: {'; '.join(r.who)}. ({r.basis})"


def _stop(w: Way) -> str:
    """The stop of a look: plates, or layers of blanket folded and laid under the pipe."""
    assert w.look is not None
    n = w.look.fitting.plates
    what = "folded" if w.folded else "plate" if n == 1 else "plates"
    return f"{n} {what}" if n else "0"


def _row(w: Way, system: System) -> tuple[str, ...]:
    from halflayer.base.units import show

    look = w.look
    assert look is not None

    def shown(value: object, kind: str) -> str:
        known = isinstance(value, int | float) and math.isfinite(value)
        return show(float(value), kind, system=system, digits=2, round_up=True) if known else "not computed"  # type: ignore[arg-type]

    return (
        f"{w.candidate.technique}, {w.candidate.arrangement}",
        w.candidate.source,
        str(w.exposures),
        shown(w.exposure_s.value if w.exposure_s else None, "time"),
        shown(w.set_up_s.value if w.set_up_s else None, "time"),
        shown(w.whole_s.value if w.whole_s else None, "time"),
        f"{_stop(w)} + {look.fitting.layers}",
        shown(w.mass_kg, "mass"),
        shown(w.crew_Sv.value if w.crew_Sv else None, "equivalent"),
        STANDING[look.standing],
        RULES[not w.stops],
    )
