"""A case with a dye on a phone, taken straight to the screens around the injection."""

from __future__ import annotations

import json

from playwright.sync_api import expect

import visit_dye
from browsing import Contexts
from phone_page import Phone
from serving import Server
from visit import Visit

UNTIL_SCREENING = "Go through the screening"


def dye_phone(server: Server, contexts: Contexts, **options: object) -> Phone:
    phone = Phone(contexts.phone(**options), server)
    phone.enrol("Phone 4")
    phone.wait_for_guidance()
    return phone


def at_screening(
    phone: Phone, code: str, *, asked: tuple[str, ...] = ("Fluorescein",), flags: tuple[str, ...] = ()
) -> Visit:
    """A new case, its arrival done as far as the screening."""
    phone.begin(code, asked=asked, flags=flags)
    visit = Visit(phone)
    visit.go_through(until=UNTIL_SCREENING)
    return visit


def finish_arrival(visit: Visit) -> None:
    visit.go_through(until="Clean your hands")


def screen(visit: Visit, name: str, *tail: str) -> None:
    """One of the case's screens by its address."""
    visit.page.evaluate(
        "([id, rest]) => { location.hash = `#/case/${id}/${rest}`; }",
        [visit.phone.case_id, "/".join([name, *tail])],
    )
    expect(visit.main.get_by_role("heading", level=1).first).to_be_visible()
    expect(visit.main.get_by_text("Opening…")).to_have_count(0)


def ready_to_inject(visit: Visit, answers: visit_dye.Answers | None = None) -> None:
    """After the arrival: the dose worked and checked, all made sure, the injection's screen open."""
    screen(visit, "dose")
    visit_dye.work_dose(visit)
    screen(visit, "ready")
    visit_dye.answer_questions(visit, answers)
    screen(visit, "inject")


def types(phone: Phone) -> list[str]:
    """The types of this phone's own lines, in order."""
    return [json.loads(raw.split(b"\t")[0])["type"] for raw in phone.own_raws()]
