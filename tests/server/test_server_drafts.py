"""The lead's drafts over the server: saved, checked, told apart, compiled off the request, approved."""

import json
import sqlite3
import time
from contextlib import closing
from typing import Any

import pytest
from callers import LEAD, OWN_PAGE, House

from chinrest.pack.compiled import decode_pack
from lead_office import without_plans


@pytest.fixture
def base(house: House, demo_pack: bytes) -> str:
    """The demo's pack without what takes minutes: no region to plan for, no protocol."""
    raw = without_plans(json.loads(demo_pack))
    headers = {"Content-Type": "application/json", **OWN_PAGE}
    answer = house.as_lead().post("/api/packs", content=raw, headers=headers)
    assert answer.status_code == 200, answer.text
    return str(answer.json()["sha256"])


def post(house: House, path: str, **body: Any) -> Any:
    return house.as_lead().post(path, json=body, headers=OWN_PAGE)


def begun(house: House, base: str) -> dict[str, Any]:
    answer = post(house, "/api/drafts", base=base)
    assert answer.status_code == 200, answer.text
    made: dict[str, Any] = answer.json()
    return made


def limits(draft: dict[str, Any], **change: Any) -> dict[str, Any]:
    return {"file": "limits.toml", "value": {**draft["tables"]["limits.toml"], **change}}


def test_a_draft_begins_as_the_pack_without_a_fault(house: House, base: str) -> None:
    draft = begun(house, base)
    assert (draft["number"], draft["faults"], draft["base"]) == (1, [], base)
    assert draft["saves"][0]["by"] == LEAD
    rows = house.as_lead().get("/api/drafts").json()
    assert [(row["draft"], row["last"]["number"]) for row in rows] == [(draft["draft"], 1)]


def test_a_fault_is_kept_and_said_where_it_is_and_is_not_compiled(house: House, base: str) -> None:
    draft = begun(house, base)
    path = f"/api/drafts/{draft['draft']}"
    saved = post(house, path, seen=1, **limits(draft, margin_mm="four")).json()
    assert saved["number"] == 2
    assert saved["tables"]["limits.toml"]["margin_mm"] == "four"
    assert saved["faults"] == [
        {"file": "limits.toml", "key": "margin_mm", "reason": "is text ('four'); must be a number"}
    ]
    for answer in (
        post(house, f"{path}/compile", seen=2),
        house.as_lead().get(f"{path}/difference"),
    ):
        assert (answer.status_code, answer.json()["code"]) == (409, "draft_faults")
        assert answer.json()["where"] == "limits.toml: margin_mm"


def test_two_leads_never_overwrite_each_other_and_every_save_is_kept(house: House, base: str) -> None:
    draft = begun(house, base)
    path = f"/api/drafts/{draft['draft']}"
    assert post(house, path, seen=1, **limits(draft, margin_mm=5.0)).json()["number"] == 2
    second = post(house, path, seen=1, **limits(draft, margin_mm=3.0))
    assert (second.status_code, second.json()["code"]) == (409, "changed_meanwhile")
    stands = house.as_lead().get(path).json()
    assert (stands["number"], stands["tables"]["limits.toml"]["margin_mm"]) == (2, 5.0)
    assert [save["what"] for save in stands["saves"]] == ["Limits of positioning: changed", ""]
    assert post(house, path, seen=2, **limits(draft, margin_mm=3.0)).json()["number"] == 3
    with closing(sqlite3.connect(house.settings.data / "chinrest.db")) as database:
        rows = database.execute("SELECT tables FROM drafts ORDER BY number").fetchall()
    assert [json.loads(row[0])["limits.toml"]["margin_mm"] for row in rows] == [4.0, 5.0, 3.0]


def test_a_change_that_leads_nowhere_changes_nothing(house: House, base: str) -> None:
    draft = begun(house, base)
    path = f"/api/drafts/{draft['draft']}"
    answer = post(house, path, seen=1, file="faces.toml", value={})
    assert (answer.status_code, answer.json()["where"]) == (400, "file")
    assert post(house, path, seen=9, **limits(draft)).json()["code"] == "changed_meanwhile"
    assert post(house, f"/api/drafts/{'0' * 36}", seen=1, **limits(draft)).status_code == 404
    assert post(house, "/api/drafts", base="0" * 64).json()["code"] == "pack_unknown"
    assert house.as_lead().get(path).json()["number"] == 1


def test_a_draft_becomes_a_pack_that_waits_for_approval(house: House, base: str) -> None:
    draft = begun(house, base)
    path = f"/api/drafts/{draft['draft']}"
    top = {key: of for key, of in draft["tables"]["clinic.toml"].items() if key != "sites"}
    post(house, path, seen=1, file="clinic.toml", value={**top, "version": "2026.2"})
    phrases = draft["tables"]["phrases/en.toml"]
    said = {**phrases["phrases"], "forehead": "Rest your forehead on the band."}
    saved = post(house, path, seen=2, file="phrases/en.toml", value={**phrases, "phrases": said}).json()
    found = house.as_lead().get(f"{path}/difference").json()
    told = [one["sentence"] for group in found["groups"] for one in group["differences"]]
    assert len(told) == 2
    assert any("Rest your forehead on the band." in line for line in told)

    assert post(house, f"{path}/compile", seen=2).json()["code"] == "changed_meanwhile"
    started = post(house, f"{path}/compile", seen=saved["number"])
    assert (started.status_code, started.json()["state"]) == (200, "running")
    assert post(house, f"{path}/compile", seen=saved["number"]).json()["code"] == "busy"
    deadline = time.monotonic() + 240
    while (job := house.as_lead().get(path).json()["job"])["state"] == "running":
        assert time.monotonic() < deadline, job
        time.sleep(0.5)
    assert (job["state"], job["why"]) == ("done", "")
    stands = house.as_lead().get(path).json()
    assert stands["saves"][0]["pack"] == job["pack"]
    packs = {row["sha256"]: row for row in house.as_lead().get("/api/packs").json()}
    assert (packs[job["pack"]]["version"], packs[job["pack"]]["in_force"]) == ("2026.2", [])
    made = decode_pack(house.as_lead().get(f"/api/packs/{job['pack']}").content)
    was = decode_pack(house.as_lead().get(f"/api/packs/{base}").content)
    assert made.phrases["en"]["forehead"] == "Rest your forehead on the band."
    assert made.touch == was.touch  # what was not changed computes to what it did
    assert made.fit_vectors == was.fit_vectors
    approved = post(house, f"/api/packs/{job['pack']}/approve", sites=["harbour"], note="")
    assert approved.json()["in_force"] == ["harbour"]
