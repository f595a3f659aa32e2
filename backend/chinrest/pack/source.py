"""A pack's source: a folder of TOML files, read whole, with every fault found before anything is refused."""

from collections.abc import Mapping
from pathlib import Path

import msgspec

from chinrest.model.dye.aftercare import Takeaway, Watch
from chinrest.model.dye.rule import Dosing, Dye
from chinrest.model.dye.screening import ScreeningQuestion
from chinrest.model.face import FaceTables
from chinrest.model.fit import Limits
from chinrest.model.optic import Optic
from chinrest.model.reaction.tables import ReactionTables
from chinrest.model.series.pace import Pace
from chinrest.model.series.protocol import Protocol

from .checks import check
from .faults import PackFaults
from .parts import read
from .planned import Planning
from .reader import Reader, Table
from .regions import DrawnRegion
from .schema import Choices, Emergency, Field, Site, Stage, Step, Thresholds


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
    phrase_fallbacks: dict[str, str]
    thresholds: Thresholds
    emergency: Emergency
    protocols: list[Protocol]
    pace: Pace
    planning: Planning
    own_regions: list[DrawnRegion]
    dosing: Dosing | None
    dyes: list[Dye]
    screening: list[ScreeningQuestion]
    reaction: ReactionTables | None
    watch: Watch | None
    takeaway: Takeaway | None


def load(path: Path | str) -> Source:
    """Reads and checks a source folder. Raises PackFaults with every fault that it has."""
    return _sound(Reader.of_folder(Path(path)))


def load_tables(tables: Mapping[str, Table]) -> Source:
    """The same of its files as tables, by file. Raises PackFaults with every fault."""
    return _sound(Reader.of_tables(tables))


def _sound(reader: Reader) -> Source:
    parts = read(reader)
    reader.faults.extend(check(parts))
    clinic, faces, limits, page = parts.clinic, parts.faces, parts.limits, parts.emergency
    if reader.faults or clinic is None or faces is None or limits is None or page is None:
        raise PackFaults(
            sorted(set(reader.faults), key=lambda fault: (fault.file, reader.faults.index(fault)))
        )
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
        phrases_unreviewed=sorted(language for language, file in parts.phrases.items() if not file.reviewed),
        phrase_fallbacks={
            language: file.fallback for language, file in sorted(parts.phrases.items()) if file.fallback
        },
        thresholds=clinic.thresholds,
        protocols=parts.protocols,
        pace=parts.pace,
        planning=parts.planning,
        own_regions=parts.own_regions,
        emergency=Emergency(
            first=page.first,
            kit=page.kit,
            local_steps=page.local_steps,
            caution=page.caution,
            contacts=[contact for _, contact in parts.contacts],
        ),
        dosing=parts.dye.dosing,
        dyes=parts.dye.dyes,
        screening=parts.dye.screening,
        reaction=parts.dye.reaction,
        watch=parts.dye.watch,
        takeaway=parts.dye.takeaway,
    )
