"""Who and why must be said for the dye to go ahead: phone and server hold the same lines for nothing.

Random courses of answers, go-aheads, releases and passed steps, some without what they must say.
"""

from random import Random
from typing import Any

import msgspec
from phone_code import ask_phone_code

from chinrest.log.amendments import stand
from chinrest.log.envelope import Envelope
from chinrest.log.kept import KeptLine
from chinrest.log.lacking import lacking

PHONE = """
import { foldCase } from "@src/log/fold";
const answer = (cases) => cases.map((lines) => {
  const state = foldCase(lines);
  return {
    lacks: Object.fromEntries(state.entries.filter((e) => e.lacks).map((e) => [e.line, e.lacks])),
    answers: Object.fromEntries([...state.dye.screening].map(([q, { line }]) => [q, line])),
    released: state.dye.released.map(({ line }) => line),
    asked: state.dye.asked.map(({ line }) => line),
    steps: [...state.steps.values()].map(({ line }) => line).sort(),
    stopped: state.seriesStopped.map(({ line }) => line),
  };
});
"""
SALT = "c2FsdHNhbHRzYWx0c2E="
OPENED = {
    "code": "T-1",
    "eyes": ["right"],
    "study_eye": None,
    "modalities": ["fluorescein"],
    "cross_sections": False,
    "flags": [],
}


def _body(draw: Random) -> tuple[str, dict[str, Any]]:
    def said(text: str) -> str:
        return draw.choice([text, text, "", "  "])

    question = draw.choice(["asthma", "allergy"])
    match draw.randrange(6):
        case 0 | 1:
            consequence = draw.choice(["go", "note", "ask", "stop", None])
            why = said("asked again")
            answer = {"question": question, "answer": "x", "consequence": consequence, "why": why}
            return "screening.answered", answer
        case 2:
            by = {"by": said("DX"), "role": said("Doctor"), "goes_on": draw.random() < 0.7}
            return "physician.asked", {"question": question, "answer": "x", **by}
        case 3:
            what = draw.choice([{"question": question, "step": None}, {"question": None, "step": "consent"}])
            who = {"by": said("DX"), "role": said("Doctor"), "words": said("settled")}
            return "stop.released", {**what, **who}
        case 4:
            return "step.skipped", {"step": draw.choice(["lens", "lid"]), "reason": said("not_needed")}
        case _:
            return "series.stopped", {"why": said("blinks too much")}


def _course(draw: Random, number: int) -> list[tuple[Envelope, dict[str, Any]]]:
    said = [("case.opened", OPENED), *(_body(draw) for _ in range(draw.randint(1, 12)))]
    return [
        (
            Envelope(
                id=f"{number}-{i}",
                device="a",
                seq=i + 1,
                prev="",
                body_sha256="",
                at=1000 + i,
                mono=i,
                boot="b",
                actor=None,
                case="c",
                practice=False,
                pack=None,
                type=kind,
            ),
            {"salt": SALT, **body},
        )
        for i, (kind, body) in enumerate(said)
    ]


def test_phone_and_server_hold_the_same_lines_for_nothing() -> None:
    draw = Random(7)
    courses = [_course(draw, number) for number in range(3000)]
    asked = [[{"envelope": envelope, "body": body} for envelope, body in course] for course in courses]
    seen: set[str] = set()
    for course, told in zip(courses, ask_phone_code(PHONE, asked), strict=True):
        kept = [
            KeptLine(
                envelope=envelope,
                body=msgspec.json.encode(body),
                received_at=0,
                offset_ms=0,
                site="north",
            )
            for envelope, body in course
        ]
        lacks = dict(lacking(stand(kept)))
        assert told["lacks"] == lacks
        seen |= set(lacks.values())
        # and what counts for nothing has done nothing
        nothing = {line for line, lack in lacks.items() if lack != "reason"}
        did = [*told["answers"].values(), *told["released"], *told["asked"], *told["steps"]]
        assert nothing.isdisjoint(did)
        last = {envelope.id for envelope, _ in course if envelope.type == "series.stopped"}
        assert set(told["stopped"]) == last  # what only ends something stands all the same
    assert seen == {"release", "go_ahead", "eased", "skip", "reason"}
