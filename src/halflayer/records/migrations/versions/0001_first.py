"""The first tables: orders, plans, weld plans, figures, findings.

Revision 0001, the first one.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from halflayer.records.columns import PlainJson, UtcDateTime

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    """To this revision."""
    op.create_table(
        "orders",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("fingerprint", sa.String(), nullable=False),
        sa.Column("code", sa.String(), nullable=False),
        sa.Column("title", sa.String(), nullable=False),
        sa.Column("revision", sa.String(), nullable=False),
        sa.Column("source_name", sa.String(), nullable=True),
        sa.Column("source_text", sa.String(), nullable=True),
        sa.Column("data", PlainJson, nullable=False),
        sa.Column("saved_at", UtcDateTime(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_orders")),
        sa.UniqueConstraint("fingerprint", name=op.f("uq_orders_fingerprint")),
    )
    op.create_index(op.f("ix_orders_code"), "orders", ["code"])
    op.create_table(
        "plans",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("order_id", sa.Integer(), nullable=False),
        sa.Column("fingerprint", sa.String(), nullable=False),
        sa.Column("content", sa.String(), nullable=False),
        sa.Column("made_at", sa.String(), nullable=False),
        sa.Column("version", sa.String(), nullable=False),
        sa.Column("options", PlainJson, nullable=False),
        sa.Column("weld_count", sa.Integer(), nullable=False),
        sa.Column("stopped_count", sa.Integer(), nullable=False),
        sa.Column("data", PlainJson, nullable=False),
        sa.Column("saved_at", UtcDateTime(), nullable=False),
        sa.ForeignKeyConstraint(
            ["order_id"], ["orders.id"], name=op.f("fk_plans_order_id_orders"), ondelete="RESTRICT"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_plans")),
        sa.UniqueConstraint("fingerprint", name=op.f("uq_plans_fingerprint")),
    )
    op.create_index(op.f("ix_plans_content"), "plans", ["content"])
    op.create_index(op.f("ix_plans_order_id"), "plans", ["order_id"])
    op.create_table(
        "weld_plans",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("plan_id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("weld", sa.String(), nullable=False),
        sa.Column("status", sa.String(), nullable=False),
        sa.Column("technique", sa.String(), nullable=True),
        sa.Column("arrangement", sa.String(), nullable=True),
        sa.Column("source", sa.String(), nullable=True),
        sa.Column("shots", sa.Integer(), nullable=False),
        sa.Column("seconds", sa.Double(), nullable=True),
        sa.Column("stop_plates", sa.Integer(), nullable=True),
        sa.Column("blanket_layers", sa.Integer(), nullable=True),
        sa.Column("added_mass_kg", sa.Double(), nullable=True),
        sa.Column("barrier_m", sa.Double(), nullable=True),
        sa.Column("data", PlainJson, nullable=False),
        sa.CheckConstraint("status IN ('ready', 'stopped')", name=op.f("ck_weld_plans_status")),
        sa.ForeignKeyConstraint(
            ["plan_id"], ["plans.id"], name=op.f("fk_weld_plans_plan_id_plans"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_weld_plans")),
        sa.UniqueConstraint("plan_id", "position", name=op.f("uq_weld_plans_plan_id_position")),
        sa.UniqueConstraint("plan_id", "weld", name=op.f("uq_weld_plans_plan_id_weld")),
    )
    op.create_index(op.f("ix_weld_plans_weld"), "weld_plans", ["weld"])
    op.create_table(
        "figures",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("weld_plan_id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("number", sa.Double(), nullable=True),
        sa.Column("text", sa.String(), nullable=True),
        sa.Column("unit", sa.String(), nullable=False),
        sa.Column("sigma", sa.Double(), nullable=True),
        sa.ForeignKeyConstraint(
            ["weld_plan_id"],
            ["weld_plans.id"],
            name=op.f("fk_figures_weld_plan_id_weld_plans"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_figures")),
        sa.UniqueConstraint("weld_plan_id", "name", name=op.f("uq_figures_weld_plan_id_name")),
    )
    op.create_index(op.f("ix_figures_name"), "figures", ["name"])
    op.create_table(
        "findings",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("weld_plan_id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("level", sa.String(), nullable=False),
        sa.Column("text", sa.String(), nullable=False),
        sa.Column("source", sa.String(), nullable=False),
        sa.Column("relax", PlainJson, nullable=False),
        sa.CheckConstraint("level IN ('stop', 'warn', 'note')", name=op.f("ck_findings_level")),
        sa.ForeignKeyConstraint(
            ["weld_plan_id"],
            ["weld_plans.id"],
            name=op.f("fk_findings_weld_plan_id_weld_plans"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_findings")),
        sa.UniqueConstraint("weld_plan_id", "position", name=op.f("uq_findings_weld_plan_id_position")),
    )


def downgrade() -> None:
    """Back to an empty database."""
    for name in ("findings", "figures", "weld_plans", "plans", "orders"):
        op.drop_table(name)
