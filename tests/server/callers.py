"""The application under test, with two sites, an officer and a lead, and who may call it."""

from typing import Any

from carrying import Phone
from litestar.testing import TestClient

from chinrest.server.context import now_ms
from chinrest.server.settings import Settings
from chinrest.store import Store

SITES = {"harbour": "Harbour", "lighthouse": "Lighthouse"}
PASSWORD = "correct horse of the test"
OWN_PAGE = {"X-Chinrest": "1"}


async def found(settings: Settings) -> None:
    store = await Store.open(settings.database, sites=SITES)
    await store.add_staff("Olga Officer", PASSWORD, "officer", now_ms())
    await store.add_staff("Lea Lead", PASSWORD, "lead", now_ms())
    await store.close()


class House:
    """The application under test and who may call it."""

    def __init__(self, client: TestClient[Any], settings: Settings) -> None:
        self.client = client
        self.settings = settings

    def sign_in(self, name: str) -> None:
        """Signed out first, so that a test says plainly who it is."""
        self.client.cookies.clear()
        answer = self.client.post("/api/session", json={"name": name, "password": PASSWORD}, headers=OWN_PAGE)
        assert answer.status_code == 200, answer.text

    def as_officer(self) -> TestClient[Any]:
        self.sign_in("Olga Officer")
        return self.client

    def as_lead(self) -> TestClient[Any]:
        self.sign_in("Lea Lead")
        return self.client

    def as_nobody(self) -> TestClient[Any]:
        self.client.cookies.clear()
        return self.client

    def code(self, site: str = "harbour") -> str:
        made = self.as_lead().post(
            "/api/enrolment-codes", json={"site": site, "label": "Room 1"}, headers=OWN_PAGE
        )
        assert made.status_code == 200, made.text
        self.client.cookies.clear()
        code: str = made.json()["code"]
        return code

    def phone(self, site: str = "harbour") -> Phone:
        phone = Phone(self.client)
        answer = phone.enrol(self.code(site))
        assert answer.status_code == 200, answer.text
        return phone
