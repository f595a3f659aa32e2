"""Guidance that comes down to a hub is proved there as a lead's upload is; and the hubs are listed at the
desk."""

import asyncio
import json

from callers import OWN_PAGE, House
from hub_calling import Hub
from test_server_relay import Satellite, a_day, hospital_key, satellite

from chinrest import __version__
from chinrest.log.signing import fingerprint
from chinrest.server.context import now_ms
from chinrest.store import Store

__all__ = ["satellite"]


def in_force_at_the_hospital(satellite: Satellite, raw: bytes) -> str:
    """Past the hospital's own proof, as by an older version or a hand in its database."""

    async def put() -> str:
        store = await Store.open(satellite.hospital.settings.database)
        try:
            sha256 = await store.put_pack(raw, now_ms())
            await store.approve_pack(sha256, "somebody", ["lighthouse"], "", now_ms())
            return sha256
        finally:
            await store.close()

    return asyncio.run(put())


def altered(demo_pack: bytes) -> bytes:
    """One figure of the pupil table is wrong: all kinds are right, and it has a hash and an approval."""
    pack = json.loads(demo_pack)
    before = json.dumps(pack["pupil"])
    table = pack["pupil"]
    place = next(key for key, value in table.items() if isinstance(value, list) and value)
    inner = table[place]
    while isinstance(inner[0], list):
        inner = inner[0]
    inner[0] = inner[0] + 0.5
    assert json.dumps(pack["pupil"]) != before
    return json.dumps(pack, sort_keys=True, separators=(",", ":"), ensure_ascii=False).encode()


def test_guidance_that_does_not_prove_is_not_taken_and_the_lines_go_over(
    satellite: Satellite, demo_pack: bytes
) -> None:
    lines = a_day(satellite.phone)
    good = in_force_at_the_hospital(satellite, demo_pack)
    assert satellite.relay().unproved == []
    assert satellite.phone.sync()["pack"] == good
    bad = in_force_at_the_hospital(satellite, altered(demo_pack))
    done = satellite.relay()
    assert len(done.unproved) == 1
    assert bad[:12] in done.unproved[0]
    assert "pupil" in done.unproved[0]
    assert done.packs == []
    assert satellite.phone.sync()["pack"] == good, "what was in force stays so"
    assert satellite.client.get(f"/api/packs/{bad}", headers=satellite.phone.bearer).status_code == 404
    assert satellite.at_hospital() == lines


def test_bytes_that_are_no_pack_are_not_taken(satellite: Satellite) -> None:
    a_day(satellite.phone)
    in_force_at_the_hospital(satellite, b'{"format": 99, "version": "x", "clinic": "y"}')
    done = satellite.relay()
    assert len(done.unproved) == 1
    assert satellite.phone.sync()["pack"] is None


def test_hubs_are_listed_with_their_fingerprint_and_when_they_were_heard(satellite: Satellite) -> None:
    (row,) = satellite.hospital.as_officer().get("/api/hubs").json()
    assert (row["name"], row["last_heard_at"], row["withdrawn"]) == ("Lighthouse laptop", None, False)
    assert row["fingerprint"] != fingerprint(hospital_key(satellite.hospital))
    before = now_ms()
    satellite.relay()

    async def withdraw() -> str:
        store = await Store.open(satellite.settings.database)
        key = (await store.identity()).public_key
        await store.close()
        store = await Store.open(satellite.hospital.settings.database)
        await store.withdraw_hub(row["id"], now_ms())
        await store.close()
        return fingerprint(key)

    theirs = asyncio.run(withdraw())
    (row,) = satellite.hospital.as_officer().get("/api/hubs").json()
    assert row["fingerprint"] == theirs
    assert before <= row["last_heard_at"] <= now_ms()
    assert row["withdrawn"] is True
    assert satellite.hospital.as_nobody().get("/api/hubs", headers=OWN_PAGE).status_code == 401


def test_a_hub_says_how_it_stands_and_a_forged_word_counts_for_nothing(satellite: Satellite) -> None:
    lines = a_day(satellite.phone)
    officer = satellite.hospital.as_officer()
    assert officer.get("/api/hubs").json()[0]["said"] is None

    async def waiting() -> int:
        store = await Store.open(satellite.settings.database)
        try:
            return await store.waiting()
        finally:
            await store.close()

    assert asyncio.run(waiting()) == len(lines)
    before = now_ms()
    satellite.relay()
    assert asyncio.run(waiting()) == 0
    said = officer.get("/api/hubs").json()[0]["said"]
    in_force = satellite.phone.sync()["pack"]
    assert (said["waiting"], said["app"]) == (0, __version__)
    assert said["packs"] == ([in_force] if in_force else [])
    assert before <= said["at"] <= now_ms()
    assert abs(said["clock_offset_ms"]) <= now_ms() - before


def test_what_is_no_word_of_a_hub_is_refused(house: House) -> None:
    hub, stranger = Hub(), Hub()
    hub.approve(house.settings)

    def say(word: bytes) -> tuple[int, str]:
        said = house.client.post("/api/relay/hub", content=word, headers={"Content-Type": "application/json"})
        return said.status_code, said.json()["code"] if said.content else ""

    assert say(hub.word(waiting=512, now=now_ms() + 90_000)) == (204, "")
    (row,) = house.as_officer().get("/api/hubs").json()
    assert row["said"]["waiting"] == 512
    assert 80_000 < row["said"]["clock_offset_ms"] <= 90_000
    assert say(stranger.word()) == (403, "hub_unknown")
    forged = hub.word().replace(b'"waiting":3', b'"waiting":4')
    assert say(forged) == (403, "bad_signature")
    for changes in (
        {"waiting": -1},
        {"waiting": 2**53},
        {"app": "x" * 101},
        {"packs": ["x"]},
        {"packs": ["0" * 64] * 501},
        {"now": 2**53 * 2},
    ):
        status, code = say(hub.word(**changes))
        assert status in (400, 413), (changes, status, code)
    (row,) = house.as_officer().get("/api/hubs").json()
    assert row["said"]["waiting"] == 512
