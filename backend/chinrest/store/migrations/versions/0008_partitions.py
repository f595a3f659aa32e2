"""Lines are kept by site and month, where the engine can."""

from alembic import op

from chinrest.store.engines.partitions import partition_lines

revision = "0008"
down_revision = "0007"
branch_labels = None
depends_on = None


def upgrade() -> None:
    partition_lines(op.get_bind())
