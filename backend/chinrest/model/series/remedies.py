"""What would make a layout keep more: fewer fields, a wider window, one eye, another optic."""

from collections.abc import Mapping

from msgspec import structs

from .ask import FieldsOf
from .lay import lay, widened
from .layout import Layout, Remedy
from .pace import Pace
from .protocol import Protocol

STEP_S = 5.0
WIDEST_S = 600.0
LABELS = 20_000
"""Search labels for each try; a try that is not decided within them is not offered."""


def with_remedies(
    layout: Layout, protocol: Protocol, fields_of: FieldsOf, others: Mapping[str, FieldsOf], pace: Pace
) -> Layout:
    """The layout with every change that was found to help; as it is where nothing is missed.

    `others`: where the eye looks with each of the clinic's other optics.
    """
    if not layout.missed:
        return layout
    made = [_fewer_fields(layout, protocol), _wider(layout, protocol, fields_of, pace)]
    for optic, other in others.items():
        tried = lay(protocol, optic, layout.eyes, other, pace, LABELS)
        made.append(_kept(layout, tried, optic))
    if layout.eyes == "two":
        tried = lay(protocol, layout.optic, "one", fields_of, pace, LABELS)
        made.append(_kept(layout, tried, None))
    return structs.replace(layout, remedies=[remedy for remedy in made if remedy])


def _fewer_fields(layout: Layout, protocol: Protocol) -> Remedy | None:
    """The laid frames fit as they are: fewer fields help where every missed frame is one of several in its
    window, and the window keeps some."""
    names, least = [], None
    for window in protocol.windows:
        missed = [frame for frame in layout.missed if frame.window == window.id]
        if not missed:
            continue
        kept = [frame for frame in layout.frames if frame.window == window.id]
        if not kept:
            return None
        names.append(f"{len(kept)} of {len(kept) + len(missed)} frames of '{window.name}'")
        least = len(kept)
    only = next(iter({frame.window for frame in layout.missed})) if len(names) == 1 else ""
    return Remedy(
        kind="fewer_fields",
        keeps="all",
        window=only,
        amount=float(least) if only and least is not None else None,
        sentence=f"Ask for fewer fields: {' and '.join(names)} can be kept.",
    )


def _wider(layout: Layout, protocol: Protocol, fields_of: FieldsOf, pace: Pace) -> Remedy | None:
    """The least seconds, in steps, by which the windows that miss something must end later."""
    short = {frame.window for frame in layout.missed}
    windows = [window for window in protocol.windows if window.id in short]
    if any(window.burst for window in windows):
        return None
    low, high = 0, int(WIDEST_S / STEP_S)

    def fits(steps: int) -> bool:
        tried = lay(
            widened(protocol, short, steps * STEP_S), layout.optic, layout.eyes, fields_of, pace, LABELS
        )
        return not tried.missed

    if not fits(high):
        return None
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if fits(middle) else (middle, high)
    names = " and ".join(f"'{window.name}'" for window in windows)
    return Remedy(
        kind="wider_window",
        keeps="all",
        window=windows[0].id if len(windows) == 1 else "",
        amount=high * STEP_S,
        sentence=f"Let {names} end {high * STEP_S:g} s later: then everything is kept.",
    )


def _kept(layout: Layout, tried: Layout, optic: str | None) -> Remedy | None:
    """Another optic, or one eye only, where it keeps all, or all that is needed where this one does not."""
    if not tried.missed:
        keeps, what = "all", "everything asked for is kept"
    elif any(frame.needed for frame in layout.missed) and not any(frame.needed for frame in tried.missed):
        keeps, what = "needed", "every needed frame is kept"
    else:
        return None
    return Remedy(
        kind="one_eye" if optic is None else "other_optic",
        keeps="all" if keeps == "all" else "needed",
        optic=optic or "",
        sentence=f"Take one eye only: {what}." if optic is None else f"With the optic '{optic}' {what}.",
    )
