"""The clinic's tables for a reaction: signs, criteria, scales, actions, observations. Versioned with the
pack."""

from typing import Literal

from msgspec import Struct

SignGroup = Literal["skin", "airway", "breathing", "circulation", "gut", "awareness", "needle", "other"]
Observed = Literal["pulse", "systolic", "diastolic", "saturation", "breathing"]


class Sign(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One sign, as seen, heard or told. Ids are what the log keeps."""

    id: str
    text: str
    group: SignGroup


class Criterion(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Met where at least one sign is seen in each of at least `least` of the `groups` (lists of sign ids).

    A further sign can only meet more of them: a criterion escalates and never takes back. `text` is said
    when met.
    """

    id: str
    text: str
    groups: list[list[str]]
    least: int
    source: str


class ScaleClass(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    id: str
    name: str


class Scale(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A published scale. `classes` from the lightest; `places`: sign, then the class that the source puts
    it in.

    `version` changes with the table. `not_placed`: signs that the source says nothing of; every sign of the
    pack is either placed or listed here, so that none is forgotten. Scales disagree and are never mapped
    onto each other.
    """

    id: str
    name: str
    version: str
    classes: list[ScaleClass]
    places: dict[str, str]
    not_placed: list[str]
    source: str


class TimedAction(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One tap logs it with its time. `asks`: nothing, a detail, or a drug as said aloud (what, how much, by
    whom)."""

    id: str
    text: str
    asks: Literal["nothing", "detail", "drug"] = "nothing"


class ObservationField(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A measured number. Outside `least` to `most` it is refused, outside `ask_below` to `ask_above` the
    phone asks.

    `sign_below`: a value below this counts as `sign` being seen (it can only escalate), None where it never
    does.
    `dye_notes`: dye, then what to know about this reading after that dye.
    """

    id: Observed
    text: str
    unit: str
    least: int
    most: int
    ask_below: int
    ask_above: int
    sign_below: int | None = None
    sign: str = ""
    dye_notes: dict[str, str] = {}
    source: str


class ReactionTables(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """`remind_s`: every so many seconds `remind_text` is shown while a reaction runs."""

    remind_s: int
    remind_text: str
    caution: str
    escalation: str
    signs: list[Sign]
    criteria: list[Criterion]
    actions: list[TimedAction]
    observations: list[ObservationField]
    scales: list[Scale]
