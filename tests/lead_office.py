"""What the lead does at the server without the desk: approves and recalls packs, withdraws phones."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Callable
from contextlib import closing
from hashlib import sha256
from pathlib import Path
from typing import Any

import httpx

from serving import Server


def without_plans(pack: dict[str, Any]) -> bytes:
    """A pack that compiles in seconds: no region is planned for, and no protocol laid."""
    bare = json.loads(json.dumps(pack))
    for key in ("plans", "pattern_names", "patterns", "sweeps", "optic_choices", "reach_classes"):
        bare[key] = []
    for key in ("protocols", "layouts", "next_frame_vectors"):
        bare[key] = []
    bare["planning"]["regions"] = []
    return json.dumps(bare, separators=(",", ":"), ensure_ascii=False).encode()


class Lead:
    """A session of the lead. A context manager."""

    def __init__(self, server: Server) -> None:
        self.http = httpx.Client(base_url=server.origin, headers={"X-Chinrest": "1"}, timeout=30)
        name, password = server.sign_in("lead")
        self._post("/api/session", {"name": name, "password": password})
        first = self.http.get("/api/packs").json()[0]
        self.sha256: str = first["sha256"]
        self.pack: dict[str, Any] = self.http.get(f"/api/packs/{self.sha256}").json()
        self.sites = [site["id"] for site in self.http.get("/api/sites").json()]

    def _post(self, path: str, body: object) -> Any:
        answer = self.http.post(path, json=body)
        assert answer.status_code == 200, answer.text
        return answer.json()

    def put_in_force(self, change: Callable[[dict[str, Any]], None]) -> str:
        """A new pack: the demo's as `change` leaves it, approved for every site. Its hash."""
        pack = json.loads(json.dumps(self.pack))
        change(pack)
        raw = json.dumps(pack, separators=(",", ":"), ensure_ascii=False).encode()
        taken = self.http.post("/api/packs", content=raw, headers={"Content-Type": "application/json"})
        assert taken.status_code == 200, taken.text
        digest: str = taken.json()["sha256"]
        self._post(f"/api/packs/{digest}/approve", {"sites": self.sites, "note": "for a test"})
        return digest

    def put_in_force_unproved(self, change: Callable[[dict[str, Any]], None], database: Path) -> str:
        """Past the server's own proof, straight into its database: for what only the phone can stop."""
        pack = json.loads(json.dumps(self.pack))
        change(pack)
        raw = json.dumps(pack, separators=(",", ":"), ensure_ascii=False).encode()
        digest = sha256(raw).hexdigest()
        row = (digest, raw, len(raw), pack["version"], pack["clinic"])
        with closing(sqlite3.connect(database)) as open_database, open_database:
            open_database.execute(
                "INSERT INTO packs (sha256, raw, size_bytes, version, clinic, received_at)"
                " SELECT ?, ?, ?, ?, ?, max(received_at) + 1 FROM packs",
                row,
            )
        self._post(f"/api/packs/{digest}/approve", {"sites": self.sites, "note": "for a test"})
        return digest

    def recall(self, digest: str, why: str) -> None:
        self._post(f"/api/packs/{digest}/recall", {"why": why})

    def withdraw(self, label: str, why: str) -> None:
        (device,) = [row["id"] for row in self.http.get("/api/devices").json() if row["label"] == label]
        self._post(f"/api/devices/{device}/withdraw", {"why": why})

    def __enter__(self) -> Lead:
        return self

    def __exit__(self, *_: object) -> None:
        self.http.close()
