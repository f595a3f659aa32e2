"""What a phone with PINs stores is what its description says: opened here with none of the phone's code.

The PIN's key: PBKDF2 (RFC 8018) with HMAC-SHA-256. Texts: AES-256-GCM. Sealed ones: HPKE (RFC 9180).
"""

import base64
import hmac
import json
from typing import Any

import pytest
from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.ciphers.aead import AESGCM
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.kdf.hkdf import HKDFExpand
from cryptography.hazmat.primitives.kdf.pbkdf2 import PBKDF2HMAC
from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat, load_der_private_key
from invented import Phone
from phone_lock import ask_lock

from chinrest.log.sealing import unseal
from chinrest.log.signing import new_key, public_of

PIN, NAME, SERVER = "902 177 caf\u00e9", "Ren\u00e9", new_key()


def opened_by_pin(keys: dict[str, Any], pin: str, person: dict[str, Any]) -> bytes:
    wrap = {part: base64.b64decode(person["wrap"][part]) for part in ("salt", "iv", "key")}
    drawn = PBKDF2HMAC(SHA256(), 32, wrap["salt"], person["wrap"]["rounds"]).derive(pin.encode())
    bound = f"chinrest wrap 1\n{keys['device']}\n{person['name'].lower()}".encode()
    return AESGCM(drawn).decrypt(wrap["iv"], wrap["key"], bound)


@pytest.fixture(scope="module")
def phone() -> Phone:
    phone = Phone("locked")
    phone.write("case.opened", "c1", code="T-0415", modalities=["colour"])
    phone.write("comfort.noted", "c1", score=6, bothers=["light"])
    phone.write("reaction.started", None, screen="home")
    return phone


@pytest.fixture(scope="module")
def told(phone: Phone) -> dict[str, Any]:
    lines = [
        {
            "seq": line.envelope.seq,
            "id": line.envelope.id,
            "case": line.envelope.case,
            "sha256": line.envelope_sha256,
            "raw": line.raw.decode(),
        }
        for line in phone.lines
    ]
    asked = {"device": phone.device, "sealKey": public_of(SERVER), "name": NAME, "pin": PIN}
    return ask_lock({**asked, "lines": lines})


def data_key(told: dict[str, Any]) -> bytes:
    (person,) = told["keys"]["people"]
    return opened_by_pin(told["keys"], PIN, person)


def beside(phone: Phone, place: int) -> bytes:
    """What stands readable beside a line, as the seal is bound to it."""
    line = phone.lines[place]
    said = [phone.device, line.envelope.seq, line.envelope.id, line.envelope.case, line.envelope_sha256]
    return json.dumps(said, separators=(",", ":")).encode()


def test_a_pin_gives_the_data_key_and_another_does_not(told: dict[str, Any]) -> None:
    (person,) = told["keys"]["people"]
    assert person["wrap"]["rounds"] >= 600_000
    assert len(data_key(told)) == 32
    with pytest.raises(InvalidTag):
        opened_by_pin(told["keys"], PIN + "x", person)


def test_the_escrow_is_for_the_server_and_names_the_phone(told: dict[str, Any], phone: Phone) -> None:
    sealed = base64.b64decode(told["keys"]["escrow"])
    key = base64.b64encode(data_key(told)).decode()
    assert unseal(SERVER, b"chinrest data key 1", sealed) == f"{phone.device}\t{key}".encode()
    assert unseal(new_key(), b"chinrest data key 1", sealed) is None


def test_kept_lines_open_by_the_data_key_in_their_own_place(told: dict[str, Any], phone: Phone) -> None:
    key = AESGCM(data_key(told))
    for place, (line, row) in enumerate(zip(phone.lines, told["rows"], strict=True)):
        iv, text = base64.b64decode(row["iv"]), base64.b64decode(row["kept"])
        assert key.decrypt(iv, text, beside(phone, place)) == line.raw
        with pytest.raises(InvalidTag):
            key.decrypt(iv, text, beside(phone, (place + 1) % 3))
    assert len({row["iv"] for row in told["rows"]}) == len(phone.lines)


def hpke_opened(own: ec.EllipticCurvePrivateKey, info: bytes, sealed: bytes, aad: bytes) -> bytes:
    """RFC 9180, sections 4.1, 5.1 and 5.2, in base mode: the cryptography library's own has no `aad`."""
    kem, suite = b"KEM\0\x10", b"HPKE\0\x10\0\1\0\1"
    enc, text = sealed[:65], sealed[65:]

    def extract(where: bytes, salt: bytes, label: bytes, ikm: bytes) -> bytes:
        return hmac.digest(salt, b"HPKE-v1" + where + label + ikm, "sha256")

    def expand(where: bytes, prk: bytes, label: bytes, info: bytes, length: int) -> bytes:
        labelled = length.to_bytes(2) + b"HPKE-v1" + where + label + info
        return HKDFExpand(SHA256(), length, labelled).derive(prk)

    point = own.public_key().public_bytes(Encoding.X962, PublicFormat.UncompressedPoint)
    sender = ec.EllipticCurvePublicKey.from_encoded_point(ec.SECP256R1(), enc)
    dh = extract(kem, b"", b"eae_prk", own.exchange(ec.ECDH(), sender))
    shared = expand(kem, dh, b"shared_secret", enc + point, 32)
    context = b"\0" + extract(suite, b"", b"psk_id_hash", b"") + extract(suite, b"", b"info_hash", info)
    secret = extract(suite, shared, b"secret", b"")
    key = expand(suite, secret, b"key", context, 16)
    return AESGCM(key).decrypt(expand(suite, secret, b"base_nonce", context, 12), text, aad)


def test_sealed_lines_open_by_the_phones_own_key_which_the_data_key_opens(
    told: dict[str, Any], phone: Phone
) -> None:
    hidden = {part: base64.b64decode(told["keys"]["privateKey"][part]) for part in ("iv", "key")}
    pkcs8 = AESGCM(data_key(told)).decrypt(hidden["iv"], hidden["key"], b"chinrest private key 1")
    own = load_der_private_key(pkcs8, None)
    assert isinstance(own, ec.EllipticCurvePrivateKey)
    assert public_of(base64.b64encode(pkcs8).decode()) == told["keys"]["publicKey"]
    for place, (line, row) in enumerate(zip(phone.lines, told["rows"], strict=True)):
        sealed, info = base64.b64decode(row["sealed"]), b"chinrest own line 1"
        assert hpke_opened(own, info, sealed, beside(phone, place)) == line.raw
        with pytest.raises(InvalidTag):
            hpke_opened(own, info, sealed, beside(phone, (place + 1) % 3))
