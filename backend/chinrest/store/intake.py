"""What becomes of a batch: a plan made from its lines and from what stands here already. No I/O."""

from collections.abc import Sequence
from hashlib import sha256
from itertools import zip_longest

from msgspec import Struct

from chinrest.log.answers import LineAnswer, RefusalCode
from chinrest.log.line import Claim, Line, LineError, decode_line
from chinrest.log.short import Hashes
from chinrest.store.standing import Refusal, Slot, Standing

NOTHING = sha256(b"").hexdigest()


class Aside(Struct, frozen=True, kw_only=True):
    """A line to be kept aside. `raw` and its hash are null where the batch doesn't hold it: it waited here
    under the id `claim.id`. Of a line that is too large only the hash is kept."""

    claim: Claim
    envelope_sha256: str
    code: RefusalCode
    reason: str
    raw: bytes | None
    raw_sha256: str | None


class Plan(Struct, frozen=True, kw_only=True):
    """`seat`: lines to store. `unseat`: ids of lines that waited here and turned out not to fit. `stubs`:
    those to leave, by sequence. `stubs_gone`: sequences that have none any more, or another. `healed`:
    envelope hashes of refused lines of which a sound copy is seated now."""

    answers: list[LineAnswer]
    seat: list[Line]
    unseat: list[str]
    stubs: dict[int, Slot]
    stubs_gone: list[int]
    healed: list[str]
    aside: list[Aside]


class Intake:
    """Plans one batch of one device; `standing` grows by it.

    `ids`: envelope hash of each line stored here, of any device, whose id the batch names. `placeless`:
    refused lines of the device that could not name their sequence, by envelope hash.
    """

    def __init__(
        self, device: str, standing: Standing, ids: dict[str, str], placeless: dict[str, Refusal]
    ) -> None:
        self._device = device
        self._standing = standing
        self._ids = dict(ids)
        self._placeless = dict(placeless)
        self._stubs_before = standing.stubs()
        self._seated: dict[str, Line] = {}
        self._unseated: dict[str, Refusal] = {}
        self._unseated_ids: list[str] = []
        self._read_unseated = 0
        self._healed: list[str] = []
        self._aside: list[Aside] = []

    def plan(self, raw_lines: Sequence[bytes], decoded: Sequence[Line | LineError]) -> Plan:
        """`decoded` goes with `raw_lines`. Taken by sequence, so that a batch's own order doesn't matter."""
        return self._going_on(decoded) or self._one_by_one(raw_lines, decoded)

    def _going_on(self, decoded: Sequence[Line | LineError]) -> Plan | None:
        """Of what nearly every batch is, new sound lines that go on from the head one after another; null
        where it isn't. Then each is stored, as `_one_by_one` would find in ten times the time."""
        standing = self._standing
        seq, digest, new = standing.seq, standing.sha256, []
        if standing.waiting or self._ids:
            return None
        for item in decoded:
            if isinstance(item, LineError):
                return None
            e = item.envelope
            if e.seq != seq + 1 or e.prev != digest or e.device != self._device:
                return None
            seq, digest = e.seq, item.envelope_sha256
            new.append(item)
        if len({line.envelope.id for line in new}) < len(new):
            return None
        standing.seq, standing.sha256 = seq, digest
        return Plan(
            answers=[
                LineAnswer(index=index, id=line.envelope.id, seq=line.envelope.seq, status="stored")
                for index, line in enumerate(new)
            ],
            seat=new,
            unseat=[],
            stubs={},
            stubs_gone=[],
            healed=[],
            aside=[],
        )

    def _one_by_one(self, raw_lines: Sequence[bytes], decoded: Sequence[Line | LineError]) -> Plan:
        outcomes: dict[int, Refusal | bool] = {}
        for index in sorted(range(len(decoded)), key=lambda at: (_seq_of(decoded[at]) or 0, at)):
            item, raw = decoded[index], raw_lines[index]
            if self._stands_whole(item):
                outcomes[index] = False
            elif isinstance(item, LineError):
                reason = f"{item.where}: {item.why}"
                outcomes[index] = self._refuse(item.code, reason, item.claim, item.envelope_sha256, raw)
            else:
                outcomes[index] = self._take(item, raw)
            self._note_unseated()
        self._fill_from_placeless()
        self._note_unseated()
        stubs = self._standing.stubs()
        changed = {
            seq for seq in {*stubs, *self._stubs_before} if stubs.get(seq) != self._stubs_before.get(seq)
        }
        return Plan(
            answers=[self._answer(index, item, outcomes[index]) for index, item in enumerate(decoded)],
            seat=list(self._seated.values()),
            unseat=self._unseated_ids,
            stubs={seq: stubs[seq] for seq in changed if seq in stubs},
            stubs_gone=sorted(changed & self._stubs_before.keys()),
            healed=[digest for digest in self._healed if digest in self._seated],
            aside=self._aside,
        )

    def _stands_whole(self, item: Line | LineError) -> bool:
        """Whether only the envelope came of a line of which all stands here."""
        if not isinstance(item, LineError) or item.code != "erased":
            return False
        return self._ids.get(item.claim.id or "") == item.envelope_sha256

    def _take(self, line: Line, raw: bytes) -> Refusal | bool:
        """True: seated now. False: stands here already. Else why it is refused."""
        e, digest, standing = line.envelope, line.envelope_sha256, self._standing
        if e.device != self._device:
            reason = f"the envelope names device {e.device}"
            return self._refuse("wrong_device", reason, _claim(line), digest, raw, placed=False)
        if digest in self._unseated:
            return self._unseated[digest]
        if self._ids.get(e.id, digest) != digest:
            reason = f"the id {e.id} stands on another line"
            return self._refuse("id_taken", reason, _claim(line), digest, raw)
        if e.id in self._ids:
            return False
        slot = Slot(sha256=digest, prev=e.prev, line=e.id)
        stub = standing.refused_at(e.seq, digest)
        if e.seq > standing.seq:
            if standing.goes_on_from_fork(e.seq, e.prev):
                return self._fork(_claim(line), digest, raw, "it goes on from a forked line")
            self._seat(line, healed=stub is not None)
            standing.place(e.seq, slot)
        elif standing.may_mend(e.seq, digest, e.prev):
            self._seat(line, healed=stub is not None)
            standing.mend(e.seq, slot)
        elif stub is not None:
            return self._refuse(stub.code or "broken_chain", stub.reason, _claim(line), digest, raw)
        else:
            return self._fork(_claim(line), digest, raw, f"another line stands at sequence {e.seq}")
        return True

    def _seat(self, line: Line, *, healed: bool) -> None:
        self._ids[line.envelope.id] = line.envelope_sha256
        self._seated[line.envelope_sha256] = line
        if healed:
            self._healed.append(line.envelope_sha256)

    def _fork(self, claim: Claim, digest: str, raw: bytes, reason: str) -> Refusal:
        self._standing.fork_off(digest)
        return self._refuse("fork", reason, claim, digest, raw, placed=False)

    def _refuse(
        self,
        code: RefusalCode,
        reason: str,
        claim: Claim,
        digest: str,
        raw: bytes,
        *,
        placed: bool = True,
    ) -> Refusal:
        """Set a line aside, and leave a stub at its place if it has one and that is free."""
        standing = self._standing
        seq = claim.seq if placed and claim.device == self._device else None
        if seq is not None and seq > standing.seq and standing.goes_on_from_fork(seq, claim.prev):
            return self._fork(claim, digest, raw, "it goes on from a forked line")
        came = raw or digest == NOTHING
        keep = raw if came and code != "too_large" else None
        # where the bytes did not come (`gone.py`), the envelope's hash stands for them
        self._set_aside(claim, digest, (code, reason), keep, sha256(raw).hexdigest() if came else digest)
        if seq is not None:
            if seq > standing.seq:
                standing.place(seq, Slot(sha256=digest, prev=claim.prev, code=code, reason=reason))
        elif placed and claim.device in (None, self._device):
            self._placeless[digest] = (code, reason)
        return code, reason

    def _set_aside(
        self, claim: Claim, digest: str, refusal: Refusal, raw: bytes | None, raw_sha256: str | None
    ) -> None:
        self._aside.append(
            Aside(
                claim=claim,
                envelope_sha256=digest,
                code=refusal[0],
                reason=refusal[1],
                raw=raw,
                raw_sha256=raw_sha256,
            )
        )

    def _note_unseated(self) -> None:
        """Set aside what the chain's growth has shown not to fit."""
        for seq, slot, refusal in self._standing.unseated[self._read_unseated :]:
            self._unseated[slot.sha256] = refusal
            self._ids.pop(slot.line or "", None)
            line = self._seated.pop(slot.sha256, None)
            if line is not None:
                self._set_aside(_claim(line), slot.sha256, refusal, line.raw, sha256(line.raw).hexdigest())
            elif slot.line is not None:
                self._unseated_ids.append(slot.line)
                claim = Claim(id=slot.line, device=self._device, seq=seq)
                self._set_aside(claim, slot.sha256, refusal, None, None)
        self._read_unseated = len(self._standing.unseated)

    def _fill_from_placeless(self) -> None:
        """A line too broken to name its sequence is found by the hash that its successor names."""
        standing = self._standing
        while (after := standing.waiting.get(standing.seq + 2)) is not None:
            if standing.seq + 1 in standing.waiting:
                return
            named = next((slot.prev for slot in after if slot.prev in self._placeless), None)
            if named is None:
                return
            code, reason = self._placeless[named]
            standing.place(standing.seq + 1, Slot(sha256=named, prev=None, code=code, reason=reason))

    def _answer(self, index: int, item: Line | LineError, outcome: Refusal | bool) -> LineAnswer:
        id_, seq = _id_of(item), _seq_of(item)
        if isinstance(item, Line):
            # a line that was seated may have been shown not to fit by one that came after it
            outcome = self._unseated.get(item.envelope_sha256, outcome)
        if isinstance(outcome, tuple):
            return LineAnswer(
                index=index, id=id_, seq=seq, status="refused", code=outcome[0], reason=outcome[1]
            )
        if not outcome:
            return LineAnswer(index=index, id=id_, seq=seq, status="repeat")
        waits = seq is not None and seq > self._standing.seq
        return LineAnswer(index=index, id=id_, seq=seq, status="waiting" if waits else "stored")


def decode_batch(raw_lines: Sequence[bytes], hashes: Sequence[Hashes] = ()) -> list[Line | LineError]:
    """Each line by itself: a bad one is an error in its place, and does not disturb its neighbours. `hashes`:
    of each line, where they were made before."""
    decoded: list[Line | LineError] = []
    for raw, known in zip_longest(raw_lines, hashes):
        try:
            decoded.append(decode_line(raw, known))
        except LineError as fault:
            decoded.append(fault)
    return decoded


def named_places(device: str, decoded: Sequence[Line | LineError]) -> tuple[set[int], set[str]]:
    """The sequences that the device's lines in a batch name, and the ids that any of its lines names."""
    claims = [item.claim if isinstance(item, LineError) else item.envelope for item in decoded]
    seqs = {claim.seq for claim in claims if claim.device == device and claim.seq is not None}
    return seqs, {claim.id for claim in claims if claim.id is not None}


def _seq_of(item: Line | LineError) -> int | None:
    return item.claim.seq if isinstance(item, LineError) else item.envelope.seq


def _id_of(item: Line | LineError) -> str | None:
    return item.claim.id if isinstance(item, LineError) else item.envelope.id


def _claim(item: Line | LineError) -> Claim:
    if isinstance(item, LineError):
        return item.claim
    e = item.envelope
    return Claim(id=e.id, device=e.device, seq=e.seq, prev=e.prev, type=e.type, case=e.case, at=e.at)
