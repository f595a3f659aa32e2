"""Lines from phone to server and on, end to end over HTTP."""

import gzip
import uuid

from callers import OWN_PAGE, House
from carrying import comfort, near_miss, opened


def test_lines_are_stored_once_and_answered_by_name(house: House) -> None:
    phone = house.phone()
    case = str(uuid.uuid4())
    lines = [phone.first_line(), phone.write(opened(), case), phone.write(comfort(), case)]
    first = phone.sync(*lines)
    assert [(a["index"], a["id"], a["seq"], a["status"]) for a in first["lines"]] == [
        (i, line.envelope.id, i + 1, "stored") for i, line in enumerate(lines)
    ]
    assert first["holds"] == [[1, 3]]
    again = phone.sync(*lines)
    assert [a["status"] for a in again["lines"]] == ["repeat"] * 3
    assert again["holds"] == [[1, 3]]


def test_packed_and_unpacked_bodies_say_the_same(house: House) -> None:
    phone = house.phone()
    line = phone.first_line()
    plain = phone.post(phone.body(line), Content_Encoding="identity")
    assert plain.json()["lines"][0]["status"] == "stored"
    packed = phone.post(gzip.compress(phone.body(line)))
    assert packed.json()["lines"][0]["status"] == "repeat"


def test_a_bad_line_does_not_disturb_its_neighbours(house: House) -> None:
    phone = house.phone()
    case = str(uuid.uuid4())
    one, two, three = phone.first_line(), phone.write(opened(), case), phone.write(comfort(), case)
    said = phone.sync(one, b"nonsense", two, b"\xff\xfe\tx", b"", three)
    assert [a["status"] for a in said["lines"]] == [
        "stored", "refused", "stored", "refused", "refused", "stored",
    ]  # fmt: skip
    assert [a["code"] for a in said["lines"]][1] == "malformed"
    assert all(a["reason"] for a in said["lines"] if a["status"] == "refused")
    assert said["holds"] == [[1, 3]]


def test_a_line_before_its_predecessor_waits(house: House) -> None:
    phone = house.phone()
    one, two = phone.first_line(), phone.write(comfort(), str(uuid.uuid4()))
    assert phone.sync(two)["lines"][0]["status"] == "waiting"
    said = phone.sync(one)
    assert said["lines"][0]["status"] == "stored"
    assert said["holds"] == [[1, 2]]


def test_other_phones_of_the_site_get_the_open_cases_byte_for_byte(house: House) -> None:
    writer, reader, elsewhere = house.phone(), house.phone(), house.phone("lighthouse")
    case = str(uuid.uuid4())
    writer.sync(writer.first_line(), writer.write(opened("HR-0042 é"), case))
    got = reader.sync()
    assert len(got["pulled"]) == 1
    assert got["pulled"][0].split("\t")[0].find(case) > 0
    assert elsewhere.sync()["pulled"] == []
    later = writer.write(comfort(7), case)
    writer.sync(later)
    more = reader.sync(epoch=got["epoch"], cursor=got["cursor"])
    assert [line.encode() for line in more["pulled"]] == [later.raw]
    assert more["cursor"] > got["cursor"]


def test_a_cursor_of_another_epoch_starts_anew(house: House) -> None:
    writer, reader = house.phone(), house.phone()
    writer.sync(writer.first_line(), writer.write(opened(), str(uuid.uuid4())))
    got = reader.sync()
    assert reader.sync(epoch=got["epoch"], cursor=got["cursor"])["pulled"] == []
    assert reader.sync(epoch="another", cursor=got["cursor"])["pulled"] == got["pulled"]


def test_a_wrong_clock_is_noted_and_never_refused(house: House) -> None:
    phone = house.phone()
    far = 40 * 365 * 24 * 3600 * 1000
    said = phone.sync(phone.first_line(), now=phone.header().now - far)
    assert said["lines"][0]["status"] == "stored"
    (row,) = [r for r in house.as_officer().get("/api/devices").json() if r["id"] == phone.device]
    assert abs(row["clock_offset_ms"] + far) < 60_000


def test_the_officer_reads_the_incident_and_its_case_and_that_is_logged(house: House) -> None:
    phone = house.phone()
    case = str(uuid.uuid4())
    event = phone.write(opened(), case)
    miss = phone.write(near_miss("latch not heard"), case)
    phone.sync(event, miss)  # the first line of this phone is the case's own
    officer = house.as_officer()
    listed = officer.get("/api/incidents?kind=near_miss&q=latch").json()
    assert [(row["line"], row["case_code"], row["near_miss"]) for row in listed["rows"]] == [
        (miss.envelope.id, "HR-0042", True)
    ]
    assert officer.get("/api/incidents?kind=event").json()["rows"] == []
    timeline = officer.get(f"/api/cases/{case}").json()
    assert [entry["type"] for entry in timeline["entries"]] == ["case.opened", "safety.noted"]
    again = officer.get(f"/api/cases/{case}").json()
    reads = [entry for entry in again["entries"] if entry["type"] == "case.read"]
    assert [entry["actor"] for entry in reads] == ["Olga Officer"]
    assert phone.sync()["pulled"] == [], "an officer's reading is not the photographer's business"


def test_a_recall_and_the_pack_in_force_reach_the_phone(house: House, demo_pack: bytes) -> None:
    phone = house.phone()
    assert phone.sync()["pack"] is None
    lead = house.as_lead()
    kept = lead.post(
        "/api/packs", content=demo_pack, headers={"Content-Type": "application/json", **OWN_PAGE}
    )
    assert kept.status_code == 200, kept.text
    sha = kept.json()["sha256"]
    assert phone.sync()["pack"] is None, "a pack that nobody approved is in force nowhere"
    approved = lead.post(
        f"/api/packs/{sha}/approve", json={"sites": ["harbour"], "note": "first"}, headers=OWN_PAGE
    )
    assert approved.json()["in_force"] == ["harbour"]
    assert phone.sync()["pack"] == sha
    assert house.phone("lighthouse").sync()["pack"] is None
    raw = house.as_nobody().get(f"/api/packs/{sha}", headers=phone.bearer)
    assert raw.content == demo_pack
    assert "immutable" in raw.headers["cache-control"]
    recalled = house.as_lead().post(
        f"/api/packs/{sha}/recall", json={"why": "margin too small"}, headers=OWN_PAGE
    )
    assert recalled.json()["in_force"] == []
    said = phone.sync()
    assert said["pack"] is None
    assert [(r["sha256"], r["why"]) for r in said["recalls"]] == [(sha, "margin too small")]
    again = house.as_lead().post(
        f"/api/packs/{sha}/approve", json={"sites": ["harbour"], "note": "again"}, headers=OWN_PAGE
    )
    assert (again.status_code, again.json()["code"]) == (409, "pack_recalled")
    listed = house.as_officer().get("/api/packs").json()
    assert [row["approvals"][0]["note"] for row in listed] == ["first"]


def test_a_withdrawn_phones_lines_stay(house: House) -> None:
    phone = house.phone()
    case = str(uuid.uuid4())
    phone.sync(phone.first_line(), phone.write(opened(), case))
    done = house.as_lead().post(
        f"/api/devices/{phone.device}/withdraw", json={"why": "lost"}, headers=OWN_PAGE
    )
    assert done.json()["withdrawn"] is True
    assert phone.post(gzip.compress(phone.body(phone.write(comfort(), case)))).status_code == 403
    kept = house.as_officer().get(f"/api/cases/{case}").json()["entries"]
    assert [entry["type"] for entry in kept] == ["case.opened"]


def test_refused_lines_are_shown_to_the_officer(house: House) -> None:
    phone = house.phone()
    phone.sync(phone.first_line(), b"nonsense")
    (row,) = house.as_officer().get(f"/api/refused-lines?device={phone.device}").json()
    assert (row["device"], row["code"]) == (phone.device, "malformed")
