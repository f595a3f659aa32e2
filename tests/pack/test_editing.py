"""A draft's tables: out of a compiled pack, changed one at a time, read and checked as a folder is."""

import json

import pytest
from pack_sources import Compiled

from chinrest.model.errors import InputError
from chinrest.pack.compiled import decode_pack
from chinrest.pack.demo import demo_path
from chinrest.pack.editing import changed
from chinrest.pack.faults import PackFaults
from chinrest.pack.forms import FORMS
from chinrest.pack.reader import Table
from chinrest.pack.source import load, load_tables
from chinrest.pack.source_tables import tables_of


@pytest.fixture(scope="module")
def tables() -> dict[str, Table]:
    """The demo's, as they come back from a browser."""
    made: dict[str, Table] = json.loads(json.dumps(tables_of(load(demo_path()))))
    return made


def test_a_packs_tables_are_the_source_that_it_came_from(compiled: Compiled) -> None:
    again = json.loads(json.dumps(tables_of(decode_pack(compiled.data))))
    assert load_tables(again) == load(demo_path())


def test_what_is_missing_or_unknown_is_said_as_of_a_folder(tables: dict[str, Table]) -> None:
    spoiled = {name: table for name, table in tables.items() if not name.startswith(("limits", "steps"))}
    with pytest.raises(PackFaults) as caught:
        load_tables({**spoiled, "lenses.toml": {}})
    said = [str(fault) for fault in caught.value.faults]
    assert "limits.toml: is missing" in said
    assert "steps.toml: is missing, and so is any file in steps/" in said
    assert any(line.startswith("lenses.toml: no such file in a pack") for line in said)


def test_a_change_is_judged_by_the_check_of_the_source(tables: dict[str, Table]) -> None:
    optic = {**tables["optics.toml"]["optics"][2], "clear_radius_mm": "wide", "working_distance_mm": 500}
    made, what = changed(tables, "optics.toml", "optics", 2, optic, None)
    assert what == "Optics, ultrawide: changed"
    with pytest.raises(PackFaults) as caught:
        load_tables(made)
    assert [str(fault) for fault in caught.value.faults] == [
        "optics.toml: optics[ultrawide].clear_radius_mm: is text ('wide'); must be a number"
    ]
    optic["clear_radius_mm"] = 16.2
    with pytest.raises(PackFaults, match=r"working_distance_mm: is 500; must lie from 1 to 300"):
        load_tables(changed(tables, "optics.toml", "optics", 2, optic, None)[0])


def test_entries_are_added_moved_and_removed(tables: dict[str, Table]) -> None:
    ids = [step["id"] for step in tables["steps.toml"]["steps"]]
    new = {"id": "breathe", "stage": "arrival", "weight": "note", "text": "Breathe."}

    def after(index: int | None, value: Table | None, to: int | None) -> tuple[list[str], str]:
        made, what = changed(tables, "steps.toml", "steps", index, value, to)
        return [step["id"] for step in made["steps.toml"]["steps"]], what

    assert after(None, new, None) == ([*ids, "breathe"], "Steps, breathe: added")
    assert after(None, new, 1)[0] == [ids[0], "breathe", *ids[1:]]
    assert after(0, None, 1) == ([ids[1], ids[0], *ids[2:]], f"Steps, {ids[0]}: moved")
    assert after(0, None, None) == (ids[1:], f"Steps, {ids[0]}: removed")
    assert [step["id"] for step in tables["steps.toml"]["steps"]] == ids  # what was saved stays as it was


def test_the_top_of_a_file_keeps_its_lists(tables: dict[str, Table]) -> None:
    top = {key: value for key, value in tables["clinic.toml"].items() if key != "sites"}
    made, what = changed(tables, "clinic.toml", "", None, {**top, "version": "2026.2"}, None)
    assert load_tables(made).version == "2026.2"
    assert load_tables(made).sites == load_tables(tables).sites
    assert what == "Clinic, version and thresholds: changed"


@pytest.mark.parametrize(
    ("file", "key", "index", "to", "field"),
    [
        ("faces.toml", "", None, None, "file"),
        ("optics.toml", "", None, None, "file"),
        ("phrases/xx.toml", "", None, None, "file"),
        ("../clinic.toml", "", None, None, "file"),
        ("limits.toml", "", None, None, "value"),
        ("optics.toml", "optics", None, None, "value"),
        ("optics.toml", "optics", 3, None, "index"),
        ("optics.toml", "optics", -1, None, "index"),
        ("optics.toml", "optics", 0, 9, "to"),
    ],
)
def test_a_change_that_leads_nowhere_is_refused(
    tables: dict[str, Table], file: str, key: str, index: int | None, to: int | None, field: str
) -> None:
    with pytest.raises(InputError) as caught:
        changed(tables, file, key, index, None, to)
    assert caught.value.field == field


def test_a_value_nested_too_deeply_for_any_reader_is_refused(tables: dict[str, Table]) -> None:
    deep: list[object] = []
    for _ in range(500):
        deep = [deep]
    with pytest.raises(InputError, match="more than 12 deep"):
        changed(tables, "limits.toml", "", None, {"margin_mm": deep}, None)


def test_every_form_has_a_title_for_each_key() -> None:
    def titles(schema: object) -> None:
        if isinstance(schema, dict):
            for of in schema.get("properties", {}).values():
                assert of["title"]
            for inner in schema.values():
                titles(inner)
        elif isinstance(schema, list):
            for inner in schema:
                titles(inner)

    assert {form.id for form in FORMS} >= {"optics", "phrases", "clinic", "steps"}
    for form in FORMS:
        titles(form.schema)
