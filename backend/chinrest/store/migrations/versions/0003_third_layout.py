"""Sums of the counts; what the class of a reaction is derived from; by which rules the folds were made."""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def upgrade() -> None:
    # null: made by older rules; the store makes them anew from the lines when it is next opened
    op.add_column("house", sa.Column("folds", sa.Integer(), nullable=True))
    op.add_column("incidents", sa.Column("after_closing", sa.Boolean(), nullable=True))
    op.add_column("incidents", sa.Column("pack", sa.String(length=64), nullable=True))
    op.add_column("incidents", sa.Column("seen", sa.Text(), nullable=True))
    op.create_table(
        "sums",
        sa.Column("kind", sa.String(length=20), nullable=False),
        sa.Column("key", sa.String(length=200), nullable=False),
        sa.Column("sub", sa.String(length=200), nullable=False),
        sa.Column("site", sa.String(length=100), nullable=False),
        sa.Column("month", sa.String(length=7), nullable=False),
        sa.Column("n", sa.BigInteger(), nullable=False),
        sa.PrimaryKeyConstraint("kind", "key", "sub", "site", "month", name=op.f("pk_sums")),
    )
