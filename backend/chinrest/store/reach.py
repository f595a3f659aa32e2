"""What erasing reaches: an answer for each column that could hold what somebody wrote about a person, and for
each type of line in the server's own chain. A test fails where a new one has none, and another looks for a
person's words in every table after an erasing.

What stays names staff, phones and the house: `devices.label` says what a phone is called, the actor in an
envelope who wrote a line, a withdrawal why. Nothing of a patient belongs there, and no program can see it.
"""

from typing import Literal

from chinrest.log.erasure_events import BodiesErased, RetentionSet
from chinrest.log.house_events import (
    CaseRead,
    DataKeyGivenBack,
    DeviceWithdrawn,
    LinesCarried,
    LogExported,
    PackApproved,
    PackRecalled,
    PersonReadmitted,
    PersonWithdrawn,
    StaffChanged,
)
from chinrest.log.registry import REVIEW_TYPES, type_of

Answer = Literal[
    "with its line",  # goes with the line's body: by its case's age, by its own where it has none, by request
    "with its fold",  # made anew from what stands, in the same transaction
    "envelope",  # ids, hashes and who wrote it, by fixed forms: what the chain is made of
    "made up",  # ids, hashes, keys, tokens and words of ours: nobody typed it
    "house",  # of staff, phones, sites, hubs and guidance
]

COLUMNS: dict[str, dict[str, Answer]] = {
    "house": dict.fromkeys(("server", "epoch", "own_device", "signing_key", "carrying_key"), "made up"),
    "sites": dict.fromkeys(("id", "name"), "house"),
    "devices": {
        **dict.fromkeys(("id", "kind", "public_key"), "made up"),
        **dict.fromkeys(("token_sha256", "send_token_sha256", "next_token_sha256", "app"), "made up"),
        **dict.fromkeys(("label", "site"), "house"),
    },
    "enrolment_codes": {
        **dict.fromkeys(("code_sha256", "used_by"), "made up"),
        **dict.fromkeys(("site", "label"), "house"),
    },
    "chains": dict.fromkeys(("device", "sha256"), "envelope"),
    "lines": {
        **dict.fromkeys(("id", "device", "envelope", "envelope_sha256", "prev", "type"), "envelope"),
        **dict.fromkeys(("case_id", "site", "body_state"), "envelope"),
        "body": "with its line",
    },
    "stubs": {
        **dict.fromkeys(("device", "envelope_sha256", "prev", "code"), "envelope"),
        "reason": "with its line",
    },
    "refused": {
        **dict.fromkeys(("device", "raw_sha256", "line", "envelope_sha256"), "envelope"),
        **dict.fromkeys(("code", "type", "case_id"), "envelope"),
        **dict.fromkeys(("raw", "reason"), "with its line"),
    },
    "vouchers": dict.fromkeys(("device", "head_sha256", "signature"), "made up"),
    "hubs": {**dict.fromkeys(("id", "public_key", "app", "packs"), "made up"), "name": "house"},
    "backed_up": dict.fromkeys(("device", "head_sha256"), "made up"),
    "relayed": dict.fromkeys(
        ("device", "server", "epoch", "kind", "head_sha256", "signature", "backup"), "made up"
    ),
    "beyond": dict.fromkeys(("server", "public_key", "carrying_key", "carrying_signature"), "made up"),
    "unfolded": dict.fromkeys(("case_id", "device"), "envelope"),
    "cases": dict.fromkeys(("case_id", "site", "code", "state", "outcome"), "with its fold"),
    "incidents": {
        **dict.fromkeys(("line", "case_id", "case_code", "site", "device", "what", "harm"), "with its fold"),
        **dict.fromkeys(("optic", "note", "search", "pack", "seen"), "with its fold"),
    },
    "tallies": dict.fromkeys(("case_id", "kind", "key", "sub", "site", "month"), "with its fold"),
    "sums": dict.fromkeys(("kind", "key", "sub", "site", "month"), "with its fold"),
    "review_lines": dict.fromkeys(("line", "incident"), "envelope"),
    "reviews": dict.fromkeys(
        ("incident", "case_id", "state", "harm", "preventable", "owner", "due"), "with its fold"
    ),
    "packs": dict.fromkeys(("sha256", "raw", "version", "clinic"), "house"),
    "staff": dict.fromkeys(("id", "name", "name_key", "role", "password_hash", "site"), "house"),
    "invitations": dict.fromkeys(("token_sha256", "staff"), "made up"),
    "second_factors": dict.fromkeys(("staff", "secret"), "made up"),
    "recovery_codes": dict.fromkeys(("staff", "code_hash"), "made up"),
    "sessions": dict.fromkeys(("token_sha256", "staff"), "made up"),
    "drafts": dict.fromkeys(("draft", "base", "by", "what", "tables", "pack"), "house"),
}
"""By table, each column of text or bytes. Of a fold that was made from an erased case, what the tombstone
keeps stays: the kind, harm, optic and day of incidents, and counts by ids of the guidance. A phone claims
such ids; it has nowhere to type one."""

WITH_THE_INCIDENT = REVIEW_TYPES
"""The server's own lines whose words go with the case or incident that they are about."""

BY_ITS_OWN_AGE = frozenset({type_of(LogExported)})
"""The question by which something was taken out may have a case's code in it."""

STAYS = frozenset(
    {
        type_of(PackApproved),
        type_of(PackRecalled),
        type_of(CaseRead),
        type_of(DeviceWithdrawn),
        type_of(PersonWithdrawn),
        type_of(PersonReadmitted),
        type_of(LinesCarried),
        type_of(StaffChanged),
        type_of(DataKeyGivenBack),
        type_of(RetentionSet),
        type_of(BodiesErased),
    }
)
"""Who may do what, what is in force, who read which case and what was erased."""
