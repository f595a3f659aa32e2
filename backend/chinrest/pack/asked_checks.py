"""Do screening, watch and take-away card of a source hold together?"""

from collections import Counter
from collections.abc import Iterator
from itertools import pairwise

from chinrest.model.dye.aftercare import Takeaway, Watch
from chinrest.model.dye.screening import NEEDLE_ARM, ORDER, ScreeningQuestion

from .dye_parts import DyeParts
from .faults import PackFault

LONGEST_MIN = 24 * 60
INVENTED_PHONE = "555-01"
Found = Iterator[tuple[str, str]]


def asked_faults(parts: DyeParts, language: str, demo: bool) -> Iterator[PackFault]:
    """Faults of `screening.toml`, `watch.toml` and `takeaway.toml`; `language` is the pack's own."""
    dyes = parts.names("dyes")
    if "screening.toml" in parts.present and not parts.names("questions"):
        yield PackFault(file="screening.toml", key="questions", reason="is empty")
    for question in parts.screening:
        for key, reason in _question_faults(question, dyes):
            yield PackFault(file="screening.toml", key=f"questions[{question.id}].{key}", reason=reason)
    for key, reason in _arm_faults(parts.screening, parts.names("questions")):
        yield PackFault(file="screening.toml", key=key, reason=reason)
    if parts.watch:
        for key, reason in _watch_faults(parts.watch):
            yield PackFault(file="watch.toml", key=key, reason=reason)
    if parts.takeaway:
        for key, reason in _card_faults(parts.takeaway, dyes, language, demo):
            yield PackFault(file="takeaway.toml", key=key, reason=reason)


def unknown_dyes(given: list[str], dyes: set[str]) -> Iterator[str]:
    """Why these name no dye of the pack."""
    for dye in given:
        if dye not in dyes:
            yield f"names no dye of the pack: {dye!r}"


def _question_faults(question: ScreeningQuestion, dyes: set[str]) -> Found:
    yield from (("dyes", reason) for reason in unknown_dyes(question.dyes, dyes))
    if not question.text.strip():
        yield "text", "is empty"
    if not question.source.strip():
        yield "source", "is empty; say where it comes from, or 'common practice, no source'"
    if len(question.answers) < 2:
        yield "answers", "has fewer than two; a question with one answer asks nothing"
    for name, times in Counter(answer.id for answer in question.answers).items():
        if times > 1:
            yield f"answers[{name}].id", "is used twice; an id must be unique"
    for answer in question.answers:
        if not answer.text.strip():
            yield f"answers[{answer.id}].text", "is empty"
        if answer.dose_not_computed and answer.consequence not in ("ask", "stop"):
            why = f"stands with {answer.consequence!r}; needs 'ask' or 'stop': somebody must order it"
            yield f"answers[{answer.id}].dose_not_computed", why
    for before, after in pairwise(question.answers):
        if ORDER.index(after.consequence) < ORDER.index(before.consequence):
            why = f"stands below {before.id!r}, which says {before.consequence!r}; where more than one holds,"
            yield f"answers[{after.id}].consequence", f"{why} the lowest counts: it must be the strongest"
    if not any(answer.consequence in ("go", "note") for answer in question.answers):
        yield "answers", "has no answer that goes on: every patient would be held up"


def _arm_faults(questions: list[ScreeningQuestion], ids: set[str]) -> Found:
    """An arm that must not be used is held against the needle's: that must be asked whenever the other is."""
    sparing = [question for question in questions if any(answer.spare_arm for answer in question.answers)]
    if not sparing:
        return
    needle = next((question for question in questions if question.id == NEEDLE_ARM), None)
    if needle is None:
        if NEEDLE_ARM not in ids:  # one that is written but faulty is told of by itself
            yield "questions", f"has no {NEEDLE_ARM!r}; without it a needle in an arm to spare stops nothing"
        return
    if needle.part != "ready":
        why = f"is {needle.part!r}; it is asked once the needle is in: 'ready'"
        yield f"questions[{NEEDLE_ARM}].part", why
    given = {answer.id for answer in needle.answers}
    for arm in ("right", "left"):
        if arm not in given:
            yield f"questions[{NEEDLE_ARM}].answers", f"has no {arm!r}, which an arm to spare is held against"
    for question in sparing:
        if needle.dyes and (not question.dyes or set(question.dyes) - set(needle.dyes)):
            why = f"leaves out a dye for which {question.id!r} is asked, which may rule out an arm"
            yield f"questions[{NEEDLE_ARM}].dyes", why


def _watch_faults(watch: Watch) -> Found:
    if not watch.caution.strip():
        yield "caution", "is empty"
    given = Counter(rule.happened for rule in watch.rules)
    if "injected" not in given:
        yield "rules", "has none for 'injected': every dye is watched"
    for i, rule in enumerate(watch.rules):
        key = f"rules[#{i + 1}]"
        if given[rule.happened] > 1:
            yield f"{key}.happened", f"is {rule.happened!r}, which has {given[rule.happened]} rules"
        if not 1 <= rule.minutes <= LONGEST_MIN:
            yield f"{key}.minutes", f"is {rule.minutes}; must lie from 1 to {LONGEST_MIN}"
        for name, text in (("text", rule.text), ("source", rule.source)):
            if not text.strip():
                yield f"{key}.{name}", "is empty"


def _card_faults(card: Takeaway, dyes: set[str], language: str, demo: bool) -> Found:
    languages = set(card.title)
    if language not in languages:
        yield "title", f"has no {language!r}, the pack's own language"
    texts = {"title": card.title, "reach": card.reach}
    texts |= {f"lines[{line.id}].text": line.text for line in card.lines}
    for key, said in texts.items():
        for name in sorted(languages | set(said)):
            if not said.get(name, "").strip():
                yield f"{key}.{name}", "is missing; a card says everything in each of its languages"
    for name, text in card.reach.items():
        if sum(letter.isdigit() for letter in text) < 3:
            yield f"reach.{name}", "holds no number; how does somebody reach the clinic who feels ill later?"
        elif not demo and INVENTED_PHONE in text:
            yield f"reach.{name}", "holds a demo's invented number"
    for name in card.unreviewed:
        if name not in languages:
            yield "unreviewed", f"names no language of the card: {name!r}"
    if not card.lines:
        yield "lines", "is empty"
    for line in card.lines:
        yield from ((f"lines[{line.id}].dyes", reason) for reason in unknown_dyes(line.dyes, dyes))
        if not line.source.strip():
            yield f"lines[{line.id}].source", "is empty"
