"""The photographer's phone, by what a person sees on it: headings, buttons, fields, by role and name."""

from __future__ import annotations

import json
import re
import sqlite3
import time
from contextlib import closing
from typing import TYPE_CHECKING, Any

from playwright.sync_api import expect

from serving import Server

if TYPE_CHECKING:
    from playwright.sync_api import BrowserContext, Locator, Page

OPEN_LOG = """
  const asked = (request) => new Promise((ok, no) => {
    request.onsuccess = () => ok(request.result);
    request.onerror = () => no(request.error);
  });
  const db = await asked(indexedDB.open("chinrest-log"));
"""
READ_LINES = f"""async () => {{ {OPEN_LOG}
  try {{ return await asked(db.transaction("lines").objectStore("lines").getAll()); }}
  finally {{ db.close(); }}
}}"""
READ_DEVICE = f"""async () => {{ {OPEN_LOG}
  try {{ return (await asked(db.transaction("meta").objectStore("meta").get("device"))).id; }}
  finally {{ db.close(); }}
}}"""


class Phone:
    """One page of the chairside app. Another tab of the same phone is another `Phone` in the same context."""

    def __init__(self, context: BrowserContext, server: Server, page: Page | None = None) -> None:
        self.context = context
        self.server = server
        self.page = page or context.new_page()

    # around
    @property
    def main(self) -> Locator:
        return self.page.locator("main").first

    def button(self, name: str | re.Pattern[str], exact: bool = True) -> Locator:
        return self.page.get_by_role("button", name=name, exact=exact)

    def open(self, place: str = "") -> None:
        self.page.goto(f"{self.server.origin}/{place}")
        expect(self.page.get_by_role("heading", level=1).first).to_be_visible()

    def reload(self) -> None:
        self.page.reload()
        expect(self.page.get_by_role("heading", level=1).first).to_be_visible()

    def wait_for_shell(self) -> None:
        """Until the app would start without the server."""
        self.page.wait_for_function("() => navigator.serviceWorker.ready.then(() => true)")
        self.page.wait_for_function("() => navigator.serviceWorker.controller !== null")

    def enrol(self, label: str = "Test phone", site: str = "harbour") -> None:
        code = self.server.enrol_code(site, label)
        self.open(f"#enrol={code}")
        self.page.get_by_label("What this phone is called").fill(label)
        self.button("Enrol this phone").click()
        expect(self.page.get_by_role("heading", name="In the chair")).to_be_visible()

    def wait_for_guidance(self) -> None:
        self.home()
        expect(self.page.get_by_role("link", name="Begin a case")).to_be_visible()

    def home(self) -> None:
        self.page.evaluate("location.hash = '#/'")
        expect(self.page.get_by_role("heading", name="In the chair")).to_be_visible()

    # a case
    @property
    def case_id(self) -> str:
        found = re.search(r"#/case/([^/?]+)", self.page.url)
        assert found, f"no case is open at {self.page.url}"
        return found[1]

    def begin(
        self,
        code: str,
        *,
        eyes: str = "Right",
        asked: tuple[str, ...] = ("Colour",),
        flags: tuple[str, ...] = (),
        practice: bool = False,
    ) -> None:
        """A new case by the form; `eyes` is how the choice of eye begins."""
        self.home()
        self.page.get_by_role("link", name="Begin a case").click()
        self.page.get_by_label("Case code").fill(code)
        self.pick("Which eye", re.compile(f"^{eyes}"))
        if eyes == "Both":
            self.pick("Study eye", "Right")
        for name in asked:
            self.page.get_by_role("group", name="Asked for", exact=True).get_by_role(
                "checkbox", name=re.compile(name, re.IGNORECASE)
            ).first.check()
        self.pick("Cross-sections asked for", "No")
        for flag in flags:
            self.page.get_by_role("checkbox", name=re.compile(flag, re.IGNORECASE)).first.check()
        if practice:
            self.pick("Counts as", "Practice")
        self.button("Begin").click()
        self.page.wait_for_url(re.compile(r"#/case/"))

    def pick(self, legend: str, option: str | re.Pattern[str]) -> None:
        group = self.page.get_by_role("group", name=legend)
        group.get_by_role("radio", name=option).first.check()

    def number(self, label: str | re.Pattern[str], digits: str, done: str = "Use this") -> None:
        pad = self.page.get_by_role("group", name=label)
        for digit in digits:
            pad.get_by_role("button", name="Decimal point" if digit == "." else digit, exact=True).click()
        pad.get_by_role("button", name=done, exact=True).click()

    def go_on(self) -> None:
        """From home into the case that is in the chair."""
        self.page.get_by_role("link", name=re.compile("Go on")).first.click()
        self.page.wait_for_url(re.compile(r"#/case/"))

    def cancel_case(self) -> None:
        """Close the case that is shown, without its steps."""
        self.button("Case").click()
        self.page.get_by_role("button", name="Close or hand over").click()
        sheet = self.page.get_by_role("dialog", name="Close or hand over")
        sheet.get_by_role("radio", name="Cancelled").check()
        sheet.get_by_role("radio", name="Does not apply here").check()
        sheet.get_by_role("button", name="Close the case").click()
        expect(self.page.get_by_role("heading", name="In the chair")).to_be_visible()

    @property
    def heading(self) -> str:
        return self.main.get_by_role("heading", level=1).first.inner_text()

    # what is stored where
    def lines(self) -> list[dict[str, Any]]:
        """Every line in this phone's own store, by device and sequence."""
        rows: list[dict[str, Any]] = self.page.evaluate(READ_LINES)
        return sorted(rows, key=lambda row: (row["device"], row["seq"]))

    @property
    def device(self) -> str:
        """The id of this phone, as its own first line has it."""
        return str(self.page.evaluate(READ_DEVICE))

    def own_raws(self) -> list[bytes]:
        device = self.device
        return [row["raw"].encode() for row in self.lines() if row["device"] == device]

    def envelopes(self, type_: str) -> list[dict[str, Any]]:
        """Of this phone's own lines of one type, as they were written."""
        found = [json.loads(raw.split(b"\t")[0]) for raw in self.own_raws()]
        return [envelope for envelope in found if envelope["type"] == type_]

    def bodies(self, type_: str) -> list[dict[str, Any]]:
        pairs = [[json.loads(part) for part in raw.split(b"\t")] for raw in self.own_raws()]
        return [body for envelope, body in pairs if envelope["type"] == type_]

    def stands(self, type_: str) -> list[dict[str, Any]]:
        """Of this phone's own lines of one type, the bodies as they stand: the last amendment of each, none
        of what was taken back."""
        bodies = {
            envelope["id"]: body
            for envelope, body in zip(self.envelopes(type_), self.bodies(type_), strict=True)
        }
        for told in self.bodies("line.amended"):
            if told["line"] in bodies:
                bodies[told["line"]] = told["body"]
        return [body for body in bodies.values() if body is not None]

    def send_now(self) -> None:
        """Tell the server what there is, and hear what it says."""
        self.home()
        with self.page.expect_response("**/api/sync"):
            self.button("Send now").click()
        expect(self.button("Send now")).to_be_enabled()

    def wait_until_sent(self) -> None:
        """By the phone's own words: everything of it is on the server."""
        self.home()
        words = self.page.get_by_text("Everything of this phone is on the server.")
        if not words.is_visible():
            send = self.button("Send now")
            if send.is_enabled():
                send.click()
        expect(words).to_be_visible(timeout=30_000)


def settle(phone: Phone, within_s: float = 15) -> list[bytes]:
    """Wait until nothing is being written any more and the server has each line; the lines."""
    deadline = time.monotonic() + within_s
    while True:
        phone.wait_until_sent()
        lines = phone.own_raws()
        if phone.bodies("pack.taken") and server_raws(phone.server, phone.device) == lines:
            return lines
        assert time.monotonic() < deadline, "lines of the phone that the server has not"
        phone.page.wait_for_timeout(100)


def server_raws(server: Server, device: str) -> list[bytes]:
    """The device's lines as they stand in the server's file, by sequence."""
    with closing(sqlite3.connect(server.data / "chinrest.db")) as database:
        rows = database.execute(
            "SELECT envelope, body FROM lines WHERE device = ? ORDER BY seq", (device,)
        ).fetchall()
    return [bytes(envelope) + b"\t" + bytes(body) for envelope, body in rows]
