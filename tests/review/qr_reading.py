"""Reads a QR symbol by the rules of ISO/IEC 18004 (written from memory of the standard), as a camera would:
format, mask, codewords in their zigzag, and error correction that comes out even.

Only what a short address needs: versions 1 to 3 in one block, one segment of bytes. Symbols of segno, an
independent encoder, are read by the same code in a test.
"""

from itertools import pairwise

FORMAT_MASK = 0b101010000010010
BYTES_MODE = 0b0100
# (version, level bits of the format) -> codewords of error correction, where there is one block
CORRECTION = {(1, 1): 7, (1, 0): 10, (1, 3): 13, (1, 2): 17, (2, 1): 10, (2, 0): 16, (2, 3): 22, (2, 2): 28}
CORRECTION |= {(3, 1): 15, (3, 0): 26}

MASKS = [
    lambda r, c: (r + c) % 2,
    lambda r, _: r % 2,
    lambda _, c: c % 3,
    lambda r, c: (r + c) % 3,
    lambda r, c: (r // 2 + c // 3) % 2,
    lambda r, c: r * c % 2 + r * c % 3,
    lambda r, c: (r * c % 2 + r * c % 3) % 2,
    lambda r, c: ((r + c) % 2 + r * c % 3) % 2,
]


def times(a: int, b: int) -> int:
    """Product in GF(256) modulo x^8 + x^4 + x^3 + x^2 + 1."""
    product = 0
    while b:
        if b & 1:
            product ^= a
        a <<= 1
        if a & 0x100:
            a ^= 0x11D
        b >>= 1
    return product


def syndromes(codewords: list[int], count: int) -> list[int]:
    """All zero where nothing was misread."""
    found, root = [], 1
    for _ in range(count):
        value = 0
        for codeword in codewords:
            value = times(value, root) ^ codeword
        found.append(value)
        root = times(root, 2)
    return found


def reserved(size: int) -> set[tuple[int, int]]:
    """Where finders, timing, alignment and format stand, by row and column."""
    blocks = [(0, 0, 9, 9), (0, size - 8, 9, 8), (size - 8, 0, 8, 9), (6, 0, 1, size), (0, 6, size, 1)]
    if size > 21:
        blocks.append((size - 9, size - 9, 5, 5))
    return {(r + i, c + j) for r, c, high, wide in blocks for i in range(high) for j in range(wide)}


def zigzag(size: int) -> list[tuple[int, int]]:
    columns = [c for c in range(size - 1, -1, -1) if c != 6]
    places, upward = [], True
    for right, left in list(pairwise(columns))[::2]:
        rows = range(size - 1, -1, -1) if upward else range(size)
        places += [(r, c) for r in rows for c in (right, left)]
        upward = not upward
    return places


def read(dark: set[tuple[int, int]]) -> str:
    """The text of a symbol, by its dark modules (column, row). Raises ValueError where it cannot be read."""
    size = max(max(place) for place in dark) + 1
    version = (size - 17) // 4
    row_8 = [(8, c) for c in (0, 1, 2, 3, 4, 5, 7, 8)] + [(r, 8) for r in (7, 5, 4, 3, 2, 1, 0)]
    bits = 0
    for r, c in row_8:
        bits = bits << 1 | ((c, r) in dark)
    level, mask = (bits ^ FORMAT_MASK) >> 13, (bits ^ FORMAT_MASK) >> 10 & 7
    if (version, level) not in CORRECTION:
        raise ValueError(f"version {version} at level {level} is more than this can read")
    taken = reserved(size)
    stream = [((c, r) in dark) != (MASKS[mask](r, c) == 0) for r, c in zigzag(size) if (r, c) not in taken]
    whole = len(stream) // 8 * 8
    codewords = [int("".join("01"[bit] for bit in stream[i : i + 8]), 2) for i in range(0, whole, 8)]
    correction = CORRECTION[version, level]
    if any(syndromes(codewords, correction)):
        raise ValueError("the error correction does not come out even")
    data = "".join(f"{codeword:08b}" for codeword in codewords[:-correction])
    if int(data[:4], 2) != BYTES_MODE:
        raise ValueError("not a segment of bytes")
    count = int(data[4:12], 2)
    return bytes(int(data[12 + 8 * i : 20 + 8 * i], 2) for i in range(count)).decode("ascii")
