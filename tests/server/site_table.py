"""What each route that people may call has to do with a site, and which parameters name what is of one."""

HOME, AWAY = "harbour", "lighthouse"
"""The site of whoever asks, and the other one. All that belongs to the other one has this word in its id or
in its text, or is in `Elsewhere.secrets`."""

HOUSE = "of the whole house: nobody who has a site may"
SITE = "of a site: their own alone"
NONE = "of no site: guidance, words, their own account"

EXPECTED: dict[tuple[str, str], str] = {
    ("GET", "/api/packs/{sha256}"): NONE,
    ("POST", "/api/carried"): NONE,
    ("GET", "/api/session"): NONE,
    ("GET", "/api/incidents"): SITE,
    ("GET", "/api/incident-counts"): SITE,
    ("GET", "/api/period-report"): SITE,
    ("GET", "/api/cases/{case}"): SITE,
    ("GET", "/api/changes"): SITE,
    ("GET", "/api/refused-lines"): SITE,
    ("GET", "/api/incidents/{line}"): SITE,
    ("POST", "/api/incidents/{line}/classification"): SITE,
    ("POST", "/api/incidents/{line}/comments"): SITE,
    ("POST", "/api/incidents/{line}/links"): SITE,
    ("POST", "/api/incidents/{line}/parting"): SITE,
    ("POST", "/api/incidents/{line}/actions"): SITE,
    ("POST", "/api/incidents/{line}/actions/{action}"): SITE,
    ("POST", "/api/incidents/{line}/actions/{action}/end"): SITE,
    ("POST", "/api/incidents/{line}/closing"): SITE,
    ("POST", "/api/incidents/{line}/close"): SITE,
    ("POST", "/api/incidents/{line}/reopen"): SITE,
    ("GET", "/api/rates"): SITE,
    ("GET", "/api/charts"): SITE,
    ("GET", "/api/craft"): SITE,
    ("GET", "/api/calibration"): SITE,
    ("GET", "/api/export/incidents.csv"): SITE,
    ("GET", "/api/export/columns"): NONE,
    ("GET", "/api/export/incidents.fhir.json"): SITE,
    ("GET", "/api/export/lines"): HOUSE,
    ("GET", "/api/backup"): HOUSE,
    ("GET", "/api/retention"): HOUSE,
    ("GET", "/api/retention/due"): HOUSE,
    ("POST", "/api/plans"): NONE,
    ("GET", "/api/sites"): SITE,
    ("GET", "/api/devices"): SITE,
    ("GET", "/api/hubs"): HOUSE,
    ("POST", "/api/devices/{device}/withdraw"): SITE,
    ("POST", "/api/enrolment-codes"): SITE,
    ("GET", "/api/packs"): SITE,
    ("POST", "/api/packs"): HOUSE,
    ("POST", "/api/packs/{sha256}/approve"): HOUSE,
    ("POST", "/api/packs/{sha256}/recall"): HOUSE,
    ("GET", "/api/packs/{sha256}/fits"): NONE,
    ("GET", "/api/packs/{sha256}/difference/{older}"): NONE,
    ("GET", "/api/rollout"): SITE,
    ("GET", "/api/drafts"): HOUSE,
    ("GET", "/api/draft-forms"): HOUSE,
    ("POST", "/api/drafts"): HOUSE,
    ("GET", "/api/drafts/{draft}"): HOUSE,
    ("POST", "/api/drafts/{draft}"): HOUSE,
    ("GET", "/api/drafts/{draft}/difference"): HOUSE,
    ("POST", "/api/drafts/{draft}/compile"): HOUSE,
    ("GET", "/api/account"): NONE,
    ("POST", "/api/account/password"): NONE,
    ("POST", "/api/account/second-factor"): NONE,
    ("POST", "/api/account/second-factor/confirm"): NONE,
    ("POST", "/api/account/second-factor/off"): NONE,
    ("GET", "/api/people"): SITE,
    ("POST", "/api/people"): SITE,
    ("POST", "/api/people/{staff}"): SITE,
    ("POST", "/api/people/{staff}/invitation"): SITE,
    ("POST", "/api/people/{staff}/second-factor-off"): SITE,
    ("POST", "/api/people/{staff}/withdraw"): SITE,
    ("POST", "/api/people/{staff}/readmit"): SITE,
}
OF_SITES = {"case", "line", "device", "staff", "action", "site", "other", "reaction"}
"""Parameters, wherever they stand, that name something which belongs to a site."""
OF_NO_SITE = {
    *("sha256", "older", "pack", "optic", "eye", "region", "cones", "polygon", "coverage", "overlap"),
    *("measures", "age_band", "pupil_mm", "of", "by", "first", "last", "scale", "rate_in", "rate_out"),
    *("threshold", "kind", "what", "harm", "practice", "review", "overdue", "since", "until", "q", "limit"),
    *("offset", "seen", "seconds", "preventable", "factors", "note", "text", "why", "linked", "parted"),
    *("owner", "due", "done", "label", "name", "role", "old", "new", "password", "code"),
}
SAME_NAME_OF_NO_SITE = {("/api/incidents/{line}/classification", "reaction")}  # the class of one
UNKNOWN = {
    "site": "nowhere",
    "device": "11111111-1111-4111-8111-111111111111",
    "line": "no-such-line",
    "case": "no-such-case",
    "action": "no-such-action",
    "staff": "no-such-person",
    "other": "no-such-line",
    "reaction": "no-such-line",
}
