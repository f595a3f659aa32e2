"""From a press of Emergency to its page, at 4x throttle: on kinds of screen, and at a cold start offline."""

import statistics
import sys
import tempfile
from pathlib import Path

from playwright.sync_api import Page, expect, sync_playwright

from .phone_side import throttle
from .table import Row, against
from .visit_side import context_of

TESTS = Path(__file__).resolve().parents[1]
LIMIT_MS = 100
PRESSES = 9
STARTS = 5
# from the press to the end of the frame that draws the page: a message posted in that frame comes after it
PRESS = """async () => {
  const buttons = [...document.querySelectorAll("button")].filter((b) => b.checkVisibility());
  const button = buttons.filter((b) => b.textContent.trim() === "Emergency").at(-1);
  const from = performance.now();
  button.click();
  for (;;) {
    await new Promise(requestAnimationFrame);
    const page = document.querySelector("dialog[open].sheet-danger");
    if (page?.textContent.includes("Draw back.")) break;
    if (performance.now() - from > 5000) throw new Error("the page never came");
  }
  await new Promise((drawn) => {
    const channel = new MessageChannel();
    channel.port1.onmessage = drawn;
    channel.port2.postMessage(0);
  });
  return performance.now() - from;
}"""


def press(page: Page) -> float:
    return float(page.evaluate(PRESS))


def put_away(page: Page) -> None:
    page.get_by_role("dialog", name="Emergency").get_by_role("button", name="Back", exact=True).click()
    expect(page.get_by_role("dialog", name="Emergency")).to_have_count(0)
    page.wait_for_function("() => !location.href.includes('over=emergency')")


def measure() -> list[Row]:
    sys.path.insert(0, str(TESTS))
    from phone_page import Phone
    from serving import Server
    from visit import Visit

    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        profile = f"{folder}/profile"
        with Server(Path(folder)) as server:
            context = context_of(playwright, profile)
            phone = Phone(context, server)
            phone.enrol()
            phone.wait_for_guidance()
            phone.wait_for_shell()
            phone.begin("B-2", asked=("Fluorescein",))
            Visit(phone).go_through(until="Set the head turn")
            throttle(phone.page, 4)
            first = press(phone.page)  # it writes the line that begins the record
            put_away(phone.page)
            again = []
            for _ in range(PRESSES):
                again.append(press(phone.page))
                put_away(phone.page)
            phone.button("Comfort").click()
            expect(phone.page.get_by_role("dialog", name="Comfort")).to_be_visible()
            inside = press(phone.page)
            put_away(phone.page)
            phone.home()
            home = press(phone.page)
            put_away(phone.page)  # or the next start would begin with it, and there would be nothing to press
            context.close()
            origin = server.origin
            server.kill()
        cold = []
        for _ in range(STARTS):
            context = context_of(playwright, profile)
            page = context.new_page()
            throttle(page, 4)
            page.goto(f"{origin}/#/settings")
            expect(page.get_by_role("button", name="Emergency").first).to_be_visible(timeout=20_000)
            cold.append(press(page))
            put_away(page)
            context.close()
    return [
        against(
            "press of Emergency to its page, 4x throttle: in a case, the first",
            first,
            LIMIT_MS,
            "ms",
            0,
        ),
        against(f"the same, median of {PRESSES} more", statistics.median(again), LIMIT_MS, "ms", 0),
        Row("the same, slowest of these", f"{max(again):.0f} ms"),
        against("the same, out of the comfort sheet", inside, LIMIT_MS, "ms", 0),
        against("the same, from home with no case", home, LIMIT_MS, "ms", 0),
        against(
            f"the same, server dead, as soon as a cold start shows the button: median of {STARTS}",
            statistics.median(cold),
            LIMIT_MS,
            "ms",
            0,
        ),
        Row("the same, slowest of these", f"{max(cold):.0f} ms"),
    ]
