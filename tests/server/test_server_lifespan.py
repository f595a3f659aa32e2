"""The server opens what it needs when it starts, and leaves nothing open when it ends."""

import threading
from pathlib import Path

from litestar.testing import TestClient

from chinrest.server.app import create_app
from chinrest.server.settings import Settings


def open_files() -> int:
    """Of this process, where the system lists them (Linux, macOS)."""
    folder = Path("/proc/self/fd")
    return len(list((folder if folder.is_dir() else Path("/dev/fd")).iterdir()))


def start_and_stop(settings: Settings) -> str:
    with TestClient(create_app(settings)) as client:
        said: str = client.get("/api/health").json()["server"]
        assert client.get("/nothing/here").status_code == 404
    return said


def test_started_again_it_is_the_same_server(settings: Settings) -> None:
    assert start_and_stop(settings) == start_and_stop(settings)


def test_starting_and_stopping_leaves_no_file_and_no_thread(settings: Settings) -> None:
    start_and_stop(settings)  # what is opened once for the whole process
    files, threads = open_files(), threading.active_count()
    for _ in range(4):
        start_and_stop(settings)
    assert open_files() <= files
    assert threading.active_count() <= threads


def test_a_folder_that_does_not_exist_is_made(tmp_path: Path) -> None:
    settings = Settings(data=tmp_path / "deep" / "folder")
    start_and_stop(settings)
    assert settings.database.is_file()
