"""Rows of one case's folds, out of its lines as they stand. No I/O."""

from collections import Counter
from collections.abc import Mapping, Sequence
from typing import Any

import msgspec
from msgspec import Struct

from chinrest.log.amendments import Standing, stand
from chinrest.log.case_events import CaseClosed, LineAmended
from chinrest.log.cases import CaseFact, fold_case
from chinrest.log.erasure_events import BodiesErased
from chinrest.log.incidents import IncidentFact, fold_incidents
from chinrest.log.kept import KeptLine
from chinrest.log.tallies import fold_tallies
from chinrest.log.windows import LayoutsOf


class CaseRows(Struct, frozen=True, kw_only=True):
    """What `cases`, `incidents` and `tallies` hold of a case."""

    fact: CaseFact
    case: dict[str, Any]
    incidents: list[dict[str, Any]]
    tallies: list[dict[str, Any]]


def rows_of(case: str, kept: Sequence[KeptLine], feeds: Mapping[str, int], layouts: LayoutsOf) -> CaseRows:
    """`kept`: all lines of the case, at least one. `feeds`: of each line by its id."""
    standing = stand(kept)
    fact = fold_case(case, standing)
    found = fold_incidents(standing)
    row = {
        "case_id": case,
        "site": fact.site,
        "code": storable(fact.code),
        "opened": fact.opened,
        "state": fact.state,
        "outcome": fact.outcome,
        "practice": fact.practice,
        "closed_feed": _closed_feed(standing, feeds) if fact.state == "closed" else None,
    }
    return CaseRows(
        fact=fact,
        case=row,
        incidents=[incident_row(incident) for incident in found],
        tallies=_tally_rows(fact, standing, found, layouts),
    )


def _tally_rows(
    fact: CaseFact, standing: Sequence[Standing], found: Sequence[IncidentFact], layouts: LayoutsOf
) -> list[dict[str, Any]]:
    counted = fold_tallies(fact, standing, found, layouts)
    if counted is None:
        return []
    summed: Counter[tuple[str, str, str]] = Counter()
    for tally in counted.tallies:
        # what a phone claims may be longer than a column: its beginning tells it apart well enough
        summed[tally.kind, _short(tally.key), _short(tally.sub)] += tally.n
    return [
        {
            "case_id": fact.case,
            "kind": kind,
            "key": key,
            "sub": sub,
            "n": n,
            "site": fact.site,
            "month": counted.month,
            "at": counted.at,
        }
        for (kind, key, sub), n in summed.items()
    ]


def _short(text: str) -> str:
    return (storable(text) or "")[:200]


def storable(text: str | None) -> str | None:
    """Text that any database can hold: no NUL, which some refuse, however legal in JSON."""
    return None if text is None else text.replace("\x00", "\ufffd")


def incident_row(incident: IncidentFact) -> dict[str, Any]:
    row = msgspec.structs.asdict(incident)
    row["case_id"] = row.pop("case")
    del row["again"]  # it is in the counts already, and `seen` is null
    row["seen"] = None if incident.seen is None else storable(msgspec.json.encode(incident.seen).decode())
    for name in ("case_code", "what", "optic", "note"):
        row[name] = storable(row[name])
    row["search"] = f"{row['case_code'] or ''}\n{row['note']}".casefold()
    return row


def _closed_feed(standing: Sequence[Standing], feeds: Mapping[str, int]) -> int:
    """Where phones learn that the case is closed: the last closing line, or amendment of one."""
    stones = [line.kept.envelope.id for line in standing if isinstance(line.first, BodiesErased)]
    if stones:
        return max(feeds[stone] for stone in stones)
    closing = {line.kept.envelope.id for line in standing if isinstance(line.first, CaseClosed)}
    amendments = {
        line.kept.envelope.id: line.first.line for line in standing if isinstance(line.first, LineAmended)
    }
    elsewhere: set[str] = set()  # amendments known to lead to no closing line
    for start in amendments:
        path: dict[str, None] = {}
        line: str | None = start
        while line is not None and line not in closing and line not in elsewhere and line not in path:
            path[line] = None
            line = amendments.get(line)
        (closing if line in closing else elsewhere).update(path)
    return max(feeds[line] for line in closing)
