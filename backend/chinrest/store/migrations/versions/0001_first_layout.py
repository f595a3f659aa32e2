"""The first layout: house, devices, lines and their folds, packs, people."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "cases",
        sa.Column("case_id", sa.String(length=64), nullable=False),
        sa.Column("site", sa.String(length=100), nullable=False),
        sa.Column("code", sa.Text(), nullable=True),
        sa.Column("opened", sa.Boolean(), nullable=False),
        sa.Column("state", sa.String(length=10), nullable=False),
        sa.Column("outcome", sa.String(length=20), nullable=True),
        sa.Column("practice", sa.Boolean(), nullable=False),
        sa.Column("closed_feed", sa.BigInteger(), nullable=True),
        sa.PrimaryKeyConstraint("case_id", name=op.f("pk_cases")),
    )
    op.create_index(op.f("ix_cases_site_state"), "cases", ["site", "state"], unique=False)
    op.create_table(
        "house",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("server", sa.String(length=36), nullable=False),
        sa.Column("epoch", sa.String(length=36), nullable=False),
        sa.Column("own_device", sa.String(length=36), nullable=False),
        sa.Column("position", sa.BigInteger(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_house")),
    )
    op.create_table(
        "incidents",
        sa.Column("line", sa.String(length=36), nullable=False),
        sa.Column("case_id", sa.String(length=64), nullable=True),
        sa.Column("case_code", sa.Text(), nullable=True),
        sa.Column("site", sa.String(length=100), nullable=False),
        sa.Column("device", sa.String(length=36), nullable=False),
        sa.Column("at", sa.BigInteger(), nullable=False),
        sa.Column("received_at", sa.BigInteger(), nullable=False),
        sa.Column("what", sa.Text(), nullable=False),
        sa.Column("reached_patient", sa.Boolean(), nullable=True),
        sa.Column("harm", sa.String(length=20), nullable=True),
        sa.Column("near_miss", sa.Boolean(), nullable=False),
        sa.Column("practice", sa.Boolean(), nullable=False),
        sa.Column("optic", sa.Text(), nullable=True),
        sa.Column("amended", sa.Boolean(), nullable=False),
        sa.Column("withdrawn", sa.Boolean(), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("search", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("line", name=op.f("pk_incidents")),
    )
    op.create_index(op.f("ix_incidents_at"), "incidents", ["at"], unique=False)
    op.create_index(op.f("ix_incidents_case_id"), "incidents", ["case_id"], unique=False)
    op.create_table(
        "packs",
        sa.Column("sha256", sa.String(length=64), nullable=False),
        sa.Column("raw", sa.LargeBinary(), nullable=False),
        sa.Column("size_bytes", sa.BigInteger(), nullable=False),
        sa.Column("version", sa.Text(), nullable=False),
        sa.Column("clinic", sa.Text(), nullable=False),
        sa.Column("received_at", sa.BigInteger(), nullable=False),
        sa.PrimaryKeyConstraint("sha256", name=op.f("pk_packs")),
    )
    op.create_table(
        "sites",
        sa.Column("id", sa.String(length=100), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_sites")),
    )
    op.create_table(
        "staff",
        sa.Column("id", sa.String(length=36), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("name_key", sa.String(length=200), nullable=False),
        sa.Column("role", sa.String(length=20), nullable=False),
        sa.Column("password_hash", sa.Text(), nullable=False),
        sa.Column("made_at", sa.BigInteger(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_staff")),
        sa.UniqueConstraint("name_key", name=op.f("uq_staff_name_key")),
    )
    op.create_table(
        "devices",
        sa.Column("id", sa.String(length=36), nullable=False),
        sa.Column("kind", sa.String(length=10), nullable=False),
        sa.Column("label", sa.Text(), nullable=False),
        sa.Column("site", sa.String(length=100), nullable=True),
        sa.Column("public_key", sa.Text(), nullable=False),
        sa.Column("token_sha256", sa.String(length=64), nullable=True),
        sa.Column("enrolled_at", sa.BigInteger(), nullable=False),
        sa.Column("withdrawn_at", sa.BigInteger(), nullable=True),
        sa.Column("last_heard_at", sa.BigInteger(), nullable=True),
        sa.Column("waiting", sa.BigInteger(), nullable=True),
        sa.Column("clock_offset_ms", sa.BigInteger(), nullable=True),
        sa.Column("app", sa.Text(), nullable=True),
        sa.ForeignKeyConstraint(["site"], ["sites.id"], name=op.f("fk_devices_site")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_devices")),
        sa.UniqueConstraint("token_sha256", name=op.f("uq_devices_token_sha256")),
    )
    op.create_table(
        "enrolment_codes",
        sa.Column("code_sha256", sa.String(length=64), nullable=False),
        sa.Column("site", sa.String(length=100), nullable=False),
        sa.Column("label", sa.Text(), nullable=False),
        sa.Column("made_at", sa.BigInteger(), nullable=False),
        sa.Column("expires_at", sa.BigInteger(), nullable=False),
        sa.Column("used_at", sa.BigInteger(), nullable=True),
        sa.Column("used_by", sa.String(length=36), nullable=True),
        sa.ForeignKeyConstraint(["site"], ["sites.id"], name=op.f("fk_enrolment_codes_site")),
        sa.PrimaryKeyConstraint("code_sha256", name=op.f("pk_enrolment_codes")),
    )
    op.create_table(
        "sessions",
        sa.Column("token_sha256", sa.String(length=64), nullable=False),
        sa.Column("staff", sa.String(length=36), nullable=False),
        sa.Column("started_at", sa.BigInteger(), nullable=False),
        sa.Column("expires_at", sa.BigInteger(), nullable=False),
        sa.ForeignKeyConstraint(["staff"], ["staff.id"], name=op.f("fk_sessions_staff")),
        sa.PrimaryKeyConstraint("token_sha256", name=op.f("pk_sessions")),
    )
    op.create_index(op.f("ix_sessions_staff"), "sessions", ["staff"], unique=False)
    op.create_table(
        "chains",
        sa.Column("device", sa.String(length=36), nullable=False),
        sa.Column("seq", sa.BigInteger(), nullable=False),
        sa.Column("sha256", sa.String(length=64), nullable=False),
        sa.ForeignKeyConstraint(["device"], ["devices.id"], name=op.f("fk_chains_device")),
        sa.PrimaryKeyConstraint("device", name=op.f("pk_chains")),
    )
    op.create_table(
        "lines",
        sa.Column("id", sa.String(length=36), nullable=False),
        sa.Column("device", sa.String(length=36), nullable=False),
        sa.Column("seq", sa.BigInteger(), nullable=False),
        sa.Column("position", sa.BigInteger(), nullable=False),
        sa.Column("feed", sa.BigInteger(), nullable=False),
        sa.Column("envelope", sa.LargeBinary(), nullable=False),
        sa.Column("envelope_sha256", sa.String(length=64), nullable=False),
        sa.Column("body", sa.LargeBinary(), nullable=True),
        sa.Column("body_state", sa.String(length=10), nullable=False),
        sa.Column("prev", sa.String(length=64), nullable=False),
        sa.Column("type", sa.String(length=64), nullable=False),
        sa.Column("case_id", sa.String(length=64), nullable=True),
        sa.Column("site", sa.String(length=100), nullable=False),
        sa.Column("received_at", sa.BigInteger(), nullable=False),
        sa.Column("offset_ms", sa.BigInteger(), nullable=True),
        sa.ForeignKeyConstraint(["device"], ["devices.id"], name=op.f("fk_lines_device")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_lines")),
        sa.UniqueConstraint("position", name=op.f("uq_lines_position")),
    )
    op.create_index(op.f("ix_lines_case_id"), "lines", ["case_id"], unique=False)
    op.create_index(op.f("ix_lines_device_seq"), "lines", ["device", "seq"], unique=False)
    op.create_index(op.f("ix_lines_feed"), "lines", ["feed"], unique=False)
    op.create_index(op.f("ix_lines_type"), "lines", ["type"], unique=False)
    op.create_table(
        "refused",
        sa.Column("device", sa.String(length=36), nullable=False),
        sa.Column("raw_sha256", sa.String(length=64), nullable=False),
        sa.Column("seq", sa.BigInteger(), nullable=True),
        sa.Column("line", sa.String(length=36), nullable=True),
        sa.Column("envelope_sha256", sa.String(length=64), nullable=False),
        sa.Column("code", sa.String(length=20), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("type", sa.String(length=64), nullable=True),
        sa.Column("case_id", sa.String(length=64), nullable=True),
        sa.Column("at", sa.BigInteger(), nullable=True),
        sa.Column("received_at", sa.BigInteger(), nullable=False),
        sa.Column("raw", sa.LargeBinary(), nullable=True),
        sa.Column("healed", sa.Boolean(), nullable=False),
        sa.ForeignKeyConstraint(["device"], ["devices.id"], name=op.f("fk_refused_device")),
        sa.PrimaryKeyConstraint("device", "raw_sha256", name=op.f("pk_refused")),
    )
    op.create_table(
        "stubs",
        sa.Column("device", sa.String(length=36), nullable=False),
        sa.Column("seq", sa.BigInteger(), nullable=False),
        sa.Column("envelope_sha256", sa.String(length=64), nullable=False),
        sa.Column("prev", sa.String(length=64), nullable=True),
        sa.Column("code", sa.String(length=20), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("received_at", sa.BigInteger(), nullable=False),
        sa.ForeignKeyConstraint(["device"], ["devices.id"], name=op.f("fk_stubs_device")),
        sa.PrimaryKeyConstraint("device", "seq", name=op.f("pk_stubs")),
    )
    op.create_table(
        "vouchers",
        sa.Column("device", sa.String(length=36), nullable=False),
        sa.Column("head_seq", sa.BigInteger(), nullable=False),
        sa.Column("head_sha256", sa.String(length=64), nullable=False),
        sa.Column("signature", sa.Text(), nullable=False),
        sa.Column("received_at", sa.BigInteger(), nullable=False),
        sa.ForeignKeyConstraint(["device"], ["devices.id"], name=op.f("fk_vouchers_device")),
        sa.PrimaryKeyConstraint("device", "head_seq", "head_sha256", name=op.f("pk_vouchers")),
    )
