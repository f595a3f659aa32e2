"""Drafts of guidance packs: each save of each draft."""

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "drafts",
        sa.Column("draft", sa.String(length=36), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("base", sa.String(length=64), nullable=False),
        sa.Column("at", sa.BigInteger(), nullable=False),
        sa.Column("by", sa.String(length=36), nullable=False),
        sa.Column("what", sa.Text(), nullable=False),
        sa.Column("tables", sa.LargeBinary(), nullable=False),
        sa.Column("pack", sa.String(length=64), nullable=True),
        sa.PrimaryKeyConstraint("draft", "number", name=op.f("pk_drafts")),
    )
