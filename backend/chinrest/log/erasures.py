"""Tombstones: signed when they are written, and read again when a case is folded."""

from collections.abc import Iterable, Iterator, Sequence
from hashlib import sha256

import msgspec
from msgspec import Struct
from msgspec.structs import asdict, replace

from chinrest.log.amendments import Standing
from chinrest.log.case_events import Body
from chinrest.log.erasure_events import (
    BodiesErased,
    ErasedCase,
    ErasedDecision,
    ErasedIncident,
    ErasedTally,
)
from chinrest.log.line import BIGGEST
from chinrest.log.reaction_seen import ReactionSeen
from chinrest.log.registry import convert_body, type_of
from chinrest.log.review_events import ReviewBody
from chinrest.log.signing import is_signed, sign

ROOM_BYTES = 12_000
"""Of what a tombstone lists: with its envelope it stays below the limit of a line."""

LONGEST = 200
"""Characters of each name in it."""
SIGNS_BYTES = 4_000
"""Of a reaction's signs: some hundred ids."""

WORDS = frozenset({"text", "note", "why", "owner", "factors"})
"""Fields of a review line that hold what somebody wrote."""

ERASED = "(erased)"
"""Stands where words stood."""


class Erasure(Struct, frozen=True, kw_only=True):
    """The latest erasure of a case, put together from its tombstones. `counted_at`, `month`: of its counts;
    null where it counted for nothing."""

    case: ErasedCase
    counted_at: int | None
    month: str | None
    tallies: list[ErasedTally]
    incidents: list[ErasedIncident]


class Tombstone(Struct, frozen=True, kw_only=True):
    """One as it is shown to another server. `case`: what the envelope of its line names."""

    case: str | None
    body: BodiesErased


def tombstone_text(case: str | None, body: BodiesErased) -> str:
    """What the server signs: the case, and everything that the tombstone says."""
    told = msgspec.to_builtins(replace(body, signature=""))
    if not body.decisions:  # those that were signed before there were any say nothing of them
        del told["decisions"]
    said = [case, told]
    return f"chinrest tombstone {sha256(msgspec.json.encode(said, order='sorted')).hexdigest()}"


def signed(case: str | None, body: BodiesErased, key: str) -> BodiesErased:
    return replace(body, signature=sign(key, tombstone_text(case, body)))


def is_tombstone(case: str | None, body: BodiesErased, server_key: str) -> bool:
    return is_signed(server_key, tombstone_text(case, body), body.signature)


def in_parts(whole: BodiesErased) -> Iterator[BodiesErased]:
    """As many tombstones as it takes. The first says what the case was."""
    empty = replace(whole, bodies=[], tallies=[], incidents=[], decisions=[], refused=0)
    part, room = replace(empty, refused=whole.refused), ROOM_BYTES
    for name in ("bodies", "tallies", "incidents", "decisions"):
        for item in getattr(whole, name):
            size = len(msgspec.json.encode(item)) + 1
            if size > room and room < ROOM_BYTES:
                yield part
                part, room = replace(empty, case=None, at=None, month=None), ROOM_BYTES
            part = replace(part, **{name: [*getattr(part, name), item]})
            room -= size
    yield part


def erasure_of(standing: Sequence[Standing]) -> Erasure | None:
    """Of a case's lines in order; null where nothing of it was erased."""
    stones = [line.body for line in standing if isinstance(line.body, BodiesErased)]
    first = next((stone for stone in reversed(stones) if stone.case is not None), None)
    if first is None or first.case is None:
        return None
    parts = [stone for stone in stones if stone.erasure == first.erasure]
    return Erasure(
        case=first.case,
        counted_at=first.at,
        month=first.month,
        tallies=[tally for part in parts for tally in part.tallies],
        incidents=list({each.line: each for part in parts for each in part.incidents}.values()),
    )


def short(text: str) -> str:
    """What a phone claims may be longer than a tombstone has room for: its beginning tells it apart."""
    return text[:LONGEST]


def kept_of(incident: Struct) -> ErasedIncident:
    """What stays of an incident (an IncidentFact): so much that it fits into a tombstone, whatever was
    claimed."""
    fields = asdict(incident)
    kept = ErasedIncident(**{name: fields[name] for name in ErasedIncident.__struct_fields__})
    return replace(
        kept,
        what=short(kept.what),
        optic=None if kept.optic is None else short(kept.optic),
        seen=None if kept.seen is None else _bounded(kept.seen),
    )


def _bounded(seen: ReactionSeen) -> ReactionSeen:
    signs, room = [], SIGNS_BYTES
    for each in map(short, seen.signs):
        room -= len(msgspec.json.encode(each)) + 1
        if room < 0:
            break
        signs.append(each)
    lowest = {name: value for name, value in seen.lowest.items() if abs(value) <= BIGGEST}
    return replace(seen, signs=signs, lowest=lowest, dye=short(seen.dye))


def without_words(line: str, body: Body) -> ErasedDecision:
    """What stays of a review line, by its id."""
    fields = msgspec.to_builtins(body)
    for name in WORDS & fields.keys():
        if fields[name]:
            fields[name] = [ERASED] if isinstance(fields[name], list) else ERASED
    return ErasedDecision(
        line=line,
        type=type_of(body),
        body={name: value for name, value in fields.items() if name not in ("type", "salt")},
    )


def decisions_of(stones: Iterable[BodiesErased]) -> dict[str, ReviewBody]:
    """Review lines without their words, by their ids. One that this version can't read is left out, as it is
    where its body stands."""
    found: dict[str, ReviewBody] = {}
    for each in (decision for stone in stones for decision in stone.decisions):
        try:
            body = convert_body(each.type, each.body)
        except (KeyError, ValueError):
            continue
        if isinstance(body, ReviewBody):
            found[each.line] = body
    return found


def loose_kept(stones: Iterable[BodiesErased], device: str) -> list[ErasedIncident]:
    """Of tombstones of lines without a case: the incidents that this device told of, as they stood last."""
    found = {each.line: each for stone in stones for each in stone.incidents if each.device == device}
    return list(found.values())
