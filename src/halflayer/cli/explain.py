"""`halflayer explain`: the trail of one figure of a plan, down to tables and clauses."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Any, NoReturn

import click

from halflayer.cli.options import FILE, json_option, progress_option

if TYPE_CHECKING:
    from collections.abc import Collection

    from halflayer.base.result import Derived
    from halflayer.base.units import System
    from halflayer.plan import Plan

NAMES_AT_MOST = 30  # told to whoever asks for a figure that is not there


@click.command(
    "explain",
    short_help="Show how a figure of a plan came about.",
    epilog="Example: halflayer explain examples/tarn-mill.yaml --weld W1 --of exposure_time",
)
@click.argument("plan", metavar="ORDER|PLANFOLDER", type=FILE)
@click.option(
    "--weld", metavar="ID", help="The weld; left out: the order as a whole, and its weld if it has only one."
)
@click.option("--of", "name", metavar="NAME", help="The figure; left out: all figures are listed.")
@progress_option
@json_option
def command(plan: Path, weld: str | None, name: str | None, progress: bool | None, as_json: bool) -> int:
    """Print a figure of a plan as a tree: value, 1 sigma, formula, source, and what went into it.

    From a folder that `halflayer plan` wrote the figures are read; for an order (YAML) the stored plan of the
    same content is used where there is one, else the weld is planned now and kept nowhere. Values stand in the units
    of the order's sheets and in SI.

    Doses, rates, times, densities, settings and what is judged have a name, listed without --of. PLACE is a survey
    point or a place as the sheet names it, in small letters with an underline for all else:

    \b
    exposure_time, exposure_time_2 ..., exposure_time_day_N, activity, activity_day_N
    density_weld, density_least, density_most (of exposure 2: density_weld_2 ...)
    first_film_least, first_film_most, first_film_time_at_DENSITY, viewer_needed
    rate_PLACE, at_most_PLACE, turn_back_PLACE, such as rate_control_room
    rope_rate_PLACE, rope_turn_back_PLACE
    dose_PLACE_KIND, dose_PERSON_KIND, average_PLACE_KIND, crew_dose_ID, hand_dose_ID
    transit_dose_PLACE, transit_rate_PLACE, floor_ID, lost_CASE_barrier, home_1_m
    barrier_distance, rope_length, rope_N_deg, rope_reading, turn_tolerance
    offset, tilt, opening, source_to_object, source_to_detector, unsharpness
    judged_N_WALL, lap_least, reserve_least, clock_room, head_play_towards_weld
    head_beam_towards_weld, head_beam_away_from_weld, head_beam_turn
    head_iqi_towards_weld, head_iqi_away_from_weld, head_iqi_turn
    stop_plates, blanket_layers, added_mass, budget_k, time_budget, time_STEP
    layer_N_pieces, layer_N_round, layer_N_along, layer_N_mass, tent_pieces, tent_up
    layer_N_over, film_middle_along, stop_middle_along, sheet_lap, mass_ITEM, legs_left
    layer_N_over_turns, layer_N_ends, wound_N_along, wound_N_begins, wound_N_slit_M, wound_aslant
    pipe_prop_load, pipe_prop_each, pipe_prop_N_at, tent_frame_along, hood_strap_length
    mark_N_from, mark_N_to, girth_source_N, distance_PLACE, height_PLACE, lost_CASE_exposure
    images_apart_planned, crank_to_weld, crank_to_container
    control_spot_rate, alarm_set_at_least, alarm_set_at_most, home_witness_PLACE
    step_STEP_ID, step_still_out_ID, lost_CASE_times_expected
    first_survey_N_times_expected, rope_signs

    Without --weld those of the order as a whole, PERSON being an id of the crew:

    \b
    shift_end, shift_work, shift_dose_PERSON, shift_dose_PERSON_KIND
    shift_average_PLACE_KIND, change_dose_PERSON_before_WELD
    change_rest_at_PLACE_before_WELD, change_bare_at_PLACE_before_WELD
    kit_mass, kit_mass_ITEM, carries_PERSON, overload_METER_SOURCE
    stuck_SOURCE_limit_distance, stuck_SOURCE_bare_DISTANCE, stuck_SOURCE_stay_KIND_DISTANCE
    """
    from halflayer.base.ring_words import ring_words
    from halflayer.cli.trail_text import list_lines, trail_lines
    from halflayer.opened import find

    if plan.is_dir() or plan.suffix == ".json":
        weld_id, figures, findings, system = _from_file(plan, weld)
    else:
        weld_id, figures, findings, system = _from_order(plan, weld, progress)
    whose = f"weld {weld_id}" if weld_id else "the order as a whole (name a weld with --weld for its own)"
    if not figures:
        from halflayer.base.errors import InputError, Problem

        none = "its plan has no figures" if weld_id else "the order as a whole has no figures: name a weld"
        reason = findings[0] if findings and weld_id else none
        raise InputError([Problem(str(plan), None, "--weld", f"nothing to explain: {reason}", weld_id)])
    if name is None:
        if as_json:
            click.echo(_json({"weld": weld_id, "figures": {n: _head(f) for n, f in figures.items()}}))
        else:
            click.echo(ring_words("\n".join(list_lines(figures, system))))
        return 0
    found = find(figures, name)
    if found is None:
        _refuse(plan, "--of", f"{whose} has no such figure", name, _nearest(figures, name))
    name, figure = found
    if as_json:
        click.echo(_json({"weld": weld_id, "of": name, "figure": figure.as_json()}))
    else:
        click.echo(ring_words("\n".join(trail_lines(figure, system))))
    return 0


def _from_file(path: Path, weld: str | None) -> tuple[str | None, dict[str, Derived], list[str], System]:
    """Figures out of a plan.json."""
    from halflayer.base.result import Derived
    from halflayer.cli.out_folder import MARK

    file = path / MARK if path.is_dir() else path
    try:
        data = json.loads(file.read_text(encoding="utf-8"))
        welds = {w["weld"]: w for w in data["welds"]}
        weld, whole = _one(path, weld, list(welds)), weld is None
        told = {**(welds[weld]["figures"] if weld else {}), **(data.get("figures", {}) if whole else {})}
        figures = {n: Derived.from_json(f) for n, f in told.items()}
        system: System = "imperial" if data.get("units") == "imperial" else "metric"
        return weld, figures, [str(f) for f in (welds[weld] if weld else data)["findings"]], system
    except OSError as error:
        _refuse(file, "", f"the file cannot be read: {error.strerror}", None, "a folder of halflayer plan")
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError):
        _refuse(file, "", "this is no plan.json of halflayer", None, "a folder that halflayer plan wrote")


def _from_order(
    path: Path, weld: str | None, progress: bool | None
) -> tuple[str | None, dict[str, Derived], list[str], System]:
    """Figures of a weld of an order, or of all of it: the stored plan of the same content, or a plan made now."""
    from halflayer.cli.progress import progress as progress_line
    from halflayer.order.read import read_order

    order = read_order(path)
    weld, whole = _one(path, weld, [w.id for w in order.welds]), weld is None
    with progress_line(progress) as line:
        from halflayer.flow import SEEDS, content_hash, plan_order
        from halflayer.opened import opened, opened_order

        needed = [w.id for w in order.welds] if whole else [w for w in (weld,) if w]
        plan = _stored(content_hash(order, prove=False, error=0.05, seeds=SEEDS), needed)
        plan = plan or plan_order(order, weld=None if whole else weld, progress=line)
    found = next((w for w in plan.welds if w.weld == weld), None)
    figures = opened(order, found) if found else {}
    told = found.findings if found else plan.findings
    return weld, figures | (opened_order(plan) if whole else {}), [f.text for f in told], order.units


def _stored(content: str, welds: list[str]) -> Plan | None:
    """The plan in the records that has the welds; None where there is none or the records cannot be used."""
    from halflayer.records.engine import StoreError
    from halflayer.records.store import Store

    try:
        with Store() as store:
            stored = store.find(content, welds[0])
    except StoreError as error:
        click.echo(f"{error}; the weld is planned again", err=True)
        return None
    return stored.plan if stored and set(welds) <= {w.weld for w in stored.plan.welds} else None


def _one(path: Path, weld: str | None, ids: list[str]) -> str | None:
    """The weld asked for, or the only one; None: no weld of several is named, the order as a whole is meant."""
    if weld is None:
        return ids[0] if len(ids) == 1 else None
    if weld not in ids:
        _refuse(path, "--weld", "the plan has no such weld", weld, ", ".join(ids))
    return weld


def _nearest(figures: Collection[str], asked: str) -> str:
    """Names that hold what was asked or look like it, then others; not more than a person reads."""
    import difflib

    close = [n for n in figures if asked.lower() in n.lower()]
    close += difflib.get_close_matches(asked, list(figures), n=NAMES_AT_MOST)
    names = list(dict.fromkeys((*close, *figures)))
    more = len(names) - NAMES_AT_MOST
    rest = f" and {more} more, listed without --of" if more > 0 else ""
    return ", ".join(names[:NAMES_AT_MOST]) + rest


def _head(figure: Derived) -> dict[str, Any]:
    return {"value": figure.value, "unit": figure.unit, "sigma": figure.sigma}


def _json(data: Any) -> str:
    from halflayer.base.ring_words import ring_words_in

    return json.dumps(ring_words_in(data), ensure_ascii=False, indent=1, allow_nan=False)


def _refuse(path: Path, field: str, problem: str, given: str | None, accepted: str) -> NoReturn:
    from halflayer.base.errors import InputError, Problem

    raise InputError([Problem(str(path), None, field, problem, given, accepted)])
