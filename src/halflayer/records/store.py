"""Saves plans and gives them back: a plan is in the records whole, with its inputs, or not at all."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from types import TracebackType
from typing import Any, Self

from sqlalchemy import func, select
from sqlalchemy.exc import IntegrityError
from sqlalchemy.orm import Session, selectinload

from halflayer.base.errors import HalflayerError
from halflayer.plan import Plan, WeldPlan
from halflayer.records.codec import fingerprint, head_to_json, plan_from_parts, weld_to_json
from halflayer.records.engine import StoreError, open_store, usable, writer
from halflayer.records.models import FigureRow, FindingRow, OrderRow, PlanRow, WeldPlanRow
from halflayer.records.place import database_url, shown

TURNS = 3
SHORTEST_HASH = 6  # our choice: letters of a content hash that are taken for a reference


class NoSuchPlan(HalflayerError):
    """No plan, or more than one, goes by that reference."""


@dataclass(frozen=True)
class Saved:
    """Where a plan stands in the records; `new` is False when the same result was there before."""

    id: int
    new: bool


@dataclass(frozen=True)
class Listed:
    """One line of the list of plans."""

    id: int
    order: str
    title: str
    revision: str
    made_at: str
    saved_at: datetime
    version: str
    content: str
    welds: int
    stopped: int
    only_if: int  # ready only if something is seen to, as on page 1 of the order's sheets
    options: dict[str, Any]


@dataclass(frozen=True)
class Stored:
    """A plan out of the records with the inputs it was made from."""

    listed: Listed
    plan: Plan
    source_name: str | None
    source_text: str | None


@dataclass(frozen=True)
class Packed:
    """A plan as the records keep it, with the marks by which the same is known again."""

    head: dict[str, Any]
    welds: list[dict[str, Any]]
    order_mark: str
    mark: str


def pack(plan: Plan, source_text: str | None) -> Packed:
    """A plan and the order's text made ready to be kept: work that needs no database."""
    welds = [weld_to_json(w) for w in plan.welds]
    order_mark = fingerprint({"text": source_text, "data": plan.order})
    head = head_to_json(plan)
    return Packed(head, welds, order_mark, fingerprint({"order": order_mark, "head": head, "welds": welds}))


class Store:
    """The records, open. Use as a context manager; every method is one transaction of its own."""

    def __init__(self, url: str | None = None) -> None:
        """Open the records at `url` (default by environment) and bring the tables up to date.

        Raises: StoreError when the database cannot be used.
        """
        self.url = url or database_url()
        self._engine = open_store(self.url)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def close(self) -> None:
        """Give the connections back."""
        self._engine.dispose()

    def save(
        self,
        plan: Plan,
        *,
        source_text: str | None = None,
        source_name: str | None = None,
        options: dict[str, Any] | None = None,
        packed: Packed | None = None,
    ) -> Saved:
        """Keep a plan with its inputs, in one transaction. The same result twice is kept once.

        packed: what `pack` gave of this plan and text, where it was packed before.
        """
        packed = packed or pack(plan, source_text)
        for turn in range(TURNS):
            try:
                return self._save(plan, packed, source_text, source_name, options or {})
            except IntegrityError as error:
                # Databases with several writers: another one saved the same order or plan between our look
                # and our write. It is there now, so the next look finds it.
                if turn == TURNS - 1:
                    raise StoreError(f"the plan cannot be kept in {shown(self.url)}: {error.orig}") from error
        raise AssertionError("unreachable")

    def _save(
        self,
        plan: Plan,
        packed: Packed,
        source_text: str | None,
        source_name: str | None,
        options: dict[str, Any],
    ) -> Saved:
        now = datetime.now(UTC)
        with usable(self.url), writer(self._engine) as session, session.begin():
            found = session.scalar(select(PlanRow.id).where(PlanRow.fingerprint == packed.mark))
            if found is not None:
                return Saved(found, False)
            order = session.scalar(select(OrderRow).where(OrderRow.fingerprint == packed.order_mark))
            if order is None:
                order = OrderRow(
                    fingerprint=packed.order_mark,
                    code=str(plan.order["order"]),
                    title=str(plan.order["title"]),
                    revision=str(plan.order["revision"]),
                    source_name=source_name,
                    source_text=source_text,
                    data=plan.order,
                    saved_at=now,
                )
                session.add(order)
            row = PlanRow(
                order=order,
                fingerprint=packed.mark,
                content=plan.content,
                made_at=plan.made_at,
                version=plan.version,
                options=options,
                weld_count=len(plan.welds),
                stopped_count=sum(w.status == "stopped" for w in plan.welds),
                only_if_count=sum(w.standing == "ready only if" for w in plan.welds),
                data=packed.head,
                saved_at=now,
                welds=[
                    _weld_row(n, w, d) for n, (w, d) in enumerate(zip(plan.welds, packed.welds, strict=True))
                ],
            )
            session.add(row)
            session.flush()
            return Saved(row.id, True)

    def plans(self, *, order: str | None = None) -> list[Listed]:
        """All plans, newest first; of one order where `order` names it."""
        query = select(PlanRow).options(selectinload(PlanRow.order)).order_by(PlanRow.id.desc())
        if order is not None:
            query = query.join(PlanRow.order).where(OrderRow.code == order)
        with usable(self.url), Session(self._engine) as session:
            return [_listed(row) for row in session.scalars(query)]

    def load(self, reference: str) -> Stored:
        """The plan of that number, or of that beginning of its content hash (newest of the same hash).

        Raises: NoSuchPlan.
        """
        text = reference.strip().lower()
        with usable(self.url), Session(self._engine) as session:
            row = (
                session.get(PlanRow, int(text))
                if text.isascii() and text.isdigit() and len(text) < 10
                else None
            )
            if row is None and len(text) >= SHORTEST_HASH and all(c in "0123456789abcdef" for c in text):
                begins = PlanRow.content.startswith(text, autoescape=True)
                hashes = session.scalars(select(PlanRow.content).where(begins).distinct().limit(2)).all()
                if len(hashes) > 1:
                    raise NoSuchPlan(f"more than one plan begins with {reference!r}: give more letters")
                row = session.scalar(select(PlanRow).where(begins).order_by(PlanRow.id.desc()).limit(1))
            if row is None:
                raise NoSuchPlan(f"no plan {reference!r} in the records")
            return _stored(row)

    def find(self, content: str, weld: str) -> Stored | None:
        """The newest plan with that content hash that holds that weld, or None."""
        query = (
            select(PlanRow)
            .join(PlanRow.welds)
            .where(PlanRow.content == content, WeldPlanRow.weld == weld)
            .order_by(PlanRow.id.desc())
            .limit(1)
        )
        with usable(self.url), Session(self._engine) as session:
            row = session.scalar(query)
            return _stored(row) if row is not None else None

    def count(self) -> int:
        """How many plans there are."""
        with usable(self.url), Session(self._engine) as session:
            return session.scalar(select(func.count()).select_from(PlanRow)) or 0


def save(
    plan: Plan,
    *,
    source_text: str | None = None,
    source_name: str | None = None,
    options: dict[str, Any] | None = None,
    url: str | None = None,
) -> Saved:
    """Open the records, keep a plan with its inputs, close them. Raises: StoreError."""
    with Store(url) as store:
        return store.save(plan, source_text=source_text, source_name=source_name, options=options)


def _weld_row(position: int, weld: WeldPlan, data: dict[str, Any]) -> WeldPlanRow:
    shots = weld.exposure.shots if weld.exposure else ()
    seconds = [s.seconds.value for s in shots if isinstance(s.seconds.value, int | float)]
    shield = weld.shielding
    return WeldPlanRow(
        position=position,
        weld=weld.weld,
        status=weld.status,
        technique=weld.chosen.technique if weld.chosen else None,
        arrangement=weld.chosen.arrangement if weld.chosen else None,
        source=weld.chosen.source if weld.chosen else None,
        shots=len(shots),
        seconds=float(sum(seconds)) if shots and len(seconds) == len(shots) else None,
        stop_plates=shield.fitting.plates if shield else None,
        blanket_layers=shield.fitting.layers if shield else None,
        added_mass_kg=shield.added_mass_kg if shield else None,
        barrier_m=_number(shield.barrier_stands_m.value) if shield else None,
        data=data,
        figures=[
            FigureRow(
                name=name,
                number=_number(figure.value),
                text=figure.value if isinstance(figure.value, str) else None,
                unit=figure.unit,
                sigma=figure.sigma,
            )
            for name, figure in weld.figures().items()
        ],
        findings=[
            FindingRow(position=n, level=f.level, text=f.text, source=f.source, relax=list(f.relax))
            for n, f in enumerate(weld.findings)
        ],
    )


def _number(value: float | int | str | None) -> float | None:
    return float(value) if isinstance(value, int | float) else None


def _listed(row: PlanRow) -> Listed:
    return Listed(
        id=row.id,
        order=row.order.code,
        title=row.order.title,
        revision=row.order.revision,
        made_at=row.made_at,
        saved_at=row.saved_at,
        version=row.version,
        content=row.content,
        welds=row.weld_count,
        stopped=row.stopped_count,
        only_if=row.only_if_count,
        options=row.options,
    )


def _stored(row: PlanRow) -> Stored:
    plan = plan_from_parts(row.data, row.order.data, (w.data for w in row.welds))
    return Stored(_listed(row), plan, row.order.source_name, row.order.source_text)
