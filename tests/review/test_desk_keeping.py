"""The desk's page of what is kept, due and erased, and what stands over every page when the last backup is
old."""

import asyncio
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor

import pytest
from playwright.sync_api import Page, expect
from scenes import Scene

from access import at_both_sizes, in_both_themes
from chinrest.server.context import now_ms
from chinrest.server.settings import place_of
from chinrest.store import Store
from chinrest.store.erasing import Order
from desk_page import Desk

pytestmark = pytest.mark.browser
UNBROKEN = """() => {
  const words = [...document.querySelectorAll(".desk-command > span")];
  return words.length > 0 && words.every((word) => word.getClientRects().length === 1);
}"""


def erased(scene: Scene) -> str:
    """A rule, and a case that somebody asked to have erased: its id."""

    async def run() -> str:
        store = await Store.open(place_of(scene.server.data))
        try:
            [lead] = [person for person in await store.staff() if person.role == "lead"]
            await store.set_retention(10, lead.id, "our rule, invented", now_ms())
            due = next(one for one in await store.due_before(now_ms() + 1) if one.held is None)
            order = Order(by=lead.id, rule="request", years=None, why="asked for it")
            await store.erase(due, order, now_ms())
            return due.case
        finally:
            await store.close()

    # the browser's driver has a loop of its own in this thread
    with ThreadPoolExecutor(1) as other:
        return other.submit(asyncio.run, run()).result()


def with_an_old_backup(page: Page) -> None:
    """The demo needs none, so the server's word is put in its mouth."""
    old = {"state": "old", "last_at": now_ms() - 9 * 86_400_000, "limit_days": 7}
    page.route("**/api/backup", lambda route: route.fulfill(json=old))


def test_what_is_kept_due_and_erased_and_how_old_the_last_backup_is(
    scene: Scene, desk: Callable[..., Desk]
) -> None:
    case = erased(scene)
    page = desk(scene, "lead").page
    with_an_old_backup(page)
    page.get_by_role("link", name="Keeping").click()
    expect(page.get_by_role("heading", level=1, name="Keeping and erasing")).to_be_visible()
    expect(page.get_by_text("The last backup was made 9 days ago")).to_be_visible()
    expect(page.get_by_text("Phones keep their lines until a backup holds them")).to_be_visible()
    rule = page.get_by_role("region", name="The rule in force")
    expect(rule).to_contain_text("Cases are kept for 10 years")
    expect(rule).to_contain_text("our rule, invented")
    # a command is read off the page and typed: however narrow it is, no word of one is broken
    expect(rule).to_contain_text("chinrest erase --for-good")
    before = page.viewport_size or {"width": 1280, "height": 900}
    for width in (1280, 1000, 700, 330):
        page.set_viewport_size({"width": width, "height": 900})
        page.wait_for_function(f"() => innerWidth === {width}")
        assert page.evaluate(UNBROKEN)
    page.set_viewport_size(before)
    page.get_by_role("button", name="Count what is due").click()
    expect(page.get_by_role("region", name="Due now")).to_contain_text("Nothing is due.")
    row = page.get_by_role("region", name="What was erased").get_by_role("row").nth(1)
    expect(row).to_contain_text("by request")
    expect(row.get_by_role("link", name="a case")).to_have_attribute("href", f"#/case/{case}")
    in_both_themes(page, "keeping")
    at_both_sizes(page, "keeping")
    row.get_by_role("link", name="a case").click()
    expect(page.get_by_text("Erased by request")).to_have_count(2)
