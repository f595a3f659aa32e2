"""A short case with one dye in any engine: face, optic, screening, dose, injection, the transit, an event.
Everything that is entered is invented."""

from __future__ import annotations

import json
import re
from typing import Any

from screen import Screen

from serving import Server

HELD_S = 1.3
QUESTION = re.compile(r"^Question \d+ of")

READ_LINES = """
  const asked = (request) => new Promise((ok, no) => {
    request.onsuccess = () => ok(request.result);
    request.onerror = () => no(request.error);
  });
  const db = await asked(indexedDB.open("chinrest-log"));
  try {
    const device = await asked(db.transaction("meta").objectStore("meta").get("device"));
    const lines = await asked(db.transaction("lines").objectStore("lines").getAll());
    return { device: device.id, lines };
  } finally { db.close(); }
"""


class Kept:
    """What this phone's own store holds now: its id, and its own lines by sequence."""

    def __init__(self, screen: Screen) -> None:
        said = screen.script(READ_LINES)
        self.device: str = said["device"]
        own = [row for row in said["lines"] if row["device"] == self.device]
        self.raws = [row["raw"].encode() for row in sorted(own, key=lambda row: row["seq"])]

    def bodies(self, type_: str) -> list[dict[str, Any]]:
        pairs = [[json.loads(part) for part in raw.split(b"\t")] for raw in self.raws]
        return [body for envelope, body in pairs if envelope["type"] == type_]


def enrol(screen: Screen, server: Server, label: str = "Phone 8") -> None:
    screen.go(f"{server.origin}/#enrol={server.enrol_code('harbour', label)}")
    screen.fill("What this phone is called", label)
    screen.press("Enrol this phone")
    screen.see("heading", "In the chair")


def ready_without_a_server(screen: Screen) -> None:
    """Guidance is proved and kept, and the app would start from this phone alone."""
    screen.see("link", "Begin a case")
    screen.wait(
        "the offline app",
        lambda: screen.script(
            "await navigator.serviceWorker.ready; return !!navigator.serviceWorker.controller"
        ),
    )


def begin(screen: Screen, code: str) -> str:
    """The id of a new case."""
    screen.press("Begin a case", kind="link")
    screen.fill("Case code", code)
    screen.pick("Which eye", re.compile("^Right"))
    screen.pick("Asked for", re.compile("^Fluorescein"))
    screen.pick("Cross-sections asked for", "No")
    screen.press("Begin")
    screen.wait("the case", lambda: "#/case/" in screen.address)
    return screen.address.partition("#/case/")[2].partition("/")[0]


def to(screen: Screen, case: str, name: str, heading: str | re.Pattern[str]) -> None:
    screen.place(f"#/case/{case}/{name}")
    screen.see("heading", heading)


def measure_face(screen: Screen, case: str) -> None:
    to(screen, case, "face", "Measure or judge the face")
    screen.pick(re.compile("^Is this a face that the tables know"), "Yes")
    pupils = ("group", "Distance between the pupils")
    for key in ("6", "2", "Use this"):
        screen.press(key, pupils)
    screen.pick(re.compile("^Depth of the .* eye, judged"), "Deep-set")
    screen.pick("Bridge of the nose", "Medium")
    screen.pick("Brow", "Medium")
    screen.pick("Neck", "Free")
    screen.pick("Age", re.compile("^40"))
    screen.press_and_leave("Save this face")


def choose_optic(screen: Screen, case: str) -> None:
    to(screen, case, "optic", "Choose the optic")
    screen.press("Choose Ultra-wide")
    screen.press_and_leave("Use Ultra-wide", ("dialog", None))


def answer_questions(screen: Screen) -> None:
    """Every question by its first answer, which is its lightest."""
    while True:
        screen.wait(
            "a question or its end",
            lambda: (
                screen.has("button", re.compile("^(Next question|Go on)$")) or screen.has("region", QUESTION)
            ),
        )
        if screen.has("button", "Next question"):
            screen.press("Next question")
            screen.gone("button", "Next question")
        elif screen.has("region", QUESTION):
            asked = question(screen)
            screen.press(None, ("region", QUESTION), "answer")
            screen.wait("the next question", lambda asked=asked: question(screen) != asked)
        else:
            screen.press_and_leave("Go on")
            return


def question(screen: Screen) -> str:
    return str(screen.script("return document.querySelector('main section h2')?.textContent ?? ''"))


def pass_stops(screen: Screen, case: str) -> None:
    """The steps that the dose waits for, and what is before them: each is opened, read and done."""
    to(screen, case, "dose", "Dose")
    while True:
        screen.wait("the dose, or the way to what it waits for", lambda: any(at(screen)))
        ready, open_kind, done = at(screen)
        if ready:
            return
        if open_kind:
            here = screen.address
            screen.press("Go to it", kind=open_kind)
            screen.wait("what is before it", lambda here=here: screen.address != here)
        elif done:
            screen.press_and_leave("Done")
            to(screen, case, "dose", "Dose")


def at(screen: Screen) -> tuple[bool, str | None, bool]:
    opens = next((kind for kind in ("link", "button") if screen.has(kind, "Go to it")), None)
    return screen.has("group", re.compile("^Age")), opens, screen.has("button", "Done")


def work_dose(screen: Screen, case: str) -> None:
    pass_stops(screen, case)
    screen.pick(re.compile("^Age"), "18 years or more")
    screen.fill("Weight today, in kilograms", "60")
    screen.press(None, ("group", "Strength on the vial"), "choice")
    screen.press("Keep this working")
    second = ("region", "Second person")
    screen.press("I worked it out by hand: show both", second)
    screen.fill("Checked by", "QX")
    screen.fill(re.compile("^Worked by"), "WX")
    screen.press("Nurse", second, "choice")
    screen.press("It agrees", second)
    screen.press_and_leave("Go on")


def inject(screen: Screen, case: str) -> None:
    to(screen, case, "inject", "Injection")
    screen.hold(re.compile("^The dye goes in now"), HELD_S)
    screen.press("No leak")
    screen.press("The flush is in")
    screen.press_and_leave("To the series")


def take_frame(screen: Screen, case: str) -> None:
    """The first frame of the series, which is the burst of the transit."""
    to(screen, case, "series", re.compile("."))
    screen.press("Start the burst")
    screen.press("The burst is over")
    screen.see("heading", re.compile("^1 of "), ("region", "All frames of the series"))


def near_miss(screen: Screen) -> None:
    screen.press("Event")
    tell_near_miss(screen)


def tell_near_miss(screen: Screen) -> None:
    sheet = ("dialog", "Event")
    screen.press(re.compile("^Optic not latched"), sheet)
    screen.press(re.compile("^No"), sheet)
    screen.press("The rest later", sheet)
    screen.gone("dialog")


def another_near_miss(screen: Screen) -> None:
    """After a crash the sheet may come back with the event before: browsers keep a draft some seconds later
    than the log. Then it asks nothing of it again, and can be begun anew."""
    sheet = ("dialog", "Event")
    screen.press("Event")
    screen.see("dialog", "Event")
    if screen.has("button", "This is another event", sheet):
        screen.see("button", "The rest later", sheet)
        assert not screen.has("heading", "Did it reach the patient?", sheet)
        screen.press("This is another event", sheet)
    tell_near_miss(screen)


def close(screen: Screen) -> None:
    screen.press("Case")
    screen.press("Close or hand over", ("dialog", None))
    sheet = ("dialog", "Close or hand over")
    screen.press(re.compile("^Stopped"), sheet, "choice")
    screen.press("Something more urgent came up", sheet, "choice")
    screen.press("Close the case", sheet)
    screen.see("heading", "In the chair")


def prepare(screen: Screen, case: str) -> None:
    """From its beginning up to the injection."""
    measure_face(screen, case)
    choose_optic(screen, case)
    to(screen, case, "screening", "Screening")
    answer_questions(screen)
    work_dose(screen, case)
    to(screen, case, "ready", re.compile("^Made sure of"))
    answer_questions(screen)


def whole(screen: Screen, case: str) -> None:
    """From its beginning to its end. Nobody waits for the late frames: it is closed as stopped."""
    prepare(screen, case)
    inject(screen, case)
    take_frame(screen, case)
    near_miss(screen)
    close(screen)
