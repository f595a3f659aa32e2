"""What a source must hold beyond the right kinds: ids, words, contacts, references that lead somewhere."""

import re
from collections import Counter
from collections.abc import Iterator

from .asked_checks import INVENTED_PHONE, asked_faults
from .dye_checks import dye_faults
from .faults import PackFault
from .figures import figure_faults
from .parts import CHOICE_LISTS, Parts
from .planning_checks import planning_faults
from .protocols import protocol_faults
from .reaction_checks import reaction_faults
from .regions import region_faults
from .steps import step_faults
from .vocabulary import vocabulary_faults

ID = re.compile(r"[a-z0-9][a-z0-9_-]{0,39}")
"""Ids stand in log lines and in keys that are joined with a bar: letters, digits, dash and low line only."""
LANGUAGE = re.compile(r"[a-z]{2,3}(-[A-Za-z0-9]{2,8})*")


def check(parts: Parts) -> Iterator[PackFault]:
    """Every fault that stands between the parts."""
    yield from _id_faults(parts.ids)
    yield from _id_faults(parts.dye.ids)
    yield from _empty_words(parts)
    yield from _clinic_faults(parts)
    yield from _phrase_faults(parts)
    yield from _emergency_faults(parts)
    yield from vocabulary_faults(parts)
    yield from step_faults(parts)
    yield from figure_faults(parts)
    demo = parts.clinic.demo if parts.clinic else True
    yield from dye_faults(parts.dye, demo)
    yield from asked_faults(parts.dye, parts.clinic.language if parts.clinic else "en", demo)
    yield from reaction_faults(parts.dye)
    fields = {name for name, _ in parts.named("fields")}
    regions = {region.id for region in parts.planning.regions}
    yield from protocol_faults(parts.protocols, parts.pace, fields, regions)
    yield from region_faults(parts.own_regions)
    yield from planning_faults(parts.planning, parts.own_regions)


def _id_faults(ids: dict[str, list[tuple[str, str]]]) -> Iterator[PackFault]:
    for kind, entries in ids.items():
        for file, name in entries:
            if not ID.fullmatch(name):
                yield PackFault(
                    file=file,
                    key=f"{kind}[{name}].id",
                    reason="must be 1 to 40 of a-z, 0-9, dash and low line, and start with a letter or digit",
                )
        for name, times in Counter(name for _, name in entries).items():
            if times > 1:
                files = sorted({file for file, other in entries if other == name})
                for file in files:
                    yield PackFault(
                        file=file,
                        key=f"{kind}[{name}].id",
                        reason=f"is used {times} times ({', '.join(files)}); an id must be unique",
                    )


def _empty_words(parts: Parts) -> Iterator[PackFault]:
    """What people read must say something."""
    clinic, page = parts.clinic, parts.emergency
    words: list[tuple[str, str, str]] = []
    if clinic:
        words += [("clinic.toml", "clinic", clinic.clinic), ("clinic.toml", "version", clinic.version)]
        words += [("clinic.toml", f"cautions[#{i + 1}]", line) for i, line in enumerate(clinic.cautions)]
    words += [("clinic.toml", f"sites[{site.id}].name", site.name) for site in parts.sites]
    words += [("optics.toml", f"optics[{optic.id}].name", optic.name) for optic in parts.optics]
    words += [("optics.toml", f"optics[{optic.id}].focus_start", optic.focus_start) for optic in parts.optics]
    words += [
        (parts.file_of("stages", stage.id), f"stages[{stage.id}].name", stage.name) for stage in parts.stages
    ]
    words += [(parts.file_of("steps", step.id), f"steps[{step.id}].text", step.text) for step in parts.steps]
    words += [("fields.toml", f"fields[{field.id}].name", field.name) for field in parts.fields]
    words += [
        ("choices.toml", f"{name}[{choice.id}].text", choice.text)
        for name in CHOICE_LISTS
        for choice in parts.choices[name]
    ]
    if "choices.toml" in parts.present:
        words.append(("choices.toml", "harm_scale", parts.harm_scale))
    if page:
        words += [("emergency.toml", "kit", page.kit), ("emergency.toml", "caution", page.caution)]
        for key, lines in (("first", page.first), ("local_steps", page.local_steps)):
            words += [("emergency.toml", f"{key}[#{i + 1}]", line) for i, line in enumerate(lines)]
    for language, said in parts.phrases.items():
        words += [(f"phrases/{language}.toml", f"phrases.{key}", text) for key, text in said.phrases.items()]
    for file, key, text in words:
        if not text.strip():
            yield PackFault(file=file, key=key, reason="is empty")


def _clinic_faults(parts: Parts) -> Iterator[PackFault]:
    file = "clinic.toml"
    if file in parts.present and not parts.named("sites"):
        yield PackFault(file=file, key="sites", reason="is empty; a pack serves at least one site")
    clinic = parts.clinic
    if clinic is None:
        return
    if not clinic.cautions:
        yield PackFault(file=file, key="cautions", reason="is empty; the cautions are shown with every pack")
    if not LANGUAGE.fullmatch(clinic.language):
        yield PackFault(
            file=file,
            key="language",
            reason=f"is {clinic.language!r}; must be a language tag such as en or pt-BR",
        )
    limits = clinic.thresholds
    for key, value, low, high in (
        ("comfort_pause_at", limits.comfort_pause_at, 1, 10),
        ("comfort_rise_pause", limits.comfort_rise_pause, 1, 10),
        ("keep_days", limits.keep_days, 1, 3650),
        ("close_optic_mm", limits.close_optic_mm, 0, 300),
        ("large_move_deg", limits.large_move_deg, 1, 60),
        ("clock_warn_ms", limits.clock_warn_ms, 1000, 86_400_000),
        ("chin_rest_break_min", limits.chin_rest_break_min, 0, 120),
    ):
        if not low <= value <= high:
            yield PackFault(
                file=file, key=f"thresholds.{key}", reason=f"is {value:g}; must lie from {low} to {high}"
            )


def _phrase_faults(parts: Parts) -> Iterator[PackFault]:
    """Each language says everything that a step says, itself or by the fallback that it names; the pack's own
    language must be there."""
    languages = parts.phrase_files
    if parts.clinic and languages and parts.clinic.language not in languages:
        yield PackFault(
            file="clinic.toml",
            key="language",
            reason=f"is {parts.clinic.language!r}, and phrases/{parts.clinic.language}.toml is not there",
        )
    for language in languages:
        if not LANGUAGE.fullmatch(language):
            yield PackFault(
                file=f"phrases/{language}.toml",
                key="",
                reason="must be named by a language tag, such as en.toml",
            )
    wanted = sorted({step.say for step in parts.steps if step.say})
    for language, said in parts.phrases.items():
        other = parts.phrases.get(said.fallback)
        if said.fallback and (other is None or said.fallback == language or other.fallback):
            yield PackFault(
                file=f"phrases/{language}.toml",
                key="fallback",
                reason=f"is {said.fallback!r}; must name another language of this pack that has no fallback",
            )
        for key in wanted:
            if key not in said.phrases and (other is None or key not in other.phrases):
                speakers = ", ".join(step.id for step in parts.steps if step.say == key)
                yield PackFault(
                    file=f"phrases/{language}.toml",
                    key=f"phrases.{key}",
                    reason=f"is missing; said in {speakers}",
                )


def _emergency_faults(parts: Parts) -> Iterator[PackFault]:
    file = "emergency.toml"
    if parts.emergency:
        for key, lines in (("first", parts.emergency.first), ("local_steps", parts.emergency.local_steps)):
            if not lines:
                yield PackFault(file=file, key=key, reason="is empty")
    known = {name for name, _ in parts.named("sites")}
    demo = parts.clinic.demo if parts.clinic else True
    for i, contact in parts.contacts:
        key = f"contacts[#{i + 1}]"
        if not contact.name.strip():
            yield PackFault(file=file, key=f"{key}.name", reason="is empty")
        if sum(letter.isdigit() for letter in contact.phone) < 3:
            yield PackFault(
                file=file,
                key=f"{key}.phone",
                reason=f"is {contact.phone!r}; a contact without a phone number is no help",
            )
        elif any(letter.isnumeric() and not letter.isascii() for letter in contact.phone):
            reason = f"is {contact.phone!r}; a phone dials the digits 0 to 9 only"
            yield PackFault(file=file, key=f"{key}.phone", reason=reason)
        elif not demo and contact.phone.startswith(INVENTED_PHONE):
            yield PackFault(
                file=file, key=f"{key}.phone", reason=f"{contact.phone} is a demo's invented number"
            )
        if contact.site and known and contact.site not in known:
            yield PackFault(file=file, key=f"{key}.site", reason=f"names no site: {contact.site!r}")
    if file not in parts.present:
        return
    reached = {contact.site for _, contact in parts.contacts}
    for name, _ in parts.named("sites"):
        if "" not in reached and name not in reached:
            yield PackFault(file=file, key="contacts", reason=f"site {name!r} has no contact")
