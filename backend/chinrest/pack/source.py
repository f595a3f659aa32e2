"""A pack's source: a folder of TOML files, read whole, with every fault found before anything is refused."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import msgspec

from chinrest.model.face import FaceTables
from chinrest.model.fit import Limits
from chinrest.model.optic import Optic

from .faults import PackFaults
from .reader import Reader, Table
from .schema import Choice, Choices, Contact, Emergency, Field, Site, Stage, Step, Thresholds

CHOICE_LISTS = [name for name in Choices.__struct_fields__ if name != "harm_scale"]


class Clinic(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The top of `clinic.toml`, but for its list of sites."""

    clinic: str
    version: str
    demo: bool
    language: str
    cautions: list[str]
    thresholds: Thresholds


class PhraseFile(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One `phrases/LANGUAGE.toml`. `reviewed`: someone who speaks the language has signed the wording."""

    reviewed: bool
    phrases: dict[str, str]


class EmergencyPage(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The top of `emergency.toml`, but for its list of contacts."""

    first: list[str]
    kit: str
    local_steps: list[str]
    caution: str


class Parts(msgspec.Struct, kw_only=True):
    """What could be read, faulty entries left out; None where a whole file could not be.

    `files` says in which file a step stands; `ids` holds every id that was written down, of sound and faulty
    entries alike, in order, so that one fault does not make others out of whatever refers to it.
    """

    clinic: Clinic | None
    sites: list[Site]
    optics: list[Optic]
    faces: FaceTables | None
    limits: Limits | None
    stages: list[Stage]
    steps: list[Step]
    files: dict[str, str]
    fields: list[Field]
    choices: dict[str, list[Choice]]
    harm_scale: str
    phrases: dict[str, PhraseFile]
    emergency: EmergencyPage | None
    contacts: list[tuple[int, Contact]]
    ids: dict[str, list[tuple[str, str]]]
    """List (such as `steps` or `flags`), then (file, id) of each entry."""


class Source(msgspec.Struct, frozen=True, kw_only=True):
    """A source without a fault: all of a pack but what is computed."""

    clinic: str
    version: str
    demo: bool
    language: str
    cautions: list[str]
    sites: list[Site]
    optics: list[Optic]
    faces: FaceTables
    limits: Limits
    stages: list[Stage]
    steps: list[Step]
    fields: list[Field]
    choices: Choices
    phrases: dict[str, dict[str, str]]
    phrases_unreviewed: list[str]
    thresholds: Thresholds
    emergency: Emergency


def read(reader: Reader) -> Parts:
    """All parts of the source; faults are left with the reader."""
    ids: dict[str, list[tuple[str, str]]] = {}

    def note_ids(kind: str, file: str, entries: list[Table]) -> None:
        ids.setdefault(kind, []).extend(
            (file, entry["id"]) for entry in entries if isinstance(entry.get("id"), str)
        )

    def listed(file: str, key: str, kind: Any) -> list[Any]:
        note_ids(key, file, reader.entries(file, key))
        return reader.listed(file, key, kind)

    reader.only("optics.toml", {"optics"}, {"optics"})
    reader.only("fields.toml", {"fields"}, {"fields"})
    reader.only("choices.toml", {*CHOICE_LISTS, "harm_scale"}, {*CHOICE_LISTS, "harm_scale"})
    scale = reader.tables.get("choices.toml", {}).get("harm_scale", "")
    if not isinstance(scale, str):
        reader.fault("choices.toml", "harm_scale", "must be text")
    stages, steps, files = _read_steps(reader, note_ids)
    return Parts(
        clinic=reader.rest("clinic.toml", {"sites"}, Clinic),
        sites=listed("clinic.toml", "sites", Site),
        optics=listed("optics.toml", "optics", Optic),
        faces=reader.whole("faces.toml", FaceTables),
        limits=reader.whole("limits.toml", Limits),
        stages=stages,
        steps=steps,
        files=files,
        fields=listed("fields.toml", "fields", Field),
        choices={name: listed("choices.toml", name, Choice) for name in CHOICE_LISTS},
        harm_scale=scale if isinstance(scale, str) else "",
        phrases=_read_phrases(reader),
        emergency=reader.rest("emergency.toml", {"contacts"}, EmergencyPage),
        contacts=_read_contacts(reader),
        ids=ids,
    )


def _read_steps(
    reader: Reader, note_ids: Callable[[str, str, list[Table]], None]
) -> tuple[list[Stage], list[Step], dict[str, str]]:
    """Stages and steps from `steps.toml` and `steps/*.toml`; a file's own `stage` stands for its steps."""
    stages: list[Stage] = []
    steps: list[Step] = []
    files: dict[str, str] = {}
    for file, table in reader.tables.items():
        if file != "steps.toml" and not file.startswith("steps/"):
            continue
        reader.only(file, {"stage", "stages", "steps"}, set())
        stage = table.get("stage")
        if stage is not None and not isinstance(stage, str):
            reader.fault(file, "stage", "must be text")
        raw_steps = reader.entries(file, "steps")
        note_ids("stages", file, reader.entries(file, "stages"))
        note_ids("steps", file, raw_steps)
        if isinstance(stage, str):
            table["steps"] = [{"stage": stage, **step} for step in raw_steps]
        stages += reader.listed(file, "stages", Stage)
        found = reader.listed(file, "steps", Step)
        steps += found
        for step in found:
            files.setdefault(step.id, file)
    order = {stage.id: i for i, stage in enumerate(stages)}
    steps.sort(key=lambda step: order.get(step.stage, len(order)))
    return stages, steps, files


def _read_phrases(reader: Reader) -> dict[str, PhraseFile]:
    found: dict[str, PhraseFile] = {}
    for file in reader.tables:
        if file.startswith("phrases/"):
            phrases = reader.whole(file, PhraseFile)
            if phrases is not None:
                found[Path(file).stem] = phrases
    return found


def _read_contacts(reader: Reader) -> list[tuple[int, Contact]]:
    file, key = "emergency.toml", "contacts"
    made = [
        (i, reader.convert(entry, Contact, file, f"{key}[#{i + 1}]"))
        for i, entry in enumerate(reader.entries(file, key))
    ]
    return [(i, contact) for i, contact in made if contact is not None]


def load(path: Path | str) -> Source:
    """Reads and checks a source folder. Raises PackFaults with every fault that it has."""
    from .checks import check  # checks look at Parts, which stand here

    reader = Reader(Path(path))
    parts = read(reader)
    reader.faults.extend(check(parts))
    clinic, faces, limits, page = parts.clinic, parts.faces, parts.limits, parts.emergency
    if reader.faults or clinic is None or faces is None or limits is None or page is None:
        raise PackFaults(sorted(set(reader.faults), key=lambda fault: (fault.file, reader.faults.index(fault))))
    return Source(
        clinic=clinic.clinic,
        version=clinic.version,
        demo=clinic.demo,
        language=clinic.language,
        cautions=clinic.cautions,
        sites=parts.sites,
        optics=parts.optics,
        faces=faces,
        limits=limits,
        stages=parts.stages,
        steps=parts.steps,
        fields=parts.fields,
        choices=Choices(harm_scale=parts.harm_scale, **parts.choices),
        phrases={language: file.phrases for language, file in sorted(parts.phrases.items())},
        phrases_unreviewed=sorted(
            language for language, file in parts.phrases.items() if not file.reviewed
        ),
        thresholds=clinic.thresholds,
        emergency=Emergency(
            first=page.first,
            kit=page.kit,
            local_steps=page.local_steps,
            caution=page.caution,
            contacts=[contact for _, contact in parts.contacts],
        ),
    )
