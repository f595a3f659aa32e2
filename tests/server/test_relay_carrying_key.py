"""A hub's phones learn for which key to seal what goes to the hospital by file, and from it alone."""

import msgspec
from test_relay_strangers import told_otherwise
from test_server_relay import Satellite, a_day, hospital_key, satellite

from chinrest.log.carried import CarryingKey, carrying_key_text, is_carrying_key
from chinrest.log.signing import new_key, public_of, sign

__all__ = ["satellite"]


def asked(satellite: Satellite) -> tuple[int, CarryingKey | None]:
    answer = satellite.client.get("/api/carrying-key", headers=satellite.phone.bearer)
    known = answer.status_code == 200
    return answer.status_code, msgspec.json.decode(answer.content, type=CarryingKey) if known else None


def test_the_hub_tells_the_hospitals_key_once_it_has_relayed(satellite: Satellite) -> None:
    a_day(satellite.phone)
    assert asked(satellite) == (404, None)
    satellite.relay()
    status, said = asked(satellite)
    assert status == 200
    assert said is not None
    assert is_carrying_key(said, hospital_key(satellite.hospital))


def test_a_key_that_the_hospital_did_not_sign_is_not_kept(satellite: Satellite) -> None:
    a_day(satellite.phone)
    stranger, key = new_key(), public_of(new_key())
    server = satellite.phone.enrolment["server"]
    signature = sign(stranger, carrying_key_text(server, key))
    forged = CarryingKey(server=server, key=key, signature=signature)
    assert told_otherwise(satellite, carrying_key=forged) == "bad_signature"
    assert asked(satellite) == (404, None)
