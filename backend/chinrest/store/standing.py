"""One device's chain as it stands here, and the rules by which it grows. No I/O.

Every sequence up to the head holds one line or one stub (what a refused line leaves, so that the chain goes
on). Above the head, lines and stubs wait for a predecessor; until it comes, nobody can say which of several
at one sequence is the right one. When it comes, the one that joins it is taken and the others are forks. What
goes on from a fork belongs to it, so that the chain here stays whole.
"""

from collections import defaultdict

from msgspec import Struct

from chinrest.log.answers import RefusalCode
from chinrest.log.envelope import FIRST_PREV

Refusal = tuple[RefusalCode, str]
"""Why a line is refused: the code, and the reason in words."""


class Slot(Struct, frozen=True, kw_only=True):
    """What stands at a sequence: a line (`line` is its id), or a stub (`code` and `reason` say why).

    `prev` is null where a stub's line could not say what it follows.
    """

    sha256: str
    prev: str | None
    line: str | None = None
    code: RefusalCode | None = None
    reason: str = ""


class Standing(Struct, kw_only=True):
    """`settled`: what stands up to the head (`seq`, `sha256`), as far as it is loaded: at least what a batch
    names and its neighbours. `waiting`: all above the head. `branch`: envelope hashes of forked lines.
    `unseated` grows by each line that waited and was found not to fit: its sequence, its slot, and why.
    `by_prev` is for `_after` alone."""

    seq: int = 0
    sha256: str = FIRST_PREV
    settled: dict[int, Slot] = {}
    waiting: dict[int, list[Slot]] = {}
    branch: set[str] = set()
    unseated: list[tuple[int, Slot, Refusal]] = []
    by_prev: dict[str | None, list[tuple[int, Slot]]] | None = None

    @property
    def highest(self) -> int:
        return max(self.waiting, default=self.seq)

    def stubs(self) -> dict[int, Slot]:
        """Every stub that is loaded."""
        above = {seq: slot for seq, slots in self.waiting.items() for slot in slots if slot.line is None}
        return {seq: slot for seq, slot in self.settled.items() if slot.line is None} | above

    def goes_on_from_fork(self, seq: int, prev: str | None) -> bool:
        return prev in self.branch and not (seq == self.seq + 1 and prev == self.sha256)

    def refused_at(self, seq: int, digest: str) -> Slot | None:
        """The stub that this very envelope left."""
        slots = [self.settled[seq]] if seq in self.settled else self.waiting.get(seq, [])
        return next((slot for slot in slots if slot.line is None and slot.sha256 == digest), None)

    def may_mend(self, seq: int, digest: str, prev: str) -> bool:
        """Whether a sound line may take a settled stub's place: it joins what stands before and after, so
        that it is what the refused line should have been."""
        slot = self.settled.get(seq)
        if slot is None or slot.line is not None:
            return False
        before = FIRST_PREV if seq == 1 else self.settled[seq - 1].sha256
        after = self.settled.get(seq + 1)
        return prev == before and (after is None or after.prev in (None, digest))

    def mend(self, seq: int, slot: Slot) -> None:
        self.settled[seq] = slot
        if seq == self.seq:
            self.sha256 = slot.sha256
        self.advance()

    def place(self, seq: int, slot: Slot) -> None:
        """Let a line or stub stand above the head, and move the head as far as it goes. A sound line takes
        the place of a waiting stub that is its own envelope's; a sequence has one stub at most."""
        others = self.waiting.setdefault(seq, [])
        if slot.line is not None:
            others[:] = [other for other in others if other.line is not None or other.sha256 != slot.sha256]
        elif any(other.line is None or other.sha256 == slot.sha256 for other in others):
            return
        others.append(slot)
        self._note(seq, slot)
        self.advance()

    def advance(self) -> None:
        while (contenders := self.waiting.pop(self.seq + 1, None)) is not None:
            chosen = self._chosen(contenders)
            self.settled[self.seq + 1] = chosen
            self.seq, self.sha256 = self.seq + 1, chosen.sha256
            for other in contenders:
                if other.line is not None and other.line != chosen.line and other.sha256 != chosen.sha256:
                    refusal: Refusal = ("fork", f"another line stands at sequence {self.seq}")
                    self.unseated.append((self.seq, other, refusal))
                    self.fork_off(other.sha256)

    def _chosen(self, contenders: list[Slot]) -> Slot:
        """The line that joins the head, or a stub that does or may. Where nothing does, the line with the
        smallest hash leaves a stub, whichever came first."""
        joining = [slot for slot in contenders if slot.prev == self.sha256]
        stubs = [slot for slot in contenders if slot.line is None]
        for choice in (
            [slot for slot in joining if slot.line is not None],
            [slot for slot in joining if slot.line is None],
            stubs,
        ):
            if choice:
                return choice[0]
        lost = min(contenders, key=lambda slot: slot.sha256)
        code: RefusalCode = "broken_chain"
        reason = f"prev is not the hash of the envelope at sequence {self.seq}"
        self.unseated.append((self.seq + 1, lost, (code, reason)))
        return Slot(sha256=lost.sha256, prev=lost.prev, code=code, reason=reason)

    def fork_off(self, digest: str) -> None:
        """Note a forked line: lines that wait and go on from it are of its branch, and so are theirs."""
        self.branch.add(digest)
        forked = [digest]
        while forked:
            prev = forked.pop()
            for seq, slot in self._after().get(prev, []):
                # one that was taken, or set aside, waits no longer
                if slot not in self.waiting.get(seq, []) or not self.goes_on_from_fork(seq, prev):
                    continue
                self.waiting[seq].remove(slot)
                if not self.waiting[seq]:
                    del self.waiting[seq]
                self.unseated.append((seq, slot, ("fork", "it goes on from a forked line")))
                self.branch.add(slot.sha256)
                forked.append(slot.sha256)

    def _after(self) -> dict[str | None, list[tuple[int, Slot]]]:
        """Lines that wait, by what they go on from; made at the first fork, and kept up from then on."""
        if self.by_prev is None:
            self.by_prev = defaultdict(list)
            for seq, slots in self.waiting.items():
                for slot in slots:
                    self._note(seq, slot)
        return self.by_prev

    def _note(self, seq: int, slot: Slot) -> None:
        if self.by_prev is not None and slot.line is not None:
            self.by_prev[slot.prev].append((seq, slot))
