"""A newer app while a patient is in the chair: it waits until nobody is, and is then asked for."""

from pathlib import Path

import pytest
from playwright.sync_api import expect

from browsing import Contexts
from newer_app import BUILD, look_for_update, package_of_its_own, release_a_newer_app
from phone_page import Phone
from serving import Server
from visit import Visit

pytestmark = pytest.mark.browser


def test_a_newer_app_waits_until_the_case_is_closed(
    tmp_path: Path, front_end: Path, contexts: Contexts, monkeypatch: pytest.MonkeyPatch
) -> None:
    package = package_of_its_own(tmp_path, front_end)
    monkeypatch.setenv("PYTHONPATH", str(package.parent))
    with Server(tmp_path) as server:
        phone = Phone(contexts.phone(), server)
        phone.enrol("Phone 7")
        phone.wait_for_guidance()
        phone.wait_for_shell()
        phone.begin("HR-5001", asked=("Fluorescein",))
        case = phone.page.url
        visit = Visit(phone)
        visit.go_through(until="Say which eye")
        lines = len(phone.own_raws())

        release_a_newer_app(package / "static")
        look_for_update(phone)
        phone.reload()
        assert phone.heading.startswith("Say which eye")
        assert phone.page.evaluate(BUILD) is None  # still the app that the case began with
        phone.home()
        notice = phone.page.get_by_text("A newer app is ready")
        expect(notice).to_be_visible()
        update = phone.button("Update the app now")
        expect(update).to_have_count(0)

        phone.page.goto(case)
        phone.cancel_case()
        expect(update).to_be_visible()
        update.click()
        phone.page.wait_for_function(f"() => {BUILD} === 'newer'")
        expect(phone.page.get_by_role("heading", name="In the chair")).to_be_visible()
        expect(notice).to_have_count(0)
        assert len(phone.own_raws()) > lines  # the log is where it was
        phone.wait_until_sent()

        server.kill()  # and the newer one stands by itself too
        phone.reload()
        assert phone.page.evaluate(BUILD) == "newer"
