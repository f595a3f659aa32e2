"""People: where they work, when they were last here, whether withdrawn; invitations; second factors."""

import sqlalchemy as sa
from alembic import op

revision = "0009"
down_revision = "0008"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.add_column("staff", sa.Column("site", sa.String(length=100), nullable=True))
    op.add_column("staff", sa.Column("last_sign_in_at", sa.BigInteger(), nullable=True))
    op.add_column("staff", sa.Column("withdrawn_at", sa.BigInteger(), nullable=True))
    op.create_table(
        "invitations",
        sa.Column("token_sha256", sa.String(length=64), nullable=False),
        sa.Column("staff", sa.String(length=36), nullable=False),
        sa.Column("made_at", sa.BigInteger(), nullable=False),
        sa.Column("expires_at", sa.BigInteger(), nullable=False),
        sa.ForeignKeyConstraint(["staff"], ["staff.id"], name=op.f("fk_invitations_staff")),
        sa.PrimaryKeyConstraint("token_sha256", name=op.f("pk_invitations")),
        sa.UniqueConstraint("staff", name=op.f("uq_invitations_staff")),
    )
    op.create_table(
        "second_factors",
        sa.Column("staff", sa.String(length=36), nullable=False),
        sa.Column("secret", sa.LargeBinary(), nullable=False),
        sa.Column("confirmed_at", sa.BigInteger(), nullable=True),
        sa.Column("last_step", sa.BigInteger(), nullable=True),
        sa.ForeignKeyConstraint(["staff"], ["staff.id"], name=op.f("fk_second_factors_staff")),
        sa.PrimaryKeyConstraint("staff", name=op.f("pk_second_factors")),
    )
    op.create_table(
        "recovery_codes",
        sa.Column("staff", sa.String(length=36), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("code_hash", sa.Text(), nullable=False),
        sa.Column("used_at", sa.BigInteger(), nullable=True),
        sa.ForeignKeyConstraint(["staff"], ["staff.id"], name=op.f("fk_recovery_codes_staff")),
        sa.PrimaryKeyConstraint("staff", "number", name=op.f("pk_recovery_codes")),
    )
