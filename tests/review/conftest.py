"""A served demo with invented cases in it, carried there by phones without a screen."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from scenes import Scene

from browsing import Contexts
from desk_page import Desk
from serving import Server


@pytest.fixture(scope="module")
def scene(tmp_path_factory: pytest.TempPathFactory, front_end: Path) -> Iterator[Scene]:
    """For tests that only look."""
    with Server(tmp_path_factory.mktemp("scene")) as served:
        made = Scene(served)
        yield made
        made.close()


@pytest.fixture
def own_scene(server: Server) -> Iterator[Scene]:
    """For a test that changes something."""
    made = Scene(server)
    yield made
    made.close()


@pytest.fixture
def desk(contexts: Contexts) -> Callable[..., Desk]:
    """desk(scene, "officer", color_scheme="dark"): signed in, in a browser of its own."""

    def open_desk(at: Scene, role: str = "officer", **options: Any) -> Desk:
        return Desk(contexts.desk(**options), at.server).sign_in(role)

    return open_desk
