"""Classes against the published lists, sign by sign, each scale by itself: they disagree."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from reaction_lists import PUBLISHED, SCALE, SIGNS, TABLES, published

from chinrest.model.reaction.classes import Classed, StillOpenError, classes_of


def on(scale: str, *signs: str) -> Classed:
    return next(one for one in classes_of(TABLES, signs, closed=True) if one.scale == scale)


@pytest.mark.parametrize("scale", PUBLISHED)
def test_each_sign_stands_where_its_source_puts_it(scale: str) -> None:
    wanted = published(scale)
    for sign in SIGNS:
        classed = on(scale, sign)
        assert classed.class_id == wanted.get(sign), sign
        assert classed.not_placed == ([] if sign in wanted else [sign]), sign


def test_every_scale_of_the_pack_is_held_against_its_list() -> None:
    assert set(SCALE) == set(PUBLISHED)
    for scale in SCALE.values():
        assert all((scale.name, scale.version, scale.source))


def test_a_repeated_vomiting_counts_as_vomiting_where_vomiting_is_not_mild() -> None:
    # it stands where vomiting does on the scales of allergy; on the dye's, which know brief vomiting, nowhere
    for scale in ("ring_messmer", "brown"):
        assert on(scale, "vomiting_again").class_id == on(scale, "vomiting").class_id
    for scale in ("fluorescein_survey", "fluorescein_series"):
        assert on(scale, "vomiting_again").class_id is None


@pytest.mark.parametrize(
    ("sign", "wanted"),
    [
        # vomiting is grade III in Ring and Messmer, 2 in Brown, mild in both lists of the dye
        ("vomiting", ["mild", "mild", "III", "2"]),
        # a faint is moderate in the list of 2022, mild in Beleña's series, severe (collapse) in Brown
        ("fainted", ["moderate", "mild", None, "3"]),
        # bronchospasm is severe in the list of 2022, III in Ring and Messmer, but wheeze is 2 in Brown
        ("wheeze", ["severe", None, "III", "2"]),
    ],
)
def test_the_known_disagreements_are_kept(sign: str, wanted: list[str | None]) -> None:
    assert [one.class_id for one in classes_of(TABLES, [sign], closed=True)] == wanted


def test_the_heaviest_sign_gives_the_class_and_is_named() -> None:
    classed = on("fluorescein_survey", "nausea", "hives_or_rash", "short_of_breath", "confused")
    assert classed.class_name == "Moderate"
    assert classed.by == ["hives_or_rash", "short_of_breath"]
    assert classed.not_placed == ["confused"]
    assert "1986" in classed.scale_name
    assert classed.version == SCALE["fluorescein_survey"].version


def test_no_sign_makes_no_class() -> None:
    for classed in classes_of(TABLES, [], closed=True):
        assert classed.class_id is None
        assert classed.class_name is None


def test_no_class_while_it_runs() -> None:
    with pytest.raises(StillOpenError):
        classes_of(TABLES, ["nausea"], closed=False)


@settings(deadline=None)
@given(seen=st.sets(st.sampled_from(SIGNS)), more=st.sampled_from(SIGNS))
def test_a_further_sign_never_lowers_a_class(seen: set[str], more: str) -> None:
    before = classes_of(TABLES, seen, closed=True)
    after = classes_of(TABLES, seen | {more}, closed=True)
    for one, other in zip(before, after, strict=True):
        order = [None, *(name.id for name in SCALE[one.scale].classes)]
        assert order.index(other.class_id) >= order.index(one.class_id)


@settings(deadline=None)
@given(seen=st.sets(st.sampled_from(SIGNS)))
def test_every_sign_seen_is_accounted_for(seen: set[str]) -> None:
    for classed in classes_of(TABLES, seen, closed=True):
        scale = SCALE[classed.scale]
        lighter = {sign for sign in seen if sign in scale.places} - set(classed.by)
        assert set(classed.by) | set(classed.not_placed) | lighter == seen
        assert not set(classed.by) & set(classed.not_placed)
