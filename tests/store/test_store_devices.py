"""Enrolment by a one-time code, tokens that are kept only as hashes, and what the lead sees."""

import re
from hashlib import sha256

import pytest
from invented import START, Phone, device_id
from stored import opened, rows, runs, send

from chinrest.store import StoreError
from chinrest.store.engines import Place

MINUTE = 60_000


@runs
async def test_a_code_is_eight_letters_that_cannot_be_misread(file: Place) -> None:
    async with opened(file) as store:
        codes = [await store.add_code("north", "Room 1", START, START + 15 * MINUTE) for _ in range(50)]
        for code in codes:
            assert re.fullmatch(r"[0-9A-HJKMNP-TV-Z]{4}-[0-9A-HJKMNP-TV-Z]{4}", code.code)
        assert len({code.code for code in codes}) == 50
        text = repr(rows(file, "SELECT * FROM enrolment_codes"))
        assert not any(code.code in text or code.code.replace("-", "") in text for code in codes)


@runs
async def test_enrolled_and_known_by_its_token(file: Place) -> None:
    async with opened(file) as store:
        code = await store.add_code("south", "Room 1", START, START + MINUTE)
        typed = code.code.lower().replace("0", "o").replace("1", "l").replace("-", " ")
        token, site = await store.enrol(typed, device_id("p"), "AAAA", "Left phone", START + 1)
        assert site == "south"
        device = await store.device_by_token(token)
        assert device is not None
        assert (device.id, device.label, device.site, device.withdrawn) == (
            device_id("p"),
            "Left phone",
            "south",
            False,
        )
        assert await store.device_by_token(token + "x") is None
        assert await store.device_by_token("") is None
        assert len(token) >= 43  # 256 bits in base64
        assert rows(file, "SELECT token_sha256 FROM devices WHERE kind = 'phone'") == [
            (sha256(token.encode()).hexdigest(),)
        ]


@runs
async def test_a_code_works_once_and_not_for_ever(file: Place) -> None:
    async with opened(file) as store:
        code = (await store.add_code("north", "", START, START + MINUTE)).code
        with pytest.raises(StoreError, match="code_unknown"):
            await store.enrol("AAAA-AAAA", device_id("a"), "AAAA", "", START)
        with pytest.raises(StoreError, match="code_expired"):
            await store.enrol(code, device_id("a"), "AAAA", "", START + MINUTE)
        await store.enrol(code, device_id("a"), "AAAA", "", START + MINUTE - 1)
        with pytest.raises(StoreError, match="code_used"):
            await store.enrol(code, device_id("b"), "AAAA", "", START + MINUTE - 1)
        with pytest.raises(StoreError, match="site_unknown"):
            await store.add_code("west", "", START, START + MINUTE)


@runs
async def test_a_lost_answer_can_be_asked_for_again_by_the_same_device_and_key(file: Place) -> None:
    async with opened(file) as store:
        code = (await store.add_code("north", "", START, START + MINUTE)).code
        lost, _ = await store.enrol(code, device_id("a"), "AAAA", "", START)
        token, _ = await store.enrol(code, device_id("a"), "AAAA", "", START + 1)
        assert await store.device_by_token(lost) is None
        assert await store.device_by_token(token) is not None
        with pytest.raises(StoreError, match="device_taken"):
            await store.enrol(code, device_id("a"), "BBBB", "", START + 2)


@runs
async def test_a_phone_has_one_token_to_send_by_and_a_new_full_one_ends_the_one_before(file: Place) -> None:
    async with opened(file) as store:
        code = (await store.add_code("north", "", START, START + MINUTE)).code
        token, _ = await store.enrol(code, device_id("a"), "AAAA", "", START)
        send, new, unused = (sha256(word.encode()).hexdigest() for word in ("send", "new", "unused"))

        async def by() -> list[str | None]:
            found = [await store.device_by_token(one) for one in (token, "send", "unused", "new")]
            return [one and one.by for one in found]

        assert await by() == ["full", None, None, None]
        await store.change_tokens(device_id("a"), send, unused)
        # the first use of a new one is to be found by it
        assert await store.device_by_token("new") is None
        await store.change_tokens(device_id("a"), send, new)
        assert await by() == ["full", "send", None, "next"]
        assert await by() == [None, "send", None, "full"]
        await store.change_tokens(device_id("a"), send, "")
        assert await by() == [None, "send", None, "full"]
        for taken in ((new, ""), (unused, send), (unused, unused)):
            with pytest.raises(StoreError, match="token_taken"):
                await store.change_tokens(device_id("a"), *taken)
        another = (await store.add_code("north", "", START, START + MINUTE)).code
        await store.enrol(another, device_id("b"), "BBBB", "", START)
        with pytest.raises(StoreError, match="token_taken"):
            await store.change_tokens(device_id("b"), send, "")
        with pytest.raises(StoreError, match="not a SHA-256"):
            await store.change_tokens(device_id("b"), "send", "")
        # enrolled anew: all earlier ones are void
        again = (await store.add_code("north", "", START, START + MINUTE)).code
        await store.enrol(again, device_id("a"), "AAAA", "", START, unused)
        assert await by() == [None, None, "send", None]


@runs
async def test_a_withdrawn_phone_does_not_come_back_by_the_code_that_it_spent(file: Place) -> None:
    async with opened(file) as store:
        code = (await store.add_code("north", "", START, START + MINUTE)).code
        token, _ = await store.enrol(code, device_id("a"), "AAAA", "", START)
        await store.withdraw(device_id("a"), "lead", "lost", START + 1)
        with pytest.raises(StoreError, match="code_used"):
            await store.enrol(code, device_id("a"), "AAAA", "", START + 2)
        found = await store.device_by_token(token)
        assert found is not None
        assert found.withdrawn


@runs
async def test_nobody_takes_another_devices_id(file: Place) -> None:
    phone = Phone()
    async with opened(file, phone) as store:
        code = (await store.add_code("north", "", START, START + MINUTE)).code
        with pytest.raises(StoreError, match="device_taken"):
            await store.enrol(code, phone.device, "BBBB", "", START)
        own = rows(file, "SELECT own_device FROM house")[0][0]
        with pytest.raises(StoreError, match="device_taken"):
            await store.enrol(code, own, "AAAA", "", START)
        assert (await store.enrol(code, device_id("b"), "BBBB", "", START))[1] == "north"


@pytest.mark.parametrize(
    ("device", "key", "label", "where"),
    [
        ("phone", "AAAA", "", "device"),
        (device_id("a").upper(), "AAAA", "", "device"),
        (device_id("a"), "", "", "public_key"),
        (device_id("a"), "not base64!", "", "public_key"),
        (device_id("a"), "AAAA" * 1000, "", "public_key"),
        (device_id("a"), "AAAA", "x" * 101, "label"),
        (device_id("a"), "AAAA", "\x00", "label"),
    ],
)
def test_malformed_fields_are_named(file: Place, device: str, key: str, label: str, where: str) -> None:
    @runs
    async def scenario() -> None:
        async with opened(file) as store:
            code = (await store.add_code("north", "", START, START + MINUTE)).code
            with pytest.raises(StoreError) as refused:
                await store.enrol(code, device, key, label, START)
            assert (refused.value.code, refused.value.where) == ("value", where)
            # the code is not spent by it
            await store.enrol(code, device_id("a"), "AAAA", "", START)

    scenario()


@runs
async def test_withdrawn_is_told_so_kept_on_record_and_can_come_back(file: Place) -> None:
    phone = Phone()
    phone.write("case.opened", "c1")
    async with opened(file) as store:
        code = (await store.add_code("north", "Room 1", START, START + MINUTE)).code
        token, _ = await store.enrol(code, phone.device, "AAAA", "", START)
        await send(store, phone, phone.raws)
        await store.withdraw(phone.device, "lead", "left in a taxi", START + 5)
        found = await store.device_by_token(token)
        assert found is not None
        assert found.withdrawn
        [body] = rows(file, "SELECT body FROM lines WHERE type = 'device.withdrawn'")
        assert b"left in a taxi" in body[0]
        with pytest.raises(StoreError, match="not_enrolled"):
            await store.withdraw(device_id("none"), "lead", "", START)
        own = rows(file, "SELECT own_device FROM house")[0][0]
        with pytest.raises(StoreError, match="not_enrolled"):
            await store.withdraw(own, "lead", "", START)
        code = (await store.add_code("north", "Room 1", START, START + MINUTE)).code
        again, _ = await store.enrol(code, phone.device, "AAAA", "", START + 9)
        back = await store.device_by_token(again)
        assert back is not None
        assert not back.withdrawn
        assert await store.holds(phone.device) == [(1, 1)]


@runs
async def test_the_leads_list(file: Place) -> None:
    one, two = Phone("one"), Phone("two")
    one.write("pack.taken", None, sha256="a" * 64, vectors=3)
    one.write("pack.taken", None, sha256="b" * 64, vectors=3)
    for _ in range(4):
        two.write("step.done", "c1")
    async with opened(file, one, two) as store:
        await send(store, one, one.raws)
        await send(store, two, [*two.raws[2:], b"junk"])
        await store.heard(two.device, START + 9, waiting=7, clock_offset_ms=-400, app="0.2.0")
        first, second = await store.devices()
        assert (first.label, first.site, first.pack, first.refused, first.gaps) == (
            "one",
            "north",
            "b" * 64,
            0,
            [],
        )
        assert (second.label, second.pack, second.refused, second.gaps) == ("two", None, 1, [(1, 2)])
        assert (second.last_heard_at, second.waiting, second.clock_offset_ms, second.app) == (
            START + 9,
            7,
            -400,
            "0.2.0",
        )


@runs
async def test_the_first_epoch_and_the_next(file: Place) -> None:
    from chinrest.log.house_events import CaseRead

    async with opened(file) as store:
        before = await store.identity()
        await store.append_own(CaseRead(salt="s", by="officer"), "officer", START)
        after = await store.new_epoch(START + 1)
        assert after.server == before.server
        assert after.epoch != before.epoch
        await store.append_own(CaseRead(salt="s", by="officer"), "officer", START + 2)
        # the server's own chain starts anew, so that it cannot fork the one of the time that was lost
        assert rows(file, "SELECT seq, count(DISTINCT device) FROM lines GROUP BY seq") == [(1, 2)]
    async with opened(file) as store:
        assert await store.identity() == after
