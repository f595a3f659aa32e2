"""Checking chains: is every line whole, in its place, and joined to the one before?"""

from collections.abc import Iterable
from pathlib import Path

from msgspec import Struct

from chinrest.log.answers import RefusalCode
from chinrest.log.envelope import FIRST_PREV, LINE_LIMIT_BYTES
from chinrest.log.line import Line, LineError, decode_line


class BadLine(Struct, frozen=True, kw_only=True):
    """`number` counts the file's lines from 1."""

    number: int
    code: RefusalCode
    reason: str


class DeviceRun(Struct, frozen=True, kw_only=True):
    """A device's run of sequences in the file. A run that doesn't start at 1 is a part: nothing vouches for
    what its first line's `prev` names."""

    device: str
    first_seq: int
    last_seq: int
    head_sha256: str


class Verdict(Struct, frozen=True, kw_only=True):
    """`lines` counts the sound lines, up to the first bad one."""

    ok: bool
    lines: int
    runs: list[DeviceRun]
    first_bad: BadLine | None


class ChainChecker:
    """Feeds on sound lines one by one. Each device's must come in sequence; devices may be interleaved."""

    def __init__(self) -> None:
        self._ids: set[str] = set()
        self._runs: dict[str, DeviceRun] = {}

    @property
    def runs(self) -> list[DeviceRun]:
        return [self._runs[device] for device in sorted(self._runs)]

    def check(self, line: Line) -> tuple[RefusalCode, str] | None:
        """Take the line, or say why it doesn't fit (and leave the state as it was)."""
        e = line.envelope
        if e.id in self._ids:
            return "id_taken", f"the id {e.id} stands on an earlier line"
        run = self._runs.get(e.device)
        if run is None:
            if e.seq == 1 and e.prev != FIRST_PREV:
                return "broken_chain", "sequence 1 must have 64 zeros as prev"
        elif e.seq <= run.last_seq:
            return "fork", f"sequence {e.seq} comes after sequence {run.last_seq} of the same device"
        elif e.seq != run.last_seq + 1:
            return (
                "broken_chain",
                f"sequence {e.seq} follows {run.last_seq}: {e.seq - run.last_seq - 1} missing",
            )
        elif e.prev != run.head_sha256:
            return "broken_chain", f"prev is not the hash of the envelope of sequence {run.last_seq}"
        self._ids.add(e.id)
        self._runs[e.device] = DeviceRun(
            device=e.device,
            first_seq=e.seq if run is None else run.first_seq,
            last_seq=e.seq,
            head_sha256=line.envelope_sha256,
        )
        return None


def verify(raw_lines: Iterable[bytes]) -> Verdict:
    """Check lines (each with or without its line feed) and stop at the first bad one."""
    checker = ChainChecker()
    sound = 0
    bad: BadLine | None = None
    for number, raw in enumerate(raw_lines, start=1):
        try:
            line = decode_line(raw.removesuffix(b"\n"))
        except LineError as fault:
            bad = BadLine(number=number, code=fault.code, reason=f"{fault.where}: {fault.why}")
            break
        misfit = checker.check(line)
        if misfit is not None:
            bad = BadLine(number=number, code=misfit[0], reason=misfit[1])
            break
        sound += 1
    return Verdict(ok=bad is None, lines=sound, runs=checker.runs, first_bad=bad)


def verify_file(path: Path) -> Verdict:
    """Check a file of lines. Raises OSError where it can't be read."""
    with path.open("rb") as file:
        # a file that is no log may be one endless line: no more of it is read than tells that it is too long
        return verify(iter(lambda: file.readline(LINE_LIMIT_BYTES + 2), b""))
