"""${message}

Revision ${up_revision}, after ${down_revision | comma,n}.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op
${imports if imports else ""}
revision = ${repr(up_revision)}
down_revision = ${repr(down_revision)}


def upgrade() -> None:
    """To this revision."""
    ${upgrades if upgrades else "pass"}


def downgrade() -> None:
    """Back to the revision before."""
    ${downgrades if downgrades else "pass"}
