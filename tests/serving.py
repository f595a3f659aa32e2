"""A real server for tests: started on a free port in a folder of its own, killed, and started again."""

import json
import os
import shutil
import signal
import socket
import ssl
import subprocess
import sys
import time
import urllib.error
import urllib.request
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[1]
# compiling the demo's pack takes seconds, and its name says from which source: worth keeping between runs
PACKS = ROOT / ".pytest_cache" / "demo-packs"


def free_port() -> int:
    """A port that is free, and whose successor is: the hub's plain page takes that."""
    for _ in range(50):
        with socket.socket() as first, socket.socket() as second:
            first.bind(("127.0.0.1", 0))
            port: int = first.getsockname()[1]
            try:
                second.bind(("127.0.0.1", port + 1))
            except OSError:
                continue
            return port
    raise AssertionError("no two free ports side by side")


class Server:
    """`chinrest serve --demo` in `folder`. A context manager; `kill` is kill -9, `start` starts it again with
    the same port and data. When it dies or never answers, what it printed is in the error."""

    def __init__(self, folder: Path, *arguments: str, demo: bool = True) -> None:
        self.data = folder / "data"
        self.port = free_port()
        self.arguments = [*(["--demo"] if demo else []), *arguments]
        self.said = folder / "server-said.txt"
        self.started: dict[str, Any] = {}
        self.process: subprocess.Popen[bytes] | None = None

    @property
    def origin(self) -> str:
        return str(self.started["origin"])

    def sign_in(self, role: str) -> tuple[str, str]:
        """Name and password of the demo's officer or lead."""
        (found,) = [who for who in self.started["sign_ins"] if who["role"] == role]
        return found["name"], found["password"]

    def start(self, within_s: float = 90) -> "Server":
        assert self.process is None, "it runs already"
        self.data.mkdir(parents=True, exist_ok=True)
        for kept in PACKS.glob("*.json"):
            shutil.copy2(kept, self.data / kept.name)
        self.said.write_bytes(b"")
        command = [sys.executable, "-m", "chinrest.cli", "serve", "--data", str(self.data), "--json"]
        command += ["--port", str(self.port), *self.arguments]
        with self.said.open("ab") as said:
            self.process = subprocess.Popen(command, cwd=self.data, stdout=said, stderr=said)
        try:
            self._wait(within_s)
        except BaseException:
            self._end(signal.SIGKILL)
            raise
        PACKS.mkdir(parents=True, exist_ok=True)
        for made in self.data.glob("demo-pack-*.json"):
            shutil.copy2(made, PACKS / made.name)
        return self

    def _wait(self, within_s: float) -> None:
        deadline = time.monotonic() + within_s
        while time.monotonic() < deadline:
            assert self.process is not None
            if self.process.poll() is not None:
                raise AssertionError(f"the server ended with {self.process.returncode}:\n{self.output()}")
            lines = [line for line in self.output().splitlines() if line.startswith('{"origin"')]
            if lines:
                self.started = json.loads(lines[0])
                if self.healthy():
                    return
            time.sleep(0.1)
        raise AssertionError(f"the server did not answer within {within_s} s:\n{self.output()}")

    def healthy(self) -> bool:
        try:
            return bool(json.loads(self.get("/api/health"))["ok"])
        except (OSError, urllib.error.URLError):
            return False

    def get(self, path: str) -> bytes:
        """A plain GET, trusting the hub's own authority where it has one."""
        authority = self.data / "tls" / "authority.crt"
        context = None
        if self.origin.startswith("https"):
            context = ssl.create_default_context(cafile=str(authority))
        with urllib.request.urlopen(self.origin + path, timeout=5, context=context) as answer:
            content: bytes = answer.read()
        return content

    def output(self) -> str:
        return self.said.read_text(errors="replace")

    def kill(self) -> None:
        """As when the plug is pulled."""
        self._end(signal.SIGKILL)

    def stop(self) -> None:
        self._end(signal.SIGTERM)

    def _end(self, how: signal.Signals) -> None:
        process, self.process = self.process, None
        if process is not None:
            if process.poll() is None:
                os.kill(process.pid, how)
            process.wait(20)

    def enrol_code(self, site: str = "harbour", label: str = "Test phone") -> str:
        """A fresh one-time code, made by the command beside the running server."""
        code: str = json.loads(self.run("enrol", "--site", site, "--label", label, "--json"))["code"]
        return code

    def run(self, *arguments: str) -> str:
        """Another `chinrest` command on the same data; what it printed."""
        command = [sys.executable, "-m", "chinrest.cli", *arguments, "--data", str(self.data)]
        done = subprocess.run(command, capture_output=True, text=True, timeout=60)
        assert done.returncode == 0, done.stdout + done.stderr
        return done.stdout

    def __enter__(self) -> "Server":
        return self.start()

    def __exit__(self, *_: object) -> None:
        self.stop()
