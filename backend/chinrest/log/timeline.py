"""One case as a line of time."""

from typing import Literal

from msgspec import Struct


class TimelineEntry(Struct, frozen=True, kw_only=True):
    """One line of a case, in order. `body` is null when the type is unknown to this version or it was erased;
    `known` says which. `amended_by` names the line that replaced it; `advice` is the pose that had been advised
    when this entry records how it was in truth."""

    id: str
    device: str
    device_label: str
    seq: int
    at: int
    offset_ms: int | None
    received_at: int
    actor: str | None
    type: str
    known: bool
    pack: str | None
    practice: bool
    body: dict[str, object] | None
    amended_by: str | None
    advice: dict[str, object] | None


class Timeline(Struct, frozen=True, kw_only=True):
    case: str
    code: str | None
    site: str
    site_name: str
    state: Literal["open", "closed"]
    outcome: str | None
    practice: bool
    entries: list[TimelineEntry]
    position: int
