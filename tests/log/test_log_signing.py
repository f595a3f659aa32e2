"""Signatures as Web Crypto makes them: IEEE P1363, 64 bytes; https://www.w3.org/TR/WebCryptoAPI/#ecdsa-operations."""

import base64

import pytest
from hypothesis import given
from hypothesis import strategies as st

from chinrest.log.signing import is_public_key, is_signed, new_key, public_of, sign

KEY = new_key()
PUBLIC = public_of(KEY)
TEXT = "ab" * 32
SIGNATURE = sign(KEY, TEXT)

# RFC 6979, A.2.5: P-256 with SHA-256 over "sample"; the public key's coordinates and r, s as printed there
# (from memory of the RFC; a wrong digit would fail the check)
UX = "60FED4BA255A9D31C961EB74C6356D68C049B8923B61FA6CE669622E60F29FB6"
UY = "7903FE1008B8BC99A41AE9E95628BC64F2F1B20C2D7E9F5177A3C294D4462299"
R = "EFD48B2AACB6A8FD1140DD9CD45E81D69D2C877B56AAF991C34D0EA84EAF3716"
S = "F7CB1C942D657C41D436C7A1B6E29F65F3E900DBB9AFF4064DC4AB2F843ACDA8"
P256_SPKI = bytes.fromhex("3059301306072A8648CE3D020106082A8648CE3D030107034200")


def test_the_published_signature_is_accepted() -> None:
    key = base64.b64encode(P256_SPKI + b"\x04" + bytes.fromhex(UX + UY)).decode()
    signature = base64.b64encode(bytes.fromhex(R + S)).decode()
    assert is_signed(key, "sample", signature)
    assert not is_signed(key, "test", signature)


def test_a_signature_is_64_bytes_and_its_owners() -> None:
    assert len(base64.b64decode(SIGNATURE)) == 64
    assert is_signed(PUBLIC, TEXT, SIGNATURE)
    assert not is_signed(public_of(new_key()), TEXT, SIGNATURE)


@given(st.integers(0, len(SIGNATURE) - 1), st.sampled_from("AZaz09+/=-_ \u0661"))
def test_no_other_letter_will_do(place: int, letter: str) -> None:
    other = SIGNATURE[:place] + letter + SIGNATURE[place + 1 :]
    assert is_signed(PUBLIC, TEXT, other) is (other == SIGNATURE)


@pytest.mark.parametrize("nonsense", ["", "AAAA", "é", "x" * 88, base64.b64encode(bytes(64)).decode()])
def test_nonsense_is_no_signature_and_no_key(nonsense: str) -> None:
    assert not is_signed(PUBLIC, TEXT, nonsense)
    assert not is_signed(nonsense, TEXT, SIGNATURE)
    assert not is_public_key(nonsense)


def test_a_key_of_no_known_kind_is_none() -> None:
    """SPKI whose algorithm (the object identifier, RFC 5480 section 2.1.1) nobody knows."""
    spki = P256_SPKI + b"\x04" + bytes.fromhex(UX + UY)
    unknown = base64.b64encode(spki.replace(bytes.fromhex("2A8648CE3D0201"), bytes.fromhex("2A8648CD3D0201")))
    assert not is_public_key(unknown.decode())
    assert not is_signed(unknown.decode(), TEXT, SIGNATURE)
