"""The offline core, once in each engine that is promised. Everything that is entered is invented."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
import short_case
from short_case import Kept

from chinrest.log.verify import verify
from engines import PROMISED
from lead_office import Lead
from phone_page import server_raws
from serving import Server

if TYPE_CHECKING:
    from screen import Screen

    from engines import Browser

pytestmark = [pytest.mark.browser, pytest.mark.timeout(240)]

Opens = Callable[..., "Browser"]

# the old WebKit's own browser forgets everything when it ends, so it goes through what needs one run only
ALSO_THE_OLD = pytest.mark.parametrize("engine", [*PROMISED, "wpewebkit"], indirect=True)


def sent(screen: Screen) -> None:
    """By the phone's own words, everything of it is on the server."""
    screen.place("#/")
    screen.see("heading", "In the chair")
    words = re.compile("^Everything of this phone is on the server")
    screen.wait("a try to send", lambda: screen.has("text", words) or screen.has("button", "Send now"))
    if not screen.has("text", words):
        screen.press("Send now")
    screen.see("text", words)


def by_file(screen: Screen, server: Server, folder: Path) -> None:
    """What waits goes to the server in a file, and its answer comes back in one: there is no link."""
    file, answer = folder / "lines.txt", folder / "answer.txt"
    screen.place("#/unsent")
    screen.press("Make the file")
    screen.saved(lambda: screen.press("Save the file"), file)
    server.run("take", str(file), "--receipts", str(answer))
    screen.pick_file("Open an answer file, or another phone's file", answer)
    screen.see("text", re.compile("lines are on the server and no longer wait here"))


def opens_at_all(screen: Screen, address: str) -> bool:
    """Whether the app comes up. An engine may say no by an error of its driver or by a page of its own."""
    try:
        screen.go(address)
    except Exception as error:
        if not re.search("cert|tls|ssl|issuer|authority", str(error), re.IGNORECASE):
            raise
        return False
    return bool(screen.script("return document.querySelector('#app') !== null"))


def test_under_tls_it_installs_and_starts_cold_with_the_server_dead(
    tmp_path: Path, front_end: Path, opens: Opens
) -> None:
    with Server(tmp_path, "--local-tls") as server:
        stranger = opens("stranger")
        assert not opens_at_all(stranger.screen, f"{server.origin}/"), "nobody has trusted this hub"
        stranger.close()

        tls = server.data / "tls"
        first = opens("phone", tls)
        short_case.enrol(first.screen, server)
        short_case.ready_without_a_server(first.screen)
        assert first.screen.script("return isSecureContext && location.protocol") == "https:"
        kept = Kept(first.screen)
        first.close()
        server.kill()
        again = opens("phone", tls).screen
        again.go(f"{server.origin}/")
        again.see("heading", "In the chair")
        again.see("link", "Begin a case")
        assert not again.has("heading", "Chinrest has not started")
        now = Kept(again)
        assert now.device == kept.device
        assert now.raws[: len(kept.raws)] == kept.raws


@ALSO_THE_OLD
def test_a_whole_case_without_a_server_then_every_line_of_it_once_on_the_server(
    server: Server, opens: Opens
) -> None:
    screen = opens().screen
    short_case.enrol(screen, server)
    short_case.ready_without_a_server(screen)
    sent(screen)
    server.kill()
    screen.reload()
    case = short_case.begin(screen, "HR-7301")
    short_case.whole(screen, case)
    kept = Kept(screen)
    (face,) = kept.bodies("face.measured")
    assert (face["pd_mm"], face["exophthalmometry"]) == (62, "deep-set")
    assert [body["optic"] for body in kept.bodies("optic.chosen")] == ["ultrawide"]
    (injected,) = kept.bodies("dye.injected")
    assert injected["dye"] == "fluorescein"
    assert [body["state"] for body in kept.bodies("series.burst")] == ["started", "ended"]
    (event,) = kept.bodies("safety.noted")
    assert event["what"] == "optic_loose_or_dropped"
    (closed,) = kept.bodies("case.closed")
    assert closed["outcome"] == "stopped"

    server.start()
    sent(screen)
    lines = Kept(screen).raws
    assert lines[: len(kept.raws)] == kept.raws
    on_server = server_raws(server, kept.device)
    assert on_server == lines
    verdict = verify(on_server)
    assert verdict.ok, verdict.first_bad


def test_a_browser_that_is_killed_in_mid_case_comes_back_with_all_and_hands_it_over_by_file(
    server: Server, opens: Opens, tmp_path: Path
) -> None:
    first = opens()
    screen = first.screen
    short_case.enrol(screen, server)
    short_case.ready_without_a_server(screen)
    server.kill()
    case = short_case.begin(screen, "HR-7302")
    short_case.measure_face(screen, case)
    short_case.choose_optic(screen, case)
    short_case.near_miss(screen)
    kept = Kept(screen)
    first.kill()  # the moment the event is on record: no time to tidy up

    again = opens().screen
    again.go(f"{server.origin}/")
    again.press(re.compile("Go on"), kind="link")
    again.wait("the case", lambda: case in again.address)
    again.see("heading")
    # the browser may answer about its store only now, which is a line of its own
    assert Kept(again).raws[: len(kept.raws)] == kept.raws
    short_case.another_near_miss(again)
    now = Kept(again)
    assert len(now.bodies("safety.noted")) == 2
    verdict = verify(now.raws)
    assert verdict.ok, verdict.first_bad
    by_file(again, server, tmp_path)
    taken = server_raws(server, now.device)
    assert taken[: len(now.raws)] == now.raws
    assert Kept(again).raws[: len(taken)] == taken


def test_an_officer_signs_in_and_finds_what_came(server: Server, opens: Opens) -> None:
    screen = opens().screen
    short_case.enrol(screen, server)
    short_case.ready_without_a_server(screen)
    short_case.begin(screen, "HR-7303")
    short_case.near_miss(screen)
    sent(screen)

    name, password = server.sign_in("officer")
    screen.go(f"{server.origin}/desk")
    for tried, word in (("not the password", None), (password, "Incidents and near misses")):
        screen.fill("Name", name)
        screen.fill("Password", tried)
        screen.press("Sign in")
        if word is None:
            screen.see("alert")
        else:
            screen.see("heading", word)
    screen.press(re.compile("^Optic not latched"), kind="link")
    screen.see("heading", re.compile("^Optic not latched"))
    assert "HR-7303" in screen.shown


# what a person is told where the engine has not got it, by a test in the page of whether it has
MEANINGS = [
    ("'wakeLock' in navigator", "#/", "The screen may go dark in a case"),
    ("'wakeLock' in navigator", "#/settings", "this browser cannot keep it awake"),
    ("!!navigator.storage?.persist", "#/", "It has no way to promise that the store is kept."),
    ("!!navigator.storage?.persist", "#/settings", "this browser cannot promise it"),
    ("'vibrate' in navigator", "#/settings", "This browser or phone cannot vibrate."),
    ("'speechSynthesis' in window", "#/settings", "This browser does not speak."),
]


@ALSO_THE_OLD
def test_guidance_is_proved_by_this_engine_and_what_the_engine_lacks_is_said(
    server: Server, opens: Opens
) -> None:
    screen = opens().screen
    short_case.enrol(screen, server)
    short_case.ready_without_a_server(screen)
    (taken,) = Kept(screen).bodies("pack.taken")

    def wrong(pack: dict[str, Any]) -> None:
        assert taken["vectors"] == len(pack["fit_vectors"]) > 50
        pack["version"] = "2026.3"
        vector = next(v for v in pack["fit_vectors"] if v["clearance_mm"] is not None)
        vector["clearance_mm"] += 1.0

    with Lead(server) as lead:
        assert lead.sha256 == taken["sha256"]
        spoiled = lead.put_in_force_unproved(wrong, server.data / "chinrest.db")
    screen.press("Send now")
    screen.see("heading", "New guidance was refused")
    screen.wait("the line of it", lambda: Kept(screen).bodies("pack.refused"))
    (refused,) = Kept(screen).bodies("pack.refused")
    assert refused["sha256"] == spoiled
    assert len(refused["faults"]) == 1
    assert re.search(r"the gap \(mm\) is .* here and .* in the pack", refused["faults"][0])

    screen.wait("the answer about the store", lambda: Kept(screen).bodies("storage.asked"))
    for has, place, meaning in MEANINGS:
        screen.place(place)
        screen.see("heading", "Settings" if "settings" in place else "In the chair")
        lacks = not screen.script(f"return {has}")
        shown = screen.script("return document.body.textContent")
        assert (meaning in shown) == lacks, f"{has} is {not lacks}, and {place} says:\n{shown}"
    # no engine is asked to send by itself: the same words everywhere
    assert "only while the app is open" in shown
