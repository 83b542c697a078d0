"""A revision is issued once; long names of probes."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision: str = "0002"
down_revision: str | None = "0001"
branch_labels: None = None
depends_on: None = None


def upgrade() -> None:
    """Bring the tables forward."""
    with op.batch_alter_table("issued", schema=None) as batch_op:
        batch_op.create_unique_constraint(batch_op.f("uq_issued_job_id"), ["job_id", "revision"])

    with op.batch_alter_table("reading", schema=None) as batch_op:
        batch_op.alter_column(
            "probe", existing_type=sa.VARCHAR(length=200), type_=sa.String(length=300), existing_nullable=False
        )
