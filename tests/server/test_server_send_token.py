"""The token of a locked phone may send, and get guidance; nothing of what others wrote comes by it."""

import gzip
import uuid
from typing import Any

import pytest
from callers import OWN_PAGE, House
from carrying import Phone, near_miss, opened
from phone_lock import ask_tokens
from send_tokens import hash_of, new_token, send_only, tell_tokens
from test_server_locked import DATA_KEY, escrow_of, seal_key, sealed_body, stored
from test_server_relay import Satellite, satellite

from chinrest.log.signing import new_key, sign

__all__ = ["satellite"]


def bearer(token: str) -> dict[str, str]:
    return {"Authorization": f"Bearer {token}"}


def asks(phone: Phone, token: str, body: bytes) -> Any:
    return phone.post(gzip.compress(body), **bearer(token))


def is_refused(answer: Any, status: int, code: str) -> bool:
    return (answer.status_code, answer.json()["code"]) == (status, code)


def others_case(house: House) -> Phone:
    """Another phone of the site, with an open case."""
    other = house.phone()
    other.sync(other.first_line(), other.write(opened("HR-0042"), str(uuid.uuid4())))
    return other


@pytest.mark.parametrize("sealed", [True, False])
def test_lines_are_taken_and_nothing_of_others_comes_back(house: House, sealed: bool) -> None:
    """Whatever cursor is named, and whether the batch says that it is sealed or not."""
    phone = house.phone()
    others_case(house)
    token, key = send_only(phone), seal_key(phone).key
    epoch = phone.sync()["epoch"]
    case = str(uuid.uuid4())
    for cursor, line in ((None, phone.first_line()), (0, phone.write(opened(), case))):
        named = {"epoch": epoch, "cursor": cursor}
        body = sealed_body(phone, key, line, **named) if sealed else phone.body(line, **named)
        answer = asks(phone, token, body)
        assert answer.status_code == 200, answer.text
        said = answer.json()
        assert [row["status"] for row in said["lines"]] == ["stored"]
        assert (said["pulled"], said["more"], said["cursor"]) == ([], False, 0)
        assert "HR-0042" not in answer.text
        assert said["receipt"]["seq"] == line.envelope.seq
    assert len(stored(house, phone.device)) == 2
    # by the full token it goes on where it was
    assert len(phone.sync(epoch=epoch, cursor=0)["pulled"]) == 1


def test_it_gets_what_a_locked_phone_must_know(house: House, demo_pack: bytes) -> None:
    """Guidance, recalls and the last backup's word name no patient."""
    phone = house.phone()
    token, lead = send_only(phone), house.as_lead()
    sent = {**OWN_PAGE, "Content-Type": "application/json"}
    sha256 = lead.post("/api/packs", content=demo_pack, headers=sent).json()["sha256"]
    approval = {"sites": ["harbour"], "note": ""}
    assert lead.post(f"/api/packs/{sha256}/approve", json=approval, headers=OWN_PAGE).status_code == 200
    house.as_nobody()
    assert asks(phone, token, phone.body()).json()["pack"] == sha256
    assert phone.client.get(f"/api/packs/{sha256}", headers=bearer(token)).content == demo_pack
    house.as_lead().post(f"/api/packs/{sha256}/recall", json={"why": "an error"}, headers=OWN_PAGE)
    house.as_nobody()
    recalls = asks(phone, token, phone.body()).json()["recalls"]
    assert [recall["sha256"] for recall in recalls] == [sha256]


def test_it_writes_nothing_without_the_phones_key(house: House) -> None:
    phone = house.phone()
    token, line = send_only(phone), phone.first_line()
    forged = sign(new_key(), phone.chain.head)
    answer = asks(phone, token, phone.body(line, signature=forged))
    assert is_refused(answer, 403, "bad_signature")


def test_it_is_one_phones(house: House) -> None:
    phone, other = house.phone(), house.phone()
    answer = asks(other, send_only(phone), other.body(other.first_line()))
    assert is_refused(answer, 403, "wrong_device")


def test_withdrawing_the_phone_ends_both_tokens_and_a_new_code_brings_neither_back(house: House) -> None:
    phone = house.phone()
    send = send_only(phone)
    done = house.as_lead().post(
        f"/api/devices/{phone.device}/withdraw", json={"why": "lost"}, headers=OWN_PAGE
    )
    assert done.status_code == 200, done.text
    full = phone.token
    house.as_nobody()
    for token in (send, full):
        assert is_refused(asks(phone, token, phone.body()), 403, "device_withdrawn")
    assert phone.enrol(house.code()).status_code == 200
    for token in (send, full):
        assert is_refused(asks(phone, token, phone.body()), 401, "not_enrolled")
    assert phone.sync()["pulled"] == []


# a new full token in place of that which stood in the clear
def test_the_earlier_full_token_ends_with_the_first_use_of_the_new_one(house: House) -> None:
    phone = house.phone()
    before, after, send = phone.token, new_token(), new_token()
    for _ in range(2):  # the answer may get lost, and is asked for again
        assert tell_tokens(phone, send, after).status_code == 204
    assert phone.sync()["holds"] == []
    phone.token = after
    assert phone.sync()["holds"] == []
    assert is_refused(asks(phone, before, phone.body()), 401, "not_enrolled")
    # by the new one: told again, and nothing changes
    for full in ("", after):
        assert tell_tokens(phone, send, full).status_code == 204
        assert phone.sync()["holds"] == []
    assert asks(phone, send, phone.body()).status_code == 200


def test_a_new_full_token_that_was_never_used_gives_way_to_another(house: House) -> None:
    phone = house.phone()
    lost, kept, send = new_token(), new_token(), new_token()
    tell_tokens(phone, new_token(), lost)
    tell_tokens(phone, send, kept)
    assert is_refused(asks(phone, lost, phone.body()), 401, "not_enrolled")
    phone.token = kept
    assert phone.sync()["holds"] == []


def test_tokens_are_told_only_by_whoever_has_the_phones_key(house: House) -> None:
    phone, other = house.phone(), house.phone()
    send = send_only(phone)
    # no signature, one by another key, and one for other hashes
    for changes in (
        {"signature": "AAAA"},
        {"signature": sign(new_key(), "chinrest tokens")},
        {"send": hash_of(new_token())},
        {"full": hash_of(new_token())},
    ):
        assert is_refused(tell_tokens(phone, new_token(), **changes), 403, "bad_signature")
    other.signing_key = phone.signing_key  # by another phone's key
    assert is_refused(tell_tokens(other, new_token()), 403, "bad_signature")
    assert asks(phone, send, phone.body()).status_code == 200


def test_a_token_in_use_is_refused_and_so_is_what_is_no_hash(house: House) -> None:
    phone, other = house.phone(), house.phone()
    theirs, mine = send_only(other), send_only(phone)
    token = new_token()
    for send, full in (
        (theirs, ""),
        (other.token, ""),
        (phone.token, ""),  # one that may do all is none that may only send
        (token, theirs),
        (token, mine),
        (token, token),
    ):
        assert is_refused(tell_tokens(phone, send, full), 409, "token_taken")
    for bad in ("", "AA" * 32, "0" * 63, "x"):
        text = f"chinrest tokens {phone.enrolment['server']} {phone.device} {bad} "
        signature = sign(phone.signing_key, text)
        assert is_refused(tell_tokens(phone, token, send=bad, signature=signature), 400, "value")
    for each, phones in ((theirs, other), (mine, phone)):
        assert asks(phones, each, phones.body()).status_code == 200


def test_what_the_phones_own_code_tells_the_server_takes(house: House) -> None:
    """The front-end source, run by Node."""
    phone = house.phone()
    device = {"id": phone.device, "server": phone.enrolment["server"]}
    send, after = new_token(), new_token()
    for full in (after, ""):
        made = {"send": send, "full": full}
        told = ask_tokens({"device": device, "signingKey": phone.signing_key, "made": made})
        assert phone.client.post("/api/tokens", json=told, headers=phone.bearer).status_code == 204
        phone.token = after
    assert phone.sync()["holds"] == []
    assert asks(phone, send, phone.body()).status_code == 200


# enrolment
def test_a_phone_with_pins_that_is_enrolled_anew_tells_its_token_with_the_code(house: House) -> None:
    phone, send = house.phone(), new_token()
    assert phone.enrolment["send_token"] is False
    asked = phone.asked(house.code()) | {"escrow": escrow_of(phone, phone.device)}
    answer = phone.client.post("/api/enrol", json={**asked, "send_token_sha256": hash_of(send)})
    assert (answer.status_code, answer.json()["send_token"]) == (200, True)
    assert answer.json()["data_key"] == DATA_KEY
    assert asks(phone, send, phone.body()).status_code == 200
    phone.token = answer.json()["token"]
    assert phone.sync()["holds"] == []


@pytest.mark.parametrize("bad", ["x", "theirs"])
def test_a_bad_token_spends_no_code(house: House, bad: str) -> None:
    theirs, phone, code = send_only(house.phone()), house.phone(), house.code()
    asked = phone.asked(code)
    sent = hash_of(theirs) if bad == "theirs" else bad
    answer = phone.client.post("/api/enrol", json={**asked, "send_token_sha256": sent})
    assert answer.status_code in (400, 409)
    assert phone.sync()["holds"] == []
    assert phone.enrol(code).status_code == 200


def test_a_hubs_phone_has_its_token_at_the_hub(satellite: Satellite) -> None:
    phone = satellite.phone
    token, line = send_only(phone), phone.write(near_miss(), str(uuid.uuid4()))
    said = asks(phone, token, phone.body(line)).json()
    assert (said["kind"], [row["status"] for row in said["lines"]]) == ("hub", ["stored"])
    satellite.relay()
    phone.token = token
    assert phone.sync()["final"]["seq"] == line.envelope.seq
