"""The dose on the phone: a child by weight, what is refused, and a second person who gets something else.

Worked doses: US label of fluorescein injection, 7.7 mg per kg of actual weight for a child, ceiling 500 mg.
"""

from __future__ import annotations

import re

import pytest
from dye_case import at_screening, dye_phone, finish_arrival, screen
from playwright.sync_api import Locator, expect

import visit_dye
from browsing import Contexts
from phone_page import settle
from serving import Server
from visit import Visit

pytestmark = [pytest.mark.browser, pytest.mark.timeout(240)]


def at_dose(server: Server, contexts: Contexts, code: str, flags: tuple[str, ...] = ()) -> Visit:
    phone = dye_phone(server, contexts)
    visit = at_screening(phone, code, flags=flags)
    visit_dye.answer_questions(visit)
    finish_arrival(visit)
    screen(visit, "dose")
    return visit


def weight(visit: Visit) -> Locator:
    return visit.page.get_by_label("Weight today, in kilograms")


def working(visit: Visit) -> Locator:
    return visit.main.locator(".working")


def test_a_child_by_weight(server: Server, contexts: Contexts) -> None:
    visit = at_dose(server, contexts, "HR-4201", flags=("Child",))
    visit_dye.fill_dose(visit, "18", age=None, strength="100 mg/mL")
    expect(working(visit)).to_have_count(0)  # no dose for a child without an age: other weights are usual
    expect(visit.main).to_contain_text("Pick the age")
    visit.phone.pick(re.compile("^Age"), "1 to 4 years")
    expect(working(visit)).to_have_text("18 kg × 7.7 mg/kg = 138.6 mg → 1.39 mL of 100 mg/mL")
    expect(visit.main).to_contain_text("not advice on a dose")
    expect(visit.main).to_contain_text("Rule approved by Dr Invented Lead")
    visit.press("Keep this working")
    visit_dye.second_person(visit, True)
    (dose,) = visit.phone.bodies("dose.worked")
    assert (dose["weight_kg"], dose["dose_mg"], dose["volume_ml"]) == ("18", "138.6", "1.39")
    assert dose["capped"] is False
    settle(visit.phone)


def test_pounds_commas_and_nonsense_are_asked_or_refused_and_never_put_right(
    server: Server, contexts: Contexts
) -> None:
    visit = at_dose(server, contexts, "HR-4202")
    visit_dye.fill_dose(visit, "18,5", age="1 to 4 years", strength="100 mg/mL")
    expect(visit.main).to_contain_text("and no comma")
    expect(weight(visit)).to_have_value("18,5")
    for typed, said in (
        ("0", "must be more than 0"),
        ("-4", "must be more than 0"),
        ("1e9", "must be plain digits"),
        ("651", "nobody weighs more than 650 kg"),
        ("40 lb", "must be plain digits"),
    ):
        weight(visit).fill(typed)
        expect(visit.main).to_contain_text(said)
        expect(working(visit)).to_have_count(0)
    # 40 lb typed as 40 kg: a child of 1 to 4 years is not usually that heavy
    weight(visit).fill("40")
    asking = visit.main.get_by_role("alert").filter(has_text="Is this weight right?")
    expect(asking).to_contain_text("40 lb would be 18.1 kg")
    expect(working(visit)).to_have_count(0)
    asking.get_by_role("button", name="It is not: weigh again").click()
    expect(weight(visit)).to_have_value("")
    weight(visit).fill("40")
    asking.get_by_role("button", name="It is right, and in kilograms").click()
    expect(working(visit)).to_have_text("40 kg × 7.7 mg/kg = 308 mg → 3.08 mL of 100 mg/mL")
    weight(visit).fill("41")  # a confirmation is for the weight that was confirmed
    expect(asking).to_be_visible()
    assert visit.phone.bodies("dose.worked") == []


def test_what_is_half_entered_outlives_a_reload_and_the_strength_is_never_guessed(
    server: Server, contexts: Contexts
) -> None:
    visit = at_dose(server, contexts, "HR-4203")
    visit.phone.pick(re.compile("^Age"), "18 years or more")
    weight(visit).fill("70")
    expect(visit.main).to_contain_text("Pick the strength that stands on the vial.")
    visit.phone.reload()
    expect(weight(visit)).to_have_value("70")
    visit_dye.fill_dose(visit, "70", strength="250 mg/mL")
    # 70 kg × 7.7 is 539 mg: the ceiling is 500 mg, 2 mL of 25 %
    expect(working(visit)).to_have_text("70 kg × 7.7 mg/kg = 539 mg, capped at 500 mg → 2 mL of 250 mg/mL")
    expect(visit.main).to_contain_text("At the clinic's cap of 500 mg")


def test_a_second_check_that_differs_stops_the_injection(server: Server, contexts: Contexts) -> None:
    visit = at_dose(server, contexts, "HR-4204")
    phone = visit.phone
    visit_dye.fill_dose(visit, "60")
    visit.press("Keep this working")
    visit_dye.second_person(visit, False, note="I get 6.42 mL: the scales say 83.4")
    expect(visit.main.get_by_role("heading", name="The second check differs")).to_be_visible()
    phone.reload()
    expect(visit.main.get_by_role("heading", name="The second check differs")).to_be_visible()
    assert "Go on" not in visit.names()
    screen(visit, "ready")
    visit_dye.answer_questions(visit)
    screen(visit, "inject")
    expect(visit.main).to_contain_text("The second check differs")
    expect(visit.main.get_by_role("button", name=re.compile("^The dye goes in now"))).to_have_count(0)

    screen(visit, "dose")
    visit.press("Work it anew")
    visit_dye.fill_dose(visit, "83.4")
    visit.press("Keep this working")
    # worked anew, and not yet checked: the old word on the old dose says nothing of this one
    screen(visit, "inject")
    expect(visit.main).to_contain_text("No second person has checked the dose.")
    screen(visit, "dose")
    visit_dye.second_person(visit, True)
    screen(visit, "inject")
    expect(visit.main.get_by_role("button", name=re.compile("^The dye goes in now"))).to_be_visible()
    assert [c["agrees"] for c in phone.bodies("dose.checked")] == [False, True]
    settle(phone)


def test_the_second_person_s_own_figure_stands_before_the_phone_s_is_shown(
    server: Server, contexts: Contexts
) -> None:
    """18 kg × 7.7 mg/kg of 100 mg/mL is 1.39 mL (the worked line of `test_a_child_by_weight`)."""
    visit = at_dose(server, contexts, "HR-4208")
    visit_dye.fill_dose(visit, "18", age="1 to 4 years", strength="100 mg/mL")
    visit.press("Keep this working")
    section = visit.main.get_by_role("region", name="Second person")
    compare = section.get_by_role("button", name="Compare", exact=True)
    expect(compare).to_be_disabled()
    assert "1.39" not in visit.main.inner_text()
    expect(working(visit)).to_have_count(0)
    # nor in the list of the case's lines, where who worked it can look
    visit.phone.page.get_by_role("button", name="Case", exact=True).click()
    lines = visit.phone.page.get_by_role("dialog")
    expect(lines).to_contain_text("Kept back until a second person has given their own figure.")
    assert "1.39" not in lines.inner_text()
    visit.phone.page.keyboard.press("Escape")
    expect(lines).to_have_count(0)
    own = section.get_by_label("Volume to draw up, in mL")
    own.fill("1,5")
    assert "1.39" not in visit.main.inner_text()
    visit.phone.reload()
    expect(own).to_have_value("1,5")
    compare.click()
    expect(section.get_by_role("heading", name="The two volumes differ")).to_be_visible()
    expect(section).to_contain_text("1,5 mL")
    expect(working(visit)).to_contain_text("1.39 mL")
    section.get_by_label("Checked by").fill("QX")
    worked = section.get_by_label("Worked by")
    if worked.count():
        worked.fill("WX")
    section.get_by_role("radio", name="Nurse", exact=True).check()
    expect(section.get_by_role("button", name="It agrees")).to_be_disabled()
    section.get_by_role("button", name="Work mine again").click()
    expect(working(visit)).to_have_count(0)
    own.fill("1.39")
    compare.click()
    expect(section.get_by_role("heading", name="Both came to the same volume")).to_be_visible()
    section.get_by_role("button", name="It agrees").click()
    expect(section).to_have_count(0)
    (check,) = visit.phone.bodies("dose.checked")
    assert (check["agrees"], check["volume_ml"], check["own_volume_ml"]) == (True, "1.39", "1.39")
    visit.phone.page.get_by_role("button", name="Case", exact=True).click()
    expect(lines).to_contain_text("1.39 mL")


def test_nobody_checks_their_own_dose(server: Server, contexts: Contexts) -> None:
    phone = dye_phone(server, contexts)
    phone.open("#/settings")
    phone.page.get_by_label("Who works on this phone").fill("A. B.")
    visit = at_screening(phone, "HR-4205")
    visit_dye.answer_questions(visit)
    finish_arrival(visit)
    screen(visit, "dose")
    visit_dye.fill_dose(visit)
    visit.press("Keep this working")
    section = visit.main.get_by_role("region", name="Second person")
    section.get_by_role("button", name=visit_dye.BY_HAND).click()
    section.get_by_label("Checked by").fill("ab")
    section.get_by_role("radio", name="Nurse", exact=True).check()
    expect(section).to_contain_text("That is who worked it")
    expect(section.get_by_role("button", name="It agrees")).to_be_disabled()
    section.get_by_label("Checked by").fill("cd")
    expect(section.get_by_role("button", name="It agrees")).to_be_enabled()


def test_where_nobody_is_named_whoever_worked_it_says_so(server: Server, contexts: Contexts) -> None:
    """No name at all is not another person's."""
    phone = dye_phone(server, contexts)
    visit = at_screening(phone, "HR-4207")
    visit_dye.answer_questions(visit)
    finish_arrival(visit)
    screen(visit, "dose")
    visit_dye.fill_dose(visit)
    visit.press("Keep this working")
    section = visit.main.get_by_role("region", name="Second person")
    section.get_by_role("button", name=visit_dye.BY_HAND).click()
    section.get_by_label("Checked by").fill("ab")
    section.get_by_role("radio", name="Nurse", exact=True).check()
    expect(section.get_by_role("button", name="It agrees")).to_be_disabled()
    section.get_by_label("Worked by").fill("A.B.")
    expect(section).to_contain_text("That is who worked it")
    section.get_by_label("Worked by").fill("cd")
    section.get_by_role("button", name="It agrees").click()
    expect(section).to_have_count(0)
    assert [(c["by"], c["worked_by"]) for c in phone.bodies("dose.checked")] == [("ab", "cd")]


def test_both_dyes_together(server: Server, contexts: Contexts) -> None:
    phone = dye_phone(server, contexts)
    visit = at_screening(phone, "HR-4206", asked=("Fluorescein", "Indocyanine"))
    visit_dye.answer_questions(visit)
    finish_arrival(visit)
    for dye in ("indocyanine_green", "fluorescein"):
        screen(visit, "dose", dye)
        visit_dye.fill_dose(visit, "60")
        expect(working(visit)).to_contain_text("487 mg in all")
        visit.press("Keep this working")
        visit_dye.second_person(visit, True)
    ready_for_both(visit)
    doses = {dose["dye"]: dose for dose in phone.bodies("dose.worked")}
    assert doses["indocyanine_green"]["with_dye"] == "fluorescein"
    assert doses["indocyanine_green"]["dose_mg"] == "25"
    assert doses["fluorescein"]["dose_mg"] == "462"
    injected = phone.bodies("dye.injected")
    assert [i["dye"] for i in injected] == ["indocyanine_green", "fluorescein"]  # one clock for each
    settle(phone)


def ready_for_both(visit: Visit) -> None:
    screen(visit, "ready")
    visit_dye.answer_questions(visit)
    for dye in ("indocyanine_green", "fluorescein"):
        screen(visit, "inject", dye)
        visit_dye.hold(visit)
        expect(visit.main.get_by_role("button", name="No leak")).to_be_visible()
        visit_dye.after_injection(visit)


def test_the_clinic_s_own_rule_must_be_in_date(server: Server, contexts: Contexts) -> None:
    """The demo's rules are approved until 2099: on a phone whose clock is past that, nothing is shown."""
    visit = at_dose(server, contexts, "HR-4207")
    visit.page.clock.set_fixed_time("2100-01-01T12:00:00Z")
    visit.phone.reload()
    visit_dye.fill_dose(visit, "60")
    expect(visit.main).to_contain_text("the approval of this rule ended on 2099-12-31")
    expect(working(visit)).to_have_count(0)
    assert "Keep this working" not in visit.names()
