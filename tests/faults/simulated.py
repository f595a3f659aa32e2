"""Phones without a screen: each signs and sends its own lines, and remembers what was acknowledged to it."""

import gzip
import http.client
import json
import ssl
import threading
import time
from collections.abc import Callable, Iterable
from random import Random
from typing import Any, NamedTuple, TypeVar

import invented

from chinrest.log.line import Line
from chinrest.log.signing import new_key, public_of, sign
from lead_office import Lead
from serving import Server

OK, UNAVAILABLE = 200, 503
TEN_YEARS_MS = 315_360_000_000
GONE = (OSError, http.client.HTTPException, json.JSONDecodeError)
"""A link that broke, an answer that was cut short."""


class Door(NamedTuple):
    """Where a server is reached, over TLS where a context is given."""

    port: int
    host: str = "127.0.0.1"
    context: ssl.SSLContext | None = None
    patience_s: float = 30


class Simulated(invented.Phone):
    """`acknowledged`: the sequences that a whole answer of the server named as held. `broken`: requests that
    were under way when something broke."""

    def __init__(self, name: str, dice: Random) -> None:
        super().__init__(name)
        self.dice = dice
        self.key = new_key()
        self.token = ""
        self.enrolment: dict[str, Any] = {}
        self.acknowledged: set[int] = set()
        self.broken = self.turned_away = self.repeats = self.jumps = 0

    def enrol(self, port: int | Door, code: str, site: str = "harbour") -> "Simulated":
        spki = public_of(self.key)
        proof = sign(self.key, f"chinrest enrol {code} {self.device}")
        known = {"device": self.device, "public_key": spki, "proof": proof}
        request = {"code": code, "label": self.name, **known}
        status, said = post(port, "/api/enrol", json.dumps(request).encode(), {})
        assert status == OK, said
        self.token, self.enrolment = said["token"], said
        self.write("device.enrolled", public_key=spki, label=self.name, site=site)
        return self

    # what happens at the chair
    def live(self, count: int, *, jumps: bool = False) -> None:
        """Write `count` lines of invented cases; `jumps` lets the clock be set, by up to ten years."""
        for _ in range(count):
            if jumps and self.dice.random() < 0.3:
                self.at = max(0, self.at + self.dice.randint(-TEN_YEARS_MS, TEN_YEARS_MS))
                self.jumps += 1
            self._event(f"{self.name}-{len(self.lines) // 12}")

    def _event(self, case: str) -> None:
        begun = any(line.envelope.case == case for line in self.lines[-12:])
        which = self.dice.random() if begun else 0.0
        if which == 0.0:
            self.write("case.opened", case, code=f"T-{len(self.lines)}")
        elif which < 0.5:
            self.write("step.done", case, step=f"step_{len(self.lines)}")
        elif which < 0.65:
            self.write("pose.found", case, touched=self.dice.random() < 0.5)
        elif which < 0.8:
            self.write("safety.noted", case, what="touched_by_optic", note=f"note {len(self.lines)}")
        elif which < 0.9:
            target = self.dice.choice([line for line in self.lines if line.envelope.case == case])
            self.write("line.amended", case, line=target.envelope.id)
        else:
            self.write("case.closed", case)

    # sending
    def waiting(self) -> list[Line]:
        return [line for line in self.lines if line.envelope.seq not in self.acknowledged]

    def send(self, port: int | Door, most: int = 20) -> bool:
        """Offer the next lines; whether a whole answer came. What no answer names is offered again."""
        lines = self.waiting()[:most]
        if not lines:
            return True
        try:
            status, said = post(port, "/api/sync", gzip.compress(self.batch(lines), 1), self._headers())
        except ConnectionRefusedError:  # nobody is there: nothing was under way
            return False
        except GONE:
            self.broken += 1
            return False
        if status == UNAVAILABLE:  # the server's own word that it keeps nothing now
            self.turned_away += 1
            return False
        assert status == OK, (status, said)
        statuses = {answer["status"] for answer in said["lines"]}
        assert statuses <= {"stored", "repeat"}, said["lines"]
        self.repeats += sum(answer["status"] == "repeat" for answer in said["lines"])
        self.acknowledged |= {answer["seq"] for answer in said["lines"]}
        held = {seq for first, last in said["holds"] for seq in range(first, last + 1)}
        assert self.acknowledged <= held, "the server names less than it acknowledged"
        self.heard(said)
        return True

    def heard(self, said: dict[str, Any]) -> None:
        """What else a whole answer said; for those who listen."""

    def batch(self, lines: list[Line]) -> bytes:
        """What a sync sends of these lines, not packed."""
        head = lines[-1].envelope
        digest = lines[-1].envelope_sha256
        header = {
            "device": self.device,
            "head_seq": head.seq,
            "head_sha256": digest,
            "signature": sign(self.key, digest),
            "waiting": len(self.lines) - len(self.acknowledged),
            "now": self.at,
            "app": "campaign",
            "epoch": None,
            "cursor": None,
        }
        return b"".join(row + b"\n" for row in (json.dumps(header).encode(), *(line.raw for line in lines)))

    def _headers(self) -> dict[str, str]:
        return {
            "Authorization": f"Bearer {self.token}",
            "Content-Type": "application/x-ndjson",
            "Content-Encoding": "gzip",
        }

    def send_all(self, port: int | Door, within_s: float = 60, most: int = 20) -> None:
        until = time.monotonic() + within_s
        while self.waiting():
            if not self.send(port, most):
                time.sleep(0.05)
            assert time.monotonic() < until, f"{self.name}: {len(self.waiting())} lines are still waiting"


def post(to: int | Door, path: str, body: bytes, headers: dict[str, str]) -> tuple[int, Any]:
    door = Door(to) if isinstance(to, int) else to
    connection: http.client.HTTPConnection
    if door.context is None:
        connection = http.client.HTTPConnection(door.host, door.port, timeout=door.patience_s)
    else:
        connection = http.client.HTTPSConnection(
            door.host, door.port, timeout=door.patience_s, context=door.context
        )
    try:
        connection.request("POST", path, body, {"Content-Type": "application/json", **headers})
        answer = connection.getresponse()
        return answer.status, json.loads(answer.read())
    finally:
        connection.close()


Kind = TypeVar("Kind", bound=Simulated)


def enrolled_as(kind: type[Kind], server: Server, count: int, dice: Random, name: str) -> list[Kind]:
    """New phones at a demo's server."""
    with Lead(server) as lead:
        codes = [
            lead.http.post(
                "/api/enrolment-codes", json={"site": "harbour", "label": f"{name} {number}"}
            ).json()
            for number in range(count)
        ]
    phones = [kind(f"{name}-{number}", Random(dice.random())) for number in range(count)]
    for phone, code in zip(phones, codes, strict=True):
        phone.enrol(server.port, code["code"])
    return phones


def enrolled(server: Server, count: int, dice: Random) -> list[Simulated]:
    return enrolled_as(Simulated, server, count, dice, "phone")


class AtOnce:
    """Each phone in a thread of its own, doing the same until it is told to stop; what fails there fails
    here. A context manager: on the way out it waits for all."""

    def __init__(
        self, phones: Iterable[Simulated], work: Callable[[Simulated, threading.Event], None]
    ) -> None:
        self.stop = threading.Event()
        self.faults: list[BaseException] = []
        self._threads = [threading.Thread(target=self._run, args=(work, phone)) for phone in phones]

    def _run(self, work: Callable[[Simulated, threading.Event], None], phone: Simulated) -> None:
        try:
            work(phone, self.stop)
        except BaseException as fault:  # told in the thread that waits
            self.faults.append(fault)

    def __enter__(self) -> "AtOnce":
        for thread in self._threads:
            thread.start()
        return self

    def __exit__(self, kind: type[BaseException] | None, *_: object) -> None:
        self.stop.set()
        for thread in self._threads:
            thread.join(120)
        if kind is None:
            assert not any(thread.is_alive() for thread in self._threads), "a phone never came to an end"
            if self.faults:
                raise self.faults[0]
