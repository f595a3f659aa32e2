"""Lines are carried by file: the key that they are sealed for, and at a hub, that of the server beyond."""

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None


def upgrade() -> None:
    # null until the store is next opened: it then makes the key
    op.add_column("house", sa.Column("carrying_key", sa.Text(), nullable=True))
    # null until the next answer of the server beyond
    op.add_column("beyond", sa.Column("carrying_key", sa.Text(), nullable=True))
    op.add_column("beyond", sa.Column("carrying_signature", sa.Text(), nullable=True))
