"""What a hub says of itself: lines that wait on it, its clock, its version, its packs."""

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.add_column("hubs", sa.Column("said_at", sa.BigInteger(), nullable=True))
    op.add_column("hubs", sa.Column("waiting", sa.BigInteger(), nullable=True))
    op.add_column("hubs", sa.Column("clock_offset_ms", sa.BigInteger(), nullable=True))
    op.add_column("hubs", sa.Column("app", sa.Text(), nullable=True))
    op.add_column("hubs", sa.Column("packs", sa.Text(), nullable=True))
