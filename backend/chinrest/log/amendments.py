"""Lines as they stand after their amendments.

The latest amendment that itself stands decides: it gives a new body, or says that it did not happen. It
counts only for a line of the same case. An amendment can be amended in turn, but only by a line later in the
order, so that no two can hold each other up. One whose new body doesn't fit its target's type changes
nothing. All stay visible as lines. The phone reads amendments by the same rules.
"""

from collections.abc import Iterable

from msgspec import Struct

from chinrest.log.case_events import Body, LineAmended
from chinrest.log.kept import KeptLine, in_order
from chinrest.log.registry import convert_body, decode_body, known


class Standing(Struct, kw_only=True):
    """`first` is the body as written, `body` as it stands; both null where the type isn't known, or the body
    was erased. A withdrawn line keeps the body that it had."""

    kept: KeptLine
    known: bool
    first: Body | None
    body: Body | None
    amended_by: str | None = None
    withdrawn: bool = False


def stand(lines: Iterable[KeptLine]) -> list[Standing]:
    """All lines of one case (or of one device's lines without a case), in order, as they stand."""
    standing = [_as_written(kept) for kept in in_order(lines)]
    place_of = {line.kept.envelope.id: place for place, line in enumerate(standing)}
    mended: set[int] = set()  # places whose body an amendment gave
    for place in range(len(standing) - 1, -1, -1):
        amender = standing[place]
        if not isinstance(amender.body, LineAmended) or amender.withdrawn:
            continue
        at = place_of.get(amender.body.line)
        if at is None or at == place:
            continue
        target = standing[at]
        if isinstance(target.first, LineAmended) and at > place:
            continue
        if target.kept.envelope.case == amender.kept.envelope.case:
            _amend(target, amender.kept.envelope.id, amender.body, at, mended)
    return standing


def _amend(target: Standing, amender: str, amendment: LineAmended, at: int, mended: set[int]) -> None:
    """Apply an amendment, later ones having been applied before it."""
    if amendment.body is None:
        if target.amended_by is None:
            target.amended_by, target.withdrawn = amender, True
        return
    if at in mended:
        return
    if target.known:
        try:
            target.body = convert_body(target.kept.envelope.type, amendment.body)
        except ValueError:
            return
    mended.add(at)
    target.amended_by = target.amended_by or amender


def _as_written(kept: KeptLine) -> Standing:
    body = None
    if kept.body is not None:
        try:
            body = decode_body(kept.envelope, kept.body)
        except ValueError:
            # it was sound when it was taken; a body that this version can't read is shown as not understood
            body = None
    return Standing(kept=kept, known=known(kept.envelope), first=body, body=body)
