"""Remarks on saves."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision: str = "0004"
down_revision: str | None = "0003"
branch_labels: None = None
depends_on: None = None


def upgrade() -> None:
    """Bring the tables forward."""
    op.create_table(
        "remark",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("job_id", sa.Integer(), nullable=False),
        sa.Column("save_number", sa.Integer(), nullable=False),
        sa.Column("text", sa.Text(), nullable=False),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("made_by", sa.String(length=200), nullable=False),
        sa.ForeignKeyConstraint(["job_id"], ["job.id"], name=op.f("fk_remark_job_id_job")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_remark")),
    )
    with op.batch_alter_table("remark", schema=None) as batch_op:
        batch_op.create_index("ix_remark_job_id_save_number", ["job_id", "save_number"], unique=False)
