"""A line as the server keeps it, and the one order in which lines are read."""

from collections import defaultdict
from collections.abc import Iterable

from msgspec import Struct

from chinrest.log.envelope import Envelope

SERVER_SITE = ""
"""What stands for the site of the server's own lines."""


class KeptLine(Struct, frozen=True, kw_only=True):
    """`body` is null once erased. `offset_ms`: the device's clock less the server's when the line came.
    `site`: the device's site when the line came, or SERVER_SITE."""

    envelope: Envelope
    body: bytes | None
    received_at: int
    offset_ms: int | None
    site: str


def ms_after(line: KeptLine, other: KeptLine) -> int:
    """ms from `other` to `line`: of one device by its own clock, of two after each clock has been set right
    by what it was off."""
    between = line.envelope.at - other.envelope.at
    if line.envelope.device == other.envelope.device:
        return between
    return between - (line.offset_ms or 0) + (other.offset_ms or 0)


def in_order(lines: Iterable[KeptLine]) -> list[KeptLine]:
    """Each line once, each device's by sequence, devices merged by the time they claim.

    A device's clock may be set back in mid-case; its lines then count as no earlier than the one before, so
    that the device's own order always stands. Nor does a line count as earlier than what its device had
    read of the case when it wrote it (`after`): a slow clock never undoes what somebody decided on what
    they saw. The same lines give the same order, however they came.
    """
    by_device: dict[str, list[KeptLine]] = defaultdict(list)
    for line in {line.envelope.id: line for line in lines}.values():
        by_device[line.envelope.device].append(line)
    keyed: list[tuple[int, str, int, str, KeptLine]] = []
    for device, own in by_device.items():
        latest: int | None = None
        for line in sorted(own, key=lambda kept: (kept.envelope.seq, kept.envelope.id)):
            e = line.envelope
            claimed = e.at if e.after is None else max(e.at, e.after + 1)
            latest = claimed if latest is None else max(latest, claimed)
            keyed.append((latest, device, e.seq, e.id, line))
    keyed.sort(key=lambda key: key[:4])
    return [key[4] for key in keyed]
