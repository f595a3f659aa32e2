"""The tables as the newest layout has them. The migrations make them; a test compares the two.

Only what any database has: no type, index or default that one product alone knows. Times: ms since 1970.
"""

from sqlalchemy import (
    BigInteger,
    Boolean,
    Column,
    ForeignKey,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    String,
    Table,
    Text,
)

metadata = MetaData(
    naming_convention={
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "fk": "fk_%(table_name)s_%(column_0_name)s",
        "pk": "pk_%(table_name)s",
    }
)

# one row: who this server is. `position` is the last log position given; giving one locks the row, so that
# positions are committed in the order of their numbers. `own_device` writes the server's own chain in this
# epoch. `signing_key`: its private key (PKCS #8 in base64), for receipts and the seals of exports.
# `folds`: by which rules the folds below were made; where they are others than today's, they are made anew.
# `carrying_key`: another, which opens what phones sealed for this server.
house = Table(
    "house",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("server", String(36), nullable=False),
    Column("epoch", String(36), nullable=False),
    Column("own_device", String(36), nullable=False),
    Column("position", BigInteger, nullable=False),
    Column("signing_key", Text),
    Column("folds", Integer),
    Column("carrying_key", Text),
)

sites = Table(
    "sites",
    metadata,
    Column("id", String(100), primary_key=True),
    Column("name", Text, nullable=False),
)

# kind: phone, or server for the server's own chains (which have no site, key or token). `send_`: of a token
# that may only send, where the phone has PINs. `next_`: of a full one, whose first use ends the one before.
devices = Table(
    "devices",
    metadata,
    Column("id", String(36), primary_key=True),
    Column("kind", String(10), nullable=False),
    Column("label", Text, nullable=False),
    Column("site", String(100), ForeignKey("sites.id")),
    Column("public_key", Text, nullable=False),
    Column("token_sha256", String(64), unique=True),
    Column("send_token_sha256", String(64), index=True, unique=True),
    Column("next_token_sha256", String(64), index=True, unique=True),
    Column("enrolled_at", BigInteger, nullable=False),
    Column("withdrawn_at", BigInteger),
    Column("last_heard_at", BigInteger),
    Column("waiting", BigInteger),
    Column("clock_offset_ms", BigInteger),
    Column("app", Text),
)

enrolment_codes = Table(
    "enrolment_codes",
    metadata,
    Column("code_sha256", String(64), primary_key=True),
    Column("site", String(100), ForeignKey("sites.id"), nullable=False),
    Column("label", Text, nullable=False),
    Column("made_at", BigInteger, nullable=False),
    Column("expires_at", BigInteger, nullable=False),
    Column("used_at", BigInteger),
    Column("used_by", String(36)),
)

# the head of each device's unbroken chain: every sequence up to `seq` stands here, as a line or as a stub.
# A line above it waits for a predecessor.
chains = Table(
    "chains",
    metadata,
    Column("device", String(36), ForeignKey("devices.id"), primary_key=True),
    Column("seq", BigInteger, nullable=False),
    Column("sha256", String(64), nullable=False),
)

# `position`: where in the log it came, for good. `feed`: where phones that pull find it; the same, but given
# anew when a case is opened again or found to be another site's, so that phones which passed by get it whole.
# Above its chain's head a device may have several lines at one sequence, until the one that joins is known.
# body_state: plain, sealed (readable only to another), or erased (then `body` is null).
lines = Table(
    "lines",
    metadata,
    Column("id", String(36), primary_key=True),
    Column("device", String(36), ForeignKey("devices.id"), nullable=False),
    Column("seq", BigInteger, nullable=False),
    Column("position", BigInteger, nullable=False, unique=True),
    Column("feed", BigInteger, nullable=False),
    Column("envelope", LargeBinary, nullable=False),
    Column("envelope_sha256", String(64), nullable=False),
    Column("body", LargeBinary),
    Column("body_state", String(10), nullable=False),
    Column("prev", String(64), nullable=False),
    Column("type", String(64), nullable=False),
    Column("case_id", String(64)),
    Column("site", String(100), nullable=False),
    Column("received_at", BigInteger, nullable=False),
    Column("offset_ms", BigInteger),
    Index(None, "device", "seq"),
    Index(None, "feed"),
    Index(None, "case_id"),
    Index(None, "type"),
)

# what stands in a chain where a line was refused, so that the chain goes on
stubs = Table(
    "stubs",
    metadata,
    Column("device", String(36), ForeignKey("devices.id"), primary_key=True),
    Column("seq", BigInteger, primary_key=True),
    Column("envelope_sha256", String(64), nullable=False),
    Column("prev", String(64)),
    Column("code", String(20), nullable=False),
    Column("reason", Text, nullable=False),
    Column("received_at", BigInteger, nullable=False),
)

# every refused line, kept aside whole (one that is too large by its hash alone). `healed`: a sound copy came
# later
refused = Table(
    "refused",
    metadata,
    Column("device", String(36), ForeignKey("devices.id"), primary_key=True),
    Column("raw_sha256", String(64), primary_key=True),
    Column("seq", BigInteger),
    Column("line", String(36)),
    Column("envelope_sha256", String(64), nullable=False),
    Column("code", String(20), nullable=False),
    Column("reason", Text, nullable=False),
    Column("type", String(64)),
    Column("case_id", String(64)),
    Column("at", BigInteger),
    Column("received_at", BigInteger, nullable=False),
    Column("raw", LargeBinary),
    Column("healed", Boolean, nullable=False),
)

# a device's signature over the head of a batch, which vouches for all before it
vouchers = Table(
    "vouchers",
    metadata,
    Column("device", String(36), ForeignKey("devices.id"), primary_key=True),
    Column("head_seq", BigInteger, primary_key=True),
    Column("head_sha256", String(64), primary_key=True),
    Column("signature", Text, nullable=False),
    Column("received_at", BigInteger, nullable=False),
)

# other servers that may relay lines to this one, each known by its own key. `waiting`, `clock_offset_ms`,
# `app` and `packs` (a JSON list of hashes, in force at the hub): as it said itself at `said_at`
hubs = Table(
    "hubs",
    metadata,
    Column("id", String(36), primary_key=True),
    Column("name", Text, nullable=False),
    Column("public_key", Text, nullable=False),
    Column("approved_at", BigInteger, nullable=False),
    Column("withdrawn_at", BigInteger),
    Column("last_heard_at", BigInteger),
    Column("said_at", BigInteger),
    Column("waiting", BigInteger),
    Column("clock_offset_ms", BigInteger),
    Column("app", Text),
    Column("packs", Text),
)

# up to where the last backup of this server holds each phone's chain. After a restore, that of the backup
# which was restored; a device without a row is in none.
backed_up = Table(
    "backed_up",
    metadata,
    Column("device", String(36), ForeignKey("devices.id"), primary_key=True),
    Column("seq", BigInteger, nullable=False),
    Column("head_sha256", String(64), nullable=False),
    Column("made_at", BigInteger, nullable=False),
)

# at a hub: up to where the server beyond holds each device's chain, by its own signed word. `backup`: its
# word of its last backup (JSON), as it gave it
relayed = Table(
    "relayed",
    metadata,
    Column("device", String(36), ForeignKey("devices.id"), primary_key=True),
    Column("server", String(36), nullable=False),
    Column("epoch", String(36), nullable=False),
    Column("kind", String(10), nullable=False),
    Column("seq", BigInteger, nullable=False),
    Column("head_sha256", String(64), nullable=False),
    Column("at", BigInteger, nullable=False),
    Column("signature", Text, nullable=False),
    Column("backup", Text),
)

# at a hub: the one server that it relays to, by the key that was given for it, and the key for which lines
# are sealed that go to it by file, with its signature
beyond = Table(
    "beyond",
    metadata,
    Column("server", String(36), primary_key=True),
    Column("public_key", Text, nullable=False),
    Column("pinned_at", BigInteger, nullable=False),
    Column("carrying_key", Text),
    Column("carrying_signature", Text),
)

# folds: made from the lines and nothing else, in the transaction that takes them or soon (`unfolded.py`)
cases = Table(
    "cases",
    metadata,
    Column("case_id", String(64), primary_key=True),
    Column("site", String(100), nullable=False),
    Column("code", Text),
    Column("opened", Boolean, nullable=False),
    Column("state", String(10), nullable=False),
    Column("outcome", String(20)),
    Column("practice", Boolean, nullable=False),
    Column("closed_feed", BigInteger),
    Index(None, "site", "state"),
)

# `pack` and `seen` (JSON): what the class of a reaction is derived from, each time that it is read
incidents = Table(
    "incidents",
    metadata,
    Column("line", String(36), primary_key=True),
    Column("case_id", String(64)),
    Column("case_code", Text),
    Column("site", String(100), nullable=False),
    Column("device", String(36), nullable=False),
    Column("at", BigInteger, nullable=False),
    Column("received_at", BigInteger, nullable=False),
    Column("what", Text, nullable=False),
    Column("reached_patient", Boolean),
    Column("harm", String(20)),
    Column("near_miss", Boolean, nullable=False),
    Column("practice", Boolean, nullable=False),
    Column("optic", Text),
    Column("amended", Boolean, nullable=False),
    Column("withdrawn", Boolean, nullable=False),
    Column("note", Text, nullable=False),
    Column("search", Text, nullable=False),
    Column("after_closing", Boolean),
    Column("pack", String(64)),
    Column("seen", Text),
    Index(None, "case_id"),
    Index(None, "at"),
)

# what each case that counts adds to the counts that rates are made of; `at` and `month` are of its opening
tallies = Table(
    "tallies",
    metadata,
    Column("case_id", String(64), primary_key=True),
    Column("kind", String(20), primary_key=True),
    Column("key", String(200), primary_key=True),
    Column("sub", String(200), primary_key=True),
    Column("n", Integer, nullable=False),
    Column("site", String(100), nullable=False),
    Column("month", String(7), nullable=False),
    Column("at", BigInteger, nullable=False),
    Index(None, "kind", "key", "sub", "month", "site", "n", "at", "case_id"),
)

# sums of the tallies, so that no page has to go through every case
sums = Table(
    "sums",
    metadata,
    Column("kind", String(20), primary_key=True),
    Column("key", String(200), primary_key=True),
    Column("sub", String(200), primary_key=True),
    Column("site", String(100), primary_key=True),
    Column("month", String(7), primary_key=True),
    Column("n", BigInteger, nullable=False),
)

# which incident each review line of the server's own chain is about
review_lines = Table(
    "review_lines",
    metadata,
    Column("line", String(36), ForeignKey("lines.id"), primary_key=True),
    Column("incident", String(36), nullable=False),
    Index(None, "incident"),
)

# a fold of those; an incident without a row is new. `owner` and `due`: of the open action that is due first.
reviews = Table(
    "reviews",
    metadata,
    Column("incident", String(36), primary_key=True),
    Column("case_id", String(64)),
    Column("state", String(20), nullable=False),
    Column("late", Boolean, nullable=False),
    Column("harm", String(20)),
    Column("preventable", String(20)),
    Column("owner", Text),
    Column("due", String(10)),
    Index(None, "case_id"),
    Index(None, "state"),
)

packs = Table(
    "packs",
    metadata,
    Column("sha256", String(64), primary_key=True),
    Column("raw", LargeBinary, nullable=False),
    Column("size_bytes", BigInteger, nullable=False),
    Column("version", Text, nullable=False),
    Column("clinic", Text, nullable=False),
    Column("received_at", BigInteger, nullable=False),
)

# who may sign in. `password_hash` is empty until an invitation was used. `site`: all that somebody sees and
# changes is of it; null for all sites. It is never removed: lines name it.
staff = Table(
    "staff",
    metadata,
    Column("id", String(36), primary_key=True),
    Column("name", Text, nullable=False),
    Column("name_key", String(200), nullable=False, unique=True),
    Column("role", String(20), nullable=False),
    Column("password_hash", Text, nullable=False),
    Column("made_at", BigInteger, nullable=False),
    Column("site", String(100)),
    Column("last_sign_in_at", BigInteger),
    Column("withdrawn_at", BigInteger),
)

# the one link that somebody may set their password by; gone once it was used
invitations = Table(
    "invitations",
    metadata,
    Column("token_sha256", String(64), primary_key=True),
    Column("staff", String(36), ForeignKey("staff.id"), nullable=False, unique=True),
    Column("made_at", BigInteger, nullable=False),
    Column("expires_at", BigInteger, nullable=False),
)

# `secret`: shared with an authenticator, as it is: both sides need it to work out a code. It asks for codes
# once `confirmed_at` is set. `last_step`: of the last code taken; none of that step or before is taken again.
second_factors = Table(
    "second_factors",
    metadata,
    Column("staff", String(36), ForeignKey("staff.id"), primary_key=True),
    Column("secret", LargeBinary, nullable=False),
    Column("confirmed_at", BigInteger),
    Column("last_step", BigInteger),
)

recovery_codes = Table(
    "recovery_codes",
    metadata,
    Column("staff", String(36), ForeignKey("staff.id"), primary_key=True),
    Column("number", Integer, primary_key=True),
    Column("code_hash", Text, nullable=False),
    Column("used_at", BigInteger),
)

sessions = Table(
    "sessions",
    metadata,
    Column("token_sha256", String(64), primary_key=True),
    Column("staff", String(36), ForeignKey("staff.id"), nullable=False, index=True),
    Column("started_at", BigInteger, nullable=False),
    Column("expires_at", BigInteger, nullable=False),
)

# drafts of guidance packs: a row for each save, whole, and never changed but for `pack`, the hash of what it
# was compiled to. `what` says what the save changed.
drafts = Table(
    "drafts",
    metadata,
    Column("draft", String(36), primary_key=True),
    Column("number", Integer, primary_key=True),
    Column("base", String(64), nullable=False),
    Column("at", BigInteger, nullable=False),
    Column("by", String(36), nullable=False),
    Column("what", Text, nullable=False),
    Column("tables", LargeBinary, nullable=False),
    Column("pack", String(64)),
)
