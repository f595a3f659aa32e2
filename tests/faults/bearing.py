"""Phones whose lines go by file as well as by sync, and couriers who bring such files to the final server, in
no order, twice, spoilt, and bring the answers back late or never."""

import base64
import gzip
import json
import threading
import uuid
from hashlib import sha256
from random import Random
from typing import Any, NamedTuple

from simulated import GONE, OK, UNAVAILABLE, Door, Simulated, post

from chinrest.log.backed_up import BackupWord, is_backup_word
from chinrest.log.carried import (
    CarriedHeader,
    CarryingKey,
    is_carrying_key,
    key_name,
    part_info,
    write_carried,
)
from chinrest.log.sealing import seal
from chinrest.log.signing import is_signed

NDJSON = {"Content-Type": "application/x-ndjson"}
PARTS = 3
REFUSED = (400, 409)


class Away(Simulated):
    """`carried`: the sequences that the final server's answers to its files named. `cleared`: up to where it
    has cleared its lines, on that server's signed word of its last backup alone; `heard_by`: the ways by
    which that came."""

    def __init__(self, name: str, dice: Random) -> None:
        super().__init__(name, dice)
        self.carried: set[int] = set()
        self.cleared = 0
        self.made: dict[str, set[int]] = {}
        self.post = Post()
        self.heard_by: set[str] = set()

    @property
    def final_key(self) -> str:
        return str(self.enrolment["final_key"] or self.enrolment["server_key"])

    def make_file(self) -> bytes | None:
        """All that waits, sealed for the final server; null where nothing does."""
        known = CarryingKey(**self.enrolment["carrying_key"])
        assert is_carrying_key(known, self.final_key)
        lines = [line for line in self.waiting() if line.envelope.seq not in self.carried]
        if not lines:
            return None
        size = -(-len(lines) // PARTS)
        parts = [lines[at : at + size] for at in range(0, len(lines), size)]
        header = CarriedHeader(
            v=1,
            server=known.server,
            key=key_name(known.key),
            file=str(uuid.UUID(int=self.dice.getrandbits(128))),
            made_at=max(0, self.at),
            parts=len(parts),
            packing="gzip",
        )
        row = write_carried(header, []).removesuffix(b"\n")
        sealed = [
            seal(known.key, part_info(row, n), gzip.compress(self.batch(part), 1))
            for n, part in enumerate(parts, start=1)
        ]
        self.made[header.file] = {line.envelope.seq for line in lines}
        return write_carried(header, sealed)

    def open_answer(self, answer: bytes) -> bool:
        """Whether it is the final server's whole answer to a file of this phone, which it then settles."""
        rows = answer.split(b"\n")
        try:
            said, seal_ = json.loads(rows[0]), json.loads(rows[1])
            digest = sha256(rows[0]).hexdigest()
            text, signature = f"chinrest receipts {digest}", seal_["signature"]
            # the last letter of base64 has bits that mean nothing: a real phone takes one spelling only
            proven = base64.b64encode(base64.b64decode(signature)).decode() == signature
            proven = proven and seal_ == {"record": "receipts_seal", "sha256": digest, "signature": signature}
            if rows[2:] != [b""] or not proven or not is_signed(self.final_key, text, signature):
                return False
        except (ValueError, KeyError, IndexError, TypeError):
            return False
        assert said["device"] == self.device
        assert said["refused"] == [], said["refused"]
        taken = {seq for first, last in said["taken"] for seq in range(first, last + 1)}
        assert taken >= self.made[said["file"]], "an answer that leaves out lines of its file"
        self.carried |= taken & self.made[said["file"]]
        if not self.enrolment["final_key"]:  # a hub is still to be offered them
            self.acknowledged |= taken & self.made[said["file"]]
        self._hear_backup(said["backup"], "an answer file")
        return True

    def heard(self, said: dict[str, Any]) -> None:
        self._hear_backup(said["backup"], "a hub" if self.enrolment["final_key"] else "a sync")

    def _hear_backup(self, said: dict[str, Any] | None, by: str) -> None:
        """Clear what the word covers, once it is proved by the final server's key and by an own line."""
        if said is None:
            return
        word = BackupWord(**said)
        assert is_backup_word(word, self.final_key)
        assert word.device == self.device
        assert word.head_sha256 == self.lines[word.seq - 1].envelope_sha256
        self.cleared = max(self.cleared, word.seq)
        self.heard_by.add(by)


class Letter(NamedTuple):
    """A file on its way there, or an answer on its way back."""

    phone: Away
    content: bytes


class Post:
    """Where letters lie until somebody takes one, any of them."""

    def __init__(self) -> None:
        self._letters: list[Letter] = []
        self._lock = threading.Lock()

    def put(self, letter: Letter) -> None:
        with self._lock:
            self._letters.append(letter)

    def take(self, dice: Random) -> Letter | None:
        with self._lock:
            if not self._letters:
                return None
            return self._letters.pop(dice.randrange(len(self._letters)))

    def empty(self) -> list[Letter]:
        with self._lock:
            letters, self._letters = self._letters, []
        return letters

    def __len__(self) -> int:
        return len(self._letters)


def spoilt(content: bytes, dice: Random) -> bytes:
    """Cut short, or one byte of it changed."""
    at = dice.randrange(len(content))
    if dice.random() < 0.5:
        return content[:at]
    return content[:at] + bytes([content[at] ^ 1 << dice.randrange(8)]) + content[at + 1 :]


class Courier(Simulated):
    """A phone with a link, which brings others' files to the final server."""

    def __init__(self, name: str, dice: Random) -> None:
        super().__init__(name, dice)
        self.twice = self.spoilt = self.lost = 0
        self._brought: set[bytes] = set()

    def bring(self, port: int | Door, letter: Letter) -> bool:
        """One file, first as it came after some mishap, then whole; its answer goes back, if it does. Whether
        there was a whole answer."""
        try:
            if self.dice.random() < 0.3:
                self.bring_spoilt(port, letter)
            status, said = post(port, "/api/carried", letter.content, self._bearer())
        except ConnectionRefusedError:
            return False
        except GONE:
            self.broken += 1
            return False
        # nothing can be kept now, or no hub has told of this phone yet: the file is as good later
        if status == UNAVAILABLE or said.get("code") == "sender_unknown":
            self.turned_away += 1
            return False
        assert status == OK, (status, said)
        assert said["refused"] == 0, said
        digest = sha256(letter.content).digest()
        self.twice += digest in self._brought
        self._brought.add(digest)
        if self.dice.random() < 0.3:
            self.lost += 1
        else:
            letter.phone.post.put(Letter(letter.phone, said["receipts"].encode()))
        return True

    def bring_spoilt(self, port: int | Door, letter: Letter) -> None:
        bad = spoilt(letter.content, self.dice)
        status, said = post(port, "/api/carried", bad, self._bearer())
        assert status in REFUSED, (status, said, bad[:300])
        self.spoilt += 1

    def _bearer(self) -> dict[str, str]:
        return {**NDJSON, "Authorization": f"Bearer {self.token}"}
