"""A case brought to where light, card, map and choice begin, without the steps in between."""

from __future__ import annotations

import re

from playwright.sync_api import expect

from phone_page import Phone
from visit import Visit


def go(phone: Phone, place: str, heading: str | re.Pattern[str]) -> None:
    phone.page.evaluate("place => { location.hash = place }", place)
    expect(phone.page.get_by_role("heading", name=heading).first).to_be_visible()


def measured_case(
    phone: Phone,
    code: str,
    *,
    optic: str = "Wide",
    asked: tuple[str, ...] = ("Fluorescein",),
    eyes: str = "Right",
    flags: tuple[str, ...] = (),
    fellow_sees: str = "Yes",
) -> str:
    """A case with its optic chosen, its face measured and its gaze guided by an outside light, each from
    its own screen; the case's id."""
    phone.begin(code, asked=asked, eyes=eyes, flags=flags)
    visit, case = Visit(phone, optic=optic), phone.case_id
    go(phone, f"#/case/{case}/optic", "Choose the optic")
    visit.choose_optic()
    eye = "left" if eyes == "Left" else "right"
    go(phone, f"#/case/{case}/face/{eye}", re.compile("face", re.IGNORECASE))
    visit.measure_face()
    go(phone, f"#/case/{case}/fixation/{eye}", re.compile("eye", re.IGNORECASE))
    phone.pick(re.compile(r"\(imaged\) see the light"), "Yes")
    phone.pick(re.compile(r"\(fellow\) see the light"), fellow_sees)
    method = "Outside light" if fellow_sees == "Yes" else "Inside light"
    phone.pick(re.compile("^How is the .* eye guided"), re.compile(f"^{method}"))
    visit.press_and_leave(f"Guide by {method.lower()}")
    return case
