"""Whole visits with a dye, on the phone, and what is on the server after it: each line exactly once."""

from __future__ import annotations

import json

import pytest

from browsing import Contexts
from phone_page import Phone, settle
from serving import Server
from visit import Visit

pytestmark = [pytest.mark.browser, pytest.mark.timeout(420)]


def ready_phone(server: Server, contexts: Contexts, **options: object) -> Phone:
    phone = Phone(contexts.phone(**options), server)
    phone.enrol("Phone 4")
    phone.wait_for_guidance()
    return phone


def test_a_visit_with_nothing_wrong(server: Server, contexts: Contexts) -> None:
    phone = ready_phone(server, contexts)
    phone.begin("HR-4001", asked=("Fluorescein",))
    visit = Visit(phone)
    visit.go_through()
    answers = phone.bodies("screening.answered")
    assert len({a["question"] for a in answers}) == len(answers) > 15
    assert {a["consequence"] for a in answers} == {"go"}
    (dose,) = phone.bodies("dose.worked")
    # US label: 7.7 mg/kg of 100 mg/mL; 60 kg is 462 mg in 4.62 mL
    assert (dose["dose_mg"], dose["volume_ml"], dose["capped"]) == ("462", "4.62", False)
    (check,) = phone.bodies("dose.checked")
    assert (check["agrees"], check["by"], check["role"]) == (True, "QX", "Nurse")
    (injected,) = phone.bodies("dye.injected")
    (written,) = phone.envelopes("dye.injected")
    assert injected["arm"] == "right"
    # the press is stamped when it began: a second of holding lies between it and the line
    assert 950 <= written["at"] - injected["pressed_at"] <= 3000
    assert 950 <= written["mono"] - injected["pressed_mono"] <= 3000
    (ended,) = phone.bodies("watch.ended")
    assert ended["early"] is True
    assert ended["why"]
    visit.close()
    kinds = [json.loads(raw.split(b"\t")[0])["type"] for raw in phone.own_raws()]
    assert [kind for kind in kinds if kind in IN_ORDER] == IN_ORDER
    settle(phone)


def test_both_dyes_step_by_step_with_a_stop_released_on_the_way(server: Server, contexts: Contexts) -> None:
    phone = ready_phone(server, contexts)
    phone.begin("HR-4002", asked=("Fluorescein", "Indocyanine"), flags=("Earlier reaction",))
    visit = Visit(phone)
    visit.go_through()
    (released,) = phone.bodies("stop.released")
    assert (released["step"], released["by"], released["role"]) == ("earlier_reaction", "DRX", "Doctor")
    # this dye first where both are given (Chopdar 2007), each with its own clock, leak and flush
    assert [body["dye"] for body in phone.bodies("dye.injected")] == ["indocyanine_green", "fluorescein"]
    assert [body["dye"] for body in phone.bodies("dye.flushed")] == ["indocyanine_green", "fluorescein"]
    at_injection = [body for body in phone.bodies("leak.asked") if body["moment"] == "at_injection"]
    assert [body["dye"] for body in at_injection] == ["indocyanine_green", "fluorescein"]
    # watched from the last of them
    (watch,) = phone.bodies("watch.started")
    assert watch["since"] == phone.bodies("dye.injected")[-1]["pressed_at"]
    (given,) = phone.bodies("takeaway.given")
    assert {"skin_colour", "driving"} <= set(given["parts"])
    visit.close()
    settle(phone)


IN_ORDER = [
    "dose.worked",
    "dose.checked",
    "dye.injected",
    "leak.asked",
    "dye.flushed",
    "watch.started",
    "watch.ended",
    "leak.asked",
    "takeaway.given",
    "case.closed",
]
