"""What the phone seals, the server opens; and the phone's sealing gives RFC 9180's own values.

The front-end code is the real one, run by Node; the opening is the cryptography library's.
"""

import base64
import gzip
import uuid
from typing import Any

import pytest
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat
from phone_sealing import ask_sealing
from test_log_sealing import CIPHERTEXT_0, ENC, INFO, SK_E, SK_R, TEXT

from chinrest.log.carried import key_name, part_info, read_carried
from chinrest.log.sealing import unseal
from chinrest.log.signing import new_key, public_of

PARTS = [b"one", bytes(range(256)) * 1200, "a line with \u00e9, \u6f22 and \U0001f441\n".encode() * 40]


def coded(raw: bytes) -> str:
    return base64.b64encode(raw).decode()


def number(value: int) -> str:
    return base64.urlsafe_b64encode(value.to_bytes(32)).decode().rstrip("=")


def jwk(key: ec.EllipticCurvePrivateKey) -> dict[str, str]:
    numbers = key.private_numbers()
    x, y = numbers.public_numbers.x, numbers.public_numbers.y
    return {
        "kty": "EC",
        "crv": "P-256",
        "x": number(x),
        "y": number(y),
        "d": number(numbers.private_value),
    }


def spki(key: ec.EllipticCurvePrivateKey) -> str:
    return coded(key.public_key().public_bytes(Encoding.DER, PublicFormat.SubjectPublicKeyInfo))


def asked(key: str, **sealed: bytes) -> dict[str, Any]:
    header = {
        "record": "carried",
        "v": 1,
        "server": str(uuid.uuid4()),
        "key": key_name(key),
        "file": str(uuid.uuid4()),
        "made_at": 1_790_000_000_000,
        "parts": len(PARTS),
        "packing": "gzip",
    }
    told = {name: coded(sealed.get(name, b"")) for name in ("info", "text", "aad")}
    parts = [coded(gzip.compress(part)) for part in PARTS]
    return {"header": header, "key": key, "parts": parts, "pair": jwk(SK_E), "sealed": told}


def test_the_phone_gives_the_rfcs_values() -> None:
    """RFC 9180, appendix A.3.1: the sender's key and the first ciphertext."""
    told = ask_sealing(asked(spki(SK_R), info=INFO, text=TEXT, aad=b"Count-0"))
    assert base64.b64decode(told["sealed"]).hex() == ENC + CIPHERTEXT_0


def test_the_server_opens_the_phones_file() -> None:
    private = new_key()
    question = asked(public_of(private))
    file = read_carried(ask_sealing(question)["file"].encode())
    assert file.header.file == question["header"]["file"]
    assert file.header.key == key_name(public_of(private))
    opened = [unseal(private, part_info(file.info, n), part) for n, part in enumerate(file.sealed, start=1)]
    assert [gzip.decompress(part or b"") for part in opened] == PARTS
    # bound to its place, and to nobody else's key
    assert unseal(private, part_info(file.info, 2), file.sealed[0]) is None
    assert unseal(new_key(), part_info(file.info, 1), file.sealed[0]) is None


@pytest.mark.parametrize("size", [0, 1, 100_000])
def test_any_length_is_opened(size: int) -> None:
    private = new_key()
    told = ask_sealing(asked(public_of(private), info=b"i" * size, text=b"t" * size))
    assert unseal(private, b"i" * size, base64.b64decode(told["sealed"])) == b"t" * size
