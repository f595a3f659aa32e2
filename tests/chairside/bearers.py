"""Whoever copies what a phone stores and asks the server by it; another phone of its site, with no screen."""

from __future__ import annotations

import json
import time
import uuid
from typing import Any

import httpx
import msgspec

from chinrest.log.case_events import Body, CaseOpened
from chinrest.log.house_events import DeviceEnrolled
from chinrest.log.signing import new_key, public_of, sign
from chinrest.log.write import ChainWriter, new_salt
from chinrest.server.wire import SyncHeader
from serving import Server

NDJSON = {"Content-Type": "application/x-ndjson"}
NOTHING = "0" * 64
LONGEST = 200


def header(device: str, **changes: Any) -> bytes:
    """Of a batch; without lines nothing of it is signed."""
    plain = SyncHeader(
        device=device,
        head_seq=0,
        head_sha256=NOTHING,
        signature=None,
        waiting=0,
        now=now_ms(),
        app="test",
        epoch=None,
        cursor=None,
    )
    return msgspec.json.encode(msgspec.structs.replace(plain, **changes)) + b"\n"


def now_ms() -> int:
    return int(time.time() * 1000)


class OtherPhone:
    """Enrolled at the same site."""

    def __init__(self, server: Server) -> None:
        self.origin = server.origin
        self.device, self.key = str(uuid.uuid4()), new_key()
        self.chain = ChainWriter(self.device, "boot-1")
        public = public_of(self.key)
        asked = {"code": server.enrol_code("harbour", "Phone 8"), "device": self.device, "label": "Phone 8"}
        enrolled = httpx.post(f"{self.origin}/api/enrol", json={**asked, "public_key": public})
        assert enrolled.status_code == 200, enrolled.text
        self.bearer = {"Authorization": f"Bearer {enrolled.json()['token']}"}
        self._write(DeviceEnrolled(salt=new_salt(), public_key=public, label="Phone 8", site="harbour"))

    def opens(self, code: str) -> None:
        body = CaseOpened(
            salt=new_salt(),
            code=code,
            eyes=["right"],
            study_eye="right",
            modalities=["colour"],
            cross_sections=False,
            flags=[],
        )
        self._write(body, str(uuid.uuid4()))

    def _write(self, body: Body | DeviceEnrolled, case: str | None = None) -> None:
        line = self.chain.write(body, at=now_ms(), mono=self.chain.seq, actor="CD", case=case)
        head = self.chain.head
        said = header(self.device, head_seq=self.chain.seq, head_sha256=head, signature=sign(self.key, head))
        answer = httpx.post(
            f"{self.origin}/api/sync", content=said + line.raw + b"\n", headers=self.bearer | NDJSON
        )
        assert [row["status"] for row in answer.json()["lines"]] == ["stored"], answer.text


def texts(stored: str) -> set[str]:
    """Each text in it that could be a bearer's, names of things included."""
    found: set[str] = set()
    left = [json.loads(stored)]
    while left:
        one = left.pop()
        if isinstance(one, dict):
            left += [*one.keys(), *one.values()]
        elif isinstance(one, list):
            left += one
        elif isinstance(one, str) and 0 < len(one) <= LONGEST and one.isascii() and one.isprintable():
            found.add(one.strip())
    return found


def taken(server: Server, device: str, stored: str) -> dict[str, Any]:
    """Those that the server takes for that phone, with its answer to a sync that asks for all there is."""
    answers: dict[str, Any] = {}
    with httpx.Client(base_url=server.origin, timeout=30) as http:
        for text in texts(stored):
            bearer = {"Authorization": f"Bearer {text}"}
            answer = http.post("/api/sync", content=header(device), headers=bearer | NDJSON)
            assert answer.status_code in (200, 401, 403), answer.text
            if answer.status_code == 200:
                answers[text] = answer.json()
    return answers
