"""Every route of the application, and which kinds of caller may call it."""

from typing import Any, NamedTuple

from callers import OFFICER, PASSWORD

NOBODY = "nobody"
GONE = "Gil Gone"
PHONES = {"phone of harbour", "phone of lighthouse"}
LOCKED = {"locked phone"}  # by the token that may only send
REVIEWERS = {"officer", "lead"}
LEAD = {"lead"}
ADMIN = {"admin"}
OVERSEERS = {*REVIEWERS, *ADMIN}
STAFF = {"photographer", *REVIEWERS, *ADMIN}
WITHDRAWN = {"withdrawn phone", "withdrawn locked phone", "withdrawn officer"}
HUB = {"hub"}
ANYONE = {NOBODY, *PHONES, *LOCKED, *WITHDRAWN, *STAFF, *HUB}
REFUSALS = {
    (401, "not_signed_in"),
    (401, "not_enrolled"),
    (401, "staff_withdrawn"),
    (403, "reviewer_only"),
    (403, "lead_only"),
    (403, "admin_only"),
    (403, "overseer_only"),
    (403, "device_withdrawn"),
    (403, "may_only_send"),
    (403, "hub_unknown"),
}
JUDGED = {"seen": 0, "harm": "none", "preventable": "no", "factors": [], "note": "x"}
ACTION = {"seen": 0, "text": "x", "owner": "x", "due": "2026-12-01"}
NONE_SUCH = "0" * 64


class Row(NamedTuple):
    """`said`: the statuses of a caller who may, with the body as it is here."""

    may: set[str]
    said: frozenset[int] | set[int] = frozenset({200})
    body: Any = None


INCIDENT = "/api/incidents/{line}"
ACTION_AT = INCIDENT + "/actions/{action}"
# conflicts are told only to those who may decide; an action that is none likewise
DECIDED = {200, 409}
TABLE: dict[tuple[str, str], Row] = {
    ("GET", "/api/health"): Row(ANYONE),
    ("POST", "/api/enrol"): Row(ANYONE, {404}, {"code": "x", "device": "", "public_key": "", "label": "x"}),
    ("POST", "/api/sync"): Row(PHONES | LOCKED, {200}, "sync"),
    ("GET", "/api/packs/{sha256}"): Row(PHONES | LOCKED | STAFF, {404}),
    ("GET", "/api/carrying-key"): Row(PHONES),
    ("GET", "/api/seal-key"): Row(PHONES),
    ("POST", "/api/tokens"): Row(PHONES, {204}, "tokens"),
    ("POST", "/api/carried"): Row(PHONES | STAFF, {400}, "carried"),
    ("POST", "/api/session"): Row(ANYONE, {200}, {"name": OFFICER, "password": PASSWORD}),
    ("GET", "/api/session"): Row(STAFF),
    ("GET", "/api/incidents"): Row(REVIEWERS),
    ("GET", "/api/incident-counts"): Row(REVIEWERS),
    ("GET", "/api/period-report"): Row(REVIEWERS),
    ("GET", "/api/cases/{case}"): Row(REVIEWERS),
    ("GET", "/api/changes"): Row(STAFF),
    ("GET", "/api/refused-lines"): Row(REVIEWERS),
    ("GET", INCIDENT): Row(REVIEWERS),
    ("POST", INCIDENT + "/classification"): Row(REVIEWERS, {200}, JUDGED),
    ("POST", INCIDENT + "/comments"): Row(REVIEWERS, {200}, {"text": "x"}),
    ("POST", INCIDENT + "/links"): Row(REVIEWERS, {404}, {"seen": 1, "other": "x", "why": "x"}),
    ("POST", INCIDENT + "/parting"): Row(REVIEWERS, {409}, {"seen": 1, "reaction": "x", "why": "x"}),
    ("POST", INCIDENT + "/actions"): Row(REVIEWERS, DECIDED, ACTION),
    ("POST", ACTION_AT): Row(
        REVIEWERS, {404, 409}, {"seen": 1, "owner": "x", "due": "2026-12-02", "why": "x"}
    ),
    ("POST", ACTION_AT + "/end"): Row(REVIEWERS, {404, 409}, {"seen": 1, "done": True}),
    ("POST", INCIDENT + "/closing"): Row(REVIEWERS, DECIDED, {"seen": 1, "note": "x"}),
    ("POST", INCIDENT + "/close"): Row(REVIEWERS, DECIDED, {"seen": 1}),
    ("POST", INCIDENT + "/reopen"): Row(REVIEWERS, DECIDED, {"seen": 1, "why": "x"}),
    ("GET", "/api/rates"): Row(REVIEWERS),
    ("GET", "/api/charts"): Row(REVIEWERS),
    ("GET", "/api/craft"): Row(REVIEWERS),
    ("GET", "/api/calibration"): Row(REVIEWERS),
    ("GET", "/api/export/incidents.csv"): Row(REVIEWERS),
    ("GET", "/api/export/columns"): Row(REVIEWERS),
    ("GET", "/api/export/incidents.fhir.json"): Row(REVIEWERS),
    ("GET", "/api/export/lines"): Row(LEAD),
    ("GET", "/api/backup"): Row(OVERSEERS),
    ("GET", "/api/retention"): Row(OVERSEERS),
    ("GET", "/api/retention/due"): Row(OVERSEERS),
    ("POST", "/api/relay"): Row(HUB, {200}, "relay"),
    ("POST", "/api/relay/pack"): Row(HUB, {404}, "relay pack"),
    ("POST", "/api/relay/hub"): Row(HUB, {204}, "relay hub"),
    ("POST", "/api/plans"): Row(
        STAFF, {404}, {"pack": NONE_SUCH, "optic": "wide", "eye": "right", "region": "posterior_pole"}
    ),
    ("GET", "/api/sites"): Row(STAFF),
    ("GET", "/api/devices"): Row(STAFF),
    ("GET", "/api/hubs"): Row(STAFF),
    ("POST", "/api/devices/{device}/withdraw"): Row(LEAD, {200}, {"why": "lost"}),
    ("POST", "/api/enrolment-codes"): Row(LEAD, {200}, {"site": "{site}", "label": "x"}),
    ("GET", "/api/packs"): Row(STAFF),
    ("POST", "/api/packs"): Row(LEAD, {400}, {"format": 99}),
    ("POST", "/api/packs/{sha256}/approve"): Row(LEAD, {404}, {"sites": ["{site}"], "note": ""}),
    ("POST", "/api/packs/{sha256}/recall"): Row(LEAD, {404}, {"why": "x"}),
    ("GET", "/api/packs/{sha256}/fits"): Row(LEAD, {404}),
    ("GET", "/api/packs/{sha256}/difference/{older}"): Row(LEAD, {404}),
    ("GET", "/api/rollout"): Row(LEAD),
    ("GET", "/api/drafts"): Row(LEAD),
    ("GET", "/api/draft-forms"): Row(LEAD),
    ("POST", "/api/drafts"): Row(LEAD, {404}, {"base": NONE_SUCH}),
    ("GET", "/api/drafts/{draft}"): Row(LEAD, {404}),
    ("POST", "/api/drafts/{draft}"): Row(LEAD, {404}, {"seen": 1, "file": "limits.toml", "value": {}}),
    ("GET", "/api/drafts/{draft}/difference"): Row(LEAD, {404}),
    ("POST", "/api/drafts/{draft}/compile"): Row(LEAD, {404}, {"seen": 1}),
    ("GET", "/api/account"): Row(STAFF),
    ("POST", "/api/account/password"): Row(STAFF, {204}, {"old": PASSWORD, "new": PASSWORD}),
    ("POST", "/api/account/second-factor"): Row(STAFF, {200}, {"password": PASSWORD}),
    ("POST", "/api/account/second-factor/confirm"): Row(STAFF, {403}, {"code": "x"}),
    ("POST", "/api/account/second-factor/off"): Row(STAFF, {204}, {"password": PASSWORD, "code": ""}),
    ("POST", "/api/invitations/look"): Row(ANYONE, {404}, {"token": "x"}),
    ("POST", "/api/invitations/take"): Row(ANYONE, {404}, {"token": "x", "password": PASSWORD}),
    ("GET", "/api/people"): Row(ADMIN),
    ("POST", "/api/people"): Row(ADMIN, {200}, {"name": "Nia New", "role": "officer", "site": "{site}"}),
    ("POST", "/api/people/{staff}"): Row(ADMIN, {200}, {"role": "officer", "site": "{site}"}),
    ("POST", "/api/people/{staff}/invitation"): Row(ADMIN, {200}, {"why": "x"}),
    ("POST", "/api/people/{staff}/second-factor-off"): Row(ADMIN, {409}, {"why": "x"}),
    ("POST", "/api/people/{staff}/withdraw"): Row(ADMIN, {200}, {"why": "x"}),
    ("POST", "/api/people/{staff}/readmit"): Row(ADMIN, {200}, {"why": "x"}),
    ("GET", "/api/schema"): Row(ANYONE),
    ("GET", "/api/schema/openapi.json"): Row(ANYONE),
    ("GET", "/authority.crt"): Row(ANYONE, {404}),
    ("GET", "/"): Row(ANYONE, {200, 503}),  # 503: a checkout whose pages nobody built
    ("GET", "/desk"): Row(ANYONE, {200, 503}),
    ("GET", "/{name}"): Row(ANYONE, {404}),
    ("GET", "/icons/{name}"): Row(ANYONE, {404}),
    ("GET", "/assets/{name}"): Row(ANYONE, {404}),
    ("DELETE", "/api/session"): Row(ANYONE, {204}),  # last: it ends the session that the others need
}
QUERY = {"/api/rates": "of=near_miss", "/api/charts": "of=near_miss", "/api/changes": "seconds=0"}
OF_A_SITE = {
    "/api/incidents",
    "/api/incident-counts",
    "/api/period-report",
    "/api/rates",
    "/api/charts",
    "/api/craft",
    "/api/export/incidents.csv",
    "/api/export/incidents.fhir.json",
}
# known by what they send and not by a cookie, which opens nothing there
BY_WHAT_IS_SENT = {
    "/api/enrol",
    "/api/sync",
    "/api/tokens",
    "/api/relay",
    "/api/relay/pack",
    "/api/relay/hub",
}
CHANGES = [key for key in TABLE if key[0] != "GET"]
