"""What differs between two packs, in words: nothing hidden, the most dangerous first."""

import copy
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import msgspec
import pytest
from click.testing import CliRunner
from msgspec import structs
from pack_sources import Compiled, Spoil

from chinrest.commands.pack import pack
from chinrest.model.answer import fit_request
from chinrest.model.face import FaceMeasures
from chinrest.model.fit import FitRequest
from chinrest.model.tables import looked_up
from chinrest.pack.class_fits import ClassFit, class_fits
from chinrest.pack.compiled import decode_pack
from chinrest.pack.demo import demo_path
from chinrest.pack.difference.difference import PackDifference, difference
from chinrest.pack.difference.groups import GROUPS, group_of
from chinrest.pack.difference.poses import between
from chinrest.pack.difference.walk import places
from chinrest.pack.schema import Pack
from chinrest.pack.source import Source, load


@pytest.fixture(scope="module")
def demo() -> Source:
    return load(demo_path())


def sentences(found: PackDifference, group: str) -> list[str]:
    return [one.sentence for each in found.groups if each.id == group for one in each.differences]


def leaves(tree: Any, path: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    inside = tree.items() if isinstance(tree, dict) else enumerate(tree) if isinstance(tree, list) else ()
    if not isinstance(tree, dict | list):
        yield path
    for key, value in inside:
        yield from leaves(value, (*path, key))


def test_a_pack_does_not_differ_from_itself(demo: Source, compiled: Compiled) -> None:
    found = difference(demo, demo)
    assert (found.count, found.groups, found.poses_compared) == (0, [], 0)
    whole = decode_pack(compiled.data)
    assert difference(whole, decode_pack(compiled.data)).count == 0
    assert difference(whole, whole).left_out == []


def test_a_word_that_promises_more_at_the_same_gap_is_less_careful() -> None:
    before = ClassFit(
        optic="wide",
        eye_depth="average",
        nose="medium",
        neck="free",
        feasible=True,
        reason="",
        yaw_deg=12.0,
        pitch_deg=0.0,
        working_distance_mm=20.0,
        backed_off_mm=0.0,
        clearance_mm=5.0,
        forward_clearance_mm=2.0,
        nearest="nasal_flank",
        field_deg=100.0,
        touch_chance=None,
        words="expect_to_adjust",
        words_from="table",
    )
    promises = between(before, structs.replace(before, words="close"))
    assert promises is not None
    assert (promises.was, promises.now, promises.less_careful) == ("“expect to adjust”", "“close”", True)
    back = between(structs.replace(before, words="close"), before)
    assert back is not None
    assert not back.less_careful
    # a word out of a table and one out of the chance itself are not compared
    assert between(before, structs.replace(before, words="close", words_from="chance")) is None


def test_whatever_single_value_changes_is_told_with_its_place(demo: Source) -> None:
    """Each value of the demo's source, one after the other: about four thousand."""
    was = msgspec.to_builtins(demo)
    tried = 0
    for path in leaves(was):
        now = was | {path[0]: copy.deepcopy(was[path[0]])}
        at: Any = now
        for key in path[:-1]:
            at = at[key]
        old = at[path[-1]]
        at[path[-1]] = not old if isinstance(old, bool) else f"{old} x" if isinstance(old, str) else "other"
        found = list(places(was, now))
        assert found, path
        assert all(place.path[0] == path[0] for place in found), path
        assert all(group_of(place, was, now) in GROUPS for place in found), path
        tried += 1
    assert tried > 3000


def test_the_computed_turn_is_said_as_the_model_answers(demo: Source, folder: Path, spoil: Spoil) -> None:
    """The words' figures against the model asked by itself."""
    spoil("limits.toml", r"margin_mm = 4\.0", "margin_mm = 3.0")
    newer = load(folder)
    found = difference(demo, newer)
    asked = FitRequest(
        optic="ultrawide",
        eye="left",
        measures=FaceMeasures(
            pd_mm=demo.faces.pd_reference_mm,
            exophthalmometry="deep-set",
            nose="high",
            brow="medium",
            neck="free",
        ),
    )
    was = fit_request(asked, demo.optics, demo.faces, demo.limits)
    now = fit_request(asked, newer.optics, newer.faces, newer.limits)
    assert was.yaw_deg is not None
    assert now.yaw_deg is not None
    assert was.yaw_deg > now.yaw_deg + 1
    (line,) = [
        text
        for text in sentences(found, "turn")
        if text.startswith("Ultra-wide, deep-set, high bridge, neck free:")
    ]
    assert f"turn {was.yaw_deg:.1f}° → {now.yaw_deg:.1f}°" in line
    assert "gap 4 mm → 3 mm" in line
    assert "Limits, margin to the face: 4 mm → 3 mm" in sentences(found, "figures")
    turn = found.groups[0]
    assert turn.id == "turn"
    assert all(one.less_careful for one in turn.differences)
    assert found.poses_compared == 3 * 27


def test_what_can_do_most_harm_comes_first(demo: Source, folder: Path, spoil: Spoil) -> None:
    spoil("clinic.toml", r'version = "2026\.1"', 'version = "2026.2"')
    spoil("clinic.toml", r"comfort_pause_at = 7", "comfort_pause_at = 8")
    spoil("phrases/en.toml", r'blink = "Blink', 'blink = "Now blink')
    spoil("dyes.toml", r'cap_mg = "500"', 'cap_mg = "600"')
    spoil("emergency.toml", r"555-0111", "555-0119")
    spoil("optics.toml", r"least_pupil_mm = 3\.0", "least_pupil_mm = 2.5")
    spoil("steps/1-arrival.toml", r'weight = "stop"', 'weight = "must"')
    spoil("watch.toml", r"minutes = (\d+)", "minutes = 1")
    found = difference(demo, load(folder))
    assert [group.id for group in found.groups] == [
        *("figures", "dose", "stops", "emergency", "after", "thresholds", "phrases", "clinic")
    ]
    flat = [one for group in found.groups for one in group.differences]
    assert found.count == len(flat) == 8
    less = {one.key.rpartition(".")[2] for one in flat if one.less_careful}
    assert less == {"least_pupil_mm", "cap_mg", "weight", "minutes", "comfort_pause_at"}
    assert sentences(found, "dose") == ["Dye Fluorescein sodium, never more than: 500 mg → 600 mg"]
    assert sentences(found, "emergency")[0].endswith(
        "Clinician on call, Harbour Road, phone: 555-0111 → 555-0119"
    )


def test_added_removed_reworded_and_moved_steps_are_told_apart(folder: Path, demo: Source) -> None:
    file = folder / "steps" / "5-position.toml"
    head, *steps = file.read_text().split("[[steps]]\n")
    by_id = {step.split('id = "')[1].split('"')[0]: step for step in steps}
    order = [name for name in by_id if name != "seated"]
    order.remove("approach")
    order.insert(order.index("chin_height"), "approach")
    by_id["forehead"] = by_id["forehead"].replace("Forehead on the rest,", "The forehead rests,")
    by_id["new_one"] = 'id = "new_one"\nweight = "should"\ntext = "Look once more."\neach = "eye_and_optic"\n'
    file.write_text(head + "".join(f"[[steps]]\n{by_id[name]}\n" for name in [*order, "new_one"]))
    told = sentences(difference(demo, load(folder)), "steps")
    assert any(text.startswith("Step Look once more.: added: ") for text in told)
    assert any(text.startswith("Step Patient forward, feet") and ": removed: " in text for text in told)
    assert any("text: Forehead on the rest, now" in text and "→ The forehead rests," in text for text in told)
    moved = [text for text in told if ": stood after " in text]
    assert len(moved) == 1
    assert moved[0].startswith("Step Centre on the pupil")
    assert len(told) == 4


def test_two_compiled_packs_are_compared_with_their_tables(compiled: Compiled) -> None:
    was = decode_pack(compiled.data)
    rows = list(was.touch.rows)
    rows[0] = msgspec.structs.replace(rows[0], close_mm=99.0, likely_clear_mm=None)
    vectors = list(was.fit_vectors)
    vectors[3] = msgspec.structs.replace(vectors[3], yaw_deg=1.0)
    now = msgspec.structs.replace(
        was, touch=msgspec.structs.replace(was.touch, rows=rows), fit_vectors=vectors, plans=was.plans[1:]
    )
    found = difference(was, now)
    assert found.left_out == []
    figures = sentences(found, "figures")
    assert any("close from a gap of" in text and "99 mm" in text for text in figures)
    assert sentences(found, "proofs") == ["Fit vectors, number 4: differs"]
    assert sentences(found, "plans")
    assert found.poses_compared == 27, "the optic whose row changed, and no other"


def test_a_source_against_a_pack_says_what_was_not_compared(demo: Source, compiled: Compiled) -> None:
    found = difference(decode_pack(compiled.data), demo)
    assert found.count == 0
    assert len(found.left_out) == 1
    assert "fit vectors" in found.left_out[0]
    assert "plans" in found.left_out[0]


def test_what_an_optic_computes_to_uses_the_words_of_the_table(demo: Source, compiled: Compiled) -> None:
    whole: Pack = decode_pack(compiled.data)
    made = class_fits(whole)
    assert len(made) == 3 * 27
    for fit in made:
        if fit.feasible:
            assert fit.clearance_mm is not None
            assert fit.nearest is not None
            assert fit.clearance_mm >= whole.limits.margin_mm - 0.01
            assert fit.words == looked_up(whole.touch, fit.optic, fit.nearest, fit.clearance_mm)
            assert fit.words_from == "table"
        else:
            assert fit.reason
            assert fit.yaw_deg is None
    assert {fit.words_from for fit in class_fits(demo, ["narrow"])} == {"chance"}


def test_the_command_says_it_and_as_json(folder: Path, spoil: Spoil) -> None:
    spoil("emergency.toml", r"555-0111", "555-0119")
    plain = CliRunner().invoke(pack, ["diff", str(demo_path()), str(folder)])
    assert plain.exit_code == 0, plain.output
    assert (
        "  - Emergency page, contact Clinician on call, Harbour Road, phone: 555-0111 → 555-0119"
        in plain.stdout
    )
    assert "\n1 difference. " in plain.stdout
    as_json = CliRunner().invoke(pack, ["diff", str(demo_path()), str(folder), "--json"])
    said = json.loads(as_json.stdout)
    assert said["count"] == 1
    assert said["groups"][0]["id"] == "emergency"
    spoil("emergency.toml", r'phone = "555-0112"', 'phone = ""')
    bad = CliRunner().invoke(pack, ["diff", str(demo_path()), str(folder)])
    assert bad.exit_code == 1
    assert "emergency.toml: contacts" in bad.stderr
