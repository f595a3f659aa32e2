"""What a visit holds between injection and watch: the frames of a timed series, each answered."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from playwright.sync_api import expect

if TYPE_CHECKING:
    from visit import Visit


def take_series(visit: Visit) -> None:
    """From its step into the series, every frame as taken, and on. No test waits for a window."""
    main = visit.main
    main.get_by_role("link", name=re.compile("^(Open|Back to) the series")).click()
    frames = main.get_by_role("region", name="All frames of the series")
    expect(frames).to_be_visible()
    for _ in range(80):
        names = visit.names()
        answered = frames.get_by_role("heading").inner_text()
        if "Moved, and back in place" in names:
            visit.press("Moved, and back in place")
            expect(main.get_by_role("button", name="Moved, and back in place")).to_have_count(0)
        elif "Start the burst" in names:
            visit.press("Start the burst")
            visit.press("The burst is over")
            expect(main.get_by_role("region", name="The burst runs")).to_have_count(0)
        elif "Taken" in names:
            visit.press("Taken")
            expect(frames.get_by_role("heading")).not_to_have_text(answered)
        else:
            break
    expect(main.get_by_role("region", name="Done with the series")).to_be_visible()
    for _ in range(4):
        button = main.get_by_role("button", name=re.compile("^Look through the burst"))
        if not button.count():
            break
        left = button.count()
        button.first.click()
        sheet = visit.page.get_by_role("dialog", name="Look through the burst")
        sheet.get_by_role("button", name=re.compile("^All .* are good")).click()
        expect(sheet).to_have_count(0)
        expect(button).to_have_count(left - 1)
    main.get_by_role("link", name="To the steps").click()
    expect(main.get_by_role("link", name="Back to the series")).to_be_visible()
    visit.press_and_leave("Go on")
