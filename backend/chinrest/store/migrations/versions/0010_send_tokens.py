"""Phones with PINs: a token that may only send, and a full one that counts from its first use."""

import sqlalchemy as sa
from alembic import op

revision = "0010"
down_revision = "0009"
branch_labels = None
depends_on = None

COLUMNS = ("send_token_sha256", "next_token_sha256")


def upgrade() -> None:
    for name in COLUMNS:
        op.add_column("devices", sa.Column(name, sa.String(length=64), nullable=True))
        # a unique index, and no constraint: not every engine adds one of those to a table
        op.create_index(op.f(f"ix_devices_{name}"), "devices", [name], unique=True)
