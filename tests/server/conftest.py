"""One application over a store in a folder of its own."""

import asyncio
import shutil
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from callers import House, found
from litestar.testing import TestClient

from chinrest.server.app import create_app
from chinrest.server.demo import compiled_demo
from chinrest.server.settings import Settings
from serving import PACKS

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "log"))  # the phone's own keys


@pytest.fixture
def settings(tmp_path: Path) -> Settings:
    return Settings(data=tmp_path, origin="http://hub.test:8480")


@pytest.fixture(scope="session")
def founded(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, dict[str, str]]:
    """A database with sites and people, and their sessions; made once."""
    template = Settings(data=tmp_path_factory.mktemp("founded"))
    return template.database, asyncio.run(found(template))


@pytest.fixture
def house(settings: Settings, founded: tuple[Path, dict[str, str]]) -> Iterator[House]:
    shutil.copy2(founded[0], settings.database)
    # a failure inside must come out as the server's own answer, not as the test's exception
    with TestClient(create_app(settings), raise_server_exceptions=False) as client:
        yield House(client, settings, founded[1])


@pytest.fixture(scope="session")
def demo_pack() -> bytes:
    PACKS.mkdir(parents=True, exist_ok=True)
    return compiled_demo(PACKS)
