"""A satellite's server carries its lines to the hospital's: cut anywhere, again and again, nothing is lost
or doubled."""

import asyncio
import random
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from hashlib import sha256
from pathlib import Path
from typing import Any

import httpx
import pytest
from callers import OWN_PAGE, SITES, House
from carrying import Phone, comfort, near_miss, opened
from litestar.testing import TestClient

from chinrest.log.signing import is_signed, new_key, public_of
from chinrest.server.app import create_app
from chinrest.server.relaying import LONGEST_WAIT_S, Relay, Relayed, RelayError, back_off
from chinrest.server.settings import Settings
from chinrest.server.wire import FinalReceipt
from chinrest.store import Store


class Link(httpx.AsyncBaseTransport):
    """Carries requests to a server in this process; `cut` makes the next ones fail, before or after they
    arrive."""

    def __init__(self, client: TestClient[Any]) -> None:
        self.client = client
        self.cuts: list[str | None] = []
        self.requests = 0

    async def handle_async_request(self, request: httpx.Request) -> httpx.Response:
        self.requests += 1
        cut = self.cuts.pop(0) if self.cuts else None
        if cut == "before":
            raise httpx.ConnectError("no route", request=request)
        content = await request.aread()
        headers = {name: value for name, value in request.headers.items() if name.lower() != "host"}
        said = await asyncio.to_thread(
            self.client.request, request.method, request.url.path, content=content, headers=headers
        )
        if cut == "after":
            raise httpx.ReadTimeout("the answer was lost", request=request)
        return httpx.Response(said.status_code, content=said.content, request=request)


def hospital_key(hospital: House) -> str:
    async def read() -> str:
        store = await Store.open(hospital.settings.database)
        try:
            return (await store.identity()).public_key
        finally:
            await store.close()

    return asyncio.run(read())


class Satellite:
    """A hub with its own folder and a phone, and the hospital's server beyond a link."""

    def __init__(self, hospital: House, client: TestClient[Any], settings: Settings) -> None:
        self.hospital = hospital
        self.link = Link(hospital.client)
        self.settings = settings
        self.client = client
        self.phone = Phone(client)
        self.server_key: str | None = hospital_key(hospital)

    @asynccontextmanager
    async def _relay(self) -> AsyncIterator[Relay]:
        store = await Store.open(self.settings.database)
        try:
            async with httpx.AsyncClient(base_url="http://hospital.test", transport=self.link) as client:
                yield Relay(store, client, self.server_key)
        finally:
            await store.close()

    def relay(self) -> Relayed:
        async def run() -> Relayed:
            async with self._relay() as relay:
                return await relay.round()

        return asyncio.run(run())

    def code(self) -> str:
        async def add() -> str:
            store = await Store.open(self.settings.database)
            try:
                return (await store.add_code("lighthouse", "Room 1", 0, 2**52)).code
            finally:
                await store.close()

        return asyncio.run(add())

    def at_hospital(self) -> list[bytes]:
        async def read() -> list[bytes]:
            store = await Store.open(self.hospital.settings.database)
            try:
                async with store.export(0) as rows:
                    return [
                        row[:-1] async for row in rows if self.phone.device.encode() in row and b"\t" in row
                    ]
            finally:
                await store.close()

        return asyncio.run(read())


@pytest.fixture
def satellite(house: House, tmp_path: Path) -> Any:
    settings = Settings(data=tmp_path / "satellite", kind="hub")
    settings.data.mkdir()

    async def found() -> tuple[str, str, str]:
        store = await Store.open(settings.database, sites=SITES)
        who = await store.identity()
        code = await store.add_code("lighthouse", "Room 1", 0, 2**52)
        await store.close()
        return who.server, who.public_key, code.code

    hub, key, code = asyncio.run(found())

    async def approve() -> None:
        store = await Store.open(house.settings.database)
        await store.add_hub(hub, "Lighthouse laptop", key, 0)
        await store.close()

    asyncio.run(approve())
    with TestClient(create_app(settings), raise_server_exceptions=False) as client:
        made = Satellite(house, client, settings)
        assert made.phone.enrol(code).status_code == 200
        yield made


def a_day(phone: Phone, batches: int = 6) -> list[bytes]:
    """Lines of an invented day, sent to the hub in several batches."""
    lines = [phone.first_line(), phone.write(opened(), "c1")]
    phone.sync(*lines)
    for number in range(batches):
        batch = [phone.write(comfort(number % 10), "c1") for _ in range(4)]
        phone.sync(*batch)
        lines += batch
    miss = phone.write(near_miss("seen at the satellite"), "c1")
    phone.sync(miss)
    return [line.raw for line in [*lines, miss]]


def test_every_line_arrives_once_byte_for_byte(satellite: Satellite) -> None:
    lines = a_day(satellite.phone)
    done = satellite.relay()
    assert (done.devices, done.lines, done.refused) == (1, len(lines), [])
    assert satellite.at_hospital() == lines
    listed = satellite.hospital.as_officer().get("/api/incidents").json()
    assert [row["note"] for row in listed["rows"]] == ["seen at the satellite"]
    again = satellite.relay()
    assert (again.lines, again.repeats) == (0, 0)


def test_the_phone_learns_what_the_final_server_holds_and_from_whom(satellite: Satellite) -> None:
    lines = a_day(satellite.phone)
    before = satellite.phone.sync()
    assert (before["kind"], before["final"]) == ("hub", None)
    satellite.relay()
    after = satellite.phone.sync()
    assert after["kind"] == "hub"
    final = FinalReceipt(**after["final"])
    assert (final.device, final.seq) == (satellite.phone.device, len(lines))
    assert final.head_sha256 == sha256(lines[-1].partition(b"\t")[0]).hexdigest()
    text = (
        f"chinrest receipt {final.server} {final.epoch} final {final.device} {final.seq} {final.head_sha256}"
        f" {final.at}"
    )
    assert is_signed(hospital_key(satellite.hospital), text, final.signature), "the hospital's own word"
    again = satellite.phone.enrol(satellite.code())
    assert again.json()["final_key"] == hospital_key(satellite.hospital)


def test_a_phone_that_enrols_before_the_first_contact_learns_no_key(satellite: Satellite) -> None:
    assert satellite.phone.enrolment["final_key"] == ""


@pytest.mark.parametrize("seed", range(6))
def test_the_link_is_cut_at_random(satellite: Satellite, seed: int) -> None:
    lines = a_day(satellite.phone, batches=10)
    dice = random.Random(seed)
    for _ in range(200):
        satellite.link.cuts = [dice.choice(["before", "after", None]) for _ in range(3)]
        try:
            satellite.relay()
        except httpx.HTTPError:
            continue
        break
    satellite.link.cuts = []
    satellite.relay()
    assert satellite.at_hospital() == lines


def test_a_phone_may_go_to_either_with_no_doubles(satellite: Satellite) -> None:
    lines = a_day(satellite.phone)
    satellite.relay()
    hub_client, hub_token = satellite.phone.client, satellite.phone.token
    satellite.phone.client = satellite.hospital.client
    satellite.phone.enrol(satellite.hospital.code("lighthouse"))
    more = satellite.phone.write(comfort(9), "c1")
    said = satellite.phone.sync(more)
    assert (said["kind"], said["lines"][0]["status"]) == ("final", "stored")
    satellite.phone.client, satellite.phone.token = hub_client, hub_token
    satellite.phone.sync(more)
    done = satellite.relay()
    assert done.lines == 0
    assert satellite.at_hospital() == [*lines, more.raw]


def test_a_restored_hospital_gets_again_what_it_lost(satellite: Satellite, tmp_path: Path) -> None:
    lines = a_day(satellite.phone)
    satellite.relay()

    async def lose() -> None:
        from sqlalchemy import text

        store = await Store.open(satellite.hospital.settings.database)

        async def forget(connection: Any) -> None:
            for table in ("tallies", "incidents", "cases", "lines", "chains", "vouchers"):
                await connection.execute(text(f"DELETE FROM {table}"))

        await store._engine.write(forget)
        await store.new_epoch(1)
        await store.close()

    asyncio.run(lose())
    assert satellite.at_hospital() == []
    satellite.relay()
    assert satellite.at_hospital() == lines


def test_packs_and_withdrawals_come_back(satellite: Satellite, demo_pack: bytes) -> None:
    a_day(satellite.phone)
    lead = satellite.hospital.as_lead()
    headers = {"Content-Type": "application/json", **OWN_PAGE}
    sha = lead.post("/api/packs", content=demo_pack, headers=headers).json()["sha256"]
    lead.post(f"/api/packs/{sha}/approve", json={"sites": ["lighthouse"], "note": "x"}, headers=OWN_PAGE)
    done = satellite.relay()
    assert len(done.packs) == 1
    said = satellite.phone.sync()
    assert said["pack"] == sha
    raw = satellite.client.get(f"/api/packs/{sha}", headers=satellite.phone.bearer)
    assert raw.content == demo_pack
    lead = satellite.hospital.as_lead()
    lead.post(f"/api/packs/{sha}/recall", json={"why": "margin"}, headers=OWN_PAGE)
    lead.post(f"/api/devices/{satellite.phone.device}/withdraw", json={"why": "lost"}, headers=OWN_PAGE)
    done = satellite.relay()
    assert done.withdrawn == ["Room 1"]
    assert satellite.phone.post(b"").status_code == 403


def refused(satellite: Satellite) -> str:
    with pytest.raises(RelayError) as caught:
        satellite.relay()
    return caught.value.code


def test_a_stranger_and_a_withdrawn_hub_carry_nothing(satellite: Satellite) -> None:
    a_day(satellite.phone)

    async def change(what: str) -> None:
        store = await Store.open(satellite.hospital.settings.database)
        [hub] = await store.hubs()
        if what == "withdraw":
            await store.withdraw_hub(hub.id, 1)
        else:
            await store.add_hub(hub.id, hub.name, public_of(new_key()), 1)
        await store.close()

    asyncio.run(change("another key"))
    assert refused(satellite) == "bad_signature"
    asyncio.run(change("withdraw"))
    assert refused(satellite) == "hub_withdrawn"
    assert satellite.at_hospital() == []


def test_a_hub_cannot_write_for_a_phone(satellite: Satellite) -> None:
    """It vouches for the parcel, but the lines are the device's: with a line changed, the device's own
    signature over the head no longer holds."""
    a_day(satellite.phone)

    async def forge() -> None:
        from sqlalchemy import text

        store = await Store.open(satellite.settings.database)

        async def change(connection: Any) -> None:
            await connection.execute(
                text("UPDATE vouchers SET signature = (SELECT min(signature) FROM vouchers)")
            )

        await store._engine.write(change)
        await store.close()

    asyncio.run(forge())
    assert refused(satellite) == "bad_signature"


def test_a_site_that_the_hospital_does_not_know_is_said(satellite: Satellite) -> None:
    a_day(satellite.phone)

    async def rename() -> None:
        from sqlalchemy import text

        store = await Store.open(satellite.settings.database, sites={"attic": "Attic"})

        async def change(connection: Any) -> None:
            await connection.execute(text("UPDATE devices SET site = 'attic' WHERE kind = 'phone'"))

        await store._engine.write(change)
        await store.close()

    asyncio.run(rename())
    assert refused(satellite) == "site_unknown"


def test_a_phone_that_the_hospital_refuses_does_not_hold_up_the_others(satellite: Satellite) -> None:
    others = [Phone(satellite.client) for _ in range(2)]
    for phone in others:
        assert phone.enrol(satellite.code()).status_code == 200
    days = {phone.device: a_day(phone) for phone in (satellite.phone, *others)}

    async def rename_the_first() -> str:
        from sqlalchemy import text

        store = await Store.open(satellite.settings.database, sites={"attic": "Attic"})
        first = (await store.devices())[0].id

        async def change(connection: Any) -> None:
            await connection.execute(
                text("UPDATE devices SET site = 'attic' WHERE id = :id").bindparams(id=first)
            )

        await store._engine.write(change)
        await store.close()
        return first

    first = asyncio.run(rename_the_first())
    assert refused(satellite) == "site_unknown"
    for phone in (satellite.phone, *others):
        satellite.phone = phone  # whose lines are looked for
        assert satellite.at_hospital() == ([] if phone.device == first else days[phone.device])


def test_waiting_grows_with_jitter_up_to_a_ceiling() -> None:
    dice = random.Random(1)
    waits = [[back_off(tries, dice) for _ in range(50)] for tries in range(12)]
    assert all(min(row) >= 1 for row in waits)
    assert max(max(row) for row in waits) <= LONGEST_WAIT_S
    assert len({round(wait, 3) for wait in waits[3]}) > 10
    assert sum(waits[5]) > sum(waits[1])
