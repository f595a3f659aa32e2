"""What a device sends is signed by the key it was enrolled with; a token alone writes nothing."""

import gzip
import sqlite3
import uuid
from contextlib import closing
from typing import Any

from callers import House
from carrying import Phone, comfort
from hub_calling import Hub

from chinrest.log.signing import is_signed, new_key, sign
from chinrest.server.wire import Fault


def refused(answer: Any) -> tuple[int, str, str]:
    fault = Fault(**answer.json())
    return answer.status_code, fault.code, fault.where


def post(phone: Phone, *lines: Any, **header: Any) -> Any:
    return phone.post(gzip.compress(phone.body(*lines, **header)))


def test_a_stolen_token_without_the_key_writes_nothing(house: House) -> None:
    phone = house.phone()
    line = phone.first_line()
    for signature in (None, "", "c2ln", sign(new_key(), line.envelope_sha256)):
        answer = post(phone, line, signature=signature)
        assert refused(answer) == (403, "bad_signature", "header.signature")
    said = phone.sync(line)
    assert said["lines"][0]["status"] == "stored", "the line itself was sound and waits on the phone"


def vouchers(house: House) -> list[tuple[int, str]]:
    with closing(sqlite3.connect(house.settings.database)) as database:
        return list(database.execute("SELECT head_seq, signature FROM vouchers"))


def test_a_signature_that_comes_with_no_lines_is_not_kept(house: House) -> None:
    """Nobody has checked it. At a hub it would go on as the phone's own word of what stands there, and the
    server beyond refuses the parcel."""
    phone, hub = house.phone(), Hub()
    line = phone.first_line()
    phone.sync(line)
    kept = vouchers(house)
    assert [seq for seq, _ in kept] == [1]
    phone.sync(head_seq=1000, head_sha256=line.envelope_sha256, signature="c2ln")
    hub.approve(house.settings)
    asked = hub.parcel(phone, "harbour", head_seq=1000, head_sha256=line.envelope_sha256, signature="c2ln")
    assert hub.carry(house.client, asked).status_code == 200
    assert vouchers(house) == kept


def test_a_signature_of_another_head_is_refused(house: House) -> None:
    phone = house.phone()
    one, two = phone.first_line(), phone.write(comfort(), str(uuid.uuid4()))
    assert refused(post(phone, one, head_sha256=two.envelope_sha256)) == (
        400,
        "bad_signature",
        "header.head_sha256",
    )
    earlier = sign(phone.signing_key, one.envelope_sha256)
    assert refused(post(phone, one, two, signature=earlier)) == (403, "bad_signature", "header.signature")
    assert phone.sync()["holds"] == []


def test_nothing_to_send_needs_no_signature(house: House) -> None:
    assert house.phone().sync(signature=None)["holds"] == []


def test_a_receipt_is_the_servers_signed_word_of_what_it_holds(house: House) -> None:
    phone = house.phone()
    server_key = phone.enrolment["server_key"]
    assert phone.sync()["receipt"] is None
    lines = [phone.first_line(), phone.write(comfort(), str(uuid.uuid4()))]
    said = phone.sync(*lines)
    receipt = said["receipt"]
    assert (receipt["device"], receipt["seq"]) == (phone.device, 2)
    assert receipt["head_sha256"] == lines[1].envelope_sha256
    text = (
        f"chinrest receipt {said['server']} {said['epoch']} {said['kind']} {phone.device} 2"
        f" {lines[1].envelope_sha256} {receipt['at']}"
    )
    assert is_signed(server_key, text, receipt["signature"])
    assert not is_signed(server_key, text.replace(" 2 ", " 3 "), receipt["signature"])
