"""The examples of how to run the server: what they tell systemd and a container is a command line of ours."""

import json
import re
import shlex
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

import click
import pytest

from chinrest.cli import main

EXAMPLES = Path(__file__).resolve().parents[2] / "fixtures" / "serving"
UNIT = EXAMPLES / "chinrest.service"
CONTAINER = EXAMPLES / "Containerfile"


def parsed(arguments: list[str]) -> dict[str, Any]:
    """What the command line comes to, without running it."""
    name, *rest = arguments
    command = main.get_command(click.Context(main), name)
    assert command is not None, name
    with command.make_context(name, rest) as context:
        return context.params


def test_the_units_command_line_is_one_of_ours() -> None:
    [line] = re.findall(r"^ExecStart=(.*)$", UNIT.read_text(), re.MULTILINE)
    program, *arguments = shlex.split(line)
    assert Path(program).name == "chinrest"
    said = parsed(arguments)
    assert arguments[0] == "serve"
    # its folder is the one that systemd makes and lets it write to
    assert said["data"] == Path("/var/lib/chinrest")
    assert "StateDirectory=chinrest\n" in UNIT.read_text()
    assert said["proxy"] == "127.0.0.1"
    assert said["origin"] == "https://chinrest.example"


def test_the_containers_command_line_is_one_of_ours() -> None:
    text = CONTAINER.read_text()
    parts = {
        name: re.findall(rf"^{name} (.*)$", text, re.MULTILINE) for name in ("ENTRYPOINT", "CMD", "VOLUME")
    }
    program, *arguments = [*json.loads(parts["ENTRYPOINT"][0]), *json.loads(parts["CMD"][0])]
    assert program == "chinrest"
    assert str(parsed(arguments)["data"]) == parts["VOLUME"][0]
    for copied in re.findall(r"-c /src/(\S+)", text):
        assert (EXAMPLES.parents[1] / copied).is_file()


@pytest.mark.skipif(shutil.which("systemd-analyze") is None, reason="no systemd-analyze on this machine")
def test_systemd_finds_nothing_wrong_with_the_unit(tmp_path: Path) -> None:
    """As it is but for the program's place, which is this environment's."""
    unit = tmp_path / UNIT.name
    program = Path(sys.executable).with_name("chinrest")
    unit.write_text(UNIT.read_text().replace("/opt/chinrest/.venv/bin/chinrest", str(program)))
    done = subprocess.run(
        ["systemd-analyze", "verify", "--man=no", str(unit)], capture_output=True, text=True, timeout=60
    )
    ours = [line for line in done.stderr.splitlines() if UNIT.name in line]
    assert (done.returncode, ours) == (0, [])
