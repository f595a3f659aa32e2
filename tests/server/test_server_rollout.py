"""What the lead reads around an approval: differences, what optics compute to, who has which pack."""

import json
from hashlib import sha256
from typing import Any

import pytest
from callers import OWN_PAGE, House
from carrying import Phone

from chinrest.log.house_events import PackTaken
from chinrest.log.write import new_salt
from chinrest.pack.class_fits import class_fits
from chinrest.pack.compiled import canonical, decode_pack
from chinrest.pack.difference.difference import difference
from chinrest.server.rollout import stands
from chinrest.store.rows import InForce, PackRecall


@pytest.fixture
def newer_pack(demo_pack: bytes) -> bytes:
    pack = json.loads(demo_pack)
    pack["version"] = "2026.2"
    pack["emergency"]["contacts"][1]["phone"] = "555-0119"
    return canonical(pack)


def sent(house: House, raw: bytes) -> str:
    headers = {"Content-Type": "application/json", **OWN_PAGE}
    answer = house.as_lead().post("/api/packs", content=raw, headers=headers)
    assert answer.status_code == 200, answer.text
    return str(answer.json()["sha256"])


def approve(house: House, digest: str, *sites: str) -> None:
    answer = house.as_lead().post(
        f"/api/packs/{digest}/approve", json={"sites": list(sites), "note": ""}, headers=OWN_PAGE
    )
    assert answer.status_code == 200, answer.text


def rollout(house: House) -> dict[str, Any]:
    answer = house.as_lead().get("/api/rollout")
    assert answer.status_code == 200, answer.text
    return {site["site"]: site for site in answer.json()["sites"]}


def take(phone: Phone, digest: str) -> None:
    phone.sync(phone.write(PackTaken(salt=new_salt(), sha256=digest, vectors=1)))


def test_the_difference_is_the_command_lines(house: House, demo_pack: bytes, newer_pack: bytes) -> None:
    was, now = sent(house, demo_pack), sent(house, newer_pack)
    answer = house.as_lead().get(f"/api/packs/{now}/difference/{was}")
    assert answer.status_code == 200, answer.text
    made = difference(decode_pack(demo_pack), decode_pack(newer_pack))
    assert answer.json()["count"] == made.count == 2
    told = [one["sentence"] for group in answer.json()["groups"] for one in group["differences"]]
    assert told == [one.sentence for group in made.groups for one in group.differences]
    assert "phone: 555-0111 → 555-0119" in told[0]


def test_what_optics_compute_to_is_the_models(house: House, demo_pack: bytes) -> None:
    digest = sent(house, demo_pack)
    answer = house.as_lead().get(f"/api/packs/{digest}/fits")
    assert answer.status_code == 200, answer.text
    made = class_fits(decode_pack(demo_pack))
    rows = answer.json()["rows"]
    assert [(row["optic"], row["yaw_deg"], row["clearance_mm"], row["words"]) for row in rows] == [
        (fit.optic, fit.yaw_deg, fit.clearance_mm, fit.words) for fit in made
    ]
    assert answer.json()["margin_mm"] == 4.0


def test_unknown_packs_are_said(house: House, demo_pack: bytes) -> None:
    digest = sent(house, demo_pack)
    for path in (
        f"/api/packs/{'0' * 64}/fits",
        f"/api/packs/{'0' * 64}/difference/{digest}",
        f"/api/packs/{digest}/difference/{'0' * 64}",
    ):
        answer = house.as_lead().get(path)
        assert (answer.status_code, answer.json()["code"]) == (404, "pack_unknown"), path


def test_who_has_which_pack_through_a_change_and_a_recall(
    house: House, demo_pack: bytes, newer_pack: bytes
) -> None:
    was, now = sent(house, demo_pack), sent(house, newer_pack)
    one, other = house.phone(), house.phone()
    for phone in (one, other):
        phone.sync(phone.first_line())
    before = rollout(house)
    assert before["harbour"]["pack"] is None
    assert not before["harbour"]["recalled"]
    assert {phone["stands"] for phone in before["harbour"]["phones"]} == {"none_in_force"}

    approve(house, was, "harbour", "lighthouse")
    assert {phone["stands"] for phone in rollout(house)["harbour"]["phones"]} == {"no_pack"}
    take(one, was)
    take(other, was)
    assert {phone["stands"] for phone in rollout(house)["harbour"]["phones"]} == {"current"}

    approve(house, now, "harbour")
    take(other, now)
    sites = rollout(house)
    assert (sites["harbour"]["version"], sites["lighthouse"]["version"]) == ("2026.2", "2026.1")
    by_id = {phone["device"]: phone for phone in sites["harbour"]["phones"]}
    assert by_id[other.device]["stands"] == "current"
    assert by_id[one.device]["stands"] == "behind"
    assert by_id[one.device]["behind_since"] == sites["harbour"]["since"]

    why = "a number is wrong"
    house.as_lead().post(f"/api/packs/{now}/recall", json={"why": why}, headers=OWN_PAGE)
    harbour = rollout(house)["harbour"]
    assert (harbour["pack"], harbour["recalled"]) == (None, True)
    by_id = {phone["device"]: phone for phone in harbour["phones"]}
    assert (by_id[other.device]["stands"], by_id[other.device]["why"]) == ("recalled", why)
    assert by_id[one.device]["stands"] == "none_in_force"

    house.as_lead().post(f"/api/devices/{one.device}/withdraw", json={"why": "lost"}, headers=OWN_PAGE)
    harbour = rollout(house)["harbour"]
    assert ([phone["device"] for phone in harbour["phones"]], harbour["withdrawn"]) == ([other.device], 1)


def test_behind_is_counted_from_when_its_own_pack_ceased() -> None:
    a, b, c, d = (sha256(name.encode()).hexdigest() for name in "abcd")
    spans = [
        InForce(sha256=a, by="x", since=10, until=20),
        InForce(sha256=b, by="x", since=20, until=30),
        InForce(sha256=a, by="x", since=30, until=40),
        InForce(sha256=c, by="x", since=50, until=None),
    ]
    assert stands(c, spans, {}) == ("current", None, "")
    assert stands(a, spans, {}) == ("behind", 40, "")
    assert stands(b, spans, {}) == ("behind", 30, "")
    assert stands(d, spans, {}) == ("never_here", 50, "")
    assert stands(None, spans, {}) == ("no_pack", 50, "")
    recalled = {c: PackRecall(sha256=c, by="x", why="wrong", at=60)}
    assert stands(c, spans, recalled) == ("recalled", 60, "wrong")
    assert stands(a, spans[:3], {}) == ("none_in_force", None, "")
