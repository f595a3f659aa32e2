"""The server signs (receipts, seals of exports), incidents are reviewed, and cases are counted."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    # null until the store is next opened: it then makes the key
    op.add_column("house", sa.Column("signing_key", sa.Text(), nullable=True))
    op.create_table(
        "hubs",
        sa.Column("id", sa.String(length=36), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("public_key", sa.Text(), nullable=False),
        sa.Column("approved_at", sa.BigInteger(), nullable=False),
        sa.Column("withdrawn_at", sa.BigInteger(), nullable=True),
        sa.Column("last_heard_at", sa.BigInteger(), nullable=True),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_hubs")),
    )
    op.create_table(
        "relayed",
        sa.Column("device", sa.String(length=36), nullable=False),
        sa.Column("server", sa.String(length=36), nullable=False),
        sa.Column("epoch", sa.String(length=36), nullable=False),
        sa.Column("kind", sa.String(length=10), nullable=False),
        sa.Column("seq", sa.BigInteger(), nullable=False),
        sa.Column("head_sha256", sa.String(length=64), nullable=False),
        sa.Column("at", sa.BigInteger(), nullable=False),
        sa.Column("signature", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["device"], ["devices.id"], name=op.f("fk_relayed_device")),
        sa.PrimaryKeyConstraint("device", name=op.f("pk_relayed")),
    )
    op.create_table(
        "beyond",
        sa.Column("server", sa.String(length=36), nullable=False),
        sa.Column("public_key", sa.Text(), nullable=False),
        sa.Column("pinned_at", sa.BigInteger(), nullable=False),
        sa.PrimaryKeyConstraint("server", name=op.f("pk_beyond")),
    )
    op.create_table(
        "tallies",
        sa.Column("case_id", sa.String(length=64), nullable=False),
        sa.Column("kind", sa.String(length=20), nullable=False),
        sa.Column("key", sa.String(length=200), nullable=False),
        sa.Column("sub", sa.String(length=200), nullable=False),
        sa.Column("n", sa.Integer(), nullable=False),
        sa.Column("site", sa.String(length=100), nullable=False),
        sa.Column("month", sa.String(length=7), nullable=False),
        sa.Column("at", sa.BigInteger(), nullable=False),
        sa.PrimaryKeyConstraint("case_id", "kind", "key", "sub", name=op.f("pk_tallies")),
    )
    op.create_index(
        op.f("ix_tallies_kind_key_sub_month_site_n_at_case_id"),
        "tallies",
        ["kind", "key", "sub", "month", "site", "n", "at", "case_id"],
        unique=False,
    )
    op.create_table(
        "review_lines",
        sa.Column("line", sa.String(length=36), nullable=False),
        sa.Column("incident", sa.String(length=36), nullable=False),
        sa.ForeignKeyConstraint(["line"], ["lines.id"], name=op.f("fk_review_lines_line")),
        sa.PrimaryKeyConstraint("line", name=op.f("pk_review_lines")),
    )
    op.create_index(op.f("ix_review_lines_incident"), "review_lines", ["incident"], unique=False)
    op.create_table(
        "reviews",
        sa.Column("incident", sa.String(length=36), nullable=False),
        sa.Column("case_id", sa.String(length=64), nullable=True),
        sa.Column("state", sa.String(length=20), nullable=False),
        sa.Column("late", sa.Boolean(), nullable=False),
        sa.Column("harm", sa.String(length=20), nullable=True),
        sa.Column("preventable", sa.String(length=20), nullable=True),
        sa.Column("owner", sa.Text(), nullable=True),
        sa.Column("due", sa.String(length=10), nullable=True),
        sa.PrimaryKeyConstraint("incident", name=op.f("pk_reviews")),
    )
    op.create_index(op.f("ix_reviews_case_id"), "reviews", ["case_id"], unique=False)
    op.create_index(op.f("ix_reviews_state"), "reviews", ["state"], unique=False)
