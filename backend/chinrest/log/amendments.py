"""Lines as they stand after their amendments.

The latest amendment that stands decides: it gives a new body, or says that it did not happen. It counts only
for a line of the same case. An amendment can itself be amended (then its new inner body counts; it keeps its
target) or withdrawn (then it never was). One whose new body doesn't fit its target's type changes nothing,
and amendments that amend each other in a ring change nothing. All stay visible as lines.
"""

from collections import defaultdict
from collections.abc import Iterable

from msgspec import Struct

from chinrest.log.case_events import Body, LineAmended
from chinrest.log.kept import KeptLine, in_order
from chinrest.log.registry import convert_body, decode_body, known


class Standing(Struct, frozen=True, kw_only=True):
    """`first` is the body as written, `body` as it stands; both null where the type isn't known, or the body
    was erased. A withdrawn line keeps the body that it had."""

    kept: KeptLine
    known: bool
    first: Body | None
    body: Body | None
    amended_by: str | None
    withdrawn: bool


def stand(lines: Iterable[KeptLine]) -> list[Standing]:
    """All lines of one case (or of one device's lines without a case), in order, as they stand."""
    ordered = in_order(lines)
    first = {kept.envelope.id: _decoded(kept) for kept in ordered}
    amenders = _amenders(ordered, first)
    settled: dict[str, Standing] = {}

    for kept in _amendments_before_their_targets(ordered, first, amenders):
        settled[kept.envelope.id] = _settle(kept, first[kept.envelope.id], amenders, settled)
    amending = dict(settled)  # members of a ring are settled below, and must not count for one another
    for kept in ordered:
        if kept.envelope.id not in settled:
            settled[kept.envelope.id] = _settle(kept, first[kept.envelope.id], amenders, amending)
    return [settled[kept.envelope.id] for kept in ordered]


def _decoded(kept: KeptLine) -> Body | None:
    if kept.body is None:
        return None
    try:
        return decode_body(kept.envelope, kept.body)
    except ValueError:
        # the line was sound when it was taken; a body that this version can't read is shown as not understood
        return None


def _amenders(ordered: list[KeptLine], first: dict[str, Body | None]) -> dict[str, list[str]]:
    """Target id -> ids of its amendments, in order."""
    case_of = {kept.envelope.id: kept.envelope.case for kept in ordered}
    amenders: dict[str, list[str]] = defaultdict(list)
    for kept in ordered:
        body = first[kept.envelope.id]
        if (
            isinstance(body, LineAmended)
            and body.line in case_of
            and case_of[body.line] == kept.envelope.case
            and body.line != kept.envelope.id
        ):
            amenders[body.line].append(kept.envelope.id)
    return amenders


def _amendments_before_their_targets(
    ordered: list[KeptLine], first: dict[str, Body | None], amenders: dict[str, list[str]]
) -> list[KeptLine]:
    """Amendments such that each comes after all that amend it. Members of a ring are left out. Iterative,
    since a hostile chain of amendments may be as long as the log."""
    by_id = {kept.envelope.id: kept for kept in ordered}
    waiting_for = {
        line: len(amenders.get(line, ())) for line, body in first.items() if isinstance(body, LineAmended)
    }
    ready = [line for line, count in waiting_for.items() if count == 0]
    done: list[KeptLine] = []
    while ready:
        line = ready.pop()
        done.append(by_id[line])
        body = first[line]
        target = body.line if isinstance(body, LineAmended) else ""
        if target in waiting_for and line in amenders.get(target, ()):
            waiting_for[target] -= 1
            if waiting_for[target] == 0:
                ready.append(target)
    return done


def _settle(
    kept: KeptLine,
    first: Body | None,
    amenders: dict[str, list[str]],
    settled: dict[str, Standing],
) -> Standing:
    body, amended_by, withdrawn = first, None, False
    for amender in amenders.get(kept.envelope.id, ()):
        amendment = settled.get(amender)
        if amendment is None or amendment.withdrawn or not isinstance(amendment.body, LineAmended):
            continue
        new = amendment.body.body
        if new is None:
            amended_by, withdrawn = amender, True
            continue
        if known(kept.envelope):
            try:
                body = convert_body(kept.envelope.type, new)
            except ValueError:
                continue
        amended_by, withdrawn = amender, False
    return Standing(
        kept=kept,
        known=known(kept.envelope),
        first=first,
        body=body,
        amended_by=amended_by,
        withdrawn=withdrawn,
    )
