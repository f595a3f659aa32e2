"""A phone without a screen: it enrols and carries lines to a server over HTTP, as the real one does."""

import gzip
import json
import sys
import time
from pathlib import Path
from typing import Any

import httpx

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "log"))  # the invented phones

from invented import Phone

from chinrest.log.signing import new_key, public_of, sign


class Carrier(Phone):
    """An invented phone that is enrolled at a server; `carry` sends what it has not sent yet."""

    def __init__(self, origin: str, code: str, name: str, *, behind_ms: int = 0) -> None:
        """`behind_ms`: how long ago, by its own clock, its first line was written."""
        super().__init__(name, int(time.time() * 1000) - behind_ms)
        self.sent = 0
        self.signing_key = new_key()
        spki = public_of(self.signing_key)
        self.http = httpx.Client(base_url=origin, timeout=30)
        answer = self.http.post(
            "/api/enrol", json={"code": code, "device": self.device, "public_key": spki, "label": name}
        )
        assert answer.status_code == 200, answer.text
        self.http.headers["Authorization"] = f"Bearer {answer.json()['token']}"
        self.site = answer.json()["site"]
        self.write("device.enrolled", public_key=spki, label=name, site=self.site)

    def carry(self, *, skip: int = 0, clock_ms: int = 0, spoil: bool = False) -> dict[str, Any]:
        """Send what is unsent, leaving out `skip` lines first; `clock_ms` is how far its clock is ahead.

        `spoil` lets the last body arrive with a byte more than it was hashed with.
        """
        lines = self.lines[self.sent + skip :]
        head = {
            "device": self.device,
            "head_seq": lines[-1].envelope.seq if lines else 0,
            "head_sha256": lines[-1].envelope_sha256 if lines else "0" * 64,
            "signature": sign(self.signing_key, lines[-1].envelope_sha256) if lines else None,
            "waiting": len(lines),
            "now": int(time.time() * 1000) + clock_ms,
            "app": "0.1.0",
            "epoch": None,
            "cursor": None,
        }
        raws = [line.raw for line in lines]
        if spoil:
            raws[-1] = raws[-1][:-1] + b" }"
        body = b"".join([json.dumps(head).encode(), b"\n", *(raw + b"\n" for raw in raws)])
        answer = self.http.post(
            "/api/sync",
            content=gzip.compress(body),
            headers={"Content-Type": "application/x-ndjson", "Content-Encoding": "gzip"},
        )
        assert answer.status_code == 200, answer.text
        self.sent = len(self.lines)
        said: dict[str, Any] = answer.json()
        return said
