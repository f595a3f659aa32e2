"""Newer guidance and a newer app meet a real day: the app closed in mid-case, two cases at once, a case begun
with other guidance, a recall while somebody is in the chair."""

from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import expect

from browsing import Contexts
from lead_office import Lead
from newer_app import BUILD, look_for_update, package_of_its_own, release_a_newer_app
from phone_page import Phone
from serving import Server
from visit import Visit

pytestmark = pytest.mark.browser

PAGES_KEPT = """async () => {
  const caches_ = await Promise.all((await caches.keys()).map((name) => caches.open(name)));
  const kept = (await Promise.all(caches_.map((cache) => cache.keys()))).flat();
  return kept.filter((request) => request.url.includes("/index.html")).length;
}"""
ONLY_NEWER = "A sentence that only the newer guidance has."


def newer(pack: dict[str, Any]) -> None:
    pack["version"] = "2026.2"
    pack["steps"][1]["text"] = ONLY_NEWER


def test_a_newer_app_waits_although_the_phone_closed_the_app_in_mid_case(
    tmp_path: Path, front_end: Path, contexts: Contexts, monkeypatch: pytest.MonkeyPatch
) -> None:
    package = package_of_its_own(tmp_path, front_end)
    monkeypatch.setenv("PYTHONPATH", str(package.parent))
    with Server(tmp_path) as server:
        phone = Phone(contexts.phone(), server)
        phone.enrol("Phone 7")
        phone.wait_for_guidance()
        phone.wait_for_shell()
        phone.begin("HR-5101", asked=("Colour",))
        case, heading = phone.page.url, phone.heading
        release_a_newer_app(package / "static")
        look_for_update(phone)

        server.kill()
        phone.context.set_offline(True)
        for _ in range(2):  # a browser lets a waiting worker in by itself once nothing of the app is open
            phone.page.close()
            phone.page = phone.context.new_page()
            phone.page.goto(case)
            expect(phone.main.get_by_role("heading", level=1, name=heading)).to_be_visible()
            assert phone.page.evaluate(BUILD) is None
        Visit(phone).go_through(until="Warn the patient")  # with all that the earlier app is made of
        phone.home()
        expect(phone.page.get_by_text("A newer app is ready")).to_be_visible()
        expect(phone.button("Update the app now")).to_have_count(0)

        phone.page.goto(case)
        phone.cancel_case()
        lines = phone.own_raws()
        phone.button("Update the app now").click()  # without a network, too: it is on the phone already
        phone.page.wait_for_function(f"() => {BUILD} === 'newer'")
        expect(phone.page.get_by_role("heading", name="In the chair")).to_be_visible()
        expect(phone.page.get_by_text("A newer app is ready")).to_have_count(0)
        phone.reload()
        assert phone.page.evaluate(BUILD) == "newer"
        assert phone.own_raws() == lines
        assert phone.page.evaluate(PAGES_KEPT) == 1  # the earlier one is gone


def test_newer_guidance_waits_for_every_case_that_this_phone_holds(
    server: Server, contexts: Contexts
) -> None:
    phone = Phone(contexts.phone(), server)
    phone.enrol("Phone 7")
    phone.wait_for_guidance()
    phone.begin("HR-5201")
    first = phone.page.url
    phone.begin("HR-5202")
    second = phone.page.url
    with Lead(server) as lead:
        sha256 = lead.put_in_force(newer)
        old = lead.sha256
    phone.send_now()
    waits = phone.page.get_by_text("Guidance 2026.2 waits")
    expect(waits).to_be_visible()

    phone.page.goto(second)
    phone.cancel_case()
    expect(waits).to_be_visible()  # there is still somebody in the chair
    phone.begin("HR-5203")
    assert phone.envelopes("case.opened")[-1]["pack"] == old  # so this one begins with what is in use
    phone.cancel_case()
    phone.page.goto(first)
    Visit(phone).step(phone.heading)
    expect(phone.main.get_by_role("heading", level=1, name=ONLY_NEWER)).to_have_count(0)
    phone.cancel_case()
    expect(waits).to_have_count(0)

    # what comes to a closed case later is still told by the guidance that it had
    phone.page.goto(first)
    Visit(phone).event("Faint or near faint", reached="Yes", harm="Mild", note="at home, that evening")
    assert phone.envelopes("safety.noted")[-1]["pack"] == old
    phone.begin("HR-5204")
    assert phone.envelopes("case.opened")[-1]["pack"] == sha256
    Visit(phone).step(phone.heading)
    assert phone.heading == ONLY_NEWER
    assert phone.envelopes("step.done")[-1]["pack"] == sha256


def test_a_case_taken_by_a_phone_without_its_guidance_is_logged_under_what_it_shows(
    server: Server, contexts: Contexts
) -> None:
    first, second = (Phone(contexts.phone(), server) for _ in range(2))
    first.enrol("Phone 1")
    first.wait_for_guidance()
    first.begin("HR-5301")
    first.wait_until_sent()
    with Lead(server) as lead:
        sha256 = lead.put_in_force(newer)
        old = lead.sha256
    assert first.envelopes("case.opened")[-1]["pack"] == old

    second.enrol("Phone 2")  # the newer guidance is the only one that it ever gets
    second.wait_for_guidance()
    second.send_now()
    second.page.get_by_role("link", name="HR-5301").click()
    second.button("Go on with it on this phone").click()
    expect(second.page.get_by_text("Other guidance than this case began with")).to_be_visible()
    Visit(second).step(second.heading)
    expect(second.main.get_by_role("heading", level=1, name=ONLY_NEWER)).to_be_visible()
    Visit(second).comfort(2)
    for type_ in ("case.taken", "step.done", "comfort.noted"):
        assert [line["pack"] for line in second.envelopes(type_)] == [sha256], type_


def test_a_recall_comes_with_the_next_tap_of_a_case_and_stops_what_waits(
    server: Server, contexts: Contexts
) -> None:
    phone = Phone(contexts.phone(), server)
    phone.enrol("Phone 7")
    phone.wait_for_guidance()
    phone.begin("HR-5401")
    case = phone.page.url
    alert = phone.page.get_by_role("alert").filter(has_text="This guidance has been recalled")
    with Lead(server) as lead:
        sha256 = lead.put_in_force(newer)
        phone.send_now()
        waits = phone.page.get_by_text("Guidance 2026.2 waits")
        expect(waits).to_be_visible()
        lead.recall(sha256, "The sentence of the second step is wrong.")
        phone.send_now()
        expect(waits).to_have_count(0)
        expect(alert).to_have_count(0)  # nobody works by it

        phone.page.goto(case)
        lead.recall(lead.sha256, "The margin of the ultra-wide optic is wrong.")
        Visit(phone).step(phone.heading)
        expect(alert).to_be_visible(timeout=15_000)  # in mid-case, and nobody asked the server by hand
        expect(alert).to_contain_text("The margin of the ultra-wide optic is wrong.")
    Visit(phone).step(phone.heading)  # the log goes on
    expect(alert).to_be_visible()
    phone.cancel_case()
    expect(alert).to_be_visible()
    expect(waits).to_have_count(0)
