"""What `pip wheel .` makes on a machine without Node, and that it serves the built pages."""

import json
import os
import re
import shutil
import socket
import subprocess
import sys
import time
import urllib.request
import venv
import zipfile
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]


def tools_without_node(folder: Path) -> str:
    """A PATH of one folder: links to every tool of this machine but Node's; only the build's own is left."""
    folder.mkdir()
    for place in os.environ["PATH"].split(os.pathsep):
        for tool in Path(place).glob("*"):
            if (
                tool.name not in ("node", "nodejs", "npm", "npx", "corepack")
                and not (folder / tool.name).is_symlink()
            ):
                (folder / tool.name).symlink_to(tool)
    assert shutil.which("node", path=str(folder)) is None
    assert shutil.which("npm", path=str(folder)) is None
    return str(folder)


@pytest.fixture(scope="module")
def bare_environment(tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    kept = {k: v for k, v in os.environ.items() if not k.startswith(("npm_", "VIRTUAL_ENV", "PYTHON"))}
    path = tools_without_node(tmp_path_factory.mktemp("bare") / "bin")
    return {**kept, "PATH": path, "NODE_ENV": "production"}  # which must not drop the build tools


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory, bare_environment: dict[str, str]) -> Path:
    """The wheel of what git tracks, built in a folder of its own."""
    source = tmp_path_factory.mktemp("source")
    tracked = subprocess.run(
        ["git", "ls-files", "-z", "--cached", "--others", "--exclude-standard"],
        cwd=ROOT,
        capture_output=True,
        check=True,
    ).stdout.split(b"\0")
    for name in filter(None, (n.decode() for n in tracked)):
        if (ROOT / name).is_file():
            (source / name).parent.mkdir(parents=True, exist_ok=True)
            shutil.copy2(ROOT / name, source / name)
    out = tmp_path_factory.mktemp("wheel")
    built = subprocess.run(
        [sys.executable, "-m", "pip", "wheel", "--no-deps", "-w", str(out), str(source)],
        env=bare_environment,
        capture_output=True,
        text=True,
    )
    assert built.returncode == 0, built.stdout[-3000:] + built.stderr[-3000:]
    (found,) = out.glob("chinrest-*.whl")
    return found


def test_the_wheel_carries_pages_and_demo(wheel: Path) -> None:
    names = zipfile.ZipFile(wheel).namelist()
    for needed in ("index.html", "desk.html", "sw.js", "manifest.webmanifest"):
        assert f"chinrest/static/{needed}" in names
    assert any(re.fullmatch(r"chinrest/static/assets/[\w-]+-[\w-]{8}\.js", name) for name in names)
    assert any(name.startswith("chinrest/demo/pack/") for name in names)
    assert not any("node_modules" in name for name in names)


@pytest.fixture
def installed(wheel: Path, tmp_path: Path, bare_environment: dict[str, str]) -> Path:
    """`chinrest` in an empty virtual environment, from the wheel and the pinned dependencies."""
    home = tmp_path / "venv"
    venv.create(home, with_pip=True)
    done = subprocess.run(
        [home / "bin" / "pip", "install", "-q", "-c", ROOT / "constraints.txt", wheel],
        env=bare_environment,
        capture_output=True,
        text=True,
    )
    assert done.returncode == 0, done.stderr
    return home / "bin" / "chinrest"


@pytest.fixture
def address(installed: Path, tmp_path: Path, bare_environment: dict[str, str]) -> Iterator[str]:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    said = (tmp_path / "said.txt").open("w+")
    command = [installed, "serve", "--demo", "--data", tmp_path / "data", "--port", str(port)]
    server = subprocess.Popen(command, cwd=tmp_path, env=bare_environment, stdout=said, stderr=said)
    try:
        base = f"http://127.0.0.1:{port}"
        deadline = time.monotonic() + 90
        while True:
            try:
                urllib.request.urlopen(f"{base}/api/health", timeout=2).close()
                break
            except OSError:
                assert server.poll() is None, Path(said.name).read_text()
                assert time.monotonic() < deadline, Path(said.name).read_text()
                time.sleep(0.2)
        yield base
    finally:
        server.terminate()
        server.wait(20)
        said.close()


def test_the_wheel_serves_the_built_front_end(address: str) -> None:
    with urllib.request.urlopen(f"{address}/") as page:
        html = page.read().decode()
    script = re.search(r'src="(/assets/[^"]+\.js)"', html)
    assert script, html
    with urllib.request.urlopen(address + script[1]) as code:
        assert code.status == 200
        assert "javascript" in code.headers["Content-Type"]
    with urllib.request.urlopen(f"{address}/manifest.webmanifest") as manifest:
        assert json.load(manifest)["name"]
