"""`halflayer plans`: the plans in the records, listed, shown again, their sheets written again."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from halflayer.cli.options import FILE, json_option, paper_option

if TYPE_CHECKING:
    from halflayer.records.store import Listed, Store, Stored
    from halflayer.sheet.content import Paper


@click.group(
    "plans",
    invoke_without_command=True,
    short_help="List stored plans, show one, write its sheets again.",
    epilog="Example: halflayer plans; halflayer plans show 3; halflayer plans export 3 --out out/again",
)
@click.option("--order", metavar="NAME", help="Only the plans of this order.")
@json_option
@click.pass_context
def command(ctx: click.Context, order: str | None, as_json: bool) -> int:
    """List the plans in the records, newest first."""
    if ctx.invoked_subcommand is not None:
        return 0
    with _records() as store:
        found = store.plans(order=order)
    if as_json:
        click.echo(json.dumps({"plans": [_line(p) for p in found]}, ensure_ascii=False, indent=1))
        return 0
    click.echo("\n".join(_lines(found)))
    return 0


@command.command("show", epilog="Example: halflayer plans show 3")
@click.argument("reference", metavar="ID")
@json_option
def show(reference: str, as_json: bool) -> int:
    """Print a stored plan as `halflayer plan` printed it. ID: its number, or the beginning of its content hash.

    Exit code as that of `halflayer plan`: 1 where a stated finding stops at least one weld.
    """
    from halflayer.cli.plan import tell
    from halflayer.plan_json import plan_json

    stored = _load(reference)
    tell(stored.plan, plan_json(stored.plan), out=None, record=stored.listed.id, as_json=as_json)
    return 1 if stored.plan.stopped else 0


@command.command("export", epilog="Example: halflayer plans export 3 --out out/again")
@click.argument("reference", metavar="ID")
@click.option("--out", type=FILE, required=True, metavar="DIR", help="Folder for plan.json and the sheets.")
@paper_option
@json_option
def export(reference: str, out: Path, paper: Paper, phone: bool, as_json: bool) -> int:
    """Write plan.json and the sheets of a stored plan again, from the record alone."""
    from halflayer.cli.out_folder import new_folder
    from halflayer.cli.plan import tell, write_folder

    stored = _load(reference)
    with new_folder(out) as folder:
        data = write_folder(stored.plan, folder, paper=paper, phone=phone)
    tell(stored.plan, data, out=out, record=stored.listed.id, as_json=as_json)
    return 1 if stored.plan.stopped else 0


@command.command("order", epilog="Example: halflayer plans order 3 > order.yaml")
@click.argument("reference", metavar="ID")
@json_option
def order_text(reference: str, as_json: bool) -> int:
    """Print the work order that a stored plan was made from, as it was read."""
    stored = _load(reference)
    if as_json:
        data = {"file": stored.source_name, "text": stored.source_text, "data": stored.plan.order}
        click.echo(json.dumps(data, ensure_ascii=False, indent=1))
    else:
        click.echo(stored.source_text or "", nl=False)
    return 0


def _records() -> Store:
    from halflayer.records.store import Store

    return Store()


def _load(reference: str) -> Stored:
    from halflayer.base.errors import InputError, Problem
    from halflayer.records.store import NoSuchPlan

    with _records() as store:
        try:
            return store.load(reference)
        except NoSuchPlan as error:
            accepted = "a number or the beginning of a content hash from: halflayer plans"
            raise InputError([Problem("records", None, "ID", str(error), reference, accepted)]) from None


def _line(p: Listed) -> dict[str, Any]:
    return {
        "id": p.id,
        "order": p.order,
        "title": p.title,
        "revision": p.revision,
        "made_at": p.made_at,
        "saved_at": p.saved_at.isoformat(),
        "version": p.version,
        "content": p.content,
        "welds": p.welds,
        "ready": p.welds - p.stopped - p.only_if,  # without conditions; maybe still to be signed
        "ready_only_if": p.only_if,
        "stopped": p.stopped,
        "options": p.options,
    }


def _lines(found: list[Listed]) -> list[str]:
    from halflayer.cli.table import aligned

    if not found:
        return ["no plans in the records yet (halflayer plan ORDER.yaml --out DIR keeps one)"]
    rows = [
        (
            str(p.id),
            f"{p.order} rev {p.revision}",
            f"{p.welds - p.stopped - p.only_if} of {p.welds}",
            str(p.only_if),
            str(p.stopped),
            f"{p.saved_at:%Y-%m-%d %H:%M}",
            p.content[:12],
            _asked(p.options),
            p.title,
        )
        for p in found
    ]
    return aligned(
        # Without conditions: maybe still to sign what the code leaves open, of which a record keeps no count.
        (
            "id",
            "order",
            "no condition",
            "not until",
            "stopped",
            "saved (UTC)",
            "content",
            "asked",
            "title",
        ),
        rows,
        right=(0,),
    )


def _asked(options: dict[str, Any]) -> str:
    parts = []
    if options.get("weld"):
        parts.append(f"weld {options['weld']}")
    if options.get("prove"):
        parts.append(f"proved to {options.get('error', 0):.3g}")
    if options.get("contingency") is False:
        parts.append("without contingency")
    return ", ".join(parts) or "all welds"
