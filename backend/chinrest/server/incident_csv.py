"""Incidents as CSV (RFC 4180, UTF-8): one row each, the reporter's words beside the officer's own
judgement."""

import csv
import io
from collections.abc import Iterable

from chinrest.server.fhir import Told, instant

COLUMNS: dict[str, str] = {
    "incident": "id of the line that made it",
    "case": "random id of the case, empty where it belongs to none",
    "case_code": "the clinic's own code, as it stands",
    "site": "id of the site",
    "site_name": "its name now",
    "at": "when, by the device's clock (ISO 8601, UTC)",
    "received_at": "when the server took the line",
    "kind": "event or near_miss",
    "what": "id of what happened, from the guidance pack",
    "reached_patient": "yes, no, or empty where not known",
    "harm_reported": "WHO degree as reported",
    "harm_officer": "WHO degree as the officer sees it",
    "preventable": "yes, no or unclear, as the officer sees it",
    "factors": "what contributed, with semicolons between",
    "optic": "id of the optic",
    "device": "label of the phone",
    "practice": "yes for a practice case",
    "withdrawn": "yes where it was taken back",
    "amended": "yes where it was amended",
    "review": "new, in_review, actions_open or closed",
    "late": "yes where lines came after it was closed",
    "actions_open": "how many of its actions are open",
    "note": "the reporter's note",
    "envelope_sha256": "hash of the line's envelope, by which it is found in a log",
}
# a spreadsheet takes a cell that begins so for a formula
FORMULA = ("=", "+", "-", "@", "\t", "\r")


def _yes(value: bool | None) -> str:
    return "" if value is None else "yes" if value else "no"


def _safe(text: str) -> str:
    return f"'{text}" if text.startswith(FORMULA) else text


def rows(told: Iterable[Told]) -> str:
    """The whole file, its header first."""
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    writer.writerow(COLUMNS)
    for each in told:
        writer.writerow([_safe(cell) for cell in _cells(each)])
    return out.getvalue()


def _cells(each: Told) -> list[str]:
    row, review = each.row, each.review
    judged = review.judged.classified if review.judged else None
    return [
        row.line,
        row.case or "",
        row.case_code or "",
        row.site,
        row.site_name,
        instant(row.at),
        instant(row.received_at),
        "near_miss" if row.near_miss else "event",
        row.what,
        _yes(row.reached_patient),
        row.harm or "",
        (judged.harm or "") if judged else "",
        (judged.preventable or "") if judged else "",
        "; ".join(judged.factors) if judged else "",
        row.optic or "",
        row.device_label,
        _yes(row.practice),
        _yes(row.withdrawn),
        _yes(row.amended),
        review.state,
        _yes(review.late),
        str(sum(action.state == "open" for action in review.actions)),
        row.note,
        each.envelope_sha256,
    ]
