"""How long the server takes for each page of the desk over an invented history, asked over HTTP.

CASES cases are written by `chinrest demo`; CHINREST_BENCH_CASES asks for more, which takes its time: about
130 cases a second on a machine of two cores. CHINREST_BENCH_DATA names a folder made so before.
"""

import http.client
import json
import os
import subprocess
import sys
import tempfile
import time
import tomllib
from pathlib import Path

from chinrest.pack.demo import demo_folder

from .server_side import free_port, started
from .table import Row, against

CASES = int(os.environ.get("CHINREST_BENCH_CASES", "1000"))
TIMES = 7
LIMIT_MS = 300
"""What a page's data may take at 100,000 cases."""
ASKED = {
    "queue, first page": "/api/incidents?limit=100&practice=0",
    "queue in numbers": "/api/incident-counts?practice=0",
    "rate of reactions by dye": "/api/rates?of=reaction&by=dye",
    "rate of events by what, one site": "/api/rates?of=event&by=what&site=harbour",
    "rate of touches by month": "/api/rates?of=touch&by=month",
    "charts of events, without the running sum": "/api/charts?of=event",
    "charts of reactions, with the running sum": "/api/charts?of=reaction&rate_in=10&rate_out=20",
    "reactions by class": "/api/rates?of=reaction&by=class",
    "comfort and craft": "/api/craft",
    "the advice held against what was found": "/api/calibration",
    "devices": "/api/devices",
}


class Asker:
    """One signed-in officer on one connection."""

    def __init__(self, port: int, name: str, password: str) -> None:
        self.connection = http.client.HTTPConnection("127.0.0.1", port, timeout=120)
        body = json.dumps({"name": name, "password": password})
        headers = {"Content-Type": "application/json", "X-Chinrest": "1"}
        self.connection.request("POST", "/api/session", body, headers)
        answer = self.connection.getresponse()
        answer.read()
        if answer.status not in (200, 201):
            raise RuntimeError(f"not signed in: {answer.status}")
        self.cookie = (answer.getheader("Set-Cookie") or "").partition(";")[0]

    def cases(self) -> int:
        self.connection.request("GET", "/api/craft", headers={"Cookie": self.cookie})
        visits: int = json.loads(self.connection.getresponse().read())["visits"]
        return visits

    def best_ms(self, path: str) -> float:
        """The least of several askings: what else the machine does only ever adds."""
        took = []
        for _ in range(TIMES):
            began = time.perf_counter()
            self.connection.request("GET", path, headers={"Cookie": self.cookie})
            answer = self.connection.getresponse()
            said = answer.read()
            took.append(1000 * (time.perf_counter() - began))
            if answer.status != 200:
                raise RuntimeError(f"{path}: {answer.status} {said[:300]!r}")
        return min(took)


def officer_of(data: Path) -> tuple[str, str]:
    """The demo's officer: the passwords of its scenario are public."""
    staff = tomllib.loads((demo_folder() / "staff.toml").read_text())["staff"]
    (officer, *_) = [one for one in staff if one["role"] == "officer" and "password" in one]
    return officer["name"], officer["password"]


def measure() -> list[Row]:
    chinrest = [sys.executable, "-m", "chinrest.cli"]
    with tempfile.TemporaryDirectory() as folder:
        given = os.environ.get("CHINREST_BENCH_DATA")
        data = Path(given) if given else Path(folder, "data")
        began = time.perf_counter()
        if given is None:
            making = [*chinrest, "demo", "--cases", str(CASES), "--sites", "5", "--data", str(data)]
            subprocess.run(making, check=True, capture_output=True)
        wrote_s = time.perf_counter() - began
        port = free_port()
        serve = [*chinrest, "serve", "--demo", "--data", str(data), "--port", str(port)]
        with started(serve, port, folder):
            asker = Asker(port, *officer_of(data))
            rows = [(name, asker.best_ms(path)) for name, path in ASKED.items()]
            cases = asker.cases()
    written = [Row(f"desk: {CASES:,} invented cases written and folded", f"{wrote_s:.0f} s")]
    return [
        *(written if given is None else []),
        *(against(f"desk, {cases:,} visits: {name}", ms, LIMIT_MS, "ms", 0) for name, ms in rows),
    ]
