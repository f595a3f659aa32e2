"""Proves a compiled pack from elsewhere: what a source must hold, and its figures against the models.

A pack of the right kinds can still hold wrong figures, and every phone would go by them.
"""

import math
from collections.abc import Iterable, Iterator
from typing import Any

import msgspec

from chinrest.model.dye.vectors import dose_vectors
from chinrest.model.errors import InputError
from chinrest.model.series.clock_vectors import clock_vectors
from chinrest.model.series.next_frame_vectors import next_frame_vectors
from chinrest.model.tables import pupil_table
from chinrest.model.vectors import questions, vector_of

from .checks import check
from .compiled import decode_pack
from .dye_parts import FILES, REACTION_LISTS, DyeParts
from .faults import PackFault, PackFaults
from .parts import CHOICE_LISTS, Clinic, EmergencyPage, Parts, PhraseFile
from .reader import FILES as ALL_FILES
from .regions import retina_parts
from .schema import Pack

TOLERANCE = 1e-3
"""Of a figure: far below what matters at the eye, far above what two machines' arithmetic differs by."""
AGAIN = "is not what the models of this server give; compile the pack again with this version"


def prove(pack: Pack) -> list[PackFault]:
    """Every fault of what its source must hold; where there is none, of the figures that are computed of it.

    The table of nearest distances and the plans take minutes and are not worked out again.
    """
    try:
        return list(check(parts_of(pack))) or list(_figure_faults(pack))
    except InputError as error:
        return [PackFault(file="pack", key=error.field, reason=error.why)]


def faults_of(raw: bytes) -> list[PackFault]:
    """Every fault of a compiled pack's bytes: what cannot be read, or what does not prove."""
    try:
        return prove(decode_pack(raw))
    except PackFaults as error:
        return error.faults


def _figure_faults(pack: Pack) -> Iterator[PackFault]:
    seen = retina_parts(pack.own_regions)
    for key, made in (
        ("pupil", pupil_table()),
        ("clock_vectors", clock_vectors()),
        ("next_frame_vectors", next_frame_vectors(pack.layouts, pack.pace)),
        ("dose_vectors", dose_vectors(pack.dyes, pack.dosing)),
        ("retina", seen.retina),
        ("regions", seen.regions),
        ("cell_vectors", seen.cell_vectors),
    ):
        if not near(msgspec.to_builtins(made), msgspec.to_builtins(getattr(pack, key))):
            yield PackFault(file="pack", key=key, reason=AGAIN)
    wanted = [question for optic in pack.optics for question in questions(optic)]
    if [vector.request for vector in pack.fit_vectors] != wanted:
        yield PackFault(file="pack", key="fit_vectors", reason=AGAIN)
        return
    for number, vector in enumerate(pack.fit_vectors):
        made_again = vector_of(vector.request, pack.optics, pack.faces, pack.limits)
        if not near(msgspec.to_builtins(made_again), msgspec.to_builtins(vector)):
            yield PackFault(file="pack", key=f"fit_vectors[#{number + 1}]", reason=AGAIN)
            return


def near(one: Any, other: Any) -> bool:
    """The same, but for the last digits of figures."""
    if isinstance(one, float) or isinstance(other, float):
        numbers = isinstance(one, int | float) and isinstance(other, int | float)
        return numbers and math.isclose(one, other, rel_tol=TOLERANCE, abs_tol=TOLERANCE)
    if isinstance(one, dict) and isinstance(other, dict):
        return one.keys() == other.keys() and all(near(one[key], other[key]) for key in one)
    if isinstance(one, list | tuple) and isinstance(other, list | tuple):
        return len(one) == len(other) and all(map(near, one, other))
    return bool(one == other)


def _listed(file: str, entries: Iterable[Any]) -> list[tuple[str, str]]:
    return [(file, entry.id) for entry in entries if hasattr(entry, "id")]


def parts_of(pack: Pack) -> Parts:
    """A pack as the parts of the source that it would have come from, each in the file where it belongs."""
    choices = {name: getattr(pack.choices, name) for name in CHOICE_LISTS}
    ids = {
        "sites": _listed("clinic.toml", pack.sites),
        "optics": _listed("optics.toml", pack.optics),
        "stages": _listed("steps.toml", pack.stages),
        "steps": _listed("steps.toml", pack.steps),
        "fields": _listed("fields.toml", pack.fields),
        "protocols": _listed("protocols.toml", pack.protocols),
        "regions": _listed("regions.toml", pack.own_regions),
        **{name: _listed("choices.toml", entries) for name, entries in choices.items()},
    }
    page = pack.emergency
    return Parts(
        clinic=Clinic(
            clinic=pack.clinic,
            version=pack.version,
            demo=pack.demo,
            language=pack.language,
            cautions=pack.cautions,
            thresholds=pack.thresholds,
        ),
        sites=pack.sites,
        optics=pack.optics,
        faces=pack.faces,
        limits=pack.limits,
        stages=pack.stages,
        steps=pack.steps,
        fields=pack.fields,
        protocols=pack.protocols,
        own_regions=pack.own_regions,
        pace=pack.pace,
        planning=pack.planning,
        choices=choices,
        harm_scale=pack.choices.harm_scale,
        phrases={
            language: PhraseFile(
                reviewed=language not in pack.phrases_unreviewed,
                fallback=pack.phrase_fallbacks.get(language, ""),
                phrases=said,
            )
            for language, said in pack.phrases.items()
        },
        emergency=EmergencyPage(
            first=page.first, kit=page.kit, local_steps=page.local_steps, caution=page.caution
        ),
        contacts=list(enumerate(page.contacts)),
        dye=_dye_parts(pack),
        ids=ids,
        present={f"{name}.toml" for name in ALL_FILES} | {f"phrases/{name}.toml" for name in pack.phrases},
        phrase_files=sorted(pack.phrases),
        stages_named={step.stage for step in pack.steps},
        steps_whole=True,
    )


def _dye_parts(pack: Pack) -> DyeParts:
    given = pack.dosing or pack.dyes or pack.screening or pack.reaction or pack.watch or pack.takeaway
    reaction, watch, card = pack.reaction, pack.watch, pack.takeaway
    lists = {key: getattr(reaction, key) if reaction else [] for key in REACTION_LISTS}
    ids = {key: _listed("reaction.toml", entries) for key, entries in lists.items()}
    ids["dyes"] = _listed("dyes.toml", pack.dyes)
    ids["questions"] = _listed("screening.toml", pack.screening)
    ids["rules"] = _listed("watch.toml", watch.rules if watch else [])
    ids["lines"] = _listed("takeaway.toml", card.lines if card else [])
    return DyeParts(
        dosing=pack.dosing,
        dyes=pack.dyes,
        screening=pack.screening,
        reaction=reaction,
        watch=watch,
        takeaway=card,
        ids=ids,
        present={f"{name}.toml" for name in FILES} if given else set(),
    )
