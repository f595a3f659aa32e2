"""Verifying a file of lines without any server: bare lines as a phone gives them, or a sealed export."""

from collections.abc import Iterable
from hashlib import sha256
from pathlib import Path

from msgspec import Struct

from chinrest.log.answers import RefusalCode
from chinrest.log.chain import ChainChecker, DeviceRun
from chinrest.log.envelope import LINE_LIMIT_BYTES
from chinrest.log.erasure_events import BodiesErased
from chinrest.log.export import (
    ErasedLine,
    ExportedDevice,
    ExportHeader,
    Seal,
    Stub,
    Voucher,
    decode_row,
    seal_fault,
)
from chinrest.log.house_events import DeviceEnrolled
from chinrest.log.line import Line, LineError, decode_line, read_envelope
from chinrest.log.signing import is_signed
from chinrest.log.tombs import Erasure, Tombs

HEADER_LIMIT_BYTES = 4 * 1024 * 1024
"""An export's header names every device, so it may be longer than any line."""

BEGINS = b'{"record":"export"'

BadCode = RefusalCode | str
Misfit = tuple[str, str]


class BadLine(Struct, frozen=True, kw_only=True):
    """`number` counts the file's rows from 1."""

    number: int
    code: BadCode
    reason: str


class Verdict(Struct, frozen=True, kw_only=True):
    """`lines` counts the sound lines, up to the first bad row. `sealed`: the file is an export whose seal
    holds under `server_key`; in any other file, whether rows are missing at the end cannot be seen.
    `signed`: for each device, the sequence up to which its own signatures vouch. `erased`: how many lines
    have no body any more, each named by one of the tombstones in `erasures`."""

    ok: bool
    lines: int
    runs: list[DeviceRun]
    first_bad: BadLine | None
    sealed: bool = False
    server_key: str | None = None
    signed: dict[str, int] = {}
    erased: int = 0
    erasures: list[Erasure] = []


class Verifier:
    """Takes row after row; says what is wrong with the first bad one."""

    def __init__(self) -> None:
        self.checker = ChainChecker()
        self.lines = 0
        self.header: ExportHeader | None = None
        self.signed: dict[str, int] = {}
        self.sealed = False
        self.tombs = Tombs()
        self.bad_row: int | None = None
        self._devices: dict[str, ExportedDevice] = {}
        self._hash = sha256()
        self._rows = 0

    def take(self, row: bytes) -> Misfit | None:
        """The row as it stands in the file, line feed and all."""
        raw = row.removesuffix(b"\n")
        self._rows += 1
        if self.sealed:
            return "after_seal", "nothing may follow the seal"
        if self._rows == 1 and raw.startswith(BEGINS):
            return self._begin(row, raw)
        if self.header is None:
            return self._line(raw)
        if raw == row:
            return "cut_short", "the row has no line feed: the file was cut short"
        misfit = self._line(raw) if b"\t" in raw else self._record(raw)
        self._hash.update(row)
        return misfit

    def end(self) -> Misfit | None:
        """What is wrong with the file's end."""
        if self.header is not None and not self.sealed:
            return "not_sealed", "the export has no seal at its end: it was cut short"
        return None

    def _begin(self, row: bytes, raw: bytes) -> Misfit | None:
        header = decode_row(raw)
        if isinstance(header, str):
            return "malformed", header
        if not isinstance(header, ExportHeader):
            return "malformed", "an export begins with its header"
        self.header = header
        self._devices = {device.device: device for device in header.devices}
        self._hash.update(row)
        return None

    def _line(self, raw: bytes) -> Misfit | None:
        try:
            line = decode_line(raw)
        except LineError as fault:
            return fault.code, f"{fault.where}: {fault.why}"
        misfit = self._unknown(line.envelope.device) or self._wrong_key(line) or self.checker.check(line)
        if misfit is None and isinstance(line.body, BodiesErased) and self._of_server(line):
            misfit = self.tombs.stone(line, self.header)
        if misfit is None:
            self.lines += 1
        return misfit

    def _of_server(self, line: Line) -> bool:
        """From a phone a tombstone says nothing."""
        known = self._devices.get(line.envelope.device)
        return known is not None and known.kind == "server"

    def _erased(self, row: ErasedLine) -> Misfit | None:
        line = read_envelope(row.envelope.encode())
        if isinstance(line, str):
            return "malformed", line
        misfit = self._unknown(line.envelope.device) or self.checker.check(line)
        if misfit is None:
            self.tombs.bodiless(line, self._rows)
        return misfit

    def _unknown(self, device: str) -> Misfit | None:
        if self.header is not None and device not in self._devices:
            return "unknown_device", f"the header names no device {device}"
        return None

    def _wrong_key(self, line: Line) -> Misfit | None:
        """A device says its key in its own first line: the header cannot give it another."""
        known = self._devices.get(line.envelope.device)
        body = line.body
        if known is not None and isinstance(body, DeviceEnrolled) and body.public_key != known.public_key:
            return "wrong_key", "the header gives this device another key than its own first line"
        return None

    def _record(self, raw: bytes) -> Misfit | None:
        row = decode_row(raw)
        if isinstance(row, str):
            return "malformed", row
        if isinstance(row, Stub):
            stub = self.checker.check_stub(row.device, row.seq, row.envelope_sha256)
            return self._unknown(row.device) or stub
        if isinstance(row, ErasedLine):
            return self._erased(row)
        if isinstance(row, Voucher):
            return self._voucher(row)
        if isinstance(row, Seal):
            return self._seal(row)
        return "malformed", "a second header"

    def _voucher(self, row: Voucher) -> Misfit | None:
        run = self.checker.run_of(row.device)
        if run is None or (run.last_seq, run.head_sha256) != (row.head_seq, row.head_sha256):
            return "bad_signature", "the signature is over another head than the line before it"
        if not is_signed(self._devices[row.device].public_key, row.head_sha256, row.signature):
            return "bad_signature", "not signed by the device's key"
        self.signed[row.device] = row.head_seq
        return None

    def _seal(self, row: Seal) -> Misfit | None:
        header = self.header
        if header is None:
            return "malformed", "a seal without a header"
        for device in header.devices:
            run = self.checker.run_of(device.device)
            held = (0, device.head_sha256) if run is None else (run.last_seq, run.head_sha256)
            if held != (device.last_seq, device.head_sha256) or (run is not None and run.first_seq != 1):
                why = f"device {device.device}: the header says sequences 1 to {device.last_seq}"
                return "broken_chain", why
        digest = self._hash.hexdigest()
        fault = seal_fault(row, lines=self.lines, digest=digest, server_key=header.server_key)
        if fault is not None:
            return "bad_seal", fault
        unnamed = self.tombs.unnamed()
        if unnamed is not None:
            self.bad_row = unnamed
            return "no_tombstone", "the body is missing, and no tombstone of the server names it"
        self.sealed = True
        return None


def verify(rows: Iterable[bytes]) -> Verdict:
    """Check rows (of bare lines, each with or without its line feed) and stop at the first bad one."""
    verifier = Verifier()
    bad: BadLine | None = None
    number = 0
    for number, row in enumerate(rows, start=1):
        misfit = verifier.take(row)
        if misfit is not None:
            bad = BadLine(number=verifier.bad_row or number, code=misfit[0], reason=misfit[1])
            break
    if bad is None and (misfit := verifier.end()) is not None:
        bad = BadLine(number=number + 1, code=misfit[0], reason=misfit[1])
    return Verdict(
        ok=bad is None,
        lines=verifier.lines,
        runs=verifier.checker.runs,
        first_bad=bad,
        sealed=verifier.sealed,
        server_key=verifier.header.server_key if verifier.header else None,
        signed=dict(sorted(verifier.signed.items())),
        erased=verifier.tombs.erased,
        erasures=verifier.tombs.erasures,
    )


def verify_file(path: Path) -> Verdict:
    """Check a file of lines. Raises OSError where it can't be read."""
    with path.open("rb") as file:

        def rows() -> Iterable[bytes]:
            # a file that is no log may be one endless line: no more of it is read than tells that it is too
            # long
            first = file.readline(LINE_LIMIT_BYTES + 2)
            if first.startswith(BEGINS) and not first.endswith(b"\n"):
                first += file.readline(HEADER_LIMIT_BYTES)
            if first:
                yield first
                yield from iter(lambda: file.readline(LINE_LIMIT_BYTES + 2), b"")

        return verify(rows())
