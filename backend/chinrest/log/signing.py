"""Signatures over chain heads: ECDSA on P-256 with SHA-256, as the phone's Web Crypto makes them.

A signature is 64 raw bytes, r then s (IEEE P1363), in base64; a public key is SPKI in base64. What is
signed is the ASCII of the head's hash, which vouches for every line before it.
"""

import base64
import binascii
import hashlib

from cryptography.exceptions import InvalidSignature, UnsupportedAlgorithm
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.asymmetric.utils import decode_dss_signature, encode_dss_signature
from cryptography.hazmat.primitives.serialization import (
    Encoding,
    NoEncryption,
    PrivateFormat,
    PublicFormat,
    load_der_private_key,
    load_der_public_key,
)

HALF_BYTES = 32
SCHEME = ec.ECDSA(hashes.SHA256())


def new_key() -> str:
    """A private key, PKCS #8 in base64."""
    key = ec.generate_private_key(ec.SECP256R1())
    return base64.b64encode(key.private_bytes(Encoding.DER, PrivateFormat.PKCS8, NoEncryption())).decode()


def _private(key: str) -> ec.EllipticCurvePrivateKey:
    loaded = load_der_private_key(base64.b64decode(key), None)
    if not isinstance(loaded, ec.EllipticCurvePrivateKey):
        raise TypeError("not an elliptic-curve key")
    return loaded


def public_of(key: str) -> str:
    """The public half of a private key."""
    spki = _private(key).public_key().public_bytes(Encoding.DER, PublicFormat.SubjectPublicKeyInfo)
    return base64.b64encode(spki).decode()


def fingerprint(public_key: str) -> str:
    """SHA-256 over the key as it is written (SPKI in base64), in groups that two people can read to each
    other."""
    digest = hashlib.sha256(public_key.encode()).hexdigest()[:32]
    return "-".join(digest[at : at + 4] for at in range(0, 32, 4))


def is_public_key(text: str) -> bool:
    return _public(text) is not None


def _public(text: str) -> ec.EllipticCurvePublicKey | None:
    raw = _bytes(text)
    if raw is None:
        return None
    try:
        key = load_der_public_key(raw)
    except (ValueError, UnsupportedAlgorithm):
        return None
    return key if isinstance(key, ec.EllipticCurvePublicKey) and key.curve.name == "secp256r1" else None


def _bytes(text: str) -> bytes | None:
    """Only the one way of writing them down: spare bits of the last letter would be another text of the same
    bytes."""
    try:
        raw = base64.b64decode(text, validate=True)
    except (binascii.Error, ValueError):
        return None
    return raw if base64.b64encode(raw).decode() == text else None


def sign(key: str, text: str) -> str:
    """Signs ASCII text with a private key."""
    r, s = decode_dss_signature(_private(key).sign(text.encode("ascii"), SCHEME))
    return base64.b64encode(r.to_bytes(HALF_BYTES) + s.to_bytes(HALF_BYTES)).decode()


def is_signed(public_key: str, text: str, signature: str) -> bool:
    """Whether the signature over `text` was made by the owner of the key. Nonsense is simply no signature."""
    key, raw = _public(public_key), _bytes(signature)
    if key is None or raw is None or len(raw) != 2 * HALF_BYTES:
        return False
    r, s = int.from_bytes(raw[:HALF_BYTES]), int.from_bytes(raw[HALF_BYTES:])
    try:
        key.verify(encode_dss_signature(r, s), text.encode(), SCHEME)
    except InvalidSignature:
        return False
    return True
