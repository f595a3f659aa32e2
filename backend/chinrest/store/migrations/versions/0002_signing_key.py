"""The server signs too: receipts for phones, and the seals of exports."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    # null until the store is next opened: it then makes the key
    op.add_column("house", sa.Column("signing_key", sa.Text(), nullable=True))
