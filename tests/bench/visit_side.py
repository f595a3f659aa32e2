"""In the real app at 4x throttle: cold start with the server dead, frames a second in a drag."""

import shutil
import statistics
import sys
import tempfile
from pathlib import Path

from playwright.sync_api import BrowserContext, Playwright, expect, sync_playwright

from .phone_side import percentile, throttle
from .table import Row, against

TESTS = Path(__file__).resolve().parents[1]
STARTS = 7
# The page itself notes when a case can be begun, so that no driver's delay is counted.
WATCH = """
new MutationObserver(() => {
  if (globalThis.usableAt) return;
  if ([...document.querySelectorAll("a")].some((a) => a.textContent.includes("Begin a case")))
    requestAnimationFrame(() => { globalThis.usableAt ??= performance.now(); });
}).observe(document, { childList: true, subtree: true });
"""
DRAG = """async () => {
  const picture = [...document.querySelectorAll("main svg")].find((svg) => svg.clientHeight > 150);
  const box = picture.getBoundingClientRect();
  const at = (type, share) => picture.dispatchEvent(new PointerEvent(type, {
    bubbles: true, pointerId: 1, isPrimary: true, pointerType: "touch", buttons: type === "pointerup" ? 0 : 1,
    clientX: box.left + box.width * share, clientY: box.top + box.height * 0.4,
  }));
  picture.setPointerCapture = () => {};  // a made-up pointer can't be captured
  const before = picture.outerHTML;
  const gaps = [];
  let last = await new Promise(requestAnimationFrame);
  at("pointerdown", 0.5);
  for (let i = 1; i <= 180; i++) {
    at("pointermove", 0.5 + 0.25 * Math.sin(i / 20));
    const now = await new Promise(requestAnimationFrame);
    gaps.push(now - last);
    last = now;
  }
  const moved = picture.outerHTML !== before;
  at("pointerup", 0.5);
  return { gaps, moved };
}"""


def context_of(playwright: Playwright, profile: str) -> BrowserContext:
    device = {k: v for k, v in playwright.devices["Pixel 7"].items() if k != "default_browser_type"}
    return playwright.chromium.launch_persistent_context(
        profile, executable_path=shutil.which("chromium"), **device
    )


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
            phone.begin("B-1", asked=("Fluorescein",))
            Visit(phone).go_through(until="Set the head turn")
            throttle(phone.page, 4)
            dragged = phone.page.evaluate(DRAG)
            if not dragged["moved"]:
                raise RuntimeError("the picture did not follow the drag")
            context.close()
            origin = server.origin
            server.kill()
            starts = []
            for _ in range(STARTS):
                context = context_of(playwright, profile)
                context.add_init_script(WATCH)
                page = context.new_page()
                throttle(page, 4)
                page.goto(f"{origin}/#/")
                expect(page.get_by_role("link", name="Begin a case")).to_be_visible(timeout=20_000)
                page.wait_for_function("() => globalThis.usableAt")
                starts.append(float(page.evaluate("globalThis.usableAt")))
                context.close()
    gaps = dragged["gaps"]
    middle = statistics.median(starts)
    rate = 1000 / statistics.mean(gaps)
    return [
        against(
            f"cold start, server dead, 4x throttle, to usable: median of {STARTS}",
            middle,
            1000,
            "ms",
            0,
        ),
        Row("the same, slowest", f"{max(starts):.0f} ms"),
        Row("frames a second while the head is dragged, 4x throttle", f"{rate:.1f}", "≥ 59", rate >= 59),
        Row("the same: time between frames, p95", f"{percentile(gaps, 0.95):.1f} ms"),
    ]
