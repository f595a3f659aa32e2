"""The officer's and the lead's desk, by what a person sees on it."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from playwright.sync_api import expect

from serving import Server

if TYPE_CHECKING:
    from playwright.sync_api import BrowserContext, Locator


class Desk:
    def __init__(self, context: BrowserContext, server: Server) -> None:
        self.context = context
        self.server = server
        self.page = context.new_page()

    def sign_in(self, role: str = "officer") -> Desk:
        name, password = self.server.sign_in(role)
        self.page.goto(f"{self.server.origin}/desk")
        self.page.get_by_label("Name").fill(name)
        self.page.get_by_label("Password").fill(password)
        self.page.get_by_role("button", name="Sign in").click()
        expect(self.page.get_by_role("navigation", name="Desk")).to_be_visible()
        return self

    def follow_nothing(self) -> None:
        """From its next try on the page finds no stream of changes, as behind a proxy that lets none pass."""
        self.page.route("**/api/changes*", lambda route: route.fulfill(status=204))

    def go(self, place: str, heading: str | re.Pattern[str]) -> None:
        """To a place by its address, once its heading stands and nothing is on its way any more."""
        self.page.goto(f"{self.server.origin}/desk#/{place}")
        expect(self.page.get_by_role("heading", level=1, name=heading)).to_be_visible()
        # what optics compute to takes seconds, more where the machine is busy
        expect(self.page.get_by_text(re.compile("^Asking"))).to_have_count(0, timeout=30_000)

    def incidents(self, query: str = "") -> None:
        self.go(f"incidents{query}", "Incidents and near misses")

    def rows(self) -> Locator:
        """The table's rows without its head."""
        return self.page.get_by_role("table").get_by_role("row").filter(has=self.page.get_by_role("cell"))

    def links(self) -> Locator:
        """The rows' own links, one a row."""
        return self.page.locator("a.desk-row-link")

    def incident(self, line: str, what: str | re.Pattern[str] = "") -> None:
        self.go(f"incident/{line}", what)

    def state(self, word: str) -> None:
        """How far the review of the incident on the page is."""
        expect(self.page.locator("main .row-ends").get_by_text(word, exact=True)).to_be_visible()

    def part(self, name: str) -> Locator:
        return self.page.get_by_role("region", name=name, exact=True)

    def entry(self, title: str | re.Pattern[str]) -> Locator:
        """A line on the line of time, by its title."""
        return self.page.get_by_role("article", name=title)
