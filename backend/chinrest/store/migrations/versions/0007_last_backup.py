"""What of each device the last backup holds; at a hub, the word of the server beyond about it."""

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0006"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "backed_up",
        sa.Column("device", sa.String(length=36), nullable=False),
        sa.Column("seq", sa.BigInteger(), nullable=False),
        sa.Column("head_sha256", sa.String(length=64), nullable=False),
        sa.Column("made_at", sa.BigInteger(), nullable=False),
        sa.ForeignKeyConstraint(["device"], ["devices.id"], name=op.f("fk_backed_up_device")),
        sa.PrimaryKeyConstraint("device", name=op.f("pk_backed_up")),
    )
    # null until the next answer of the server beyond
    op.add_column("relayed", sa.Column("backup", sa.Text(), nullable=True))
