"""Is a protocol one that can be followed at all: its windows, their fields, and no two that contradict?"""

from collections import Counter
from collections.abc import Iterator

from chinrest.model.series.contradiction import contradictions
from chinrest.model.series.pace import Pace
from chinrest.model.series.protocol import Protocol, ProtocolWindow

from .faults import PackFault

FILE = "protocols.toml"
LONGEST_S = 7200.0
MOST_IN_TURN = 24
Found = Iterator[tuple[str, str]]


def protocol_faults(
    protocols: list[Protocol], pace: Pace, fields: set[str], regions: set[str]
) -> Iterator[PackFault]:
    """Every fault of the protocols; `fields` are the ids in fields.toml, sound or not, `regions` those that
    the pack is asked to have plans for."""
    for key, reason in _pace_faults(pace):
        yield PackFault(file=FILE, key=f"pace.{key}", reason=reason)
    for protocol in protocols:
        found = list(_faults_of(protocol, fields, regions)) or list(_contradictions(protocol, pace))
        for key, reason in found:
            yield PackFault(file=FILE, key=f"protocols[{protocol.id}].{key}", reason=reason)


def _pace_faults(pace: Pace) -> Found:
    for key, low, high in (
        ("frame_s", 0.1, 60.0),
        ("gaze_move_s", 0.0, 120.0),
        ("head_turn_s", 0.0, 300.0),
        ("eye_change_s", 0.0, 600.0),
        ("turn_from_deg", 0.0, 60.0),
    ):
        value = getattr(pace, key)
        if not low <= value <= high:
            yield key, f"is {value:g}; must lie from {low:g} to {high:g}"


def _faults_of(protocol: Protocol, fields: set[str], regions: set[str]) -> Found:
    if not protocol.name.strip():
        yield "name", "is empty"
    if not protocol.dyes:
        yield "dyes", "is empty; a series runs on the clock of a dye"
    elif min(injection.after_s for injection in protocol.dyes) != 0.0:
        yield "dyes", "none has after_s = 0; the line begins at the first injection"
    for dye, times in Counter(injection.dye for injection in protocol.dyes).items():
        if times > 1:
            yield "dyes", f"{dye} is named {times} times"
    if not protocol.windows:
        yield "windows", "is empty"
    for name, times in Counter(window.id for window in protocol.windows).items():
        if times > 1:
            yield f"windows[{name}].id", f"is used {times} times in this protocol; an id must be unique"
    dyes = {injection.dye for injection in protocol.dyes}
    for window in protocol.windows:
        for key, reason in _window_faults(window, fields):
            yield f"windows[{window.id}].{key}", reason
        if window.region and regions and window.region not in regions:
            yield f"windows[{window.id}].region", f"{window.region!r} is none of planning.toml's regions"
        if window.dye not in dyes:
            yield f"windows[{window.id}].dye", f"is {window.dye!r}, which this protocol does not give"


def _contradictions(protocol: Protocol, pace: Pace) -> Found:
    """Needed windows that cannot be kept together, each time all of them by name."""
    for frames in contradictions(protocol, pace):
        told = [
            f"'{frame.window.id}' ({frame.eye} eye, {frame.after_s + frame.from_s:g} to"
            f" {frame.after_s + frame.to_s:g} s after the first injection)"
            for frame in frames
        ]
        key = f"windows[{frames[-1].window.id}]"
        if len(told) == 1:
            yield key, f"{told[0]} is shorter than the {pace.frame_s:g} s that a frame takes"
        else:
            yield (
                key,
                f"{' and '.join(told)} contradict: a frame takes {pace.frame_s:g} s and an eye change"
                f" {pace.eye_change_s:g} s, so they cannot all be kept",
            )


def _window_faults(window: ProtocolWindow, fields: set[str]) -> Found:
    if not window.name.strip():
        yield "name", "is empty"
    if not window.source.strip():
        yield "source", "is empty; say where the moments come from, or 'common practice, no source'"
    if not 0 <= window.from_s < window.to_s <= LONGEST_S:
        yield (
            "to_s",
            f"the window runs from {window.from_s:g} to {window.to_s:g} s; must be rising,"
            f" from 0 to {LONGEST_S:g}",
        )
    if window.every_s is not None and not 0.05 <= window.every_s <= LONGEST_S:
        yield "every_s", f"is {window.every_s:g}; must lie from 0.05 to {LONGEST_S:g}"
    elif window.burst and window.every_s is None:
        yield "every_s", "is missing; a burst takes a frame at this interval"
    elif (
        window.every_s and not window.burst and (window.to_s - window.from_s) / window.every_s > MOST_IN_TURN
    ):
        yield "every_s", f"asks for more than {MOST_IN_TURN} frames in turn; a run of so many is a burst"
    if window.burst and window.eye == "each":
        yield "eye", "is 'each'; a burst is taken in one eye"
    if window.burst and window.at != "centre" and len(window.fields) != 1:
        yield "at", "must be the centre, or one field, for a burst"
    if (window.at == "fields") != bool(window.fields):
        yield "fields", "are given when, and only when, at = 'fields'"
    if (window.at == "plan") != bool(window.region):
        yield "region", "is given when, and only when, at = 'plan'"
    for field in window.fields:
        if field not in fields:
            yield "fields", f"names no field: {field!r}"
