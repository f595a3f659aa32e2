"""Which touch a safety event tells of, and which advice a found pose answers: as the definition says, word
for word and in the square of the lines, against the one pass that the folds make."""

from collections.abc import Sequence
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st
from invented import Phone, fields_of, kept

from chinrest.log.amendments import Standing, stand
from chinrest.log.case_events import PoseAdvised, PoseFound, SafetyNoted
from chinrest.log.incidents import TOUCHED, fold_incidents
from chinrest.log.timeline import build_timeline
from chinrest.log.write import Line

EYES, OPTICS, GAZES = (
    st.sampled_from(["left", "right"]),
    st.sampled_from(["wide", "ultra"]),
    [0.0, -0.0, 15.0],
)
GAZE = st.tuples(st.sampled_from(GAZES), st.just(0.0))
STEP = st.one_of(
    st.tuples(st.just("pose.found"), st.fixed_dictionaries({"eye": EYES, "optic": OPTICS, "gaze_deg": GAZE})),
    st.tuples(
        st.just("pose.advised"), st.fixed_dictionaries({"eye": EYES, "optic": OPTICS, "gaze_deg": GAZE})
    ),
    st.tuples(
        st.just("safety.noted"),
        st.fixed_dictionaries(
            {
                "what": st.sampled_from([TOUCHED, TOUCHED, "faint"]),
                "eye": st.none() | EYES,
                "optic": st.none() | OPTICS,
            }
        ),
    ),
    # an earlier line is withdrawn, or is of the other eye
    st.tuples(st.just("line.amended"), st.tuples(st.integers(0, 30), st.booleans())),
)


def case_of(steps: list[tuple[str, Any]]) -> list[Standing]:
    phones = [Phone("one"), Phone("two")]
    made: list[Line] = []
    for number, (type_, said) in enumerate(steps):
        phone = phones[number % 2]
        if type_ != "line.amended":
            more = {"touched": True} if type_ == "pose.found" else {}
            made.append(phone.write(type_, "c1", **said, **more))
        elif made:
            target, withdrawn = made[said[0] % len(made)], said[1]
            assert target.body is not None
            fields: dict[str, Any] | None = None
            if not withdrawn:
                fields = fields_of(target.body)
                fields["eye"] = "left" if fields["eye"] == "right" else "right"
            phone.write("line.amended", "c1", line=target.envelope.id, body=fields)
    return stand([kept(line) for phone in phones for line in phone.lines])


def untold(standing: Sequence[Standing]) -> set[str]:
    """The touching poses of which no safety event tells: in order, each takes the first that stands, is not
    yet taken, and of which the eye and the optic are the same or unsaid."""
    spare = [
        line
        for line in standing
        if isinstance(line.body, SafetyNoted) and line.body.what == TOUCHED and not line.withdrawn
    ]
    left = set()
    for line in standing:
        pose = line.body
        if not isinstance(pose, PoseFound) or line.withdrawn:
            continue
        for event in spare:
            said = event.body
            assert isinstance(said, SafetyNoted)
            if said.eye in (None, pose.eye) and said.optic in (None, pose.optic):
                spare = [other for other in spare if other is not event]
                break
        else:
            left.add(line.kept.envelope.id)
    return left


def advice_of(standing: Sequence[Standing], place: int) -> str | None:
    """The latest advice before it for the same eye, optic and gaze, or else for the same eye and optic."""
    pose = standing[place].body
    assert isinstance(pose, PoseFound)
    of_optic = [
        line
        for line in standing[:place]
        if isinstance(line.body, PoseAdvised)
        and not line.withdrawn
        and (line.body.eye, line.body.optic) == (pose.eye, pose.optic)
    ]
    of_gaze = [
        line
        for line in of_optic
        if isinstance(line.body, PoseAdvised) and line.body.gaze_deg == pose.gaze_deg
    ]
    return (of_gaze or of_optic)[-1].kept.envelope.id if of_optic else None


@settings(deadline=None, derandomize=True)
@given(st.lists(STEP, max_size=30))
def test_each_touch_takes_the_first_report_that_fits_it(steps: list[tuple[str, Any]]) -> None:
    standing = case_of(steps)
    poses = {line.kept.envelope.id for line in standing if isinstance(line.body, PoseFound)}
    found = {fact.line for fact in fold_incidents(standing) if fact.line in poses and not fact.withdrawn}
    assert found == untold(standing)


@settings(deadline=None, derandomize=True)
@given(st.lists(STEP, max_size=30))
def test_each_pose_stands_beside_the_advice_that_it_answers(steps: list[tuple[str, Any]]) -> None:
    standing = case_of([("pose.found", {"eye": "left", "optic": "wide", "gaze_deg": (0.0, 0.0)}), *steps])
    entries = build_timeline("c1", standing, device_labels={}, site_names={}, position=1).entries
    for place, entry in enumerate(entries):
        if isinstance(standing[place].body, PoseFound):
            assert (entry.advice or {}).get("line") == advice_of(standing, place)
        else:
            assert entry.advice is None
