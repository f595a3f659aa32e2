"""One application over a store in a folder of its own."""

import asyncio
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from callers import House, found
from litestar.testing import TestClient

from chinrest.server.app import create_app
from chinrest.server.demo import compiled_demo
from chinrest.server.settings import Settings
from serving import PACKS


@pytest.fixture
def settings(tmp_path: Path) -> Settings:
    return Settings(data=tmp_path, origin="http://hub.test:8480")


@pytest.fixture(scope="session")
def founded(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A database with sites and people, made once: hashing passwords is slow by design."""
    template = Settings(data=tmp_path_factory.mktemp("founded"))
    asyncio.run(found(template))
    return template.database


@pytest.fixture
def house(settings: Settings, founded: Path) -> Iterator[House]:
    shutil.copy2(founded, settings.database)
    # a failure inside must come out as the server's own answer, not as the test's exception
    with TestClient(create_app(settings), raise_server_exceptions=False) as client:
        yield House(client, settings)


@pytest.fixture(scope="session")
def demo_pack() -> bytes:
    PACKS.mkdir(parents=True, exist_ok=True)
    return compiled_demo(PACKS)
