"""How many welds of a plan are ready only if something is seen to, counted as page 1 of the order's sheets counts.

Revision 0002.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from halflayer.records.columns import PlainJson

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None

PLANS = sa.table("plans", sa.column("id", sa.Integer), sa.column("only_if_count", sa.Integer))
WELDS = sa.table(
    "weld_plans",
    sa.column("plan_id", sa.Integer),
    sa.column("status", sa.String),
    sa.column("data", PlainJson),
)


def upgrade() -> None:
    """To this revision; plans that are there already are counted from their welds."""
    op.add_column("plans", sa.Column("only_if_count", sa.Integer(), server_default="0", nullable=False))
    connection = op.get_bind()
    counts: dict[int, int] = {}
    for plan_id, data in connection.execute(
        sa.select(WELDS.c.plan_id, WELDS.c.data).where(WELDS.c.status == "ready")
    ):
        counts[plan_id] = counts.get(plan_id, 0) + bool(data.get("conditions"))
    for plan_id, count in counts.items():
        connection.execute(sa.update(PLANS).where(PLANS.c.id == plan_id).values(only_if_count=count))


def downgrade() -> None:
    """Back to the revision before."""
    op.drop_column("plans", "only_if_count")
