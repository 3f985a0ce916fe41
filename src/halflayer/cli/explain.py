"""`halflayer explain`: the trail of one figure of a plan, down to tables and clauses."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Any, NoReturn

import click

from halflayer.cli.options import FILE, json_option, progress_option

if TYPE_CHECKING:
    from halflayer.base.result import Derived
    from halflayer.base.units import System
    from halflayer.plan import Plan


@click.command(
    "explain",
    short_help="Show how a figure of a plan came about.",
    epilog="Example: halflayer explain examples/tarn-mill.yaml --weld W1 --of exposure_time",
)
@click.argument("plan", metavar="ORDER|PLANFOLDER", type=FILE)
@click.option("--weld", metavar="ID", help="The weld; may be left out when there is only one.")
@click.option("--of", "name", metavar="NAME", help="The figure; left out: all figures are listed.")
@progress_option
@json_option
def command(plan: Path, weld: str | None, name: str | None, progress: bool | None, as_json: bool) -> int:
    """Print a figure of a weld's plan as a tree: value, 1 sigma, formula, source, and what went into it.

    From a folder that `halflayer plan` wrote the figures are read; for an order (YAML) the stored plan of the
    same content is used where there is one, else the weld is planned now and kept nowhere. Values stand in the units
    of the order's sheets and in SI.

    Every figure that the sheets of a weld print has a name, listed without --of. PLACE is a survey point or a place as
    the sheet names it, in small letters with an underline for all else:

    \b
    exposure_time, exposure_time_2 ..., exposure_time_day_N, activity, activity_day_N
    density_weld, density_least, density_most (of exposure 2: density_weld_2 ...)
    first_film_least, first_film_most, first_film_time_at_DENSITY, viewer_needed
    rate_PLACE, at_most_PLACE, turn_back_PLACE, such as rate_control_room
    dose_PLACE_KIND, dose_PERSON_KIND, average_PLACE_KIND, crew_dose_ID, hand_dose_ID
    transit_dose_PLACE, transit_rate_PLACE, floor_ID, lost_CASE_barrier, home_1_m
    barrier_distance, rope_length, rope_N_deg, rope_reading, turn_tolerance
    offset, tilt, opening, source_to_object, source_to_detector, unsharpness
    judged_N_WALL, lap_least, reserve_least, clock_room, head_play_towards_weld
    stop_plates, blanket_layers, added_mass, budget_k, time_budget, time_STEP
    """
    from halflayer.cli.trail_text import list_lines, trail_lines
    from halflayer.opened import find

    if plan.is_dir() or plan.suffix == ".json":
        weld_id, figures, findings, system = _from_file(plan, weld)
    else:
        weld_id, figures, findings, system = _from_order(plan, weld, progress)
    if not figures:
        from halflayer.base.errors import InputError, Problem

        reason = findings[0] if findings else "its plan has no figures"
        raise InputError([Problem(str(plan), None, "--weld", f"nothing to explain: {reason}", weld_id)])
    if name is None:
        if as_json:
            click.echo(_json({"weld": weld_id, "figures": {n: _head(f) for n, f in figures.items()}}))
        else:
            click.echo("\n".join(list_lines(figures, system)))
        return 0
    found = find(figures, name)
    if found is None:
        _refuse(plan, "--of", f"weld {weld_id} has no such figure", name, ", ".join(sorted(figures)))
    name, figure = found
    if as_json:
        click.echo(_json({"weld": weld_id, "of": name, "figure": figure.as_json()}))
    else:
        click.echo("\n".join(trail_lines(figure, system)))
    return 0


def _from_file(path: Path, weld: str | None) -> tuple[str, dict[str, Derived], list[str], System]:
    """Figures out of a plan.json."""
    from halflayer.base.result import Derived
    from halflayer.cli.out_folder import MARK

    file = path / MARK if path.is_dir() else path
    try:
        data = json.loads(file.read_text(encoding="utf-8"))
        welds = {w["weld"]: w for w in data["welds"]}
        weld = _one(path, weld, list(welds))
        figures = {n: Derived.from_json(f) for n, f in welds[weld]["figures"].items()}
        system: System = "imperial" if data.get("units") == "imperial" else "metric"
        return weld, figures, [str(f) for f in welds[weld]["findings"]], system
    except OSError as error:
        _refuse(file, "", f"the file cannot be read: {error.strerror}", None, "a folder of halflayer plan")
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError):
        _refuse(file, "", "this is no plan.json of halflayer", None, "a folder that halflayer plan wrote")


def _from_order(
    path: Path, weld: str | None, progress: bool | None
) -> tuple[str, dict[str, Derived], list[str], System]:
    """Figures of a weld of an order: the stored plan of the same content, or a plan made now."""
    from halflayer.cli.progress import progress as progress_line
    from halflayer.order.read import read_order

    order = read_order(path)
    weld = _one(path, weld, [w.id for w in order.welds])
    with progress_line(progress) as line:
        from halflayer.flow import SEEDS, content_hash, plan_order
        from halflayer.opened import opened

        plan = _stored(content_hash(order, prove=False, error=0.05, seeds=SEEDS), weld)
        plan = plan or plan_order(order, weld=weld, progress=line)
    found = next(w for w in plan.welds if w.weld == weld)
    return weld, opened(order, found), [f.text for f in found.findings], order.units


def _stored(content: str, weld: str) -> Plan | None:
    """The plan in the records that has the weld; None where there is none or the records cannot be used."""
    from halflayer.records.engine import StoreError
    from halflayer.records.store import Store

    try:
        with Store() as store:
            stored = store.find(content, weld)
    except StoreError as error:
        click.echo(f"{error}; the weld is planned again", err=True)
        return None
    return stored.plan if stored and any(w.weld == weld for w in stored.plan.welds) else None


def _one(path: Path, weld: str | None, ids: list[str]) -> str:
    if weld is None and len(ids) == 1:
        return ids[0]
    if weld is None:
        _refuse(path, "--weld", "which weld is not said", None, ", ".join(ids))
    if weld not in ids:
        _refuse(path, "--weld", "the plan has no such weld", weld, ", ".join(ids))
    return weld


def _head(figure: Derived) -> dict[str, Any]:
    return {"value": figure.value, "unit": figure.unit, "sigma": figure.sigma}


def _json(data: Any) -> str:
    return json.dumps(data, ensure_ascii=False, indent=1, allow_nan=False)


def _refuse(path: Path, field: str, problem: str, given: str | None, accepted: str) -> NoReturn:
    from halflayer.base.errors import InputError, Problem

    raise InputError([Problem(str(path), None, field, problem, given, accepted)])
