"""Cases whose lines are stored and not folded yet."""

import sqlalchemy as sa
from alembic import op

revision = "0011"
down_revision = "0010"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "unfolded",
        sa.Column("case_id", sa.String(length=64), nullable=False),
        sa.Column("device", sa.String(length=36), nullable=False),
        sa.Column("failed", sa.Boolean(), nullable=False),
        sa.PrimaryKeyConstraint("case_id", name=op.f("pk_unfolded")),
    )
