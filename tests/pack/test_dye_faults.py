"""Contradictions in what a pack says of the dye's hour, and what a clinic without a dye may leave out."""

import tomllib
from datetime import date
from pathlib import Path

import pytest
from pack_sources import Compiled, Spoil, faults_in

from chinrest.model.dye.stops import rule_stop
from chinrest.pack.compiled import decode_pack
from chinrest.pack.compiler import build
from chinrest.pack.dye_parts import FILES
from chinrest.pack.source import load

CASES: list[dict[str, str]] = tomllib.loads(Path(__file__).with_name("spoiled_dye.toml").read_text("utf-8"))[
    "case"
]
YEARS_LEFT = 5


@pytest.mark.parametrize("case", CASES, ids=[case["name"] for case in CASES])
def test_each_contradiction_names_file_key_and_reason(
    case: dict[str, str], folder: Path, spoil: Spoil
) -> None:
    spoil(case["file"], case["find"], case["put"])
    faults = faults_in(folder)
    file = case.get("at", case["file"])
    hits = [f for f in faults if f.file == file and f.key == case["key"] and case["says"] in f.reason]
    assert hits, "\n".join(str(f) for f in faults) or "no fault was found"


@pytest.mark.parametrize("name", FILES)
def test_one_file_of_the_dye_is_not_left_out_alone(name: str, folder: Path) -> None:
    (folder / f"{name}.toml").unlink()
    assert [f.key for f in faults_in(folder) if f.file == f"{name}.toml"] == [""]


def test_a_rule_that_nobody_has_approved_yet_is_no_fault_of_the_source(folder: Path, spoil: Spoil) -> None:
    spoil("dyes.toml", 'approved_by = "[^"]*"', 'approved_by = ""')
    assert faults_in(folder) == []  # the phone shows nothing under it, and says why
    stop = rule_stop(load(folder).dyes[0], "2026-11-25")
    assert stop is not None
    assert stop.code == "not_approved"


def test_the_demo_rules_hold_for_years(compiled: Compiled) -> None:
    """The demo must not go stale without anybody noticing: this fails long before it does."""
    today = date.today()
    soon = today.replace(year=today.year + YEARS_LEFT, day=1).isoformat()
    dyes = decode_pack(compiled.data).dyes
    assert [dye.id for dye in dyes] == ["fluorescein", "indocyanine_green"]
    for dye in dyes:
        assert rule_stop(dye, today.isoformat()) is None
        assert rule_stop(dye, soon) is None
        assert "Invented" in dye.approved_by


def test_what_is_from_memory_says_so_beside_it(folder: Path) -> None:
    """Every entry names a source, or says that it has none."""
    pack = load(folder)
    assert pack.reaction
    assert pack.watch
    assert pack.takeaway
    assert pack.dosing
    sources = [question.source for question in pack.screening]
    sources += [rule.source for rule in pack.watch.rules]
    sources += [line.source for line in pack.takeaway.lines]
    sources += [
        one.source for one in [*pack.reaction.criteria, *pack.reaction.scales, *pack.reaction.observations]
    ]
    sources += [line for dye in pack.dyes for line in dye.source] + pack.dosing.source
    assert all(source.strip() for source in sources)


def test_the_card_says_what_is_unreviewed(folder: Path) -> None:
    pack = load(folder)
    assert pack.takeaway
    others = set(pack.takeaway.title) - {pack.language}
    assert set(pack.takeaway.unreviewed) == others


def test_a_clinic_without_a_dye_leaves_all_of_it_out(folder: Path) -> None:
    for name in FILES:
        (folder / f"{name}.toml").unlink()
    assert faults_in(folder) == []
    pack = build(load(folder))
    assert (pack.dyes, pack.dosing, pack.dose_vectors, pack.screening) == ([], None, [], [])
    assert (pack.reaction, pack.watch, pack.takeaway) == (None, None, None)
