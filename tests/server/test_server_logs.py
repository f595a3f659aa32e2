"""What the server writes down of its work holds nothing of a patient, and no secret."""

import io
import json
import logging

import pytest
from callers import OWN_PAGE, House
from carrying import near_miss, opened

from chinrest.server import logs
from chinrest.store import Store

SECRET_CASE = "0192f0c0-0000-7000-8000-0000000000aa"


@pytest.fixture
def written() -> io.StringIO:
    """The log as the command sets it up, into a string."""
    logs.set_up("debug")
    out = io.StringIO()
    (handler,) = logging.getLogger().handlers
    assert isinstance(handler, logging.StreamHandler)
    handler.setStream(out)
    return out


def test_no_case_no_body_no_secret(
    written: io.StringIO, house: House, monkeypatch: pytest.MonkeyPatch
) -> None:
    code = house.code()
    phone = house.phone()
    phone.sync(
        phone.first_line(),
        phone.write(opened("HR-SECRET-CODE"), SECRET_CASE),
        phone.write(near_miss("secret note"), SECRET_CASE),
    )
    officer = house.as_officer()
    officer.get(f"/api/cases/{SECRET_CASE}")
    officer.get("/api/incidents?q=secret")
    officer.post("/api/session", content=b'{"secret', headers={"Content-Type": "application/json"})

    async def fails(_: Store, case: str) -> None:
        raise RuntimeError(f"secret inside of {case}")

    monkeypatch.setattr(Store, "timeline", fails)
    assert officer.get(f"/api/cases/{SECRET_CASE}", headers=OWN_PAGE).status_code == 500
    text = written.getvalue()
    rows = [json.loads(line) for line in text.splitlines()]
    routes = {row.get("route") for row in rows}
    assert {"/api/cases/{case}", "/api/sync", "/api/incidents"} <= routes
    assert any(row["event"] == "failed" and row["kind"] == "RuntimeError" for row in rows)
    for secret in (SECRET_CASE, "SECRET", "secret", code, phone.token, phone.device):
        assert secret not in text, secret
