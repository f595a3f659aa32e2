"""A served demo with invented cases in it, carried there by phones without a screen."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import httpx
import pytest
from browsing import Contexts
from carrier import Carrier
from desk_page import Desk
from scenes import DAY_MS, full_case, small_case
from serving import Server


class Scene:
    """Three phones at three sites. `full` has the ids of the lines of the one full case."""

    def __init__(self, server: Server) -> None:
        self.server = server
        self.lead = httpx.Client(base_url=server.origin, headers={"X-Chinrest": "1"}, timeout=30)
        name, password = server.sign_in("lead")
        signed = self.lead.post("/api/session", json={"name": name, "password": password})
        assert signed.status_code == 200, signed.text
        self.sha256: str = self.lead.get("/api/packs").json()[0]["sha256"]
        self.pack: dict[str, Any] = self.lead.get(f"/api/packs/{self.sha256}").json()
        self.sites = [site["id"] for site in self.lead.get("/api/sites").json()]
        self.whats = {what["id"]: what["text"] for what in self.pack["choices"]["safety_what"]}

        self.near = self.phone(self.sites[0], "Phone 3", behind_ms=3_600_000)
        self.full = full_case(self.near, self.pack, self.sha256, "case-full", "HR-2041")
        self.near.carry()

        what = list(self.whats)
        self.far = self.phone(self.sites[-1], "Satellite 1", behind_ms=3 * DAY_MS)
        small = {"phone": self.far, "sha256": self.sha256}
        small_case(**small, case="c2", code="LH-7", what=what[2], reached_patient=True, harm="severe")
        small_case(**small, case="c3", code="LH-8", what=what[3], reached_patient=None, harm=None)
        small_case(
            **small, case="c4", code="LH-9", what=what[3], reached_patient=True, harm="mild", practice=True
        )
        gone = small_case(**small, case="c5", code="LH-10", what=what[4], reached_patient=False, harm=None)
        self.far.write("line.amended", "c5", line=gone, body=None, why="wrong case")
        self.far.carry(clock_ms=-190_000)

        self.torn = self.phone(self.sites[1], "Phone 9")
        self.torn.carry()
        small_case(
            self.torn, self.sha256, "c6", "HI-1", what=what[0], reached_patient=True, harm="none", note="settled"
        )
        self.torn.carry(skip=1)

    def phone(self, site: str, label: str, *, behind_ms: int = 0) -> Carrier:
        code = self.lead.post("/api/enrolment-codes", json={"site": site, "label": label}).json()["code"]
        return Carrier(self.server.origin, code, label, behind_ms=behind_ms)

    def what(self, number: int) -> str:
        return list(self.whats.values())[number]


@pytest.fixture
def scene(server: Server) -> Scene:
    return Scene(server)


@pytest.fixture
def desk(contexts: Contexts, scene: Scene) -> Callable[..., Desk]:
    """desk("officer", color_scheme="dark"): signed in, in a browser of its own."""

    def open_desk(role: str = "officer", **options: Any) -> Desk:
        return Desk(contexts.desk(**options), scene.server).sign_in(role)

    return open_desk
