"""Do the steps and frames of a source hold together: references, screens, conditions that can come true?"""

from collections.abc import Iterator

from chinrest.model.optic import Optic

from .faults import PackFault
from .parts import Parts
from .schema import Condition, Step

EYE_ROUNDS = {"eye", "eye_and_optic"}
OPTIC_ROUNDS = {"optic", "eye_and_optic"}
SCREEN_ROUNDS: dict[str, set[str]] = {
    "face": EYE_ROUNDS,
    "pupil": EYE_ROUNDS,
    "fixation": EYE_ROUNDS,
    "frames": EYE_ROUNDS,
    "series": {"optic"},
    "position": {"eye_and_optic"},
    "found": {"eye_and_optic"},
    "optic": {"case"},
    "screening": {"case"},
    "ready": {"case"},
    "release": {"case"},
    "dose": {"case"},
    "inject": {"case"},
    "arm": {"case"},
    "watch": {"case"},
    "takeaway": {"case"},
    "images": {"case"},
}
"""The rounds in which a screen knows which eye or optic it is about."""
DYE_SCREENS = ("dose", "inject")
ARM = "arm"
"""The question by whose answer the phone compares the needle's arm with an arm that must not be used."""
FRAME_SCREENS = ("frames", "series")


def step_faults(parts: Parts) -> Iterator[PackFault]:
    stages = {name for name, _ in parts.named("stages")}
    if parts.steps_whole and not stages:
        yield PackFault(file="steps.toml", key="stages", reason="no stage is given, in any file of steps")
    used = parts.stages_named
    for stage in parts.stages:
        if parts.steps_whole and stage.id not in used:
            yield PackFault(
                file=parts.file_of("stages", stage.id), key=f"stages[{stage.id}]", reason="has no step"
            )
    for step in parts.steps:
        file, key = parts.file_of("steps", step.id), f"steps[{step.id}]"
        if parts.steps_whole and stages and step.stage not in stages:
            yield PackFault(file=file, key=f"{key}.stage", reason=f"names no stage: {step.stage!r}")
        for where, reason in _screen_faults(step, parts):
            yield PackFault(file=file, key=f"{key}.{where}", reason=reason)
        for where, reason in _round_faults(step):
            yield PackFault(file=file, key=f"{key}.{where}", reason=reason)
        for where, reason in _condition_faults(step.when, parts):
            yield PackFault(file=file, key=f"{key}.when{where}", reason=reason)
    for field in parts.fields:
        for where, reason in _condition_faults(field.when, parts):
            yield PackFault(file="fields.toml", key=f"fields[{field.id}].when{where}", reason=reason)


def _screen_faults(step: Step, parts: Parts) -> Iterator[tuple[str, str]]:
    rounds = SCREEN_ROUNDS.get(step.screen)
    if rounds and step.each not in rounds:
        yield "each", f"is {step.each}; screen {step.screen} needs {' or '.join(sorted(rounds))}"
    if step.shows != "nothing" and step.each not in OPTIC_ROUNDS:
        yield (
            "shows",
            f"is {step.shows}; only a step that is asked for each optic can show an optic's own steps",
        )
    if step.screen in FRAME_SCREENS and not step.fields:
        yield "fields", f"is empty; a step with screen {step.screen} names the frames that it checks off"
    if step.screen not in FRAME_SCREENS and step.fields:
        named = " and ".join(FRAME_SCREENS)
        yield "fields", f"is for screens {named} only, and the screen is {step.screen}"
    fields = {name for name, _ in parts.named("fields")}
    for name in step.fields:
        if "fields.toml" in parts.present and name not in fields:
            yield "fields", f"names no field: {name!r}"
    yield from _dye_faults(step, parts)
    if step.screen == "number":
        if not step.unit.strip():
            yield "unit", "is missing; a number is asked for with its unit"
        if step.least is None or step.most is None:
            yield ("least" if step.least is None else "most"), "is missing; a number has a range"
        elif step.least >= step.most:
            yield "most", f"is {step.most:g}; must be above least, {step.least:g}"
    elif step.unit or step.least is not None or step.most is not None:
        named = "unit" if step.unit else "least" if step.least is not None else "most"
        yield named, f"is for screen number only, and the screen is {step.screen}"


def _dye_faults(step: Step, parts: Parts) -> Iterator[tuple[str, str]]:
    """The steps around an injection find what they are about in the rest of the source."""
    if step.screen in DYE_SCREENS and not step.dye:
        yield "dye", f"is missing; screen {step.screen} is about one dye"
    if step.screen not in DYE_SCREENS and step.dye:
        yield "dye", f"is for screens {' and '.join(DYE_SCREENS)} only, and the screen is {step.screen}"
    dyes = parts.dye.names("dyes")
    if step.dye and "dyes.toml" in parts.dye.present and step.dye not in dyes:
        yield "dye", f"names no dye: {step.dye!r}; there is {', '.join(sorted(dyes)) or 'none'}"
    if step.screen == "release" and step.weight != "stop":
        yield "weight", f"is {step.weight}; a step that is there to be released is a stop"
    if step.screen == "ready" and "screening.toml" in parts.dye.present and not _asks_the_arm(parts):
        reason = f"is ready; screening.toml has no question {ARM!r} of part ready, answered right or left"
        yield "screen", reason


def _asks_the_arm(parts: Parts) -> bool:
    return any(
        question.id == ARM
        and question.part == "ready"
        and {"right", "left"} <= {answer.id for answer in question.answers}
        for question in parts.dye.screening
    )


def _round_faults(step: Step) -> Iterator[tuple[str, str]]:
    """A condition on an eye or an optic can only be judged in a round that has one."""
    when = step.when
    if step.each not in EYE_ROUNDS:
        if when.eyes:
            yield "when.eyes", f"needs each = eye or eye_and_optic, and it is {step.each}"
        if when.study_eye is not None:
            yield "when.study_eye", f"needs each = eye or eye_and_optic, and it is {step.each}"
    if step.each not in OPTIC_ROUNDS:
        for name, given in (
            ("optics", bool(when.optics)),
            ("optic_change", when.optic_change is not None),
            ("close_optic", when.close_optic is not None),
        ):
            if given:
                yield f"when.{name}", f"needs each = optic or eye_and_optic, and it is {step.each}"


def _condition_faults(when: Condition, parts: Parts) -> Iterator[tuple[str, str]]:
    """References that lead nowhere, and what can never be true with these optics. Keys start with a dot."""
    optics = {name for name, _ in parts.named("optics")}
    flags = {name for name, _ in parts.named("flags")}
    dangling = False
    for key, given, known, what in (
        ("optics", when.optics, optics, "optic"),
        ("flags", when.flags, flags, "flag"),
        ("without_flags", when.without_flags, flags, "flag"),
    ):
        for name in given:
            if known and name not in known:
                dangling = True
                yield f".{key}", f"names no {what}: {name!r}"
    if not dangling:
        reason = _never(when, parts)
        if reason:
            yield "", f"can never be true: {reason}"


def _never(when: Condition, parts: Parts) -> str | None:
    if when.flags and set(when.flags) <= set(when.without_flags):
        return "every flag that it asks for is one that it excludes"
    if len(parts.optics) != len(parts.named("optics")) or not parts.optics or parts.clinic is None:
        return None  # an optic is faulty, or the clinic's file is: nothing can be said
    if when.optic_change and len(parts.optics) < 2:
        return "the pack has one optic only, so none is ever changed"
    left = [optic for optic in parts.optics if not when.optics or optic.id in when.optics]
    named = "the optics that it names" if when.optics else "this pack's optics"
    if when.close_optic is not None:
        close = parts.clinic.thresholds.close_optic_mm
        left = [optic for optic in left if (optic.working_distance_mm <= close) == when.close_optic]
        if not left:
            side = "at or under" if when.close_optic else "beyond"
            return f"none of {named} works {side} thresholds.close_optic_mm, {close:g} mm"
    return _not_offered(when, left, named)


def _not_offered(when: Condition, left: list[Optic], named: str) -> str | None:
    if when.modalities and not any(set(optic.modalities) & set(when.modalities) for optic in left):
        return f"none of {named} can take {' or '.join(when.modalities)}"
    if when.cross_sections and not any(optic.cross_sections for optic in left):
        return f"none of {named} can take cross-sections"
    return None
