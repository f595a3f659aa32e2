"""The advice held against what was found: the right poses are counted, and nothing is adopted on little; and
windows of a series, by the layout of the pack that was followed."""

import uuid
from hashlib import sha256
from itertools import pairwise
from typing import Any

import pytest
from callers import OWN_PAGE, House
from carrying import Phone, opened
from test_server_craft import advised, found

from chinrest.log.case_events import FaceMeasured, FrameTaken
from chinrest.log.series_events import SeriesBurst, SeriesLaid, SeriesStopped
from chinrest.log.write import new_salt
from chinrest.model.face import FaceName
from chinrest.model.offset import NOMINAL, OFFSETS_MM, OffsetCell, mid_line, offset_cells, with_offset
from chinrest.model.rates.offset_fit import Offset, OffsetFit
from chinrest.model.rates.summary import rate_of
from chinrest.pack.compiled import decode_pack
from chinrest.pack.schema import Pack
from chinrest.server.calibration import (
    adopted,
    by_cell,
    corrections,
    depth_class,
    held_back,
    reliability,
)

BEGAN = 1_790_000_000_000
JSON = {**OWN_PAGE, "Content-Type": "application/json"}


def asked(house: House, path: str, **wanted: Any) -> Any:
    answer = house.as_officer().get(path, params=wanted)
    assert answer.status_code == 200, answer.text
    return answer.json()


def upload(house: House, pack: bytes) -> None:
    answer = house.as_lead().post("/api/packs", content=pack, headers=JSON)
    assert answer.status_code == 200, answer.text


def visit(phone: Phone, pack: bytes, *bodies: Any) -> None:
    case, named = str(uuid.uuid4()), sha256(pack).hexdigest()
    written = [opened(), *bodies]
    phone.sync(
        *(
            phone.chain.write(
                body, at=1_790_000_000_000 + 1000 * n, mono=n, actor="AB", case=case, pack=named
            )
            for n, body in enumerate(written)
        )
    )


def face(depth: Any = "average", **fields: Any) -> FaceMeasured:
    told = {"pd_mm": 63.0, "nose": "medium", "brow": "medium", "neck": "free", "age_band": "40-59", **fields}
    return FaceMeasured(salt=new_salt(), eye="right", exophthalmometry=depth, **told)


@pytest.fixture(scope="module")
def pack(demo_pack: bytes) -> Pack:
    return decode_pack(demo_pack)


def test_poses_are_held_against_the_models_own_chance(house: House, demo_pack: bytes, pack: Pack) -> None:
    phone = house.phone()
    phone.sync(phone.first_line())
    for outcome, by_deg, touched in (
        ("as_advised", None, False),
        ("as_advised", None, True),
        ("more", 4.0, False),
        ("less", 2.0, False),
    ):
        visit(phone, demo_pack, face(), advised("close"), found(outcome, by_deg, touched=touched))
    visit(phone, demo_pack, face(16.2), advised("close"), found("more", 3.0))  # mm, of the average class
    visit(phone, demo_pack, advised("close"), found("more", 3.0))  # no face measured: of no class
    visit(phone, demo_pack, face(unusual="swelling"), advised("close"), found("more", 3.0))
    upload(house, demo_pack)
    report = asked(house, "/api/calibration")
    assert (report["poses"], report["unchanged"], report["corrected"]) == (5, 2, 3)
    cells = offset_cells([o for o in pack.optics if o.id == "ultrawide"], pack.faces, pack.limits)
    [cell] = [one for one in cells if (one.depth, one.nose) == ("average", "medium")]
    assert cell.touch_chance is not None
    for held in report["faces"]:
        [band] = held["bands"]
        assert band["predicted"] == pytest.approx(cell.touch_chance[held["face"]])
        assert band["touched"]["exact95"] == pytest.approx(rate_of(1, 5).exact95)
        assert band["touched_or_more"]["events"] == 3
    assert report["adopted"] == []
    assert "Too few" in report["held_back"]
    assert any("no evidence" in rule for rule in report["rules"])


def test_without_any_pose_it_says_so(house: House) -> None:
    report = asked(house, "/api/calibration")
    assert (report["pack"], report["offset"], report["poses"]) == (None, None, 0)
    assert report["held_back"]
    assert house.as_nobody().get("/api/calibration").status_code == 401


def test_the_second_face_is_the_first_with_its_mid_line_moved(pack: Pack) -> None:
    """What the pack's source says of its two faces: all but the outer rim 9.05 mm further forward."""
    moved = with_offset(pack.faces, 9.05).nominal.landmarks
    assert set(moved) - set(mid_line(pack.faces)) == {"lateral_orbital_rim"}
    for name, place in pack.faces.forward.landmarks.items():
        assert moved[name].mean_mm == pytest.approx(place.mean_mm, abs=0.011)


def test_a_mid_line_further_forward_never_needs_less_turn(pack: Pack) -> None:
    ultrawide = [optic for optic in pack.optics if optic.id == "ultrawide"]
    for cell in offset_cells(ultrawide, pack.faces, pack.limits):
        needed = [turn for turn in cell.needed_deg if turn is not None]
        # where it backs off, the turn stays at about the neck's limit
        assert all(after >= before - 1.5 for before, after in pairwise(needed)), cell
        assert cell.needed_deg[NOMINAL] is not None


def estimate(offset_mm: float, low: float | None, high: float | None) -> Offset:
    return Offset(offset_mm=offset_mm, interval95=(low, high), scatter_deg=5.0, said=300)


def test_only_a_firm_estimate_is_offered_for_the_pack(pack: Pack) -> None:
    firm = OffsetFit(both=estimate(2.04, 1.1, 3.0), from_more=None, agree=None)
    assert held_back(firm) == ""
    rows = adopted(pack, 2.04)
    assert [row.landmark for row in rows] == mid_line(pack.faces)
    for row in rows:
        assert row.key == f"nominal.landmarks.{row.landmark}.mean_mm"
        assert row.was == pack.faces.nominal.landmarks[row.landmark].mean_mm
        assert row.becomes == pytest.approx((row.was[0], row.was[1], row.was[2] + 2.0))
    for fit, why in (
        (OffsetFit(both=estimate(1.0, -0.2, 2.0), from_more=None, agree=None), "holds 0"),
        (OffsetFit(both=estimate(11.0, 8.0, None), from_more=None, agree=None), "beyond the offsets"),
        (OffsetFit(both=estimate(2.0, 1.0, 3.0), from_more=estimate(5, 4, 6), agree=False), "elsewhere"),
        (OffsetFit(both=None, from_more=None, agree=None), "Too few"),
    ):
        assert why in held_back(fit)
    assert OFFSETS_MM[NOMINAL] == 0


def cell(needed: tuple[float | None, ...], nominal: float, forward: float) -> OffsetCell:
    chance: dict[FaceName, float] = {"nominal": nominal, "forward": forward}
    return OffsetCell(
        optic="ultrawide", depth="average", nose="medium", needed_deg=needed, touch_chance=chance
    )


KEY = ("ultrawide", "average", "medium")


def test_corrections_go_with_what_the_model_says_and_only_where_a_turn_is_advised(pack: Pack) -> None:
    counts = {
        ("p/ultrawide", "average/medium/more/4/clear"): 3,
        ("p/ultrawide", "average/medium/less/2/touched"): 2,
        ("p/ultrawide", "average/medium/as_advised/0/clear"): 50,
    }
    seen = by_cell(counts, pack)
    needed = (4.0, 6.0, 10.0, 13.0, 17.0, None, None)
    found = corrections(seen, {KEY: cell(needed, 0.0, 0.0)})
    # beyond what fits, as far as it went; and less is less
    assert {one.shift_deg for one in found} == {(-6.0, -4.0, 0.0, 3.0, 7.0, 7.0, 7.0)}
    assert {(one.off_deg, one.n) for one in found} == {(4, 3), (-2, 2)}
    assert corrections(seen, {KEY: cell((0.0,) * 7, 0.0, 0.0)}) == []
    assert corrections(seen, {KEY: cell((None,) * 7, 0.0, 0.0)}) == []


def test_each_face_is_held_against_its_own_chance(pack: Pack) -> None:
    seen = by_cell({("p/ultrawide", "average/medium/as_advised/0/touched"): 2}, pack)
    rows = reliability(seen, {KEY: cell((10.0,) * 7, 0.003, 0.3)}, pack)
    assert [(row.face, [(band.predicted, band.from_chance) for band in row.bands]) for row in rows] == [
        ("nominal", [(0.003, 0.0)]),
        ("forward", [(0.3, 0.2)]),
    ]
    # a certain touch has its place in the last band
    [nominal, _] = reliability(seen, {KEY: cell((10.0,) * 7, 1.0, 0.3)}, pack)
    assert [(band.to_chance, band.touched_or_more.events) for band in nominal.bands] == [(1.0, 2)]


def test_a_depth_in_mm_is_of_the_class_that_the_pack_says(pack: Pack) -> None:
    below, above = pack.faces.eye_depth.deep_set_below_mm, pack.faces.eye_depth.prominent_above_mm
    told = (below - 1, below, above, above + 1)
    assert [depth_class(str(mm), pack) for mm in told] == ["deep-set", "average", "average", "prominent"]


def series(pack: Pack, change: Any) -> tuple[list[Any], str, list[str]]:
    """A layout followed frame by frame, each in its window unless `change` says otherwise."""
    layout = next(one for one in pack.layouts if one.eyes == "one" and len(one.frames) > 2)
    bodies: list[Any] = [
        SeriesLaid(salt=new_salt(), protocol=layout.protocol, layout=layout.id, eyes=["right", "left"])
    ]
    for frame in layout.frames:
        at = change(frame)
        if at is None:
            continue
        if frame.burst:
            bodies.append(
                SeriesBurst(
                    salt=new_salt(), state="started", eye="right", optic="wide", frames=[frame.id], dye_s=at
                )
            )
        else:
            bodies.append(
                FrameTaken(
                    salt=new_salt(),
                    eye="right",
                    optic="wide",
                    modality=frame.dye,
                    field=frame.field,
                    gaze_deg=(0.0, 0.0),
                    outcome="taken",
                    series_frame=frame.id,
                    dye_s=at,
                )
            )
    return bodies, layout.protocol, sorted({frame.window for frame in layout.frames})


def test_windows_are_kept_by_the_layout_that_was_followed(house: House, demo_pack: bytes, pack: Pack) -> None:
    phone = house.phone()
    phone.sync(phone.first_line())
    in_time, protocol, windows = series(pack, lambda f: f.from_s if f.burst else f.from_s + 1)
    too_late, *_ = series(pack, lambda f: f.to_s + 1)
    never, *_ = series(pack, lambda f: None)
    for bodies in (in_time, in_time, too_late, never, [*never, SeriesStopped(salt=new_salt(), why="nausea")]):
        visit(phone, demo_pack, *bodies)
    # its pack has not come: nobody knows the windows, and it is said
    before = asked(house, "/api/craft")
    assert (before["windows"], before["windows_unread"]) == ([], 5)
    upload(house, demo_pack)
    report = asked(house, "/api/craft")
    assert report["windows_unread"] == 0
    assert sorted(row["window"] for row in report["windows"]) == windows
    for row in report["windows"]:
        assert row["protocol"] == protocol
        names = ("cases", "kept", "late", "missed", "stopped", "early", "untimed")
        assert [row[name] for name in names] == [5, 2, 1, 1, 1, 0, 0]
        assert row["rate"]["exact95"] == pytest.approx(rate_of(2, 5).exact95)
