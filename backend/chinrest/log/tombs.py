"""Of a file that is verified: lines without a body, and the tombstones that name them."""

from msgspec import Struct

from chinrest.log.erasure_events import BodiesErased
from chinrest.log.erasures import is_tombstone
from chinrest.log.export import ExportHeader
from chinrest.log.line import Line

Place = tuple[str | None, str]
"""A case, and the hash of a body of it."""


class Erasure(Struct, frozen=True, kw_only=True):
    """A tombstone in the file, and how many bodies of the file's lines it vouches for. `at`: ms, by the
    server's clock."""

    tombstone: str
    at: int
    case: str | None
    rule: str
    years: int | None
    why: str
    bodies: int


class Tombs:
    def __init__(self) -> None:
        self._stones: list[tuple[Line, BodiesErased]] = []
        self._bodiless: dict[Place, int] = {}
        self.erased = 0

    def stone(self, line: Line, header: ExportHeader | None) -> tuple[str, str] | None:
        """Take a tombstone of the server's own chain, or say why it is none."""
        body = line.body
        if header is None or not isinstance(body, BodiesErased):
            return None
        if not is_tombstone(line.envelope.case, body, header.server_key):
            return "bad_signature", "the tombstone is not signed by the server's key"
        self._stones.append((line, body))
        return None

    def bodiless(self, line: Line, row: int) -> None:
        self.erased += 1
        self._bodiless[line.envelope.case, line.envelope.body_sha256] = row

    @property
    def erasures(self) -> list[Erasure]:
        return [
            Erasure(
                tombstone=line.envelope.id,
                at=line.envelope.at,
                case=line.envelope.case,
                rule=body.rule,
                years=body.years,
                why=body.why,
                bodies=sum((line.envelope.case, digest) in self._bodiless for digest in body.bodies),
            )
            for line, body in self._stones
        ]

    def unnamed(self) -> int | None:
        """The first row without a body that no tombstone names."""
        named = {(line.envelope.case, digest) for line, body in self._stones for digest in body.bodies}
        return min((row for place, row in self._bodiless.items() if place not in named), default=None)
