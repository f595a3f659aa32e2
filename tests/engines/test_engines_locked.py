"""A phone with PINs, once in each engine that is promised. Everything that is entered is invented."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from typing import TYPE_CHECKING

import pytest
import short_case

from chinrest.log.verify import verify
from phone_page import server_raws
from serving import Server

if TYPE_CHECKING:
    from screen import Screen

    from engines import Browser

pytestmark = [pytest.mark.browser, pytest.mark.timeout(240)]

CODE = "HR-7310"
NAME, PIN = "QX", "246813"
DEVICE = """
  const asked = (request) => new Promise((ok, no) => {
    request.onsuccess = () => ok(request.result);
    request.onerror = () => no(request.error);
  });
  const db = await asked(indexedDB.open("chinrest-log"));
  try { return (await asked(db.transaction("meta").objectStore("meta").get("device"))).id; }
  finally { db.close(); }
"""


def set_first_pin(screen: Screen) -> None:
    screen.place("#/settings")
    screen.press("Set the first PIN")
    screen.fill("Initials or staff id", NAME)
    screen.fill("New PIN or passphrase", PIN)
    screen.fill("The same again", PIN)
    screen.press("Set this PIN", ("dialog", None))
    screen.gone("dialog")
    screen.see("button", "Lock now")


def is_locked(screen: Screen) -> None:
    screen.see("heading", "Locked")
    screen.see("field", "Your PIN or passphrase")
    assert CODE not in screen.shown


def starts_locked(screen: Screen) -> None:
    """An emergency that was put away the moment before the browser ended may be open again: what a page keeps
    beside its database, some engines write down only after a while."""
    is_locked(screen)
    if "over=emergency" in screen.address:
        screen.press("Back", ("dialog", "Emergency"))
        screen.gone("dialog")


def unlock(screen: Screen) -> None:
    screen.fill("Your PIN or passphrase", PIN)
    screen.press("Unlock")
    screen.gone("heading", "Locked")


def emergency(screen: Screen) -> None:
    sheet = ("dialog", "Emergency")
    screen.press("Emergency")
    screen.press("Signs", sheet)
    screen.press(re.compile("^Itching"), sheet)
    screen.wait("the sign", lambda: "Itching" in screen.shown)
    screen.press("Back", sheet)
    screen.gone("dialog")


def test_locked_it_logs_an_emergency_without_a_server_and_all_comes_back_by_the_pin(
    server: Server, opens: Callable[..., Browser]
) -> None:
    first = opens()
    screen = first.screen
    short_case.enrol(screen, server)
    short_case.ready_without_a_server(screen)
    set_first_pin(screen)
    screen.place("#/")
    case = short_case.begin(screen, CODE)
    device = str(screen.script(DEVICE))
    server.kill()
    screen.place("#/settings")
    screen.press("Lock now")
    is_locked(screen)
    emergency(screen)
    first.close()

    second = opens()
    second.screen.go(f"{server.origin}/")
    starts_locked(second.screen)
    unlock(second.screen)
    second.screen.see("heading", "Who wrote this?")
    second.screen.press("Pick all")
    second.screen.press("It was me: 2 lines")
    second.screen.see("heading", "In the chair")
    assert CODE in second.screen.shown
    second.kill()

    screen = opens().screen
    screen.go(f"{server.origin}/")
    starts_locked(screen)
    server.start()
    unlock(screen)
    words = re.compile("^Everything of this phone is on the server")
    screen.see("heading", "In the chair")
    screen.wait("a try to send", lambda: screen.has("text", words) or screen.has("button", "Send now"))
    if not screen.has("text", words):
        screen.press("Send now")
    screen.see("text", words)
    raws = server_raws(server, device)
    verdict = verify(raws)
    assert verdict.ok, verdict.first_bad
    lines = [json.loads(raw.split(b"\t")[0]) for raw in raws]
    assert [line["seq"] for line in lines] == list(range(1, len(raws) + 1))
    locked = [line for line in lines if line["type"].startswith("reaction.")]
    assert [(line["type"], line["case"], line["actor"]) for line in locked] == [
        ("reaction.started", case, None),
        ("reaction.sign", case, None),
    ]
    (said,) = [
        json.loads(raw.split(b"\t")[1])
        for raw, line in zip(raws, lines, strict=True)
        if line["type"] == "lines.confirmed"
    ]
    assert (said["by"], said["lines"]) == (NAME, [line["id"] for line in locked])
