"""How long the phone watches a patient, from the lines of a case, against the reference rule.

The lines are folded by the phone's own log, and its own words for what happened are used.
"""

import tomllib
from itertools import chain, combinations
from typing import Any, get_args

import msgspec
from phone_code import ask_phone_code

from chinrest.model.dye.aftercare import Happened, Watch, WatchRule, watch_minutes
from chinrest.pack.demo import demo_path

PHONE = """
import { foldCase } from "@src/log/fold";
import { happened, watchPlan } from "@src/chairside/closing/watch";
const line = ({ type, body }, i) => ({
  envelope: { id: `l${i}`, device: "a", seq: i + 1, prev: "", body_sha256: "", at: 1000 + i, mono: i,
    boot: "b", actor: null, case: "c", practice: false, pack: null, after: null, type, v: 1 },
  body: { salt: "x", ...body },
});
const answer = ({ watches, cases }) => cases.map((said) => {
  const state = foldCase(said.map(line));
  const plans = watches.map((watch) => watchPlan({ watch }, state));
  const minutes = plans.map((plan) => plan?.minutes ?? null);
  return { what: [...happened(state)], minutes, since: plans[0]?.since ?? null };
});
"""
PRESSED_AT = 5_000
OPENED: dict[str, Any] = {
    "code": "T-1",
    "eyes": ["right"],
    "study_eye": None,
    "modalities": ["fluorescein"],
    "cross_sections": False,
}
EVENT: dict[str, Any] = {"reached_patient": True, "harm": "mild", "signs": [], "done": [], "told": []}
LINE: dict[Happened, tuple[str, dict[str, Any]]] = {
    "injected": (
        "dye.injected",
        {
            "dye": "fluorescein",
            "arm": "right",
            "route": "intravenous",
            "pressed_at": PRESSED_AT,
            "pressed_mono": 5,
        },
    ),
    "nausea": ("safety.noted", {**EVENT, "what": "dye_reaction", "signs": ["nausea"]}),
    "leak": ("leak.asked", {"dye": "fluorescein", "leak": True}),
    "faint": ("safety.noted", {**EVENT, "what": "faint"}),
    "reaction": ("safety.noted", {**EVENT, "what": "dye_reaction", "signs": ["itching"]}),
    "stopped": ("series.stopped", {"why": "cannot go on", "for_patient": True}),
}
"""What each line makes happen; the child is a flag of the case."""


def _demo() -> Watch:
    return msgspec.convert(tomllib.loads((demo_path() / "watch.toml").read_text("utf-8")), Watch)


def _other() -> Watch:
    """Every rule of another length, nausea the longest, and none for a faint."""
    minutes = {"injected": 15, "child": 20, "nausea": 90, "leak": 35, "reaction": 60, "stopped": 16}
    rules = [
        WatchRule(happened=what, minutes=minutes[what], text=what, source="")
        for what in get_args(Happened)
        if what in minutes
    ]
    return Watch(rules=rules, caution="")


def _lines(what: tuple[Happened, ...]) -> list[dict[str, Any]]:
    opened = ("case.opened", {**OPENED, "flags": ["child"] if "child" in what else []})
    said = [opened, *(LINE[one] for one in what if one != "child")]
    return [{"type": kind, "body": body} for kind, body in said]


def test_the_phone_watches_as_long_as_the_reference_says() -> None:
    """Everything that can happen, in every combination."""
    names: tuple[Happened, ...] = get_args(Happened)
    every = list(chain.from_iterable(combinations(names, count) for count in range(len(names) + 1)))
    watches = [_demo(), _other()]
    answers = ask_phone_code(PHONE, {"watches": watches, "cases": [_lines(what) for what in every]})
    assert len(answers) == len(every) == 2 ** len(names)
    for what, answer in zip(every, answers, strict=True):
        if "injected" not in what:  # no dye, no watch after it
            assert answer["minutes"] == [None] * len(watches), what
            continue
        assert set(answer["what"]) == set(what)
        assert answer["minutes"] == [watch_minutes(watch, what) for watch in watches], what
        assert answer["since"] == PRESSED_AT


def test_a_series_that_ended_for_want_of_nothing_lengthens_no_watch() -> None:
    ended = [*_lines(("injected",)), {"type": "series.stopped", "body": {"why": "had", "for_patient": False}}]
    older = [*_lines(("injected",)), {"type": "series.stopped", "body": {"why": "not said"}}]
    routine, unsaid = ask_phone_code(PHONE, {"watches": [_demo()], "cases": [ended, older]})
    assert routine["minutes"] == [watch_minutes(_demo(), ["injected"])]
    assert unsaid["minutes"] == [watch_minutes(_demo(), ["injected", "stopped"])]
    assert routine["minutes"] != unsaid["minutes"]
