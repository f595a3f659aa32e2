"""The application under test, with two sites, somebody of each role, and who may call it."""

from typing import Any

from carrying import Phone
from litestar.testing import TestClient

from chinrest.server.context import now_ms
from chinrest.server.guards import COOKIE
from chinrest.server.settings import Settings
from chinrest.store import Store
from chinrest.store.rows import Role

SITES = {"harbour": "Harbour", "lighthouse": "Lighthouse"}
PASSWORD = "correct horse of the test"
OFFICER, LEAD = "Olga Officer", "Lea Lead"
PHOTOGRAPHER, ADMIN = "Pia Photographer", "Ada Admin"
PEOPLE: dict[str, Role] = {OFFICER: "officer", LEAD: "lead", PHOTOGRAPHER: "photographer", ADMIN: "admin"}
OWN_PAGE = {"X-Chinrest": "1"}
DAY_MS = 24 * 3600 * 1000


async def found(settings: Settings) -> dict[str, str]:
    """Sites and people in a new database; a session of each by name, since signing in is slow by design."""
    store = await Store.open(settings.database, sites=SITES)
    now, sessions = now_ms(), {}
    for name, role in PEOPLE.items():
        person = await store.add_staff(name, PASSWORD, role, now)
        sessions[name] = await store.start_session(person.id, now, now + DAY_MS)
    await store.close()
    return sessions


class House:
    """The application and its callers."""

    def __init__(self, client: TestClient[Any], settings: Settings, sessions: dict[str, str]) -> None:
        self.client = client
        self.settings = settings
        self.sessions = sessions

    def _as(self, name: str) -> TestClient[Any]:
        self.client.cookies.clear()
        self.client.cookies.set(COOKIE, self.sessions[name])
        return self.client

    def as_officer(self) -> TestClient[Any]:
        return self._as(OFFICER)

    def as_lead(self) -> TestClient[Any]:
        return self._as(LEAD)

    def as_photographer(self) -> TestClient[Any]:
        return self._as(PHOTOGRAPHER)

    def as_admin(self) -> TestClient[Any]:
        return self._as(ADMIN)

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
