"""What a visit holds around an injection: screening, dose, hold, leak, flush, watch, card, images."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import TYPE_CHECKING

from playwright.sync_api import Locator, expect

if TYPE_CHECKING:
    from visit import Visit

Answers = dict[str, str]
"""How a question begins, and how the answer to it does; any other question gets its lightest answer."""
HELD_MS = 1150
BY_HAND = "I worked it out by hand: show both"


def is_ours(names: list[str], main: Locator) -> Callable[[Visit], None] | None:
    """What answers the screen that shows these buttons, or None where it is none of these."""
    has = names.__contains__
    if main.get_by_role("region", name=re.compile(r"^Question \d+ of")).count() or has("Next question"):
        return answer_questions
    if has("Keep this working") or main.get_by_label("Weight today, in kilograms").count():
        return work_dose
    if has("It agrees") or has("Compare"):
        return check_dose
    if any(name.startswith("The dye goes in now") for name in names):
        return inject
    if has("No leak") or has("The flush is in") or has("To the series"):
        return after_injection
    if has("Begin the watch") or has("End the watch early") or has("The watch is over"):
        return watch
    if has("Nothing seen"):
        return lambda visit: visit.press_and_leave("Nothing seen")
    if has("Print the card"):
        return lambda visit: visit.press_and_leave("Read out")
    if main.get_by_role("group", name="Look at the instrument").count():
        return images
    if has("Release this stop"):
        return lambda visit: release(visit, visit.main)
    return None


def question(visit: Visit) -> Locator:
    return visit.main.get_by_role("region", name=re.compile(r"^Question \d+ of"))


def answer_one(visit: Visit, answers: Answers | None = None) -> str:
    """The question that is shown, by what `answers` says or its first answer; what it asked."""
    asked = question(visit).get_by_role("heading").first.inner_text()
    wanted = next((said for start, said in (answers or {}).items() if asked.startswith(start)), None)
    buttons = question(visit).locator(".big-answers").get_by_role("button")
    button = buttons.first
    if wanted is not None:
        button = buttons.filter(has_text=re.compile(f"^{re.escape(wanted)}")).first
    button.click()
    # the next question, what the answer leads to, or the end of the list
    visit.page.wait_for_function(
        "asked => document.querySelector('main section h2')?.textContent !== asked", arg=asked
    )
    changes = visit.main.get_by_role("region", name="The answer changes")
    if changes.count():  # a stop that is answered anew
        changes.get_by_role("button", name="The patient or the notes say otherwise").click()
        expect(changes).to_have_count(0)
    return asked


def answer_questions(visit: Visit, answers: Answers | None = None) -> None:
    """All that are asked, and on; what an answer leads to is read and left for later."""
    for _ in range(60):
        names = visit.names()
        if "Next question" in names:
            visit.press("Next question")
            expect(visit.main.get_by_role("button", name="Next question")).to_have_count(0)
        elif question(visit).count():
            answer_one(visit, answers)
        elif "Go on" in names:
            visit.press_and_leave("Go on")
            return
        elif "Go on preparing; the dye stays closed" in names:
            return
        else:
            visit.page.wait_for_timeout(50)
    raise AssertionError(f"the questions never end: {visit.names()}")


def fill_dose(
    visit: Visit, weight: str = "60", *, age: str | None = "18 years or more", strength: str | None = None
) -> None:
    if age is not None:
        visit.phone.pick(re.compile("^Age"), age)
    visit.page.get_by_label("Weight today, in kilograms").fill(weight)
    vials = visit.page.get_by_role("group", name="Strength on the vial")
    (vials.get_by_role("radio", name=strength) if strength else vials.get_by_role("radio").first).check()
    made_up = visit.page.get_by_label("Made up how many minutes ago?")
    if made_up.count():
        made_up.fill("20")


def work_dose(visit: Visit) -> None:
    fill_dose(visit)
    visit.press("Keep this working")
    expect(visit.main.get_by_role("button", name="Compare", exact=True)).to_be_visible()
    check_dose(visit)


def second_person(visit: Visit, agrees: bool, *, by: str = "QX", note: str = "") -> None:
    section = visit.main.get_by_role("region", name="Second person")
    expect(section).to_be_visible()
    by_hand = section.get_by_role("button", name=BY_HAND)
    if by_hand.count():
        by_hand.click()
    section.get_by_label("Checked by").fill(by)
    worked = section.get_by_label(re.compile("^(Worked|Taken down) by"))
    if worked.count():  # nobody is named on this phone yet
        worked.fill("WX")
    section.get_by_role("radio", name="Nurse", exact=True).check()
    if note:
        section.get_by_label("What they get").fill(note)
    section.get_by_role("button", name="It agrees" if agrees else "It differs").click()
    expect(section).to_have_count(0)


def check_dose(visit: Visit) -> None:
    second_person(visit, True)
    visit.press_and_leave("Go on")


def hold(
    visit: Visit, name: str | re.Pattern[str] = re.compile("^The dye goes in now"), ms: int = HELD_MS
) -> None:
    visit.main.get_by_role("button", name=name).click(delay=ms)


def inject(visit: Visit) -> None:
    hold(visit)
    expect(visit.main.get_by_role("button", name="No leak")).to_be_visible()
    after_injection(visit)


def after_injection(visit: Visit) -> None:
    """No leak, flushed, to the series, and back to the steps."""
    if "No leak" in visit.names():
        visit.press("No leak")
        expect(visit.main.get_by_role("button", name="The flush is in")).to_be_visible()
    if "The flush is in" in visit.names():
        visit.press("The flush is in")
    visit.main.get_by_role("button", name="To the series", exact=True).click()
    visit.page.wait_for_url(re.compile(r"#/case/[^/]+/series"))
    visit.page.evaluate("id => { location.hash = `#/case/${id}/step`; }", visit.phone.case_id)
    visit.page.wait_for_url(re.compile(r"#/case/[^/]+/step"))


def watch(visit: Visit, *, well: str = "Well", why: str = "the nurse in charge decided") -> None:
    """Begun and ended at once: no test waits half an hour."""
    if "Begin the watch" in visit.names():
        visit.press("Begin the watch")
    visit.phone.pick("Look and ask: is the patient well?", re.compile(f"^{well}$"))
    visit.page.get_by_label(re.compile("^(Why it ends early|Who took over)")).fill(why)
    visit.press_and_leave(re.compile("^(End the watch early|The watch is over)"))


def images(visit: Visit) -> None:
    group = visit.main.get_by_role("group", name="Look at the instrument")
    for box in group.get_by_role("checkbox").all():
        box.check()
    visit.press_and_leave("Done")


def release(
    visit: Visit, where: Locator, *, by: str = "DRX", words: str = "known to me, mild, goes on"
) -> None:
    """A licensed person's own release, on a step or in a sheet."""
    form = where.get_by_role("region", name="Release of a stop")
    form.get_by_label("Released by").fill(by)
    form.get_by_role("radio", name="Doctor", exact=True).check()
    form.get_by_label("In their words").fill(words)
    form.get_by_role("button", name="Release this stop").click()
    expect(form.get_by_role("button", name="Release this stop")).to_have_count(0)
