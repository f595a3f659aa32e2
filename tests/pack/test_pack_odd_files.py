"""What stands among a pack's files and is no file of words must not be waited for."""

import os
import subprocess
import sys
from pathlib import Path

import pytest
from pack_sources import faults_in

from chinrest.pack.compiled import read_pack
from chinrest.pack.faults import PackFaults

PATIENCE_S = 60


def run(*arguments: str) -> subprocess.CompletedProcess[str]:
    """Ends in an exception where the command waits for ever."""
    return subprocess.run(
        [sys.executable, "-m", "chinrest.cli", *arguments],
        capture_output=True,
        text=True,
        timeout=PATIENCE_S,
        check=False,
    )


@pytest.mark.parametrize("file", ["optics.toml", "phrases/en.toml", "steps/more.toml"])
@pytest.mark.timeout(PATIENCE_S)
def test_a_pipe_in_a_files_place_is_said_and_not_waited_for(file: str, folder: Path) -> None:
    (folder / file).unlink(missing_ok=True)
    (folder / file).parent.mkdir(exist_ok=True)
    os.mkfifo(folder / file)
    assert [(f.file, f.reason) for f in faults_in(folder) if f.file == file] == [(file, "is no plain file")]
    done = run("pack", "check", str(folder))
    assert done.returncode != 0
    assert f"{file}: is no plain file" in done.stdout + done.stderr


@pytest.mark.timeout(PATIENCE_S)
def test_a_device_or_a_folder_in_a_files_place_is_said(folder: Path) -> None:
    for file, put in (("optics.toml", Path("/dev/zero")), ("limits.toml", folder.parent)):
        (folder / file).unlink()
        (folder / file).symlink_to(put)
    said = {f.file: f.reason for f in faults_in(folder) if f.reason == "is no plain file"}
    assert set(said) == {"optics.toml", "limits.toml"}


@pytest.mark.timeout(PATIENCE_S)
def test_a_compiled_pack_is_a_plain_file_too(tmp_path: Path) -> None:
    pipe = tmp_path / "pack.json"
    os.mkfifo(pipe)
    with pytest.raises(PackFaults, match="is no plain file"):
        read_pack(pipe)
    done = run("pack", "show", str(pipe))
    assert done.returncode != 0
    assert "is no plain file" in done.stdout + done.stderr
