"""Days on which the phone itself fails, in a real browser: killed, full, emptied, two tabs, its clock set, a
newer app in mid-case. What the screen had confirmed must still be there."""

from __future__ import annotations

import os
import signal
import threading

from campaign import Ground, Survived
from holding import hold_raws, stored
from playwright.sync_api import Error, expect

import page_clock
from browsing import FRONT
from chinrest.log.verify import verify
from dying_browser import browsers_on, kill_browsers_on, opened
from full_phone import FILL
from newer_app import BUILD, look_for_update, package_of_its_own, release_a_newer_app
from phone_page import Phone, settle
from serving import Server
from two_tabs import TAP_ON, hold_to_one_chain, notes_of, other_tab
from visit import Visit

LATE = "Draw back and lock"


def ready(phone: Phone, label: str) -> Phone:
    phone.enrol(label)
    phone.wait_for_guidance()
    return phone


def sent(phone: Phone) -> int:
    """All of it sent, and held against what the phone has."""
    raws = settle(phone)
    return hold_raws(phone.server.data / "chinrest.db", {phone.device: raws})


def some_steps(ground: Ground, visit: Visit, most: int = 4) -> None:
    for _ in range(ground.dice.randint(1, most)):
        if visit.phone.heading.startswith((LATE, "Every step is done")):
            visit.comfort(ground.dice.randint(0, 3))
        else:
            visit.step(visit.phone.heading)


def killed(ground: Ground) -> Survived:
    """SIGKILL to the browser at any moment of a case."""
    profile = ground.folder / "profile"
    with Server(ground.folder) as server:
        try:
            phone = ready(Phone(opened(ground.tools.playwright, profile), server), "Phone 1")
            phone.wait_for_shell()
            phone.begin("HR-9001", asked=("Colour",))
            for _ in range(ground.rounds):
                shown = _until_killed(ground, phone, *browsers_on(profile))
                phone = Phone(opened(ground.tools.playwright, profile), server)
                phone.open()
                raws = phone.own_raws()
                assert raws[: len(shown)] == shown, "what the screen had confirmed is gone"
                assert verify(raws).ok
                phone.go_on()
            lines = sent(phone)
            phone.context.close()
        finally:
            kill_browsers_on(profile)
        return Survived(ground.rounds, lines)


def _until_killed(ground: Ground, phone: Phone, browser: int) -> list[bytes]:
    """Go on with the case until the browser dies; the lines that it had confirmed by then."""
    shown: list[bytes] = []
    timer = threading.Timer(ground.dice.uniform(0.1, 2.5), os.kill, (browser, signal.SIGKILL))
    visit = Visit(phone)
    timer.start()
    try:
        while True:
            shown = phone.own_raws()
            some_steps(ground, visit, most=1)
    except (Error, AssertionError):  # the browser is gone, or something is wrong with the page
        if timer.is_alive():
            timer.cancel()
            raise
    return shown


def two_tabs(ground: Ground) -> Survived:
    """Two tabs of one phone write into one log at the same time."""
    with Server(ground.folder) as server, ground.tools.contexts() as contexts:
        one = ready(Phone(contexts.phone(), server), "Phone 2")
        one.begin("HR-9002")
        two = other_tab(one, f"#/case/{one.case_id}/step")
        expect(two.button("Done")).to_be_visible()
        notes = [f"tap{number}" for number in range(6 * ground.rounds)]
        two.page.evaluate(f"notes => {{ window.tapping = ({TAP_ON})(notes); }}", notes)
        one.page.bring_to_front()
        some_steps(ground, Visit(one), most=5)
        two.page.evaluate("() => window.tapping")
        raws = hold_to_one_chain(one)
        assert sorted(notes_of(raws).elements()) == sorted(notes)
        return Survived(len(notes), sent(one), "taps of the second tab")


def full(ground: Ground) -> Survived:
    """The browser gives no more room: nothing is confirmed that is not kept, and with room it goes on."""
    with Server(ground.folder) as server, ground.tools.contexts() as contexts:
        phone = Phone(contexts.phone(), server)
        origin = {"origin": server.origin}
        cdp = phone.context.new_cdp_session(phone.page)
        # before anything is stored: Chromium remembers for a while how much room there was
        cdp.send("Storage.overrideQuotaForOrigin", {**origin, "quotaSize": 6_000_000})
        ready(phone, "Phone 3")
        phone.begin("HR-9003", asked=("Colour",))
        visit = Visit(phone)
        some_steps(ground, visit, most=3)
        case, before = phone.page.url, phone.own_raws()
        phone.page.evaluate(FILL)
        phone.page.get_by_role("navigation", name="Ways out").get_by_role("button", name="Comfort").click()
        sheet = phone.page.get_by_role("dialog", name="Comfort")
        sheet.get_by_role("button", name="2", exact=True).click()
        sheet.get_by_role("button", name="Note 2 of 10").click()
        expect(phone.page.get_by_role("heading", name="The phone is full")).to_be_visible()
        assert phone.own_raws() == before, "a tap that was not confirmed left something behind"
        phone.page.evaluate("indexedDB.deleteDatabase('other-things')")
        cdp.send("Storage.overrideQuotaForOrigin", origin)
        phone.button("Load again").click()
        phone.page.goto(case)
        phone.reload()
        some_steps(ground, visit)
        assert phone.own_raws()[: len(before)] == before
        return Survived(1, sent(phone))


def evicted(ground: Ground) -> Survived:
    """The browser throws everything of the app away in mid-case. What was acknowledged is at the server; the
    phone says that it is nobody, and goes on under a new name with a chain of its own."""
    with Server(ground.folder) as server, ground.tools.contexts() as contexts:
        phone = ready(Phone(contexts.phone(), server), "Phone 4")
        written: dict[str, list[bytes]] = {}
        for round_ in range(ground.rounds):
            phone.begin(f"HR-904-{round_}", asked=("Colour",))
            some_steps(ground, Visit(phone))
            device = phone.device
            written[device] = settle(phone)
            cdp = phone.context.new_cdp_session(phone.page)
            cdp.send("Storage.clearDataForOrigin", {"origin": server.origin, "storageTypes": "all"})
            cdp.detach()
            phone.page.goto("about:blank")
            phone.page.goto(server.origin)
            expect(phone.page.get_by_role("heading", name="Enrol this phone")).to_be_visible()
            assert stored(server.data / "chinrest.db", device) == written[device]
            ready(phone, f"Phone 4 again {round_}")
            assert phone.device != device
        phone.begin("HR-9049")
        some_steps(ground, Visit(phone))
        written[phone.device] = settle(phone)
        return Survived(ground.rounds, hold_raws(server.data / "chinrest.db", written))


def clock_set(ground: Ground) -> Survived:
    """Somebody sets the phone's clock in mid-case, by minutes or years, forward and back."""
    with Server(ground.folder) as server, ground.tools.contexts() as contexts:
        context = contexts.phone()
        page_clock.install(context)
        phone = ready(Phone(context, server), "Phone 5")
        phone.begin("HR-9005", asked=("Colour",))
        clock, visit = page_clock.PageClock(phone.page), Visit(phone)
        for _ in range(2 * ground.rounds):
            clock.is_set(round(ground.dice.choice([-1, 1]) * 10 ** ground.dice.uniform(1, 8)))
            some_steps(ground, visit, most=2)
        hold_to_one_chain(phone)
        return Survived(2 * ground.rounds, sent(phone))


def newer_app(ground: Ground) -> Survived:
    """A newer app comes in mid-case: the case is finished with what it began with, and then it is taken."""
    package = package_of_its_own(ground.folder, FRONT / "dist")
    with (
        ground.environment(PYTHONPATH=str(package.parent)),
        Server(ground.folder) as server,
        ground.tools.contexts() as contexts,
    ):
        phone = ready(Phone(contexts.phone(), server), "Phone 6")
        phone.wait_for_shell()
        phone.begin("HR-9006", asked=("Colour",))
        visit = Visit(phone)
        some_steps(ground, visit)
        case, before = phone.page.url, phone.own_raws()
        release_a_newer_app(package / "static")
        look_for_update(phone)
        some_steps(ground, visit)
        phone.reload()
        assert phone.page.evaluate(BUILD) is None, "the app changed in mid-case"
        phone.home()
        expect(phone.button("Update the app now")).to_have_count(0)
        phone.page.goto(case)
        expect(phone.main.get_by_role("heading", level=1).first).to_be_visible()
        phone.cancel_case()
        phone.button("Update the app now").click()
        phone.page.wait_for_function(f"() => {BUILD} === 'newer'")
        expect(phone.page.get_by_role("heading", name="In the chair")).to_be_visible()
        assert phone.own_raws()[: len(before)] == before
        return Survived(1, sent(phone))
