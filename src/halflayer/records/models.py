"""Tables of the records: orders as read, plans, the plan of each weld, its figures and its findings.

The `data` columns hold the whole result and are the truth; the other columns repeat what is asked for often
(lists, searches, comparisons), so that a person with a database client can read them.
"""

from __future__ import annotations

from datetime import datetime
from typing import Any, ClassVar

from sqlalchemy import CheckConstraint, Double, ForeignKey, Index, MetaData, UniqueConstraint
from sqlalchemy.orm import DeclarativeBase, Mapped, mapped_column, relationship

from halflayer.records.columns import PlainJson, UtcDateTime

NAMES = {
    "ix": "ix_%(table_name)s_%(column_0_N_name)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "ck": "ck_%(table_name)s_%(constraint_name)s",
    "fk": "fk_%(table_name)s_%(column_0_N_name)s_%(referred_table_name)s",
    "pk": "pk_%(table_name)s",
}


class Base(DeclarativeBase):
    """Root of all tables; every constraint has a name, so that migrations can change it on any database."""

    metadata = MetaData(naming_convention=NAMES)
    type_annotation_map: ClassVar[dict[Any, Any]] = {
        float: Double,
        datetime: UtcDateTime,
        dict[str, Any]: PlainJson,
        list[Any]: PlainJson,
    }


class OrderRow(Base):
    """A work order as it was read: the text of the file, and the data that came of it."""

    __tablename__ = "orders"

    id: Mapped[int] = mapped_column(primary_key=True)
    fingerprint: Mapped[str] = mapped_column(unique=True)  # sha256 over text and data
    code: Mapped[str]  # the order's own name
    title: Mapped[str]
    revision: Mapped[str]
    source_name: Mapped[str | None]  # file it was read from
    source_text: Mapped[str | None]  # that file, whole
    data: Mapped[dict[str, Any]]
    saved_at: Mapped[datetime]

    plans: Mapped[list[PlanRow]] = relationship(back_populates="order", passive_deletes=True)

    __table_args__ = (Index(None, "code"),)


class PlanRow(Base):
    """A plan of an order: what it was made with and when. The same result is kept once."""

    __tablename__ = "plans"

    id: Mapped[int] = mapped_column(primary_key=True)
    order_id: Mapped[int] = mapped_column(ForeignKey("orders.id", ondelete="RESTRICT"))
    fingerprint: Mapped[str] = mapped_column(unique=True)  # sha256 over the whole result and the order's text
    content: Mapped[str]  # the plan's own content hash: order, version and data tables
    made_at: Mapped[str]  # as the plan states it
    version: Mapped[str]
    options: Mapped[dict[str, Any]]  # what was asked on the command line
    weld_count: Mapped[int]
    stopped_count: Mapped[int]
    # Of the others those that are ready only if something is seen to (`WeldPlan.standing`).
    only_if_count: Mapped[int] = mapped_column(server_default="0")
    data: Mapped[dict[str, Any]]  # all that the plan says beside its order and its welds
    saved_at: Mapped[datetime]

    order: Mapped[OrderRow] = relationship(back_populates="plans")
    welds: Mapped[list[WeldPlanRow]] = relationship(
        back_populates="plan",
        order_by="WeldPlanRow.position",
        passive_deletes=True,
        cascade="all, delete-orphan",
    )

    __table_args__ = (Index(None, "content"), Index(None, "order_id"))


class WeldPlanRow(Base):
    """The plan of one weld, whole in `data`."""

    __tablename__ = "weld_plans"

    id: Mapped[int] = mapped_column(primary_key=True)
    plan_id: Mapped[int] = mapped_column(ForeignKey("plans.id", ondelete="CASCADE"))
    position: Mapped[int]  # in the order, from 0
    weld: Mapped[str]
    status: Mapped[str]
    technique: Mapped[str | None]
    arrangement: Mapped[str | None]
    source: Mapped[str | None]
    shots: Mapped[int]
    seconds: Mapped[float | None]  # sum over the shots
    stop_plates: Mapped[int | None]
    blanket_layers: Mapped[int | None]
    added_mass_kg: Mapped[float | None]
    barrier_m: Mapped[float | None]
    data: Mapped[dict[str, Any]]

    plan: Mapped[PlanRow] = relationship(back_populates="welds")
    figures: Mapped[list[FigureRow]] = relationship(
        back_populates="weld_plan", passive_deletes=True, cascade="all, delete-orphan"
    )
    findings: Mapped[list[FindingRow]] = relationship(
        back_populates="weld_plan", passive_deletes=True, cascade="all, delete-orphan"
    )

    __table_args__ = (
        UniqueConstraint("plan_id", "position"),
        UniqueConstraint("plan_id", "weld"),
        CheckConstraint("status IN ('ready', 'stopped')", name="status"),
        Index(None, "weld"),
    )


class FigureRow(Base):
    """One figure of a weld's plan by the name that `explain --of` takes; its trail is in the weld's row."""

    __tablename__ = "figures"

    id: Mapped[int] = mapped_column(primary_key=True)
    weld_plan_id: Mapped[int] = mapped_column(ForeignKey("weld_plans.id", ondelete="CASCADE"))
    name: Mapped[str]
    number: Mapped[float | None]
    text: Mapped[str | None]  # where the figure is not a number
    unit: Mapped[str]
    sigma: Mapped[float | None]

    weld_plan: Mapped[WeldPlanRow] = relationship(back_populates="figures")

    __table_args__ = (UniqueConstraint("weld_plan_id", "name"), Index(None, "name"))


class FindingRow(Base):
    """One finding of a weld's plan, in the order of the plan (stops first)."""

    __tablename__ = "findings"

    id: Mapped[int] = mapped_column(primary_key=True)
    weld_plan_id: Mapped[int] = mapped_column(ForeignKey("weld_plans.id", ondelete="CASCADE"))
    position: Mapped[int]
    level: Mapped[str]
    text: Mapped[str]
    source: Mapped[str]
    relax: Mapped[list[Any]]

    weld_plan: Mapped[WeldPlanRow] = relationship(back_populates="findings")

    __table_args__ = (
        UniqueConstraint("weld_plan_id", "position"),
        CheckConstraint("level IN ('stop', 'warn', 'note')", name="level"),
    )
