"""Real processes: a satellite's server, `chinrest relay`, the hospital's server, and a wire that breaks in
mid-request."""

import json
import os
import random
import subprocess
import sys
from pathlib import Path

import pytest
from carrier import Carrier
from cutting import CutWire

from chinrest.log.verify import verify_file
from serving import Server


def relay(data: Path, to: str, key: str, tries: int = 1) -> int:
    command = [sys.executable, "-m", "chinrest.cli", "relay", "--to", to, "--server-key", key]
    done = subprocess.run(
        [*command, "--data", str(data), "--tries", str(tries)],
        capture_output=True,
        text=True,
        timeout=120,
        env=os.environ,
    )
    assert done.returncode in (0, 1), done.stderr
    assert done.returncode == 0 or "no_link" in done.stderr or "nothing is lost" in done.stderr, done.stderr
    return done.returncode


def lines_of(server: Server, folder: Path, device: str) -> list[bytes]:
    """The device's lines that a server holds, out of a sealed export that verifies."""
    out = folder / "lines.ndjson"
    out.unlink(missing_ok=True)
    server.run("export", str(out))
    assert verify_file(out).ok
    own = f'"device":"{device}"'.encode()
    return [row for row in out.read_bytes().splitlines() if b"\t" in row and own in row.partition(b"\t")[0]]


@pytest.mark.timeout(600)
@pytest.mark.parametrize("seed", [1, 2])
def test_a_wire_that_breaks_off_loses_and_doubles_nothing(tmp_path: Path, seed: int) -> None:
    for name in ("hub", "hospital"):
        (tmp_path / name).mkdir()
    hub, hospital = Server(tmp_path / "hub"), Server(tmp_path / "hospital")
    with hub, hospital:
        dice = random.Random(seed)
        phone = Carrier(hub.origin, hub.enrol_code(), f"phone {seed}")
        for number in range(40):
            phone.write("step.done", "c1", step=dice.randbytes(400).hex())  # gzip finds nothing in it
            if number % 8 == 7:
                phone.carry()
        phone.http.close()
        key = json.loads(hub.run("hubs", "key", "--json"))
        hospital.run("hubs", "add", "Lighthouse laptop", "--id", key["id"], "--key", key["key"])
        theirs = json.loads(hospital.run("hubs", "key", "--json"))["fingerprint"]
        wire = CutWire(("127.0.0.1", hospital.port), seed, most=24_000)
        try:
            outcomes = [relay(hub.data, f"http://127.0.0.1:{wire.port}", theirs) for _ in range(4)]
            wire.whole = True
            assert relay(hub.data, f"http://127.0.0.1:{wire.port}", theirs, tries=3) == 0
            assert wire.cut > 0, "the wire was never cut: nothing was tested"
        finally:
            wire.close()
        print(f"\n{wire.cut} cuts, {outcomes.count(1)} of 4 rounds broke off, {len(phone.raws)} lines")
        assert lines_of(hospital, tmp_path, phone.device) == phone.raws
