"""`chinrest pack check|compile|plans|show|diff`: what a clinic's lead does with the guidance pack."""

import gzip
import time
from collections import Counter
from pathlib import Path

import click

from chinrest.pack.compiled import pack_name
from chinrest.pack.compiler import compile_pack
from chinrest.pack.demo import demo_path
from chinrest.pack.difference.difference import PackDifference, difference
from chinrest.pack.faults import PackFaults
from chinrest.pack.layouts import layouts
from chinrest.pack.opening import open_guidance
from chinrest.pack.plan_cache import cache_beside, caches_for
from chinrest.pack.plans import planned
from chinrest.pack.schema import Pack
from chinrest.pack.source import Source, load

from .ending import CommandError
from .printing import end_with_faults, print_json

FOLDER = click.Path(path_type=Path)
SAVE_EVERY_S = 60.0
as_json_option = click.option("--json", "as_json", is_flag=True, help="Print JSON for machines.")


@click.group(name="pack")
def pack() -> None:
    """Check, compile and read a guidance pack."""


@pack.command()
@click.argument("folder", type=FOLDER)
@as_json_option
def check(folder: Path, as_json: bool) -> None:
    """Check the source in FOLDER and print every fault as `file: key: reason`."""
    try:
        source = load(folder)
    except PackFaults as error:
        end_with_faults(error, as_json=as_json)
    if as_json:
        print_json({"ok": True, "faults": [], "counts": _counts(source)})
    else:
        click.echo(f"No fault in {folder}: {_in_words(_counts(source))}.")


@pack.command(name="compile")
@click.argument("folder", type=FOLDER)
@click.option(
    "--out",
    type=FOLDER,
    default=Path(),
    help="Folder for <sha256>.json, or a file name ending in .json. Default: here.",
)
@as_json_option
def compile_command(folder: Path, out: Path, as_json: bool) -> None:
    """Compile the source in FOLDER into one JSON, named by the SHA-256 of its bytes."""
    started = time.perf_counter()
    try:
        data = compile_pack(load(folder), caches_for(folder))
    except PackFaults as error:
        end_with_faults(error, as_json=as_json)
    seconds = time.perf_counter() - started
    sha256 = pack_name(data)
    target = out if out.suffix == ".json" else out / f"{sha256}.json"
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_bytes(data)
    except OSError as error:
        raise CommandError("cannot_write", str(target), str(error.strerror)) from None
    packed = len(gzip.compress(data, 9, mtime=0))
    if as_json:
        print_json(
            {
                "sha256": sha256,
                "file": str(target),
                "bytes": len(data),
                "gzip_bytes": packed,
                "seconds": round(seconds, 3),
            }
        )
    else:
        click.echo(f"{target}")
        click.echo(f"SHA-256 {sha256}")
        click.echo(f"{len(data):,} bytes, {packed:,} with gzip; compiled in {seconds:.1f} s")
        click.echo("It is in force nowhere until the lead approves this SHA-256 on the server.")


@pack.command()
@click.argument("folder", type=FOLDER)
@as_json_option
def plans(folder: Path, as_json: bool) -> None:
    """Work out the plans of fields that the source in FOLDER asks for, and keep them beside it.

    The file FOLDER.plans.gz makes compiling quick. Remake it after a change of optics, faces, limits, pace,
    regions or planning: only what changed is worked out anew, which can take minutes.
    """
    try:
        source, cache = load(folder), caches_for(folder)
    except PackFaults as error:
        end_with_faults(error, as_json=as_json)
    target, started = cache_beside(folder), time.perf_counter()
    written = started

    def told(name: str) -> None:
        nonlocal written
        if time.perf_counter() - written > SAVE_EVERY_S:  # minutes of work are not to be lost
            cache.write(target)
            written = time.perf_counter()
        click.echo(f"{time.perf_counter() - started:6.0f} s  {name}", err=True)

    try:
        layouts(source, planned(source, cache, told).plans, cache)
        cache.write(target)
    except OSError as error:
        raise CommandError("cannot_write", str(target), str(error.strerror)) from None
    seconds = time.perf_counter() - started
    if as_json:
        print_json(
            {
                "file": str(target),
                "entries": len(cache.used),
                "worked_out": len(cache.missed),
                "seconds": round(seconds, 1),
            }
        )
    else:
        click.echo(f"{target}: {len(cache.used)} entries, {len(cache.missed)} worked out in {seconds:.0f} s")


@pack.command()
@click.argument("path", type=FOLDER, required=False)
@as_json_option
def show(path: Path | None, as_json: bool) -> None:
    """Show what a source folder or a compiled pack says; without PATH, the demo's."""
    try:
        guidance = open_guidance(demo_path() if path is None else path)
    except PackFaults as error:
        end_with_faults(error, as_json=as_json)
    except FileNotFoundError as error:
        raise CommandError("no_demo", "PATH", str(error)) from None
    if as_json:
        print_json(guidance)
    else:
        _print_guidance(guidance)


@pack.command()
@click.argument("older", type=FOLDER)
@click.argument("newer", type=FOLDER)
@as_json_option
def diff(older: Path, newer: Path, as_json: bool) -> None:
    """Say in words what differs between OLDER and NEWER, each a source folder or a compiled pack.

    What can do most harm comes first. Lines that start with ! are plainly less careful than before.
    """
    try:
        found = difference(open_guidance(older), open_guidance(newer))
    except PackFaults as error:
        end_with_faults(error, as_json=as_json)
    if as_json:
        print_json(found)
    else:
        _print_difference(found)


def _print_difference(found: PackDifference) -> None:
    older, newer = found.older, found.newer
    click.echo(f"{older.clinic}, version {older.version} → {newer.clinic}, version {newer.version}")
    for group in found.groups:
        click.echo(f"{group.title} ({len(group.differences)}):")
        for one in group.differences:
            click.echo(f"  {'!' if one.less_careful else '-'} {one.sentence}")
    for line in found.left_out:
        click.echo(line)
    click.echo(f"{found.count or 'No'} {'difference' if found.count == 1 else 'differences'}. {found.how}")


def _counts(guidance: Source | Pack) -> dict[str, int]:
    weights = Counter(step.weight for step in guidance.steps)
    return {
        "sites": len(guidance.sites),
        "optics": len(guidance.optics),
        "stages": len(guidance.stages),
        "steps": len(guidance.steps),
        "stop": weights["stop"],
        "must": weights["must"],
        "should": weights["should"],
        "note": weights["note"],
        "fields": len(guidance.fields),
        "languages": len(guidance.phrases),
    }


def _in_words(counts: dict[str, int]) -> str:
    return ", ".join(f"{count} {name}" for name, count in counts.items())


def _print_guidance(guidance: Source | Pack) -> None:
    click.echo(f"{guidance.clinic}, version {guidance.version}{', DEMO' if guidance.demo else ''}")
    for caution in guidance.cautions:
        click.echo(f"  ! {caution}")
    click.echo("Sites: " + "; ".join(site.name for site in guidance.sites))
    click.echo(f"Margin to the face: {guidance.limits.margin_mm:g} mm")
    click.echo("Optics:")
    for optic in guidance.optics:
        sections = ", cross-sections" if optic.cross_sections else ""
        click.echo(
            f"  {optic.id}: {optic.name}, field {optic.field_deg:g}°, working distance"
            f" {optic.working_distance_mm:g} mm, pupil at least {optic.least_pupil_mm:g} mm,"
            f" {', '.join(optic.modalities).replace('_', ' ')}{sections}"
        )
    for stage in guidance.stages:
        click.echo(f"{stage.name}:")
        for step in guidance.steps:
            if step.stage == stage.id:
                click.echo(f"  [{step.weight}] {step.text}")
    if guidance.phrases_unreviewed:
        click.echo("Wording not yet reviewed: " + ", ".join(guidance.phrases_unreviewed))
