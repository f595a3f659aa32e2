"""Invitations, second factors (RFC 6238), withdrawing people; each is a line of the server's own chain."""

import base64
import hmac
from urllib.parse import parse_qs, urlsplit

import pytest
from invented import START
from stored import opened, rows, runs

from chinrest.log.house_events import StaffChanged
from chinrest.log.line import decode_line
from chinrest.store import Store, StoreError
from chinrest.store.engines import Place
from chinrest.store.people import BY_COMMAND
from chinrest.store.rows import Staff
from chinrest.store.second_factors import STEP_S, address_of, new_recovery_codes, plain, step_of

PASSWORD = "long enough for her"
HOUR = 3600 * 1000
STEP_MS = STEP_S * 1000


def told(file: Place) -> list[tuple[str, str, str]]:
    """What the server's chain says of people: what, by whom, why."""
    found = []
    for envelope, body in rows(
        file, "SELECT envelope, body FROM lines WHERE type = 'staff.changed' ORDER BY position"
    ):
        line = decode_line(bytes(envelope) + b"\t" + bytes(body))
        said = line.body
        assert isinstance(said, StaffChanged)
        assert line.envelope.actor == said.by
        found.append((said.what, said.by, said.why))
    return found


def code_at(secret: bytes, now: int) -> str:
    """By another implementation of RFC 4226, 5.3 than the one under test: written out here."""
    digest = hmac.new(secret, (now // STEP_MS).to_bytes(8, "big"), "sha1").digest()
    at = digest[-1] & 0xF
    number = int.from_bytes(digest[at : at + 4], "big") & 0x7FFFFFFF
    return f"{number % 10**6:06}"


# RFC 6238, appendix B, SHA-1: seconds since 1970, and the code of eight digits, whose last six are that of
# six digits (RFC 4226, 5.3: the remainder by a power of ten)
VECTORS = [
    (59, "94287082"),
    (1111111109, "07081804"),
    (1111111111, "14050471"),
    (1234567890, "89005924"),
    (2000000000, "69279037"),
    (20000000000, "65353130"),
]


@pytest.mark.parametrize(("seconds", "code"), VECTORS)
def test_the_codes_of_the_standard(seconds: int, code: str) -> None:
    secret = b"12345678901234567890"
    assert step_of(secret, code[-6:], seconds * 1000) == seconds // 30
    assert code_at(secret, seconds * 1000) == code[-6:]


def test_a_code_is_good_for_its_step_and_the_ones_beside_it() -> None:
    secret, at = b"x" * 20, START - START % STEP_MS
    code = code_at(secret, at)
    near = {n: step_of(secret, code, at + n * STEP_MS) for n in range(-3, 4)}
    here = at // STEP_MS
    assert near == {-3: None, -2: None, -1: here, 0: here, 1: here, 2: None, 3: None}
    for wrong in ("", "12345", "1234567", code[:-1] + "x", "é" * 6):
        assert step_of(secret, wrong, at) is None


def test_an_authenticator_reads_the_address() -> None:
    """The form that authenticators take: otpauth://totp/LABEL?secret=…&issuer=… (common practice; the
    Key Uri Format, from memory)."""
    secret = bytes(range(20))
    parts = urlsplit(address_of(secret, "Zoë Fell"))
    asked = parse_qs(parts.query)
    assert (parts.scheme, parts.netloc) == ("otpauth", "totp")
    assert base64.b32decode(asked["secret"][0]) == secret
    assert (asked["issuer"], asked["digits"], asked["period"]) == (["Chinrest"], ["6"], ["30"])
    assert parts.geturl().isascii(), "a QR code of bytes is read as Latin-1 by some"


def test_recovery_codes_are_told_apart_and_forgive_how_they_are_typed() -> None:
    codes = new_recovery_codes()
    assert [code[0] for code in codes] == list("12345678")
    assert len({code[2:] for code in codes}) == len(codes)
    assert plain(" 3-abcoi-lxyz0 ") == "3ABC011XYZ0"


async def with_second_factor(store: Store, now: int) -> tuple[Staff, bytes, list[str]]:
    ada = await store.add_staff("Ada", PASSWORD, "officer", now)
    secret = await store.begin_second_factor(ada.id)
    return ada, secret, await store.confirm_second_factor(ada.id, code_at(secret, now), now)


@runs
async def test_a_code_is_taken_once(file: Place) -> None:
    async with opened(file) as store:
        ada, secret, _ = await with_second_factor(store, START)
        assert not await store.check_second_factor(ada.id, code_at(secret, START), START), "it confirmed"
        later = START + 2 * STEP_MS
        code = code_at(secret, later)
        assert await store.check_second_factor(ada.id, f" {code[:3]} {code[3:]} ", later)
        assert not await store.check_second_factor(ada.id, code, later)
        before = code_at(secret, later - STEP_MS)
        assert not await store.check_second_factor(ada.id, before, later), "older than one that was used"
        assert await store.check_second_factor(ada.id, code_at(secret, later + STEP_MS), later)


@runs
async def test_it_counts_only_once_it_is_confirmed(file: Place) -> None:
    async with opened(file) as store:
        ada = await store.add_staff("Ada", PASSWORD, "officer", START)
        first = await store.begin_second_factor(ada.id)
        assert not (await store.second_factor(ada.id)).on
        assert not await store.check_second_factor(ada.id, code_at(first, START), START)
        second = await store.begin_second_factor(ada.id)
        for wrong in ("", "000000", code_at(first, START)):
            with pytest.raises(StoreError, match="wrong_code"):
                await store.confirm_second_factor(ada.id, wrong, START)
        await store.confirm_second_factor(ada.id, code_at(second, START), START)
        assert (await store.second_factor(ada.id)).on
        with pytest.raises(StoreError, match="second_factor_on"):
            await store.begin_second_factor(ada.id)
        with pytest.raises(StoreError, match="second_factor_unknown"):
            await store.confirm_second_factor(ada.id, code_at(second, START), START)


@runs
async def test_a_recovery_code_is_taken_once_and_kept_as_a_hash(file: Place) -> None:
    async with opened(file) as store:
        ada, _, codes = await with_second_factor(store, START)
        bob = await store.add_staff("Bob", PASSWORD, "officer", START)
        kept = rows(file, "SELECT code_hash FROM recovery_codes")
        assert len(kept) == len(codes)
        assert all(code_hash.startswith("$argon2id$v=19$") for (code_hash,) in kept)
        assert not any(code[2:7] in repr(kept) for code in codes)
        swapped = codes[0][0] + codes[1][1:]
        for wrong in ("", "x", "9-AAAAA-AAAAA", swapped, codes[2][:-1], codes[2] + "A"):
            assert not await store.check_second_factor(ada.id, wrong, START), wrong
        assert not await store.check_second_factor(bob.id, codes[2], START)
        assert await store.check_second_factor(ada.id, codes[2].lower().replace("-", " "), START)
        assert not await store.check_second_factor(ada.id, codes[2], START)
        assert (await store.second_factor(ada.id)).recovery_left == len(codes) - 1
        assert told(file)[-1] == ("recovery_code_used", ada.id, "")


@runs
async def test_turned_off_nothing_of_it_stays(file: Place) -> None:
    async with opened(file) as store:
        ada, secret, codes = await with_second_factor(store, START)
        await store.turn_second_factor_off(ada.id, BY_COMMAND, "phone lost", START)
        assert told(file)[-1] == ("second_factor_off", BY_COMMAND, "phone lost")
        assert rows(file, "SELECT * FROM second_factors") == []
        assert rows(file, "SELECT * FROM recovery_codes") == []
        later = START + 5 * STEP_MS
        assert not await store.check_second_factor(ada.id, code_at(secret, later), later)
        assert not await store.check_second_factor(ada.id, codes[0], later)
        with pytest.raises(StoreError, match="second_factor_unknown"):
            await store.turn_second_factor_off(ada.id, ada.id, "", START)
        with pytest.raises(StoreError, match="staff_unknown"):
            await store.turn_second_factor_off("nobody", ada.id, "", START)


@runs
async def test_an_invitation_is_taken_once(file: Place) -> None:
    async with opened(file) as store:
        made = await store.invite("Ada", "officer", "north", BY_COMMAND, START, START + HOUR)
        assert made.token not in repr(rows(file, "SELECT * FROM invitations"))
        (row,) = await store.accounts()
        assert (row.joined, row.site, row.invited_until) == (False, "north", START + HOUR)
        for guess in ("", PASSWORD):
            assert await store.check_password("Ada", guess) is None, "nobody has a password yet"
        assert (await store.invited(made.token, START)).name == "Ada"
        with pytest.raises(StoreError, match="short_password"):
            await store.take_invitation(made.token, "too short", START)
        await store.take_invitation(made.token, PASSWORD, START + HOUR - 1)
        person = await store.check_password("Ada", PASSWORD)
        assert person is not None
        assert (person.id, person.role) == (made.staff, "officer")
        with pytest.raises(StoreError, match="invitation_unknown"):
            await store.take_invitation(made.token, "another long one", START)
        (row,) = await store.accounts()
        assert (row.joined, row.invited_until, row.last_sign_in_at) == (True, None, None)
        assert [what for what, _, _ in told(file)] == ["added", "invited", "joined"]


@runs
async def test_an_invitation_runs_out_is_replaced_and_taken_back(file: Place) -> None:
    async with opened(file) as store:
        ada = await store.add_staff("Ada", PASSWORD, "admin", START)
        first = await store.invite("Bob", "lead", None, ada.id, START, START + HOUR)
        with pytest.raises(StoreError, match="invitation_expired"):
            await store.take_invitation(first.token, PASSWORD, START + HOUR)
        second = await store.invite_again(first.staff, ada.id, "it ran out", START, START + HOUR)
        with pytest.raises(StoreError, match="invitation_unknown"):
            await store.invited(first.token, START)
        await store.invited(second.token, START)
        await store.withdraw_staff(first.staff, ada.id, "left", START)
        with pytest.raises(StoreError, match="invitation_unknown"):
            await store.take_invitation(second.token, PASSWORD, START)
        with pytest.raises(StoreError, match="staff_withdrawn"):
            await store.invite_again(first.staff, ada.id, "it ran out", START, START + HOUR)
        for wrong in ("", "x", first.token + "x"):
            with pytest.raises(StoreError, match="invitation_unknown"):
                await store.invited(wrong, START)


@runs
async def test_a_restore_opens_no_invitation_again(file: Place) -> None:
    """The one in the backup may have been used after it was taken."""
    async with opened(file) as store:
        made = await store.invite("Ada", "officer", None, BY_COMMAND, START, START + HOUR)
        await store.new_epoch(START)
        with pytest.raises(StoreError, match="invitation_unknown"):
            await store.take_invitation(made.token, PASSWORD, START)


@runs
async def test_an_invitation_resets_a_password_that_was_forgotten(file: Place) -> None:
    async with opened(file) as store:
        ada = await store.add_staff("Ada", PASSWORD, "officer", START)
        session = await store.start_session(ada.id, START, START + HOUR)
        made = await store.invite_again(ada.id, BY_COMMAND, "forgotten", START, START + HOUR)
        assert told(file)[-1] == ("invited", BY_COMMAND, "forgotten")
        assert await store.check_password("Ada", PASSWORD) == ada, "the old one holds until then"
        await store.take_invitation(made.token, "newer words of hers", START)
        assert await store.check_password("Ada", PASSWORD) is None
        assert await store.check_password("Ada", "newer words of hers") == ada
        assert await store.session(session, START) is None


@runs
async def test_whoever_changes_their_password_stays_signed_in_here_alone(file: Place) -> None:
    async with opened(file) as store:
        ada = await store.add_staff("Ada", PASSWORD, "officer", START)
        bob = await store.add_staff("Bob", PASSWORD, "officer", START)
        here, there, others = [
            await store.start_session(who.id, START, START + HOUR) for who in (ada, ada, bob)
        ]
        with pytest.raises(StoreError, match="short_password"):
            await store.change_password(ada.id, "too short", here, START)
        await store.change_password(ada.id, "newer words of hers", here, START)
        assert await store.session(here, START) == ada
        assert await store.session(there, START) is None
        assert await store.session(others, START) == bob
        assert told(file)[-1] == ("password_changed", ada.id, "")


@runs
async def test_withdrawn_and_let_in_again(file: Place) -> None:
    async with opened(file) as store:
        ada = await store.add_staff("Ada", PASSWORD, "admin", START)
        bob = await store.add_staff("Bob", PASSWORD, "officer", START)
        token = await store.start_session(bob.id, START, START + HOUR)
        await store.withdraw_staff(bob.id, ada.id, "left", START)
        found, signing_in = await store.session(token, START), await store.check_password("Bob", PASSWORD)
        assert found is not None
        assert found.withdrawn
        assert found == signing_in, "found, so that they can be told"
        with pytest.raises(StoreError, match="changed_meanwhile"):
            await store.withdraw_staff(bob.id, ada.id, "again", START)
        await store.readmit_staff(bob.id, ada.id, "back", START)
        assert await store.session(token, START) is None, "a session from before opens nothing"
        assert await store.check_password("Bob", PASSWORD) == bob
        with pytest.raises(StoreError, match="changed_meanwhile"):
            await store.readmit_staff(bob.id, ada.id, "again", START)
        assert told(file)[-2:] == [("withdrawn", ada.id, "left"), ("readmitted", ada.id, "back")]


@runs
async def test_another_role_and_site_hold_at_once(file: Place) -> None:
    async with opened(file) as store:
        bob = await store.add_staff("Bob", PASSWORD, "officer", START, site="north")
        token = await store.start_session(bob.id, START, START + HOUR)
        await store.change_staff(bob.id, "photographer", "south", BY_COMMAND, START)
        found = await store.session(token, START)
        assert found is not None
        assert found.role == "photographer"
        (row,) = await store.accounts()
        assert (row.role, row.site, row.last_sign_in_at) == ("photographer", "south", START)
        with pytest.raises(StoreError, match="site_unknown"):
            await store.change_staff(bob.id, "officer", "moon", BY_COMMAND, START)
        with pytest.raises(StoreError, match="site_unknown"):
            await store.invite("Eve", "officer", "moon", BY_COMMAND, START, START + HOUR)
        with pytest.raises(StoreError, match="staff_unknown"):
            await store.change_staff("nobody", "officer", None, BY_COMMAND, START)
        assert [row.name for row in await store.accounts()] == ["Bob"], "nothing of what was refused stays"
