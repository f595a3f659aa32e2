"""What is taken out of the desk: other systems can read it, it names nobody, and that it was taken is
logged."""

import csv
import io
import json
from typing import Any

import pytest
from callers import OFFICER, House
from carrying import near_miss
from fhir.resources.R4B.bundle import Bundle as PydanticBundle
from fhirclient.models.bundle import Bundle as SmartBundle
from test_server_rates import noted, visit
from test_server_review import JUDGED, Desk

from chinrest.log.verify import verify


@pytest.fixture
def desk(house: House) -> Desk:
    made = Desk(house)
    made.did("classification", **{**JUDGED, "harm": "mild"})
    phone = house.phone("lighthouse")
    phone.sync(phone.first_line())
    visit(phone, noted("touched_by_optic", optic="ultrawide", harm="severe"), optic="ultrawide")
    visit(phone, noted("dye_reaction", harm="death", note="=HYPERLINK(1)"))
    loose = phone.write(near_miss("no case open"))
    phone.sync(loose)
    return made


def taken(desk: Desk, what: str, **wanted: Any) -> Any:
    answer = desk.house.as_officer().get(f"/api/export/{what}", params=wanted)
    assert answer.status_code == 200, answer.text
    return answer


def test_the_bundle_is_fhir_r4_by_two_independent_readings(desk: Desk) -> None:
    """Both libraries are generated from the published structure definitions: fhirclient from R4 (4.0.1),
    strict about unknown and missing elements; fhir.resources from R4B (4.3.0), which leaves these five
    resources as R4 has them."""
    raw = taken(desk, "incidents.fhir.json").json()
    SmartBundle(jsondict=raw, strict=True)
    PydanticBundle.model_validate(raw)
    kinds = [entry["resource"]["resourceType"] for entry in raw["entry"]]
    assert kinds.count("AdverseEvent") == 4
    assert {"Procedure", "Device", "Provenance", "AuditEvent"} <= set(kinds)
    addresses = {entry["fullUrl"] for entry in raw["entry"]}
    assert len(addresses) == len(raw["entry"])
    for reference in references(raw):
        assert reference in addresses


def test_the_validators_do_refuse(desk: Desk) -> None:
    raw = taken(desk, "incidents.fhir.json").json()
    event = next(e["resource"] for e in raw["entry"] if e["resource"]["resourceType"] == "AdverseEvent")
    del event["subject"]
    with pytest.raises(Exception, match="subject"):
        SmartBundle(jsondict=raw, strict=True)
    with pytest.raises(Exception, match="subject"):
        PydanticBundle.model_validate(raw)


def references(value: Any) -> list[str]:
    if isinstance(value, dict):
        own = [value["reference"]] if isinstance(value.get("reference"), str) else []
        return own + [found for each in value.values() for found in references(each)]
    if isinstance(value, list):
        return [found for each in value for found in references(each)]
    return []


def test_harm_becomes_what_r4_has_for_it(desk: Desk) -> None:
    raw = taken(desk, "incidents.fhir.json").json()
    events = {
        (e["resource"]["event"]["coding"][0]["code"], e["resource"]["actuality"]): e["resource"]
        for e in raw["entry"]
        if e["resource"]["resourceType"] == "AdverseEvent"
    }
    death = events["dye_reaction", "actual"]
    assert death["outcome"]["coding"][0]["code"] == "fatal"
    assert death["seriousness"]["coding"][0]["code"] == "SeriousResultsInDeath"
    assert events["touched_by_optic", "actual"]["severity"]["coding"][0]["code"] == "severe"
    judged = next(
        e["resource"]
        for e in raw["entry"]
        if e["resource"].get("identifier") == {"system": "urn:chinrest", "value": desk.line}
    )
    assert judged["actuality"] == "potential"
    assert judged["severity"]["coding"][0]["code"] == "mild", "the officer's degree, where there is one"


def test_nobody_is_named_but_who_asked_and_who_judged(desk: Desk) -> None:
    raw = json.dumps(taken(desk, "incidents.fhir.json").json())
    assert "HR-0042" not in raw, "the clinic's own case code may lead to a person"
    assert OFFICER in raw
    assert "latch not heard" not in raw


def test_every_column_is_there_and_no_cell_is_a_formula(desk: Desk) -> None:
    text = taken(desk, "incidents.csv").text
    rows = list(csv.DictReader(io.StringIO(text)))
    documented = taken(desk, "columns").json()
    assert list(rows[0]) == list(documented)
    assert len(rows) == 4
    [death] = [row for row in rows if row["harm_reported"] == "death"]
    assert death["note"] == "'=HYPERLINK(1)"
    [judged] = [row for row in rows if row["incident"] == desk.line]
    assert (judged["harm_officer"], judged["review"], judged["factors"]) == ("mild", "in_review", "latch")


def test_a_filter_narrows_what_is_taken(desk: Desk) -> None:
    rows = list(
        csv.DictReader(io.StringIO(taken(desk, "incidents.csv", site="lighthouse", kind="event").text))
    )
    assert sorted(row["what"] for row in rows) == ["dye_reaction", "touched_by_optic"]


def test_the_lead_takes_every_line_sealed(desk: Desk) -> None:
    answer = desk.house.as_lead().get("/api/export/lines")
    verdict = verify(answer.content.splitlines(keepends=True))
    assert (verdict.ok, verdict.sealed) == (True, True)
    assert desk.house.as_officer().get("/api/export/lines").status_code == 403


def test_that_it_was_taken_is_a_line(desk: Desk) -> None:
    taken(desk, "incidents.csv", site="lighthouse")
    answer = desk.house.as_lead().get("/api/export/lines")
    assert answer.content.count(b'"type":"log.exported"') == 2
    assert b"site=lighthouse" in answer.content


def test_strangers_take_nothing(desk: Desk) -> None:
    for what in ("incidents.csv", "incidents.fhir.json", "columns", "lines"):
        assert desk.house.as_nobody().get(f"/api/export/{what}").status_code == 401


def test_an_export_that_would_be_cut_is_refused(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("chinrest.server.exports.ROWS_LIMIT", 3)
    for what in ("incidents.csv", "incidents.fhir.json"):
        answer = desk.house.as_officer().get(f"/api/export/{what}")
        assert (answer.status_code, answer.json()["code"]) == (413, "too_many")
    assert desk.house.as_officer().get("/api/export/incidents.csv?kind=event").status_code == 200
