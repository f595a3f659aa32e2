"""Incidents: safety events as they stand after their amendments."""

from typing import Literal

from msgspec import Struct


class IncidentRow(Struct, frozen=True, kw_only=True):
    """One safety event as it stands after its amendments."""

    line: str
    case: str | None
    case_code: str | None
    site: str
    site_name: str
    at: int
    received_at: int
    what: str
    reached_patient: bool | None
    harm: Literal["none", "mild", "moderate", "severe", "death"] | None
    near_miss: bool
    practice: bool
    optic: str | None
    device_label: str
    amended: bool
    withdrawn: bool
    note: str


class IncidentList(Struct, frozen=True, kw_only=True):
    rows: list[IncidentRow]
    total: int
    position: int
