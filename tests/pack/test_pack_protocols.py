"""A pack's protocols: each fault named, windows that contradict named together, layouts compiled."""

import gzip
from pathlib import Path

import msgspec
import pytest
from pack_sources import Compiled, Spoil, faults_in

from chinrest.pack.compiled import decode_pack

FILE = "protocols.toml"


def of(window: str, key: str) -> str:
    """A pattern that ends just before the value of `key` in the first window with this id."""
    return rf'(id = "{window}"\n(?:(?!\n\[\[).)*?\n?{key} = )[^\n]*'


@pytest.mark.parametrize(
    ("find", "put", "key", "says"),
    [
        (of("transit", "from_s"), r"\g<1>50.0", "windows[transit].to_s", "runs from 50 to 45 s"),
        (of("transit", "to_s"), r"\g<1>9000.0", "windows[transit].to_s", "from 0 to 7200"),
        (of("transit", "every_s"), r"\g<1>0.0", "windows[transit].every_s", "must lie from 0.05"),
        (of("transit", "eye"), r'\g<1>"each"', "windows[transit].eye", "a burst is taken in one eye"),
        (of("transit", "source"), r'\g<1>" "', "windows[transit].source", "is empty"),
        (of("transit", "name"), r'\g<1>""', "windows[transit].name", "is empty"),
        (of("transit", "dye"), r'\g<1>"indocyanine_green"', "windows[transit].dye", "does not give"),
        (of("transit", "dye"), r'\g<1>"saffron"', "windows[transit].dye", "saffron"),
        (of("late", "eye"), r'\g<1>"each"\nevery_s = 5.0', "windows[late].every_s", "is a burst"),
        (of("late", "eye"), r'\g<1>"each"\nat = "fields"', "windows[late].fields", "when, and only when"),
        (
            of("late", "eye"),
            r'\g<1>"each"\nat = "fields"\nfields = ["nowhere"]',
            "windows[late].fields",
            "names no field: 'nowhere'",
        ),
        (of("mid_fields", "region"), r'\g<1>""', "windows[mid_fields].region", "when, and only when"),
        (r'id = "late"', 'id = "mid"', "windows[mid].id", "is used 2 times in this protocol"),
        (r"dyes = \[\{", "dyes = [{ after_s = 5.0,", "dyes", "none has after_s = 0"),
    ],
)
def test_each_fault_of_a_protocol_is_named(
    find: str, put: str, key: str, says: str, folder: Path, spoil: Spoil
) -> None:
    spoil(FILE, find, put)
    faults = [f for f in faults_in(folder) if f.file == FILE]
    assert any(f.key == f"protocols[fluorescein].{key}" and says in f.reason for f in faults), faults


def test_a_region_without_plans_is_named(folder: Path, spoil: Spoil) -> None:
    with (folder / "planning.toml").open("a", encoding="utf-8") as planning:
        planning.write('\n[[regions]]\nid = "seven_fields"\n')
    assert [f for f in faults_in(folder) if f.file == FILE] == []
    spoil(FILE, of("mid_fields", "region"), r'\g<1>"ears"')
    (fault,) = [f for f in faults_in(folder) if f.file == FILE]
    assert fault.key == "protocols[fluorescein].windows[mid_fields].region"
    assert "'ears' is none of planning.toml's regions" in fault.reason


def test_windows_that_contradict_are_both_named(folder: Path, spoil: Spoil) -> None:
    """The fellow eye is asked for while the burst in the study eye runs."""
    spoil(FILE, of("fellow_early", "from_s"), r"\g<1>20.0")
    spoil(FILE, of("fellow_early", "to_s"), r"\g<1>60.0")
    (fault,) = faults_in(folder)
    assert fault.key == "protocols[fluorescein].windows[fellow_early]"
    assert "'transit' (study eye, 7 to 45 s" in fault.reason
    assert "'fellow_early' (fellow eye, 20 to 60 s" in fault.reason
    assert "contradict" in fault.reason


def test_a_window_just_wide_enough_does_not_contradict(folder: Path, spoil: Spoil) -> None:
    """The burst ends at 45 s, the eye change takes 20 s and a frame 4 s: 69 s holds it, 68 s does not."""
    spoil(FILE, of("fellow_early", "to_s"), r"\g<1>69.0")
    assert faults_in(folder) == []
    spoil(FILE, of("fellow_early", "to_s"), r"\g<1>68.0")
    assert len(faults_in(folder)) == 1


def test_three_windows_of_which_any_two_agree(folder: Path, spoil: Spoil) -> None:
    """Two frames of one eye and one of the other: 3 x 4 + 20 s fit into 32 s, 3 x 5 + 20 s do not."""
    spoil(FILE, of("mid", "to_s"), r"\g<1>152.0")
    assert faults_in(folder) == []
    extra = (
        '\n[[protocols.windows]]\nid = "more"\nname = "More"\ndye = "fluorescein"\neye = "study"\n'
        'from_s = 120.0\nto_s = 152.0\nneed = "needed"\nsource = "a test"\n'
    )
    spoil(FILE, r"\n\[\[protocols\]\]\nid = \"indocyanine_green\"", extra + r"\g<0>")
    assert faults_in(folder) == []
    spoil(FILE, r"frame_s = 4.0", "frame_s = 5.0")
    (fault,) = faults_in(folder)
    assert all(f"'{name}'" in fault.reason for name in ("mid", "more"))
    assert fault.reason.count("'mid'") == 2


def test_pace_is_checked_and_may_be_left_out(folder: Path, spoil: Spoil) -> None:
    spoil(FILE, r"frame_s = 4.0", "frame_s = -1.0")
    assert [f.key for f in faults_in(folder)] == ["pace.frame_s"]
    spoil(FILE, r"\[pace\].*?(?=\[\[protocols)", "")
    assert faults_in(folder) == []


def test_a_pack_without_protocols_is_sound(folder: Path) -> None:
    (folder / FILE).unlink()
    assert [f for f in faults_in(folder) if f.file == FILE] == []


def test_each_protocol_optic_and_number_of_eyes_has_its_layout(
    compiled: Compiled,
) -> None:
    pack = decode_pack(compiled.data)
    named = {(layout.protocol, layout.optic, layout.eyes) for layout in pack.layouts}
    wanted = {
        (protocol.id, optic.id, eyes)
        for protocol in pack.protocols
        for optic in pack.optics
        for eyes in ("one", "two")
        if all(injection.dye in optic.modalities for injection in protocol.dyes)
    }
    assert named == wanted
    classes = {each.id for each in pack.reach_classes}
    for key in wanted:
        same = [one for one in pack.layouts if (one.protocol, one.optic, one.eyes) == key]
        assert ":".join(key) == same[0].id, "the usual face's comes first, and has the plain name"
        of_classes = [name for one in same for name in one.classes]
        if len(same) == 1:
            assert of_classes == []
        else:
            assert sorted(of_classes) == sorted(classes), "each class has one layout"
            assert "average.medium.free" in same[0].classes
    assert len({layout.id for layout in pack.layouts}) == len(pack.layouts)
    assert all(layout.proved for layout in pack.layouts)
    assert pack.clock_vectors
    assert {vector.layout for vector in pack.next_frame_vectors} <= {layout.id for layout in pack.layouts}


def test_the_series_adds_little_to_the_pack(compiled: Compiled) -> None:
    """Of the 400 kB that a whole pack may have with gzip, the series takes not even an eighth."""
    pack = decode_pack(compiled.data)
    parts = (pack.layouts, pack.protocols, pack.clock_vectors, pack.next_frame_vectors)
    assert sum(len(gzip.compress(msgspec.json.encode(part))) for part in parts) < 50_000
