"""What becomes of a batch: a plan made from its lines and from what stands here already. No I/O.

Every sequence of a device up to its chain's head holds a line or a stub; a line above waits for a
predecessor, and may still prove not to join it. The first envelope at a sequence keeps it; another one there
is a fork. Lines that go on from a fork belong to it and are set aside with it, so that the chain here stays
whole.
"""

from collections.abc import Mapping, Sequence
from hashlib import sha256

from msgspec import Struct

from chinrest.log.answers import LineAnswer, RefusalCode
from chinrest.log.envelope import FIRST_PREV
from chinrest.log.line import Claim, Line, LineError, decode_line

_HEALED_BY_A_SOUND_COPY = {"malformed", "too_large", "body_hash", "bad_body", "id_taken"}


class Slot(Struct, kw_only=True):
    """What stands at a sequence: a line (`line` is its id), or a stub (`code` and `reason` say why).

    `prev` is null where a stub's line could not say what it follows.
    """

    sha256: str
    prev: str | None
    line: str | None = None
    code: RefusalCode | None = None
    reason: str = ""


class Standing(Struct, kw_only=True):
    """What stands for one device. The plan changes it as it goes.

    `slots`: at least the sequences that the batch names, those before them, and all above the head.
    `ids`: envelope hash of each line, of any device, whose id the batch names.
    `placeless`: refused lines that could not name their sequence, by envelope hash.
    `branch`: envelope hashes of forked lines.
    """

    seq: int
    sha256: str
    slots: dict[int, Slot]
    ids: dict[str, str]
    placeless: dict[str, tuple[RefusalCode, str]]
    branch: set[str]


class Aside(Struct, frozen=True, kw_only=True):
    """A line to be kept aside. `raw` is null where this batch doesn't hold it (it waited here under id
    `claim.id`) or where it is too large to keep."""

    claim: Claim
    envelope_sha256: str
    code: RefusalCode
    reason: str
    raw: bytes | None
    raw_sha256: str | None


class Plan(Struct, kw_only=True):
    """`seat`: lines to store. `unseat`: ids of lines that waited here and turned out not to fit. `stubs`:
    sequences whose slot is now a stub that isn't stored yet. `healed`: stubs that a sound line replaces.
    """

    answers: list[LineAnswer]
    seat: list[Line]
    unseat: list[str]
    stubs: dict[int, Slot]
    healed: dict[int, str]
    aside: list[Aside]
    seq: int
    sha256: str


class Intake:
    """Plans one batch of one device."""

    def __init__(self, device: str, standing: Standing) -> None:
        self._device = device
        self._standing = standing
        self._seated: dict[str, Line] = {}
        self._unseated: dict[str, tuple[RefusalCode, str]] = {}
        self._old_unseated: list[str] = []
        self._stubs: dict[int, Slot] = {}
        self._healed: dict[int, str] = {}
        self._aside: list[Aside] = []
        self._outcomes: dict[int, tuple[RefusalCode, str] | bool] = {}

    def plan(self, raw_lines: Sequence[bytes], decoded: Sequence[Line | LineError]) -> Plan:
        """`decoded` goes with `raw_lines`. Taken by sequence, so that a batch's own order doesn't matter."""
        for index in sorted(range(len(decoded)), key=lambda at: (_seq_of(decoded[at]) or 0, at)):
            item, raw = decoded[index], raw_lines[index]
            if isinstance(item, LineError):
                self._outcomes[index] = self._refuse(
                    item.code, f"{item.where}: {item.why}", item.claim, item.envelope_sha256, raw
                )
            else:
                self._outcomes[index] = self._take(item, raw)
        self._fill_from_placeless()
        return Plan(
            answers=[self._answer(index, item) for index, item in enumerate(decoded)],
            seat=list(self._seated.values()),
            unseat=self._old_unseated,
            stubs=self._stubs,
            healed=self._healed,
            aside=self._aside,
            seq=self._standing.seq,
            sha256=self._standing.sha256,
        )

    def _take(self, line: Line, raw: bytes) -> tuple[RefusalCode, str] | bool:
        """True: seated now. False: stands here already. Else why it is refused."""
        e, digest, standing = line.envelope, line.envelope_sha256, self._standing
        claim = _claim(line)
        if e.device != self._device:
            return self._refuse(
                "wrong_device", f"the envelope names device {e.device}", claim, digest, raw, placed=False
            )
        if digest in self._unseated:
            return self._unseated[digest]
        if standing.ids.get(e.id, digest) != digest:
            return self._refuse("id_taken", f"the id {e.id} stands on another line", claim, digest, raw)
        if e.id in standing.ids:
            return False
        slot = standing.slots.get(e.seq)
        if slot is None and e.seq > standing.seq:
            joins = e.seq == standing.seq + 1 and e.prev == standing.sha256
            if e.prev in standing.branch and not joins:
                return self._fork(line, raw, "it goes on from a forked line")
        elif slot is None or slot.sha256 != digest:
            return self._fork(line, raw, f"another line stands at sequence {e.seq}")
        elif not self._may_heal(line, slot):
            return self._refuse(slot.code or "broken_chain", slot.reason, claim, digest, raw)
        else:
            self._stubs.pop(e.seq, None)
            self._healed[e.seq] = digest
        standing.slots[e.seq] = Slot(sha256=digest, prev=e.prev, line=e.id)
        standing.ids[e.id] = digest
        self._seated[digest] = line
        self._advance()
        return self._unseated.get(digest, True)

    def _may_heal(self, line: Line, slot: Slot) -> bool:
        """A sound copy takes its stub's place, provided that it joins what stands before."""
        if slot.code not in _HEALED_BY_A_SOUND_COPY:
            return False
        seq = line.envelope.seq
        before = self._standing.slots.get(seq - 1)
        prev = FIRST_PREV if seq == 1 else before.sha256 if before is not None else None
        return seq > self._standing.seq or prev == line.envelope.prev

    def _fork(self, line: Line, raw: bytes, reason: str) -> tuple[RefusalCode, str]:
        refusal = self._refuse("fork", reason, _claim(line), line.envelope_sha256, raw, placed=False)
        self._add_to_branch(line.envelope_sha256)
        return refusal

    def _refuse(
        self,
        code: RefusalCode,
        reason: str,
        claim: Claim,
        digest: str,
        raw: bytes,
        *,
        placed: bool = True,
    ) -> tuple[RefusalCode, str]:
        """Set a line aside, and leave a stub at its place if that is free."""
        standing = self._standing
        own = placed and claim.device == self._device
        if own and claim.seq is not None and claim.prev in standing.branch:
            slot = standing.slots.get(claim.seq)
            if slot is None or slot.sha256 != digest:
                code, reason, own = "fork", "it goes on from a forked line", False
                self._add_to_branch(digest)
        self._aside.append(
            Aside(
                claim=claim,
                envelope_sha256=digest,
                code=code,
                reason=reason,
                raw=None if code == "too_large" else raw,
                raw_sha256=sha256(raw).hexdigest(),
            )
        )
        if own and claim.seq is not None:
            if claim.seq > standing.seq and claim.seq not in standing.slots:
                self._stub(claim.seq, digest, claim.prev, code, reason)
                self._advance()
        elif placed and claim.device in (None, self._device) and (claim.seq is None or claim.device is None):
            standing.placeless[digest] = (code, reason)
        return code, reason

    def _stub(self, seq: int, digest: str, prev: str | None, code: RefusalCode, reason: str) -> None:
        slot = Slot(sha256=digest, prev=prev, code=code, reason=reason)
        self._standing.slots[seq] = slot
        self._stubs[seq] = slot

    def _advance(self) -> None:
        """Move the head over every slot that now follows it; a line that doesn't join leaves a stub."""
        standing = self._standing
        while (slot := standing.slots.get(standing.seq + 1)) is not None:
            if slot.line is not None and slot.prev != standing.sha256:
                reason = f"prev is not the hash of the envelope at sequence {standing.seq}"
                self._unseat(standing.seq + 1, slot, "broken_chain", reason)
                self._stub(standing.seq + 1, slot.sha256, slot.prev, "broken_chain", reason)
            standing.seq, standing.sha256 = standing.seq + 1, slot.sha256

    def _add_to_branch(self, digest: str) -> None:
        """Lines that wait and go on from a forked line are of its branch, and so are theirs."""
        standing = self._standing
        standing.branch.add(digest)
        for seq in sorted(at for at in standing.slots if at > standing.seq):
            slot = standing.slots[seq]
            if slot.line is not None and slot.prev in standing.branch:
                self._unseat(seq, slot, "fork", "it goes on from a forked line")
                del standing.slots[seq]
                standing.branch.add(slot.sha256)

    def _unseat(self, seq: int, slot: Slot, code: RefusalCode, reason: str) -> None:
        self._unseated[slot.sha256] = (code, reason)
        self._healed.pop(seq, None)
        line = self._seated.pop(slot.sha256, None)
        if line is None and slot.line is not None:
            self._old_unseated.append(slot.line)
        self._standing.ids.pop(slot.line or "", None)
        self._aside.append(
            Aside(
                claim=Claim(id=slot.line, device=self._device, seq=seq) if line is None else _claim(line),
                envelope_sha256=slot.sha256,
                code=code,
                reason=reason,
                raw=None if line is None else line.raw,
                raw_sha256=None if line is None else sha256(line.raw).hexdigest(),
            )
        )

    def _fill_from_placeless(self) -> None:
        """A line too broken to name its sequence is found by the hash that its successor names."""
        standing = self._standing
        while (after := standing.slots.get(standing.seq + 2)) is not None:
            refusal = standing.placeless.get(after.prev or "")
            if after.prev is None or refusal is None:
                return
            self._stub(standing.seq + 1, after.prev, None, *refusal)
            self._advance()

    def _answer(self, index: int, item: Line | LineError) -> LineAnswer:
        outcome = self._outcomes[index]
        if isinstance(item, Line):
            line_id: str | None = item.envelope.id
            seq: int | None = item.envelope.seq
            # a line that was seated may have proved not to fit when its predecessor came
            outcome = self._unseated.get(item.envelope_sha256, outcome)
        else:
            line_id, seq = item.claim.id, item.claim.seq
        if isinstance(outcome, tuple):
            return LineAnswer(
                index=index, id=line_id, seq=seq, status="refused", code=outcome[0], reason=outcome[1]
            )
        if not outcome:
            return LineAnswer(index=index, id=line_id, seq=seq, status="repeat")
        waits = seq is not None and seq > self._standing.seq
        return LineAnswer(index=index, id=line_id, seq=seq, status="waiting" if waits else "stored")


def decode_batch(raw_lines: Sequence[bytes]) -> list[Line | LineError]:
    """Each line by itself: a bad one is an error in its place, and does not disturb its neighbours."""
    decoded: list[Line | LineError] = []
    for raw in raw_lines:
        try:
            decoded.append(decode_line(raw))
        except LineError as fault:
            decoded.append(fault)
    return decoded


def named_places(device: str, decoded: Sequence[Line | LineError]) -> tuple[set[int], set[str]]:
    """The sequences and the ids that the device's own lines of a batch name."""
    seqs: set[int] = set()
    ids: set[str] = set()
    for item in decoded:
        claim = item.claim if isinstance(item, LineError) else _claim(item)
        if claim.device == device and claim.seq is not None:
            seqs.add(claim.seq)
        if isinstance(item, Line):
            ids.add(item.envelope.id)
    return seqs, ids


def empty_standing(slots: Mapping[int, Slot] | None = None) -> Standing:
    """What stands for a device that has sent nothing."""
    return Standing(seq=0, sha256=FIRST_PREV, slots=dict(slots or {}), ids={}, placeless={}, branch=set())


def _claim(line: Line) -> Claim:
    e = line.envelope
    return Claim(id=e.id, device=e.device, seq=e.seq, prev=e.prev, type=e.type, case=e.case, at=e.at)


def _seq_of(item: Line | LineError) -> int | None:
    return item.claim.seq if isinstance(item, LineError) else item.envelope.seq
