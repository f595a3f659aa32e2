"""Incidents as an HL7 FHIR R4 Bundle (http://hl7.org/fhir/R4): what another system can take in.

Each incident is an AdverseEvent, with the Procedure in which it happened, the Devices (the optic by its
generic name, the phone that wrote it), and Provenance that names the line of the log and its hash. An
officer's judgement is a Provenance of its own. Nobody is named: the subject is a Patient that has the
case's random id and nothing else.
"""

from collections.abc import Iterable, Mapping, Sequence
from datetime import UTC, datetime
from typing import Any
from uuid import NAMESPACE_URL, uuid5

from msgspec import Struct

from chinrest.log.incidents import IncidentRow
from chinrest.log.reviews import Review

SYSTEM = "urn:chinrest"
"""Our own ids and codes: there is no published code system for them."""
SEVERITY = "http://terminology.hl7.org/CodeSystem/adverse-event-severity"
OUTCOME = "http://terminology.hl7.org/CodeSystem/adverse-event-outcome"
SERIOUSNESS = "http://terminology.hl7.org/CodeSystem/adverse-event-seriousness"
PROVENANCE_AGENT = "http://terminology.hl7.org/CodeSystem/provenance-participant-type"
AUDIT_TYPE = "http://terminology.hl7.org/CodeSystem/audit-event-type"

# WHO degree of harm -> R4 severity; there is no R4 severity for none, and death is an outcome
SEVERITIES = {"mild": "mild", "moderate": "moderate", "severe": "severe"}
Resource = dict[str, Any]


class Told(Struct, frozen=True, kw_only=True):
    """An incident with what the log has beside it. `envelope_sha256` is of the line that made it."""

    row: IncidentRow
    review: Review
    envelope_sha256: str
    device: str


class Words(Struct, frozen=True, kw_only=True):
    """The pack's words for ids, and people's names by id; an id without a word stands for itself."""

    what: Mapping[str, str]
    optics: Mapping[str, str]
    people: Mapping[str, str]


def instant(at: int) -> str:
    """ms as a FHIR instant; of a clock that no calendar holds, the nearest time that one does."""
    least, most = -62_135_596_800_000, 253_402_300_799_000
    when = datetime.fromtimestamp(min(max(at, least), most) / 1000, UTC)
    return f"{when.year:04d}{when.strftime('-%m-%dT%H:%M:%S')}.{when.microsecond // 1000:03d}Z"


def _urn(kind: str, name: str) -> str:
    """The same thing has the same address in every bundle."""
    return f"urn:uuid:{uuid5(NAMESPACE_URL, f'{SYSTEM}:{kind}:{name}')}"


def _code(system: str, code: str, text: str | None = None) -> Resource:
    made: Resource = {"coding": [{"system": system, "code": code}]}
    return {**made, "text": text} if text else made


def _entry(url: str, resource: Resource) -> Resource:
    return {"fullUrl": url, "resource": resource}


def bundle(
    told: Sequence[Told],
    words: Words,
    *,
    made_at: int,
    by: str,
    position: int,
    server: str,
) -> Resource:
    """A Bundle of type collection. `by` is the name of whoever asked for it; `position` where the log
    stood."""
    entries: dict[str, Resource] = {}
    for each in told:
        for entry in _entries(each, words):
            entries.setdefault(entry["fullUrl"], entry)
    asked = _audit(by, made_at, position, server, len(told))
    entries[asked["fullUrl"]] = asked
    return {
        "resourceType": "Bundle",
        "type": "collection",
        "timestamp": instant(made_at),
        "identifier": {"system": SYSTEM, "value": f"{server}:{position}"},
        "entry": list(entries.values()),
    }


def _entries(told: Told, words: Words) -> Iterable[Resource]:
    row = told.row
    event = _urn("incident", row.line)
    patient = _urn("subject", row.case or row.line)
    site = _urn("site", row.site)
    phone = _urn("device", told.device)
    subject = {"identifier": [{"system": SYSTEM, "value": row.case or row.line}]}
    yield _entry(patient, {"resourceType": "Patient", **subject})
    yield _entry(site, {"resourceType": "Location", "name": row.site_name})
    yield _entry(phone, {"resourceType": "Device", "deviceName": _device_name(row.device_label)})
    suspects = []
    if row.optic:
        optic = _urn("optic", row.optic)
        name = words.optics.get(row.optic, row.optic)
        yield _entry(optic, {"resourceType": "Device", "deviceName": _device_name(name, "model-name")})
        suspects.append({"instance": {"reference": optic}})
    if row.case:
        yield _entry(_urn("visit", row.case), _procedure(row, patient, site))
    yield _entry(event, _adverse_event(told, words, patient, site, suspects))
    yield _entry(_urn("written", row.line), _written(told, event, phone))
    if told.review.judged is not None:
        judged = told.review.judged
        yield _entry(
            _urn("judged", f"{row.line}:{judged.at}"),
            {
                "resourceType": "Provenance",
                "target": [{"reference": event}],
                "recorded": instant(judged.at),
                "activity": {"text": "classified at the desk"},
                "agent": [
                    {
                        "type": _code(PROVENANCE_AGENT, "verifier"),
                        "who": {
                            "display": words.people.get(judged.classified.by, judged.classified.by),
                        },
                    }
                ],
            },
        )


def _device_name(name: str, kind: str = "user-friendly-name") -> list[Resource]:
    return [{"name": name, "type": kind}]


def _procedure(row: IncidentRow, patient: str, site: str) -> Resource:
    return {
        "resourceType": "Procedure",
        "identifier": [{"system": SYSTEM, "value": row.case}],
        "status": "unknown",
        "code": {"text": "Retinal photography, with dye where the case says so"},
        "subject": {"reference": patient},
        "location": {"reference": site},
    }


def _adverse_event(told: Told, words: Words, patient: str, site: str, suspects: list[Resource]) -> Resource:
    row, judged = told.row, told.review.judged
    harm = judged.classified.harm if judged and judged.classified.harm else row.harm
    made: Resource = {
        "resourceType": "AdverseEvent",
        "identifier": {"system": SYSTEM, "value": row.line},
        "actuality": "potential" if row.near_miss else "actual",
        "event": {
            "coding": [{"system": f"{SYSTEM}:event", "code": row.what}],
            "text": words.what.get(row.what, row.what),
        },
        "subject": {"reference": patient},
        "date": instant(row.at),
        "recordedDate": instant(row.received_at),
        "location": {"reference": site},
    }
    if harm in SEVERITIES:
        made["severity"] = _code(SEVERITY, SEVERITIES[harm], f"WHO degree of harm: {harm}")
    if harm == "death":
        made["outcome"] = _code(OUTCOME, "fatal", "WHO degree of harm: death")
        made["seriousness"] = _code(SERIOUSNESS, "SeriousResultsInDeath")
    if harm in ("none", "mild"):
        made["seriousness"] = _code(SERIOUSNESS, "Non-serious", f"WHO degree of harm: {harm}")
    if suspects:
        made["suspectEntity"] = suspects
    return made


def _written(told: Told, event: str, phone: str) -> Resource:
    return {
        "resourceType": "Provenance",
        "target": [{"reference": event}],
        "occurredDateTime": instant(told.row.at),
        "recorded": instant(told.row.received_at),
        "activity": {"text": "written on the phone"},
        "agent": [{"type": _code(PROVENANCE_AGENT, "author"), "who": {"reference": phone}}],
        "entity": [
            {
                "role": "source",
                "what": {
                    "identifier": {"system": f"{SYSTEM}:line", "value": told.row.line},
                    "display": f"SHA-256 of its envelope: {told.envelope_sha256}",
                },
            }
        ],
    }


def _audit(by: str, at: int, position: int, server: str, count: int) -> Resource:
    """Who took this bundle out, and when."""
    return _entry(
        _urn("export", f"{server}:{position}:{at}"),
        {
            "resourceType": "AuditEvent",
            "type": {"system": AUDIT_TYPE, "code": "rest", "display": "RESTful Operation"},
            "action": "R",
            "recorded": instant(at),
            "outcome": "0",
            "outcomeDesc": f"{count} incidents, log position {position}",
            "agent": [{"who": {"display": by}, "requestor": True}],
            "source": {"observer": {"display": f"server {server}"}},
        },
    )
