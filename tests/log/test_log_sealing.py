"""Sealing for one reader, against RFC 9180 and what it is made of.

The reference below is written from RFC 9180 (sections 4, 5) with RFC 5869's HKDF over the standard library's
HMAC; only the curve and AES-GCM are the cryptography library's. It is held to the RFC's own values first.
"""

import base64
import hmac
from hashlib import sha256

import pytest
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.ciphers.aead import AESGCM
from cryptography.hazmat.primitives.serialization import Encoding, NoEncryption, PrivateFormat, PublicFormat

from chinrest.log.sealing import seal, unseal
from chinrest.log.signing import new_key, public_of

KEM, HPKE = b"KEM\x00\x10", b"HPKE\x00\x10\x00\x01\x00\x01"


def extract(salt: bytes, ikm: bytes) -> bytes:
    return hmac.digest(salt or b"\0" * 32, ikm, "sha256")


def expand(prk: bytes, info: bytes, length: int) -> bytes:
    out, block, n = b"", b"", 0
    while len(out) < length:
        n += 1
        block = hmac.digest(prk, block + info + bytes([n]), "sha256")
        out += block
    return out[:length]


def labelled(suite: bytes, prk: bytes, label: bytes, info: bytes, length: int) -> bytes:
    return expand(prk, length.to_bytes(2) + b"HPKE-v1" + suite + label + info, length)


def labelled_extract(suite: bytes, salt: bytes, label: bytes, ikm: bytes) -> bytes:
    return extract(salt, b"HPKE-v1" + suite + label + ikm)


def point(key: ec.EllipticCurvePublicKey) -> bytes:
    return key.public_bytes(Encoding.X962, PublicFormat.UncompressedPoint)


def reference(
    sk_e: ec.EllipticCurvePrivateKey, pk_r: ec.EllipticCurvePublicKey, info: bytes
) -> dict[str, bytes]:
    """Base mode: the shared secret, the key and the base nonce."""
    enc = point(sk_e.public_key())
    dh = sk_e.exchange(ec.ECDH(), pk_r)
    prk = labelled_extract(KEM, b"", b"eae_prk", dh)
    shared = labelled(KEM, prk, b"shared_secret", enc + point(pk_r), 32)
    context = b"\0" + labelled_extract(HPKE, b"", b"psk_id_hash", b"")
    context += labelled_extract(HPKE, b"", b"info_hash", info)
    secret = labelled_extract(HPKE, shared, b"secret", b"")
    return {
        "enc": enc,
        "shared_secret": shared,
        "key": labelled(HPKE, secret, b"key", context, 16),
        "nonce": labelled(HPKE, secret, b"base_nonce", context, 12),
    }


def private(scalar: str) -> ec.EllipticCurvePrivateKey:
    return ec.derive_private_key(int(scalar, 16), ec.SECP256R1())


# RFC 9180, appendix A.3.1 (DHKEM(P-256, HKDF-SHA256), HKDF-SHA256, AES-128-GCM, base mode)
SK_E = private("4995788ef4b9d6132b249ce59a77281493eb39af373d236a1fe415cb0c2d7beb")
SK_R = private("f3ce7fdae57e1a310d87f1ebbde6f328be0a99cdbcadf4d6589cf29de4b8ffd2")
INFO = bytes.fromhex("4f6465206f6e2061204772656369616e2055726e")
TEXT = bytes.fromhex("4265617574792069732074727574682c20747275746820626561757479")
PK_R = (
    "04fe8c19ce0905191ebc298a9245792531f26f0cece2460639e8bc39cb7f706a"
    "826a779b4cf969b8a0e539c7f62fb3d30ad6aa8f80e30f1d128aafd68a2ce72ea0"
)
ENC = (
    "04a92719c6195d5085104f469a8b9814d5838ff72b60501e2c4466e5e67b325a"
    "c98536d7b61a1af4b78e5b7f951c0900be863c403ce65c9bfcb9382657222d18c4"
)
CIPHERTEXT_0 = "5ad590bb8baa577f8619db35a36311226a896e7342a6d836d8b7bcd2f20b6c7f9076ac232e3ab2523f39513434"


def test_hkdf_is_rfc_5869s() -> None:
    """RFC 5869, appendix A.1 (test case 1)."""
    prk = extract(bytes(range(13)), b"\x0b" * 22)
    assert prk.hex() == "077709362c2e32df0ddc3f0dc47bba6390b6c73bb50f9c3122ec844ad7c2b3e5"
    okm = expand(prk, bytes(range(0xF0, 0xFA)), 42)
    assert okm.hex() == (
        "3cb25f25faacd57a90434f64d0362f2a2d2d0a90cf1a5a4c5db02d56ecc4c5bf34007208d5b887185865"
    )


def test_the_reference_gives_the_rfcs_values() -> None:
    assert point(SK_R.public_key()).hex() == PK_R
    made = reference(SK_E, SK_R.public_key(), INFO)
    assert made["enc"].hex() == ENC
    assert made["shared_secret"].hex() == "c0d26aeab536609a572b07695d933b589dcf363ff9d93c93adea537aeabb8cb8"
    assert made["key"].hex() == "868c066ef58aae6dc589b6cfdd18f97e"
    assert made["nonce"].hex() == "4e0bc5018beba4bf004cca59"
    assert AESGCM(made["key"]).encrypt(made["nonce"], TEXT, b"Count-0").hex() == CIPHERTEXT_0


def as_key(key: ec.EllipticCurvePrivateKey) -> str:
    der = key.private_bytes(Encoding.DER, PrivateFormat.PKCS8, NoEncryption())
    return base64.b64encode(der).decode()


def test_what_the_reference_sealed_is_opened() -> None:
    made = reference(SK_E, SK_R.public_key(), INFO)
    sealed = made["enc"] + AESGCM(made["key"]).encrypt(made["nonce"], TEXT, b"")
    assert unseal(as_key(SK_R), INFO, sealed) == TEXT


def test_what_was_sealed_the_reference_opens() -> None:
    """By the receiver's own arithmetic: the shared point is the same from either side."""
    sealed = seal(public_of(as_key(SK_R)), INFO, TEXT)
    enc, ciphertext = sealed[:65], sealed[65:]
    sender = ec.EllipticCurvePublicKey.from_encoded_point(ec.SECP256R1(), enc)
    prk = labelled_extract(KEM, b"", b"eae_prk", SK_R.exchange(ec.ECDH(), sender))
    shared = labelled(KEM, prk, b"shared_secret", enc + bytes.fromhex(PK_R), 32)
    context = b"\0" + labelled_extract(HPKE, b"", b"psk_id_hash", b"")
    context += labelled_extract(HPKE, b"", b"info_hash", INFO)
    secret = labelled_extract(HPKE, shared, b"secret", b"")
    key = labelled(HPKE, secret, b"key", context, 16)
    assert AESGCM(key).decrypt(labelled(HPKE, secret, b"base_nonce", context, 12), ciphertext, b"") == TEXT


@pytest.mark.parametrize("at", [0, 1, 64, 65, 80, -1])
def test_a_changed_byte_opens_nothing(at: int) -> None:
    key = new_key()
    sealed = bytearray(seal(public_of(key), b"x", TEXT))
    sealed[at] ^= 1
    assert unseal(key, b"x", bytes(sealed)) is None


def test_another_key_or_another_info_or_a_part_opens_nothing() -> None:
    key = new_key()
    sealed = seal(public_of(key), b"x", TEXT)
    assert unseal(key, b"x", sealed) == TEXT
    assert unseal(new_key(), b"x", sealed) is None
    assert unseal(key, b"y", sealed) is None
    for length in (0, 1, 65, 80, len(sealed) - 1):
        assert unseal(key, b"x", sealed[:length]) is None


def test_the_same_text_is_never_sealed_twice_alike() -> None:
    key = public_of(new_key())
    assert len({sha256(seal(key, b"x", TEXT)).digest() for _ in range(20)}) == 20
