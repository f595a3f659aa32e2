"""Two packs (or sources) compared: every difference, grouped, the most dangerous group first."""

from collections.abc import Iterable, Iterator
from typing import Any, Literal

import msgspec
from msgspec import Struct

from chinrest.pack.schema import Pack
from chinrest.pack.source import Source

from .groups import GROUPS, group_of, less_careful
from .poses import Guidance, pose_differences
from .walk import Path, Place, places
from .words import entry_name, inside, subject_and_part, value

OPAQUE = {"retina"}
"""Thousands of figures, told as one."""
AS_ONE = {
    *("fit_vectors", "clock_vectors", "next_frame_vectors", "dose_vectors", "cell_vectors", "regions"),
    *("plans", "patterns", "sweeps", "optic_choices", "layouts"),
}
"""Computed lists: an entry that differs is one difference, whatever of it differs."""
HOW = (
    "Turn, gap and words are worked out anew for both, for the usual adult of every kind of face, the eye"
    " straight ahead; less than 0.05° or 0.05 mm is no difference. All else is compared value by value."
    " “Less careful” is said where it is plain; its absence says nothing."
)


class Difference(Struct, frozen=True, kw_only=True):
    """`sentence` in words: what it is about (`subject`), which `part` of it, how it `was` and is `now`.
    `key`: its address in the pack, empty for what is computed of several."""

    kind: Literal["added", "removed", "changed", "moved"]
    key: str
    subject: str
    part: str
    was: str
    now: str
    less_careful: bool
    sentence: str


class DifferenceGroup(Struct, frozen=True, kw_only=True):
    id: str
    title: str
    differences: list[Difference]


class Side(Struct, frozen=True, kw_only=True):
    """`compiled`: with its tables, plans and check vectors; a source has none."""

    clinic: str
    version: str
    compiled: bool


class PackDifference(Struct, frozen=True, kw_only=True):
    """`groups` that hold something, in the order to read them. `left_out`: what could not be compared, and
    why; empty where all was."""

    older: Side
    newer: Side
    count: int
    less_careful: int
    poses_compared: int
    groups: list[DifferenceGroup]
    left_out: list[str]
    how: str


def difference(older: Guidance, newer: Guidance) -> PackDifference:
    """Everything in which the newer differs from the older."""
    was, now, left_out = _plain(older, newer)
    found: dict[str, list[Difference]] = {name: [] for name in GROUPS}
    poses = pose_differences(older, newer)
    names = {optic.id: optic.name for optic in newer.optics}
    for pose in poses.differences:
        subject = f"{names[pose.optic]}, {pose.faces}"
        found["turn"].append(
            Difference(
                kind="changed",
                key="",
                subject=subject,
                part="",
                was=pose.was,
                now=pose.now,
                less_careful=pose.less_careful,
                sentence=f"{subject}: {_arrows(pose.was, pose.now)}",
            )
        )
    for place in _as_told(places(was, now), was, now):
        found[group_of(place, was, now)].append(_told(place, was, now))
    for name, each in found.items():
        if name != "turn":  # sorted already, by how much
            each.sort(key=lambda one: not one.less_careful)
    everything = [one for each in found.values() for one in each]
    return PackDifference(
        older=_side(older),
        newer=_side(newer),
        count=len(everything),
        less_careful=sum(one.less_careful for one in everything),
        poses_compared=poses.compared,
        groups=[
            DifferenceGroup(id=name, title=GROUPS[name], differences=each)
            for name, each in found.items()
            if each
        ],
        left_out=left_out,
        how=HOW,
    )


def _side(guidance: Guidance) -> Side:
    return Side(clinic=guidance.clinic, version=guidance.version, compiled=isinstance(guidance, Pack))


def _plain(older: Guidance, newer: Guidance) -> tuple[dict[str, Any], dict[str, Any], list[str]]:
    """Both as plain values, with what both kinds have; and what was left out."""
    was, now = msgspec.to_builtins(older), msgspec.to_builtins(newer)
    if isinstance(older, Pack) and isinstance(newer, Pack):
        return was, now, []
    own = Source.__struct_fields__
    computed = sorted(set(Pack.__struct_fields__) - set(own) - {"format"})
    if isinstance(older, Pack) or isinstance(newer, Pack):
        why = "One of the two is not compiled, so what only a compiled pack has was not compared: "
    else:
        why = "Neither is compiled, so what only a compiled pack has was not compared: "
    why += ", ".join(name.replace("_", " ") for name in computed) + "."
    return {key: was[key] for key in own}, {key: now[key] for key in own}, [why]


def _as_told(found: Iterable[Place], was: dict[str, Any], now: dict[str, Any]) -> Iterator[Place]:
    """Differences inside what is told as one, as one."""
    told: set[Path] = set()
    for place in found:
        top = place.path[0]
        if top in OPAQUE:
            whole = place.path[:1]
        elif top in AS_ONE and len(place.path) > 2:
            whole = place.path[:2]
        else:
            yield place
            continue
        if whole not in told:
            told.add(whole)
            yield Place("changed", whole, None, None)


def _told(place: Place, was: dict[str, Any], now: dict[str, Any]) -> Difference:
    subject, part, unit = subject_and_part(place.path, was, now)
    less = less_careful(place)
    about = f"{subject}, {part}" if part else subject
    before, after = value(place.was, unit), value(place.now, unit)
    if place.kind == "moved":
        before, after = _after(place, place.was, was), _after(place, place.now, now)
        sentence = f"{about}: stood {before}, stands {after}"
    elif place.kind == "added":
        before, sentence = "", f"{about}: added: {after}"
    elif place.kind == "removed":
        after, sentence = "", f"{about}: removed: {before}"
    elif place.was is None and place.now is None:
        before, after, sentence = "", "", f"{about}: differs"
    else:
        sentence = f"{about}: {before} → {after}"
    return Difference(
        kind=place.kind,
        key=_key(place.path),
        subject=subject,
        part=part,
        was=before,
        now=after,
        less_careful=less,
        sentence=sentence,
    )


def _after(place: Place, name: str, tree: dict[str, Any]) -> str:
    """What an entry stands after, in words."""
    if not name:
        return "first"
    at: Any = tree
    for key in place.path[:-1]:
        at = inside(at, key)
    return f"after {entry_name(inside(at, name), name)}"


def _key(path: Path) -> str:
    text = ""
    for step in path:
        text += step if step.startswith("[") else f".{step}" if text else step
    return text


def _arrows(was: str, now: str) -> str:
    """“turn 18°, gap 4 mm” and “turn 21°, gap 5 mm” side by side: turn 18° → 21°, gap 4 → 5 mm."""
    old, new = was.split(", "), now.split(", ")
    if len(old) != len(new) or was.startswith("no turn") or now.startswith("no turn"):
        return f"{was} → {now}"
    said = []
    for before, after in zip(old, new, strict=True):
        word = before.removesuffix(" mm").rpartition(" ")[0]
        said.append(f"{before} → {after.removeprefix(f'{word} ')}" if word else f"{before} → {after}")
    return ", ".join(said)
