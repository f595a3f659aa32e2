"""The short way through the plan of a batch comes to what the long way does."""

import copy
import random
from unittest import mock

from hypothesis import given, settings
from hypothesis import strategies as st
from stored import a_case, restored

from chinrest.store.intake import Intake, Plan, decode_batch
from chinrest.store.standing import Standing

PHONE = a_case(lines=12)
OTHER = restored(PHONE, 6, 6)
STRANGER = a_case("stranger", 4)


def planned(
    raws: list[bytes], standing: Standing, ids: dict[str, str], *, short: bool
) -> tuple[Plan, Standing]:
    standing = copy.deepcopy(standing)
    intake = Intake(PHONE.device, standing, ids, {})
    decoded = decode_batch(raws)
    if short:
        return intake.plan(raws, decoded), standing
    with mock.patch.object(Intake, "_going_on", return_value=None):
        return intake.plan(raws, decoded), standing


def after(upto: int) -> tuple[Standing, dict[str, str]]:
    """The chain with so many of the phone's lines taken in."""
    standing = Standing(settled={}, waiting={}, branch=set(), unseated=[])
    if upto:
        planned_, standing = planned(PHONE.raws[:upto], standing, {}, short=False)
        assert [answer.status for answer in planned_.answers] == ["stored"] * upto
    return standing, {line.envelope.id: line.envelope_sha256 for line in PHONE.lines[:upto]}


@settings(max_examples=150, deadline=None)
@given(
    st.integers(0, 8),
    st.integers(0, 4),
    st.integers(0, 8),
    st.sampled_from(["none", "drop", "swap", "twice", "break", "other", "stranger"]),
    st.randoms(use_true_random=False),
)
def test_both_ways_come_to_the_same(
    upto: int, back: int, count: int, spoil: str, dice: random.Random
) -> None:
    standing, ids = after(upto)
    start = max(0, upto - back)
    raws = PHONE.raws[start : upto + count]
    if spoil != "none" and raws:
        at = dice.randrange(len(raws))
        if spoil == "drop":
            del raws[at]
        elif spoil == "swap":
            raws.insert(0, raws.pop(at))
        elif spoil == "twice":
            raws.append(raws[at])
        elif spoil == "break":
            raws[at] = raws[at][:-1]
        else:
            raws[at] = dice.choice((OTHER if spoil == "other" else STRANGER).raws)
    named = {id_: digest for id_, digest in ids.items() if id_.encode() in b"".join(raws)}
    short, here = planned(raws, standing, named, short=True)
    long, there = planned(raws, standing, named, short=False)
    assert short == long
    assert (here.seq, here.sha256, here.waiting, here.branch) == (
        (there.seq, there.sha256, there.waiting, there.branch)
    )


def test_new_lines_that_go_on_go_the_short_way() -> None:
    standing, _ids = after(5)
    with mock.patch.object(Intake, "_one_by_one", side_effect=AssertionError("the long way")):
        plan, here = planned(PHONE.raws[5:], standing, {}, short=True)
    assert [answer.status for answer in plan.answers] == ["stored"] * 7
    assert (here.seq, here.sha256) == (12, PHONE.lines[-1].envelope_sha256)
