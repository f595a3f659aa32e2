"""The emergency page of a phone, by what a person sees on it."""

from __future__ import annotations

import re
import sqlite3
from contextlib import closing
from typing import Any

from playwright.sync_api import Locator, expect

from page_line import inject
from phone_page import Phone
from serving import Server
from visit import Visit


class Emergency:
    def __init__(self, phone: Phone) -> None:
        self.phone = phone
        self.page = phone.page

    @property
    def sheet(self) -> Locator:
        return self.page.get_by_role("dialog", name="Emergency")

    @property
    def alarm(self) -> Locator:
        """What the clinic's criteria ask for, once met."""
        return self.sheet.get_by_role("alert").filter(has_text="call for help now")

    def open(self, inside: Locator | None = None) -> Emergency:
        around = inside or self.page.get_by_role("navigation", name="Ways out")
        around.get_by_role("button", name="Emergency", exact=True).click()
        expect(self.sheet).to_contain_text("Draw back.")
        # the record has begun: its first line is on the disk
        expect(self.sheet.get_by_role("navigation", name="Parts of this page")).to_be_visible()
        return self

    def part(self, name: str) -> None:
        parts = self.sheet.get_by_role("navigation", name="Parts of this page")
        parts.get_by_role("button", name=name, exact=True).click()

    def sign(self, *names: str) -> None:
        self.part("Signs")
        for name in names:
            found = self.sheet.get_by_role("button", name=re.compile(f"^{re.escape(name)}"))
            found.click()
            expect(found).to_have_attribute("aria-pressed", "true")

    def act(self, name: str) -> None:
        self.part("Actions")
        logged = self.sheet.get_by_role("region", name="Logged").get_by_text(name)
        before = logged.count()
        self.sheet.get_by_role("button", name=re.compile(f"^{re.escape(name)}")).first.click()
        expect(logged).to_have_count(before + 1)

    def read(self, **values: int) -> None:
        self.part("Values")
        for name, value in values.items():
            label = name.replace("_", ", ").capitalize()
            self.sheet.get_by_label(re.compile(f"^{re.escape(label)}")).fill(str(value))
        self.sheet.get_by_role("button", name="Log these readings").click()
        sure = self.sheet.get_by_role("button", name="Log it as it is")
        cleared = self.sheet.get_by_label(re.compile("^Pulse"))
        expect(sure.or_(self.sheet.get_by_role("region", name="So far"))).to_be_visible()
        if sure.is_visible():
            sure.click()
        expect(cleared).to_have_value("")

    def end(self, how: str) -> None:
        self.part("End")
        self.sheet.get_by_role("button", name=how, exact=True).click()
        expect(self.sheet).to_have_count(0)


def in_a_series(phone: Phone, code: str, *, ago_s: float = 70, practice: bool = False) -> str:
    """A case whose dye went in `ago_s` seconds ago, its series on the screen; the case's id."""
    phone.begin(code, eyes="Both", asked=("Fluorescein",), practice=practice)
    case = phone.case_id
    phone.page.evaluate("to => { location.hash = to; }", f"#/case/{case}/optic")
    Visit(phone).choose_optic()
    inject(phone, "fluorescein", ago_s=ago_s)
    phone.page.evaluate("to => { location.hash = to; }", f"#/case/{case}/series")
    expect(phone.page.locator("main").get_by_role("timer").first).to_be_visible()
    return case


def incidents(server: Server) -> list[dict[str, Any]]:
    """As they stand in the server's file, oldest first."""
    with closing(sqlite3.connect(server.data / "chinrest.db")) as database:
        database.row_factory = sqlite3.Row
        rows = database.execute("SELECT * FROM incidents ORDER BY at").fetchall()
    return [dict(row) for row in rows]
