"""The parts of a pack's source as far as they could be read: sound entries only, for the checks."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import msgspec

from chinrest.model.face import FaceTables
from chinrest.model.fit import Limits
from chinrest.model.optic import Optic
from chinrest.model.series.pace import PACE, Pace
from chinrest.model.series.protocol import Protocol

from .dye_parts import DyeParts, read_dye_parts
from .planned import Planning
from .reader import Reader, Table
from .regions import DrawnRegion
from .schema import Choice, Choices, Contact, Field, Site, Stage, Step, Thresholds

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
    """One `phrases/LANGUAGE.toml`. `reviewed`: someone who speaks the language has signed the wording.
    `fallback`: the language whose words are shown, and named, where this file has none yet."""

    reviewed: bool
    fallback: str = ""
    phrases: dict[str, str]


class EmergencyPage(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The top of `emergency.toml`, but for its list of contacts."""

    first: list[str]
    kit: str
    local_steps: list[str]
    caution: str


class Parts(msgspec.Struct, kw_only=True):
    """What could be read, faulty entries left out; None where a whole file could not be.

    `ids` holds every id that was written down, of sound and faulty
    entries alike, in order, so that one fault does not make others out of whatever refers to it.
    """

    clinic: Clinic | None
    sites: list[Site]
    optics: list[Optic]
    faces: FaceTables | None
    limits: Limits | None
    stages: list[Stage]
    steps: list[Step]
    fields: list[Field]
    protocols: list[Protocol]
    own_regions: list[DrawnRegion]
    pace: Pace
    planning: Planning
    choices: dict[str, list[Choice]]
    harm_scale: str
    phrases: dict[str, PhraseFile]
    emergency: EmergencyPage | None
    contacts: list[tuple[int, Contact]]
    dye: DyeParts
    ids: dict[str, list[tuple[str, str]]]
    """List (such as `steps` or `flags`), then (file, id) of each entry."""
    present: set[str]
    """Files that could be read as TOML."""
    phrase_files: list[str]
    """Languages that have a file, readable or not."""
    stages_named: set[str]
    """Stages that steps name, sound or not: a stage whose only step is faulty is not without a step."""
    steps_whole: bool
    """Every file of steps could be read, and there is one: only then can a stage be said to be missing."""

    def named(self, kind: str) -> list[tuple[str, str]]:
        """(id, file) of every entry of a list."""
        return [(name, file) for file, name in self.ids.get(kind, [])]

    def file_of(self, kind: str, name: str) -> str:
        return next((file for given, file in self.named(kind) if given == name), "steps.toml")


def _holds_steps(file: str) -> bool:
    return file == "steps.toml" or file.startswith("steps/")


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
    reader.only("regions.toml", {"regions"}, {"regions"})
    reader.only("choices.toml", {*CHOICE_LISTS, "harm_scale"}, {*CHOICE_LISTS, "harm_scale"})
    scale = reader.tables.get("choices.toml", {}).get("harm_scale", "")
    if not isinstance(scale, str):
        reader.fault("choices.toml", "harm_scale", "must be text")
    stages, steps, stages_named = _read_steps(reader, note_ids)
    return Parts(
        clinic=reader.rest("clinic.toml", {"sites"}, Clinic),
        sites=listed("clinic.toml", "sites", Site),
        optics=listed("optics.toml", "optics", Optic),
        faces=reader.whole("faces.toml", FaceTables),
        limits=reader.whole("limits.toml", Limits),
        stages=stages,
        steps=steps,
        fields=listed("fields.toml", "fields", Field),
        protocols=listed("protocols.toml", "protocols", Protocol),
        own_regions=listed("regions.toml", "regions", DrawnRegion),
        pace=_read_pace(reader),
        planning=reader.whole("planning.toml", Planning) or Planning(),
        choices={name: listed("choices.toml", name, Choice) for name in CHOICE_LISTS},
        harm_scale=scale if isinstance(scale, str) else "",
        phrases=_read_phrases(reader),
        emergency=reader.rest("emergency.toml", {"contacts"}, EmergencyPage),
        contacts=_read_contacts(reader),
        dye=read_dye_parts(reader),
        ids=ids,
        present=set(reader.tables),
        phrase_files=reader.phrase_files,
        stages_named=stages_named,
        steps_whole=any(map(_holds_steps, reader.tables)) and not any(map(_holds_steps, reader.unreadable)),
    )


def _read_steps(
    reader: Reader, note_ids: Callable[[str, str, list[Table]], None]
) -> tuple[list[Stage], list[Step], set[str]]:
    """Stages, steps (in the stages' order) and the stages that steps name, from all files of steps.

    A file's own `stage` stands for its steps.
    """
    stages: list[Stage] = []
    steps: list[Step] = []
    stages_named: set[str] = set()
    for file, table in reader.tables.items():
        if not _holds_steps(file):
            continue
        reader.only(file, {"stage", "stages", "steps"}, set())
        stage = table.get("stage")
        if stage is not None and not isinstance(stage, str):
            reader.fault(file, "stage", "must be text")
        raw_steps = reader.entries(file, "steps")
        note_ids("stages", file, reader.entries(file, "stages"))
        note_ids("steps", file, raw_steps)
        if isinstance(stage, str):
            raw_steps = table["steps"] = [{"stage": stage, **step} for step in raw_steps]
        stages_named |= {str(step.get("stage")) for step in raw_steps}
        stages += reader.listed(file, "stages", Stage)
        steps += reader.listed(file, "steps", Step)
    order = {stage.id: i for i, stage in enumerate(stages)}
    steps.sort(key=lambda step: order.get(step.stage, len(order)))
    return stages, steps, stages_named


def _read_pace(reader: Reader) -> Pace:
    file = "protocols.toml"
    reader.only(file, {"pace", "protocols"}, {"protocols"})
    return reader.convert(reader.tables.get(file, {}).get("pace", {}), Pace, file, "pace") or PACE


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
