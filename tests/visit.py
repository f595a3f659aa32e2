"""One patient's visit on the phone, step by step, as the photographer goes through it.

Whatever a step asks for is answered by its own buttons.
"""

from __future__ import annotations

import re
from collections.abc import Callable

from playwright.sync_api import Locator, expect

import visit_dye
import visit_series
from phone_page import Phone

Hook = Callable[["Visit", str], None]


class Visit:
    """A case open on a phone. `depth` is how the eye's depth is judged, `outcome` how the pose was."""

    def __init__(
        self, phone: Phone, *, optic: str = "Ultra-wide", depth: str = "Deep-set", outcome: str = "As advised"
    ) -> None:
        self.phone = phone
        self.page = phone.page
        self.optic = optic
        self.depth = depth
        self.outcome = outcome
        self.done: list[str] = []
        self.turns: list[str] = []

    @property
    def main(self) -> Locator:
        return self.page.locator("main")

    def names(self) -> list[str]:
        """What can be pressed here, hidden things left out."""
        found: list[str] = self.main.get_by_role("button").evaluate_all(
            """all => all.filter((b) => b.checkVisibility())
              .map((b) => b.getAttribute("aria-label") ?? b.textContent.trim())"""
        )
        return found

    def press(self, name: str | re.Pattern[str]) -> None:
        exact = isinstance(name, str)
        self.main.get_by_role("button", name=name, exact=exact).first.click()

    def press_and_leave(self, name: str | re.Pattern[str]) -> None:
        """Press what ends a step, and wait until the address names another."""
        here = self.page.url
        self.press(name)
        self.page.wait_for_function("here => location.href !== here", arg=here)

    def go_through(self, *, until: str | None = None, hook: Hook | None = None, most: int = 120) -> None:
        """Step after step, to the end or to the step whose sentence begins with `until`.

        `hook` is called before each step with its sentence, and may do something over it.
        """
        for _ in range(most):
            sentence = self.phone.heading
            if sentence.startswith("Every step is done"):
                assert until is None, f"no step begins with {until!r}"
                return
            if until is not None and sentence.startswith(until):
                return
            if hook is not None:
                hook(self, sentence)
            self.step(sentence)
        raise AssertionError(f"still at {self.phone.heading!r} after {most} steps")

    def step(self, sentence: str) -> None:
        # some panels are read in when they are first asked for
        expect(self.main.get_by_text("Opening…")).to_have_count(0)
        names = self.names()
        has = names.__contains__
        if has("Go to it"):
            self.press_and_leave("Go to it")
            return
        self.done.append(sentence)
        around_dye = visit_dye.is_ours(names, self.main)
        if around_dye is not None:
            around_dye(self)
        elif has("Save this face"):
            self.measure_face()
        elif has("Save the pupil"):
            self.phone.number(re.compile("^Pupil of the"), "7")
            self.phone.pick("Dilated by drops?", "Yes")
            self.press_and_leave("Save the pupil")
        elif any(name.startswith("Guide by") for name in names):
            self.choose_fixation()
        elif has("Use this turn"):
            self.take_turn()
        elif has("Save how it was"):
            self.say_how_it_was()
        elif has("Reached by eye"):
            self.press_and_leave("Reached by eye")
        elif self.main.get_by_role("link", name=re.compile("^(Open|Back to) the series")).count():
            visit_series.take_series(self)
        elif has("Taken") or has("Go on") or has("Moved, and back in place"):
            self.take_frames()
        elif has("Ask, and log it"):
            self.comfort(2, opened_by=lambda: self.press("Ask, and log it"), leaves=True)
        elif any(name.startswith(("Choose ", "Go on with ")) for name in names):
            self.choose_optic()
        elif has("Save") and self.page.get_by_label("In a few words").count():
            self.page.get_by_label("In a few words").fill("dilating drops, both eyes")
            self.press_and_leave("Save")
        elif has("Save"):
            for digit in "20":
                self.press(digit)
            self.press_and_leave("Save")
        else:
            self.press_and_leave(next(name for name in ("Done", "Read", "Next") if has(name)))

    # panels
    def measure_face(self) -> None:
        self.phone.pick(re.compile("^Is this a face that the tables know"), "Yes")
        if "Use this" in self.names():
            self.phone.number("Distance between the pupils", "62")
        self.phone.pick(re.compile("^Depth of the .* eye, judged"), self.depth)
        self.phone.pick("Bridge of the nose", "Medium")
        self.phone.pick("Brow", "Medium")
        self.phone.pick("Neck", "Free")
        self.phone.pick("Age", re.compile("^40"))
        self.press_and_leave("Save this face")

    def choose_fixation(self) -> None:
        self.phone.pick(re.compile(r"\(imaged\) see the light"), "Yes")
        self.phone.pick(re.compile(r"\(fellow\) see the light"), "Yes")
        self.phone.pick(re.compile("^How is the .* eye guided"), re.compile("^Outside light"))
        self.press_and_leave("Guide by outside light")

    def choose_optic(self) -> None:
        card = self.page.get_by_role("list", name="Optics").get_by_role("listitem")
        mine = card.filter(has=self.page.get_by_role("heading", name=self.optic, exact=True))
        here = self.page.url
        way = mine.get_by_role("button", name=re.compile("^(Choose|Go on with) "))
        chooses = way.inner_text().startswith("Choose")
        way.click()
        if chooses:
            sheet = self.page.get_by_role("dialog")
            sheet.get_by_role("textbox").fill("asked for by the request")
            sheet.get_by_role("button", name=re.compile("^(Use|Change to) ")).click()
        self.page.wait_for_function("here => location.href !== here", arg=here)

    def take_turn(self) -> None:
        turn = self.page.get_by_role("region", name="The computed turn")
        self.turns.append(turn.locator("p").first.inner_text())
        self.press_and_leave("Use this turn")

    def say_how_it_was(self) -> None:
        """After the approach: the answers that the turn is judged by."""
        found = self.page.get_by_role("region", name="How it was")
        found.get_by_role("radio", name=re.compile(f"^{self.outcome}")).check()
        if self.outcome.startswith(("More", "Less")):
            found.get_by_role("button", name="4", exact=True).click()
        self.phone.pick("Did the optic touch skin or lashes?", "No")
        self.press_and_leave("Save how it was")

    def take_frames(self) -> None:
        """Every frame of the list as taken."""
        for _ in range(40):
            names = self.names()
            rows = self.page.get_by_role("region", name="All frames of this list")
            if "Go on" in names:
                self.press_and_leave("Go on")
                return
            if "Moved, and back in place" in names:
                self.press("Moved, and back in place")
                expect(self.main.get_by_role("button", name="Taken", exact=True)).to_be_visible()
                continue
            answered = rows.get_by_role("heading").inner_text() if rows.count() else ""
            self.press("Taken")
            expect(rows.get_by_role("heading")).not_to_have_text(answered)
        raise AssertionError("the list of frames never ends")

    # over any screen
    def put_away(self, sheet: Locator) -> None:
        """Until the sheet is gone, from the address too: the browser's 'back' takes it from there later."""
        expect(sheet).to_have_count(0)
        self.page.wait_for_function("() => !location.href.includes('over=')")

    def comfort(
        self, score: int, *, opened_by: Callable[[], None] | None = None, leaves: bool = False
    ) -> None:
        here = self.page.url
        if opened_by:
            opened_by()
        else:
            self.page.get_by_role("navigation", name="Ways out").get_by_role("button", name="Comfort").click()
        sheet = self.page.get_by_role("dialog", name="Comfort")
        sheet.get_by_role("button", name=str(score), exact=True).click()
        sheet.get_by_role("button", name=f"Note {score} of 10").click()
        self.put_away(sheet)
        if leaves:
            self.page.wait_for_function(
                "here => location.href !== here && !location.href.includes('over=')", arg=here
            )

    def event(
        self,
        what: str,
        *,
        reached: str,
        harm: str | None = None,
        signs: tuple[str, ...] = (),
        done: tuple[str, ...] = (),
        told: tuple[str, ...] = (),
        note: str = "",
    ) -> None:
        """Log a safety event from the bottom bar: the last answer records it, then the rest is told.

        `reached` "No" is a near miss.
        """
        self.page.get_by_role("navigation", name="Ways out").get_by_role("button", name="Event").click()
        sheet = self.page.get_by_role("dialog", name="Event")
        for option in (what, reached, harm):
            if option is not None:
                sheet.get_by_role("button", name=re.compile(rf"^{re.escape(option)}\b")).click()
        expect(sheet.get_by_role("heading", name=re.compile("^Recorded: "))).to_be_visible()
        several = [("Signs", signs), ("What was done", done), ("Who was told", told)]
        for legend, picks in several[1:] if reached == "No" else several:
            group = sheet.get_by_role("group", name=re.compile(f"^{legend}"))
            for pick in picks:
                group.get_by_role("checkbox", name=pick, exact=True).check()
        if any((signs, done, told, note)):
            sheet.get_by_label("Anything else?").fill(note)
            sheet.get_by_role("button", name="Save", exact=True).click()
        else:
            sheet.get_by_role("button", name="The rest later").click()
        self.put_away(sheet)

    def cannot(self, reason: str) -> None:
        """Pass the step that is shown, with a reason of the pack."""
        here = self.page.url
        self.press("Can't")
        sheet = self.page.get_by_role("dialog", name="Why can't it be done?")
        passes = sheet.get_by_role("button", name="Pass with this reason")
        expect(passes).to_be_disabled()
        sheet.get_by_role("radio", name=reason).check()
        passes.click()
        self.page.wait_for_function("here => location.href !== here", arg=here)

    def amend(self, title: str, choose: Callable[[Locator], None], why: str) -> None:
        self.page.get_by_role("navigation", name="Ways out").get_by_role("button", name="Case").click()
        lines = self.page.get_by_role("dialog").first
        lines.get_by_role("button", name=re.compile(f"^Amend: {re.escape(title)}")).first.click()
        sheet = self.page.get_by_role("dialog", name="Amend a line")
        choose(sheet)
        sheet.get_by_label("Why", exact=True).fill(why)
        sheet.get_by_role("button", name=re.compile("^(Save the correction|Say that it)")).click()
        expect(sheet).to_have_count(0)
        lines.get_by_role("button", name="Back", exact=True).click()
        self.put_away(self.page.get_by_role("dialog"))

    def close(self, outcome: str = "Completed") -> None:
        self.press("Close or hand over")
        sheet = self.page.get_by_role("dialog", name="Close or hand over")
        sheet.get_by_role("radio", name=re.compile(f"^{outcome}")).check()
        sheet.get_by_role("button", name="Close the case").click()
        expect(self.page.get_by_role("heading", name="In the chair")).to_be_visible()
