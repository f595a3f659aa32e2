"""Checking chains: is every line in its place, and joined to the one before?"""

from msgspec import Struct

from chinrest.log.answers import RefusalCode
from chinrest.log.envelope import FIRST_PREV
from chinrest.log.line import Line


class DeviceRun(Struct, frozen=True, kw_only=True):
    """A device's run of sequences in the file. A run that doesn't start at 1 is a part: nothing vouches for
    what its first line's `prev` names."""

    device: str
    first_seq: int
    last_seq: int
    head_sha256: str


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
        misfit = self._place(e.device, e.seq, e.prev, line.envelope_sha256)
        if misfit is None:
            self._ids.add(e.id)
        return misfit

    def check_stub(self, device: str, seq: int, envelope_sha256: str) -> tuple[RefusalCode, str] | None:
        """The same for what a refused line left; what it follows is not known."""
        return self._place(device, seq, None, envelope_sha256)

    def run_of(self, device: str) -> DeviceRun | None:
        return self._runs.get(device)

    def _place(self, device: str, seq: int, prev: str | None, digest: str) -> tuple[RefusalCode, str] | None:
        run = self._runs.get(device)
        if run is None:
            if seq == 1 and prev not in (FIRST_PREV, None):
                return "broken_chain", "sequence 1 must have 64 zeros as prev"
        elif seq <= run.last_seq:
            return "fork", f"sequence {seq} comes after sequence {run.last_seq} of the same device"
        elif seq != run.last_seq + 1:
            return "broken_chain", f"sequence {seq} follows {run.last_seq}: {seq - run.last_seq - 1} missing"
        elif prev not in (run.head_sha256, None):
            return "broken_chain", f"prev is not the hash of the envelope of sequence {run.last_seq}"
        first = seq if run is None else run.first_seq
        self._runs[device] = DeviceRun(device=device, first_seq=first, last_seq=seq, head_sha256=digest)
        return None
