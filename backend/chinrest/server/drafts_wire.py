"""What travels when the lead edits a draft of a guidance pack."""

from typing import Literal

from msgspec import Struct

from chinrest.pack.faults import PackFault
from chinrest.pack.forms import Form


class DraftRequest(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """`base`: the pack to begin from."""

    base: str


class DraftChange(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """`seen`: the number of the save that is changed. `value` takes the place of the table at the top of
    `file`, or of the entry `index` of its list `key`; it is added without `index`, before the entry `to`.
    Without `value` the entry is moved to the place `to`, or removed."""

    seen: int
    file: str
    key: str = ""
    index: int | None = None
    value: dict[str, object] | None = None
    to: int | None = None


class CompileRequest(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    seen: int


class CompileJob(Struct, frozen=True, kw_only=True):
    """`pieces` plans were worked out so far, of `most` that could have to be; those that are known are not.
    `doing`: the one that is worked out now."""

    draft: str
    number: int
    state: Literal["running", "done", "failed"]
    pieces: int
    most: int
    doing: str
    started_at: int
    ended_at: int | None
    pack: str | None
    why: str


class SaveRow(Struct, frozen=True, kw_only=True):
    number: int
    at: int
    by: str
    what: str
    pack: str | None


class DraftRow(Struct, frozen=True, kw_only=True):
    draft: str
    base: str
    last: SaveRow


class Draft(Struct, frozen=True, kw_only=True):
    """A draft as its last save has it, checked. `saves`: the newest first. `job`: of its last compiling since
    the server started."""

    draft: str
    base: str
    number: int
    saves: list[SaveRow]
    tables: dict[str, dict[str, object]]
    faults: list[PackFault]
    job: CompileJob | None


class Forms(Struct, frozen=True, kw_only=True):
    forms: list[Form]
