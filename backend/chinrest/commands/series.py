"""`chinrest series`: a protocol's frames laid on one line, with one optic, in one eye or both."""

from pathlib import Path
from typing import Literal, get_args

import click
from msgspec import Struct

from chinrest.model.fit import EyeSide
from chinrest.model.series.layout import LaidFrame, Layout, MissedFrame, Remedy
from chinrest.model.series.protocol import EyeRole
from chinrest.pack.demo import demo_path
from chinrest.pack.faults import PackFaults
from chinrest.pack.layouts import guidance_layout, takes
from chinrest.pack.opening import open_guidance
from chinrest.pack.plan_cache import caches_for
from chinrest.pack.schema import Pack
from chinrest.pack.source import Source

from .ending import CommandError, json_option
from .printing import end_with_faults, print_json

Asked = Literal["right", "left", "both"]
Frame = tuple[float, float, EyeSide, float, float, str]
CAUTION = (
    "Planned seconds, not orders: the patient comes first. Local rules and the study's protocol come first."
)


class Missed(Struct, frozen=True, kw_only=True):
    """A frame that cannot be kept, and why."""

    window: str
    eye: EyeSide
    h: float
    v: float
    needed: bool
    why: str


class Series(Struct, frozen=True, kw_only=True):
    """`frames`: [start_s, end_s, eye, h, v, window], seconds from the first injection, gaze in degrees (nasal
    +, up +). `injections`: seconds from the first at which each dye is meant to be given."""

    protocol: str
    optic: str
    study_eye: EyeSide
    injections: dict[str, float]
    frames: list[Frame]
    missed: list[Missed]
    slack_s: float
    proved: bool
    could_keep_more: int
    remedies: list[Remedy]
    notes: list[str]


@click.command(name="series")
@click.option("--protocol", required=True, metavar="ID", help="Protocol, by its id in the pack.")
@click.option("--optic", required=True, metavar="ID", help="Optic, by its id in the pack.")
@click.option("--eye", required=True, type=click.Choice(get_args(Asked)), help="Which eye is imaged.")
@click.option(
    "--study-eye",
    type=click.Choice(get_args(EyeSide)),
    help="With both: the eye of the early transit. Default: the right.",
)
@click.option(
    "--pack", "pack_path", type=click.Path(path_type=Path), metavar="DIR", help="Default: the demo's."
)
@json_option
def series(
    protocol: str,
    optic: str,
    eye: Asked,
    study_eye: EyeSide | None,
    pack_path: Path | None,
    as_json: bool,
) -> None:
    """Lay a protocol's frames on one line so that needed windows hold; say which cannot, and what helps.

    Head turns are those of an average adult. A frame that cannot be kept is an answer: the exit status is 0.
    """
    study: EyeSide = (study_eye or "right") if eye == "both" else eye
    if study_eye and study_eye != study:
        raise CommandError("value", "--study-eye", f"is the {study_eye} eye, and only the {eye} is imaged")
    try:
        path = demo_path() if pack_path is None else pack_path
        guidance, cache = open_guidance(path), caches_for(path)
    except PackFaults as error:
        end_with_faults(error, as_json=as_json)
    except FileNotFoundError as error:
        raise CommandError("no_demo", "--pack", str(error)) from None
    check_known(guidance, protocol, optic)
    layout = guidance_layout(guidance, protocol, optic, "two" if eye == "both" else "one", cache)
    found = answer(layout, study)
    if as_json:
        print_json(found)
    else:
        click.echo("\n".join(in_words(found, layout, guidance)))


def check_known(guidance: Source | Pack, protocol: str, optic: str) -> None:
    """Raises CommandError for what the pack does not know, naming what it does."""
    by_id = {known.id: known for known in guidance.protocols}
    if not by_id:
        raise CommandError("value", "--pack", "it has no protocols")
    if protocol not in by_id:
        raise CommandError("value", "--protocol", f"{protocol!r} is none of {', '.join(by_id)}")
    optics = {known.id: known for known in guidance.optics}
    if optic not in optics:
        raise CommandError("value", "--optic", f"{optic!r} is none of {', '.join(optics)}")
    if not takes(optics[optic], by_id[protocol]):
        fit = [known.id for known in guidance.optics if takes(known, by_id[protocol])]
        raise CommandError(
            "value",
            "--optic",
            f"{optic!r} does not take every dye of {protocol!r}; that do: {', '.join(fit)}",
        )


def answer(layout: Layout, study: EyeSide) -> Series:
    """The layout with its eyes as sides."""
    fellow: EyeSide = "left" if study == "right" else "right"
    side: dict[EyeRole, EyeSide] = {"study": study, "fellow": fellow}

    def frame(laid: LaidFrame) -> Frame:
        return laid.start_s, laid.end_s, side[laid.eye], laid.h, laid.v, laid.window

    def missed(lost: MissedFrame) -> Missed:
        return Missed(
            window=lost.window,
            eye=side[lost.eye],
            h=lost.h,
            v=lost.v,
            needed=lost.needed,
            why=lost.why,
        )

    return Series(
        protocol=layout.protocol,
        optic=layout.optic,
        study_eye=study,
        injections={injection.dye: injection.after_s for injection in layout.dyes},
        frames=[frame(laid) for laid in layout.frames],
        missed=[missed(lost) for lost in layout.missed],
        slack_s=layout.slack_s,
        proved=layout.proved,
        could_keep_more=layout.could_keep_more,
        remedies=layout.remedies,
        notes=layout.notes,
    )


def in_words(found: Series, layout: Layout, guidance: Source | Pack) -> list[str]:
    """The layout for a person, one line a frame."""
    protocol = next(known for known in guidance.protocols if known.id == found.protocol)
    names = {window.id: window.name for window in protocol.windows}
    lines = [
        f"{protocol.name}, optic {found.optic}, study eye {found.study_eye}",
        *(f"{clock(after)}  inject {dye.replace('_', ' ')}" for dye, after in found.injections.items()),
    ]
    for (start, end, eye, h, v, window), laid in zip(found.frames, layout.frames, strict=True):
        what = f"burst of {laid.shots} to {clock(end).strip()}" if laid.burst else gaze(h, v)
        lines.append(f"{clock(start)}  {eye:<5}  {names[window]}, {what}{'' if laid.needed else ' (wanted)'}")
    lines += _missed_in_words(found.missed, names)
    lines += [remedy.sentence for remedy in found.remedies]
    if found.proved:
        lines.append("No order keeps more frames: proved.")
    else:
        lines.append(f"Not proved: another order might keep up to {found.could_keep_more} more frames.")
    lines.append(f"Any one frame may begin {found.slack_s:g} s late, and all that follow still hold.")
    return [*lines, *(f"Note: {note}" for note in found.notes), CAUTION]


def _missed_in_words(missed: list[Missed], names: dict[str, str]) -> list[str]:
    """One line for all frames of one window and eye."""
    alike: dict[tuple[str, EyeSide, bool, str], list[str]] = {}
    for lost in missed:
        alike.setdefault((lost.window, lost.eye, lost.needed, lost.why), []).append(gaze(lost.h, lost.v))
    return [
        f"Cannot be kept ({'needed' if needed else 'wanted'}), {names[window]}, {eye} eye:"
        f" {'; '.join(gazes)}. Why: {why}."
        for (window, eye, needed, why), gazes in alike.items()
    ]


def clock(seconds: float) -> str:
    """Minutes and seconds."""
    whole = round(seconds)
    return f"{whole // 60:>3}:{whole % 60:02}"


def gaze(h: float, v: float) -> str:
    """Where the eye looks, in words."""
    if (h, v) == (0.0, 0.0):
        return "eye straight"
    across = f"{abs(h):g}° {'to the nose' if h > 0 else 'to the temple'}" if h else ""
    along = f"{abs(v):g}° {'up' if v > 0 else 'down'}" if v else ""
    return f"eye {' and '.join(part for part in (across, along) if part)}"
