"""Sealing for one reader: Hybrid Public Key Encryption (RFC 9180), base mode, DHKEM(P-256, HKDF-SHA256),
HKDF-SHA256, AES-128-GCM, as the phone's Web Crypto makes it too.

A sealed text is the sender's encapsulated key (65 bytes) and the ciphertext after it. `info` is not in it;
whoever opens it must give the same, so that what stands around a sealed text cannot be changed unseen. Keys
are written down as in `signing`, but one that signs never opens.
"""

import base64

from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.hpke import AEAD, KDF, KEM, Suite
from cryptography.hazmat.primitives.serialization import load_der_private_key, load_der_public_key

SUITE = Suite(KEM.P256, KDF.HKDF_SHA256, AEAD.AES_128_GCM)


def seal(public_key: str, info: bytes, text: bytes) -> bytes:
    """Only the owner of the key can read it again."""
    key = load_der_public_key(base64.b64decode(public_key))
    if not isinstance(key, ec.EllipticCurvePublicKey):
        raise TypeError("not an elliptic-curve key")
    return SUITE.encrypt(text, key, info=info)


def unseal(private_key: str, info: bytes, sealed: bytes) -> bytes | None:
    """What was sealed; null where it was for another key, with other `info`, or was changed since."""
    key = load_der_private_key(base64.b64decode(private_key), None)
    if not isinstance(key, ec.EllipticCurvePrivateKey):
        raise TypeError("not an elliptic-curve key")
    try:
        return SUITE.decrypt(sealed, key, info=info)
    except (InvalidTag, ValueError):
        return None
