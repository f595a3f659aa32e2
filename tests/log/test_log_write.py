"""Ids of lines.

Source: RFC 9562, appendix A.6 (example of a UUIDv7): Unix time 0x017F22E279B0 ms, rand_a 0xCC3, rand_b
0x18C4DC0C0C07398F give 017F22E2-79B0-7CC3-98C4-DC0C0C07398F (values from memory).
"""

import uuid

from hypothesis import given
from hypothesis import strategies as st

from chinrest.log.write import new_salt, uuid7


def test_example_of_the_rfc() -> None:
    noise = 0xCC3 << 62 | 0x18C4DC0C0C07398F
    made = uuid7(0x017F22E279B0, noise.to_bytes(10, "big"))
    assert made == "017f22e2-79b0-7cc3-98c4-dc0c0c07398f"


@given(st.integers(0, 2**48 - 1), st.binary(min_size=10, max_size=10))
def test_the_standard_library_reads_version_variant_and_time(at_ms: int, noise: bytes) -> None:
    made = uuid7(at_ms, noise)
    read = uuid.UUID(made)
    assert str(read) == made
    assert read.version == 7
    assert read.variant == uuid.RFC_4122
    assert read.int >> 80 == at_ms


def test_two_are_never_the_same() -> None:
    assert len({uuid7(1) for _ in range(1000)}) == 1000
    assert new_salt() != new_salt()
