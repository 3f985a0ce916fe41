"""`halflayer plan`: a work order to its plans, sheets and record."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from halflayer.cli.options import FILE, error_option, json_option, paper_option, progress_option, seed_option

YOUNG = 50_000  # objects made and not yet gone, after which the collector looks at those: our choice

if TYPE_CHECKING:
    from collections.abc import Callable

    from halflayer.order.models import Order
    from halflayer.plan import Plan
    from halflayer.records.store import Packed, Store
    from halflayer.sheet.content import Paper
    from halflayer.shielding.field_of_weld import WeldField


@click.command(
    "plan",
    short_help="Plan the welds of a work order and write their build sheets.",
    epilog="Example: halflayer plan examples/tarn-mill.yaml --out out/tarn-mill",
)
@click.argument("order", type=FILE)
@click.option("--out", type=FILE, required=True, metavar="DIR", help="Folder for plan.json and the sheets.")
@click.option("--weld", metavar="ID", help="Plan this weld only.")
@click.option("--prove", is_flag=True, help="Compute the dose of every plan to a stated error.")
@error_option("5%", "Error for --prove, 1 sigma.")
@seed_option("Random seed of sizing; acceptance takes the next one.")
@click.option(
    "--contingency/--no-contingency",
    default=True,
    help="Look at lost shielding and at each source stuck out (default), or leave both out to be quicker.",
)
@click.option(
    "--field",
    is_flag=True,
    help="Compute the dose field round each ready weld too: isodose lines on its sheet and as SVG and PNG, voxels "
    "as VTK. About a minute on two cores for each exposure.",
)
@paper_option
@click.option("--no-store", is_flag=True, help="Keep no record of the plan.")
@progress_option
@json_option
def command(
    order: Path,
    out: Path,
    weld: str | None,
    prove: bool,
    error: float,
    seed: int,
    contingency: bool,
    field: bool,
    paper: Paper,
    phone: bool,
    no_store: bool,
    progress: bool | None,
    as_json: bool,
) -> int:
    """Plan every weld of ORDER (YAML) and write DIR/plan.json, DIR/order.pdf and a sheet for each weld.

    DIR appears when everything is written. A DIR that halflayer wrote before is replaced, another one is not.
    Exit code 0: every weld has a plan; 1: a stated finding stops at least one; 2: bad input.
    """
    from contextlib import ExitStack

    from halflayer.cli.out_folder import check_folder, new_folder
    from halflayer.cli.progress import progress as progress_line

    check_folder(out)
    seldom_collected()
    work, text = read_with_text(order)
    check_weld(work, weld, file=order)
    options = {"weld": weld, "prove": prove, "error": error if prove else None, "seed": seed}
    if not contingency:
        options["contingency"] = False
    if field:
        options["field"] = True
    with ExitStack() as stack:
        # opened before the work: a database that cannot be used is told now, not after it
        store = None if no_store else stack.enter_context(open_records())
        with progress_line(progress) as line:
            from halflayer.flow import plan_order

            plan = plan_order(
                work,
                weld=weld,
                prove=prove,
                error=error,
                seeds=(seed, seed + 1),
                progress=line,
                contingency=contingency,
            )
            fields = None
            if field:
                from halflayer.dose_fields import with_fields

                plan, fields = with_fields(plan, seed=seed + 1, progress=line)
            with new_folder(out) as folder:
                line("sheets", 1.0)
                packed: list[Packed] = []

                def packing() -> None:
                    from halflayer.records.store import pack

                    packed.append(pack(plan, text))

                meanwhile = packing if store is not None else None
                data = write_folder(
                    plan, folder, paper=paper, phone=phone, fields=fields, meanwhile=meanwhile
                )
                record = None
                if store is not None:
                    record = store.save(
                        plan, source_text=text, source_name=str(order), options=options, packed=packed[0]
                    ).id
    tell(plan, data, out=out, record=record, as_json=as_json)
    return 1 if plan.stopped else 0


def seldom_collected() -> None:
    """Have the collector of cycles look seldom: a plan is a large tree without cycles, gone through again and again.

    Of a plan of twelve welds that took 1.7 s of 55 s, with all threads waiting.
    """
    import gc

    gc.freeze()
    gc.set_threshold(YOUNG, 20, 50)


def read_with_text(path: Path) -> tuple[Order, str]:
    """The order and the text it was read from. Raises: InputError with everything wrong in it."""
    from halflayer.order.read import read_order

    work = read_order(path)
    return work, path.read_text(encoding="utf-8-sig")


def check_weld(order: Order, weld: str | None, *, file: Path) -> None:
    """Refuse a weld that the order does not have. Raises: InputError."""
    from halflayer.base.errors import InputError, Problem

    ids = [w.id for w in order.welds]
    if weld is not None and weld not in ids:
        text = "the order has no such weld"
        raise InputError([Problem(str(file), None, "--weld", text, weld, ", ".join(ids))])


def open_records() -> Store:
    """The records, tables up to date. Raises: StoreError."""
    from halflayer.records.store import Store

    return Store()


def write_folder(
    plan: Plan,
    folder: Path,
    *,
    paper: Paper = "a4",
    phone: bool = False,
    fields: dict[str, WeldField] | None = None,
    meanwhile: Callable[[], None] | None = None,
) -> dict[str, Any]:
    """Write the sheets, plan views and plan.json into a folder and return the data of plan.json.

    fields: dose fields by weld, written as VTK files, one for each exposure. meanwhile: further work of the caller's,
    done once, while other processes typeset where they do.
    """
    from halflayer.cli.out_folder import MARK, json_text
    from halflayer.plan_json import plan_json
    from halflayer.sheet import pdf

    if not any(w.dose_field for w in plan.welds):
        data, text = _typeset(plan, folder, paper=paper, phone=phone, meanwhile=meanwhile)
    else:
        from halflayer.sheet import isodose_files
        from halflayer.sheet.compose import compose

        sheets = compose(plan, paper=paper)
        pdf.write(plan, folder, sheets=sheets, paper=paper, phone=phone)
        isodose_files.write(sheets, folder)
        stems = {s.data["weld"]: s.file.removesuffix(".pdf") for s in sheets if s.kind == "weld"}
        _write_voxels(plan, fields or {}, folder, stems)
        data = plan_json(plan)
        data["files"] = sorted(p.name for p in folder.iterdir())
        text = json_text(data)
        if meanwhile is not None:
            meanwhile()
    (folder / MARK).write_text(text, encoding="utf-8")
    return data


def _typeset(
    plan: Plan, folder: Path, *, paper: Paper, phone: bool, meanwhile: Callable[[], None] | None
) -> tuple[dict[str, Any], str]:
    """Write the sheets; gives the data of plan.json and its text.

    The data is made, and `meanwhile` done, while other processes typeset, and not before the last sheet is composed:
    they would wait for it.
    Typesetting stays in the thread that Ctrl-C ends.
    """
    from collections.abc import Iterator
    from concurrent.futures import ThreadPoolExecutor
    from threading import Event

    from halflayer.cli.out_folder import json_text
    from halflayer.plan_json import plan_json
    from halflayer.sheet import pdf
    from halflayer.sheet.compose import one_by_one
    from halflayer.sheet.content import Sheet

    names: list[str] = []
    composed = Event()

    def sheets() -> Iterator[Sheet]:
        for width in (paper, "phone") if phone else (paper,):
            for sheet in one_by_one(plan, paper=width):
                names.append(sheet.file)
                yield sheet
        composed.set()

    def made() -> tuple[dict[str, Any], str]:
        composed.wait()
        data = plan_json(plan)
        data["files"] = sorted(names)
        text = json_text(data)
        if meanwhile is not None:
            meanwhile()
        return data, text

    with ThreadPoolExecutor(max_workers=1, thread_name_prefix="data") as other:
        found = other.submit(made)
        try:
            pdf.write(plan, folder, sheets=sheets())
        finally:
            composed.set()
        return found.result()


def _write_voxels(plan: Plan, fields: dict[str, WeldField], folder: Path, stems: dict[str, str]) -> None:
    """A VTK file for each weld with a field and each of its exposures, in site coordinates."""
    from halflayer.transport import vtk

    for weld, found in fields.items():
        for n, one in enumerate(found.fields, start=1):
            title = f"Order {plan.order['order']}, weld {weld}, exposure {n}, site coordinates."
            vtk.write(one, folder / f"{stems[weld]}.exposure-{n}.vti", corner=found.corner, title=title)


def tell(plan: Plan, data: dict[str, Any], *, out: Path | None, record: int | None, as_json: bool) -> None:
    """Print the plan, and where its sheets and its record are."""
    if as_json:
        place = {"out": str(out) if out else None, "record": record}
        click.echo(json.dumps(data | place, ensure_ascii=False, indent=1, allow_nan=False))
        return
    from halflayer.cli.plan_text import field_lines, plan_lines
    from halflayer.sheet.naming import count

    lines = [*plan_lines(plan), ""]
    if out is not None:
        lines.append(f"sheets  {out}/order.pdf and {count(len(plan.welds), 'build sheet')} beside it")
        lines += field_lines(data["files"])
    if record is not None:
        lines.append(f"record  {record}   (halflayer plans show {record})")
    click.echo("\n".join(lines))
