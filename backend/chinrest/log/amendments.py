"""Lines as they stand after their amendments.

The latest amendment that itself stands decides: it gives a new body, or says that it did not happen. It
counts only for a line of the same case. An amendment can be amended in turn, but only by a line later in the
order, so that no two can hold each other up. One whose new body doesn't fit its target's type changes
nothing. All stay visible as lines. The phone reads amendments by the same rules, in lines of its own site.
"""

from collections.abc import Iterable

from msgspec import Struct

from chinrest.log.case_events import Body, CaseOpened, LineAmended
from chinrest.log.kept import SERVER_SITE, KeptLine, in_order
from chinrest.log.registry import SERVER_TYPES, convert_body, decode_body, known


class Standing(Struct, kw_only=True):
    """`first` is the body as written, `body` as it stands; both null where the type isn't known, where only a
    server may write it, or where the body was erased. A withdrawn line keeps the body that it had. `foreign`:
    written by a phone of another site than the case's own; it is kept and shown, and changes nothing of the
    case.
    """

    kept: KeptLine
    known: bool
    first: Body | None
    body: Body | None
    amended_by: str | None = None
    withdrawn: bool = False
    foreign: bool = False


def stand(lines: Iterable[KeptLine]) -> list[Standing]:
    """All lines of one case (or of one device's lines without a case), in order, as they stand."""
    standing = [_as_written(kept) for kept in in_order(lines)]
    _mark_foreign(standing)
    place_of = {line.kept.envelope.id: place for place, line in enumerate(standing)}
    mended: set[int] = set()  # places whose body an amendment gave
    for place in range(len(standing) - 1, -1, -1):
        amender = standing[place]
        if not isinstance(amender.body, LineAmended) or amender.withdrawn or amender.foreign:
            continue
        at = place_of.get(amender.body.line)
        if at is None or at == place:
            continue
        target = standing[at]
        if isinstance(target.first, LineAmended) and at > place:
            continue
        if target.kept.site == SERVER_SITE and amender.kept.site != SERVER_SITE:
            continue  # what an officer decided is no phone's to change
        if target.kept.envelope.case == amender.kept.envelope.case:
            _amend(target, amender.kept.envelope.id, amender.body, at, mended)
    return standing


def home_of(standing: Iterable[Standing]) -> str:
    """The site that a case belongs to: that of the phone that opened it; before its opening line has come,
    that of its first line. `standing` in order.

    Whoever has seen a case's id can write another opening line, dated back. Among several the one that came
    first therefore counts, since only then could nobody have seen the id yet.
    """
    phones = [line for line in standing if line.kept.site != SERVER_SITE]
    openings = [line.kept for line in phones if isinstance(line.first, CaseOpened)]
    if openings:
        return min(openings, key=lambda kept: kept.received_at).site
    return phones[0].kept.site if phones else SERVER_SITE


def _mark_foreign(standing: list[Standing]) -> None:
    """A phone that moves to another site may go on with a case that it wrote in at the case's own."""
    if not standing or standing[0].kept.envelope.case is None:
        return
    home = home_of(standing)
    here: set[str] = set()
    for line in standing:  # each device's lines by their sequence
        if line.kept.site == home:
            here.add(line.kept.envelope.device)
        elif line.kept.site != SERVER_SITE:
            line.foreign = line.kept.envelope.device not in here


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
    # the approval, the reading, the withdrawal that a phone writes is none
    may_say = kept.site == SERVER_SITE or kept.envelope.type not in SERVER_TYPES
    if kept.body is not None and may_say:
        try:
            body = decode_body(kept.envelope, kept.body)
        except ValueError:
            # it was sound when it was taken; a body that this version can't read is shown as not understood
            body = None
    return Standing(kept=kept, known=may_say and known(kept.envelope), first=body, body=body)
