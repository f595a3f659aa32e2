"""The store's door: all that the server keeps goes through here; each write is one immediate transaction."""

from collections.abc import Mapping, Sequence
from pathlib import Path

from chinrest.log.answers import LineAnswer
from chinrest.log.case_events import Body
from chinrest.log.incidents import IncidentList
from chinrest.log.timeline import Timeline
from chinrest.store.rows import (
    BatchHead,
    DeviceRecord,
    DeviceSummary,
    EnrolmentCode,
    Identity,
    PackRecall,
    PackRow,
    Pulled,
    RefusedLine,
    Role,
    Staff,
)


class Store:
    """Opened and closed in the application's lifespan. Raises `StoreError` where a call is refused."""

    @classmethod
    async def open(cls, path: Path, *, sites: Mapping[str, str] | None = None) -> "Store":
        """Open or make the database file, bring it to the newest layout, and note `sites` (id -> name)."""
        raise NotImplementedError

    async def close(self) -> None:
        """Close every connection and its thread. Safe to call twice."""
        raise NotImplementedError

    async def identity(self) -> Identity:
        raise NotImplementedError

    async def new_epoch(self, now: int) -> Identity:
        """After a restore: devices offer again what is missing; the server's own chain starts anew."""
        raise NotImplementedError

    async def position(self) -> int:
        """The last log position given. It only grows within an epoch."""
        raise NotImplementedError

    async def sites(self) -> dict[str, str]:
        raise NotImplementedError

    # lines
    async def take_batch(
        self, device: str, raw_lines: Sequence[bytes], received_at: int, head: BatchHead
    ) -> list[LineAnswer]:
        """Take lines (without their line feeds) from a device: one answer a line, in the order given.

        All or nothing is committed before this returns. Faults: not_enrolled, device_withdrawn.
        Also notes that the device was heard (waiting, app, clock offset = head.now - received_at).
        """
        raise NotImplementedError

    async def holds(self, device: str) -> list[tuple[int, int]]:
        """Inclusive ranges of the device's sequences that stand here, stubs and waiting lines included."""
        raise NotImplementedError

    async def pull(self, site: str, device: str, cursor: int | None, limit_bytes: int) -> Pulled:
        """Lines by other devices of the site's cases that are open now or were closed after `cursor`.

        Give `cursor` null when the device's epoch isn't this store's. At least one line comes if any does.
        """
        raise NotImplementedError

    async def append_own(
        self, body: Body, actor: str | None, now: int, *, case: str | None = None, practice: bool = False
    ) -> str:
        """Write a line to the server's own chain; returns its id."""
        raise NotImplementedError

    async def refused_lines(self, device: str | None = None, limit: int = 500) -> list[RefusedLine]:
        """Lines refused or set aside, newest first."""
        raise NotImplementedError

    # devices
    async def add_code(self, site: str, label: str, now: int, expires_at: int) -> EnrolmentCode:
        """A one-time enrolment code. Fault: site_unknown."""
        raise NotImplementedError

    async def enrol(self, code: str, device: str, public_key: str, label: str, now: int) -> tuple[str, str]:
        """Spend a code: (token, site). The same device and key may repeat a call whose answer was lost until
        the code expires; the earlier token is then void. Faults: code_unknown, code_used, code_expired,
        device_taken, value.
        """
        raise NotImplementedError

    async def device_by_token(self, token: str) -> DeviceRecord | None:
        raise NotImplementedError

    async def heard(
        self, device: str, now: int, *, waiting: int | None, clock_offset_ms: int | None, app: str | None
    ) -> None:
        raise NotImplementedError

    async def withdraw(self, device: str, by: str, why: str, now: int) -> None:
        """The token is no longer honoured; written to the server's chain too. Fault: not_enrolled."""
        raise NotImplementedError

    async def devices(self) -> list[DeviceSummary]:
        raise NotImplementedError

    # people
    async def add_staff(self, name: str, password: str, role: Role, now: int) -> Staff:
        """Fault: name_taken."""
        raise NotImplementedError

    async def set_password(self, name: str, password: str) -> None:
        """Also ends that person's sessions. Fault: staff_unknown."""
        raise NotImplementedError

    async def staff(self) -> list[Staff]:
        raise NotImplementedError

    async def check_password(self, name: str, password: str) -> Staff | None:
        """The same work for an unknown name as for a wrong password."""
        raise NotImplementedError

    async def start_session(self, staff: str, now: int, expires_at: int) -> str:
        """The session's token, stored only as a hash."""
        raise NotImplementedError

    async def session(self, token: str, now: int) -> Staff | None:
        raise NotImplementedError

    async def end_session(self, token: str) -> None:
        raise NotImplementedError

    # packs
    async def put_pack(self, raw: bytes, now: int) -> str:
        """Keep a compiled pack's bytes; its SHA-256. Twice is once."""
        raise NotImplementedError

    async def pack_bytes(self, sha256: str) -> bytes | None:
        raise NotImplementedError

    async def packs(self) -> list[PackRow]:
        raise NotImplementedError

    async def approve_pack(self, sha256: str, by: str, sites: Sequence[str], note: str, now: int) -> None:
        """Faults: pack_unknown, site_unknown."""
        raise NotImplementedError

    async def recall_pack(self, sha256: str, by: str, why: str, now: int) -> None:
        """Fault: pack_unknown."""
        raise NotImplementedError

    async def pack_in_force(self, site: str) -> str | None:
        """Hash of the latest approval that names the site; null when that one was recalled since."""
        raise NotImplementedError

    async def recalls(self) -> list[PackRecall]:
        """Recalls that stand: not followed by a later approval of the same pack."""
        raise NotImplementedError

    # review
    async def incidents(
        self,
        *,
        site: str | None = None,
        kind: str | None = None,
        what: str | None = None,
        harm: str | None = None,
        practice: bool | None = None,
        q: str | None = None,
        limit: int = 500,
        offset: int = 0,
    ) -> IncidentList:
        """`kind`: event or near_miss. `q`: part of the case code, note or device label, any case."""
        raise NotImplementedError

    async def timeline(self, case: str) -> Timeline | None:
        """Null where no line names the case. The caller writes case.read with `append_own`."""
        raise NotImplementedError
