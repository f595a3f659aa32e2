"""A phone without a screen, talking to the application under test."""

import gzip
import uuid
from hashlib import sha256
from typing import Any

import msgspec
from litestar.testing import TestClient

from chinrest.log.case_events import Body, CaseOpened, ComfortNoted, SafetyNoted
from chinrest.log.house_events import DeviceEnrolled
from chinrest.log.line import Line
from chinrest.log.signing import new_key, public_of, sign
from chinrest.log.write import ChainWriter, new_salt
from chinrest.server.context import now_ms
from chinrest.server.wire import SyncHeader

NDJSON = "application/x-ndjson"


class Phone:
    def __init__(self, client: TestClient[Any]) -> None:
        self.client = client
        self.device = str(uuid.uuid4())
        self.signing_key = new_key()
        self.key = public_of(self.signing_key)
        self.chain = ChainWriter(self.device, "boot-1")
        self.token = ""
        self.enrolment: dict[str, Any] = {}

    def asked(self, code: str, label: str = "Room 1") -> dict[str, str]:
        """What it sends to be enrolled."""
        proof = sign(self.signing_key, f"chinrest enrol {code} {self.device}")
        known = {"device": self.device, "public_key": self.key, "proof": proof}
        return {"code": code, "label": label, **known}

    def enrol(self, code: str, label: str = "Room 1") -> Any:
        answer = self.client.post(
            "/api/enrol",
            json=self.asked(code, label),
        )
        if answer.status_code == 200:
            self.enrolment = answer.json()
            self.token = self.enrolment["token"]
        return answer

    @property
    def bearer(self) -> dict[str, str]:
        return {"Authorization": f"Bearer {self.token}"}

    def write(self, body: Body, case: str | None = None) -> Line:
        return self.chain.write(body, at=now_ms(), mono=self.chain.seq, actor="AB", case=case)

    def first_line(self) -> Line:
        return self.write(DeviceEnrolled(salt=new_salt(), public_key=self.key, label="x", site="harbour"))

    def header(self, **changes: Any) -> SyncHeader:
        plain = SyncHeader(
            device=self.device,
            head_seq=self.chain.seq,
            head_sha256=self.chain.head,
            signature=None,
            waiting=0,
            now=now_ms(),
            app="test",
            epoch=None,
            cursor=None,
        )
        return msgspec.structs.replace(plain, **changes)

    def body(self, *lines: bytes | Line, **header: Any) -> bytes:
        raw = [line.raw if isinstance(line, Line) else line for line in lines]
        if raw:
            head = sha256(raw[-1].partition(b"\t")[0]).hexdigest()
            header = {"head_sha256": head, "signature": sign(self.signing_key, head), **header}
        return b"".join(text + b"\n" for text in [msgspec.json.encode(self.header(**header)), *raw])

    def post(self, content: bytes, **headers: str) -> Any:
        sent = {"Content-Type": NDJSON, "Content-Encoding": "gzip", **self.bearer}
        sent.update({name.replace("_", "-"): value for name, value in headers.items()})
        return self.client.post("/api/sync", content=content, headers=sent)

    def sync(self, *lines: bytes | Line, **header: Any) -> Any:
        answer = self.post(gzip.compress(self.body(*lines, **header)))
        assert answer.status_code == 200, answer.text
        return answer.json()


def opened(code: str = "HR-0042") -> CaseOpened:
    return CaseOpened(
        salt=new_salt(),
        code=code,
        eyes=["right", "left"],
        study_eye="right",
        modalities=["colour", "fluorescein"],
        cross_sections=False,
        flags=[],
    )


def comfort(score: int = 2) -> ComfortNoted:
    return ComfortNoted(salt=new_salt(), score=score, bothers=[])


def near_miss(note: str = "") -> SafetyNoted:
    return SafetyNoted(
        salt=new_salt(),
        what="optic_not_latched",
        reached_patient=False,
        harm="none",
        signs=[],
        done=[],
        told=[],
        note=note,
    )
