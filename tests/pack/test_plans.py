"""Plans in the pack: the committed cache is fresh, every class has its plan, a cache can be lost."""

import gzip
from pathlib import Path

import msgspec
import pytest
from pack_sources import Compiled, Spoil, faults_in

from chinrest.model.fields.cells import cells, seen_by
from chinrest.pack.compiled import decode_pack
from chinrest.pack.demo import demo_path
from chinrest.pack.faults import PackFaults
from chinrest.pack.layouts import layouts
from chinrest.pack.plan_cache import PlanCache, cache_beside, caches_for
from chinrest.pack.planned import PackPlan
from chinrest.pack.plans import alike, planned, reach_classes
from chinrest.pack.regions import region_by_id
from chinrest.pack.schema import Pack
from chinrest.pack.source import load

REMAKE = "remake it: .venv/bin/chinrest pack plans fixtures/demo/pack"


@pytest.fixture(scope="module")
def pack(compiled: Compiled) -> Pack:
    return decode_pack(compiled.data)


def test_the_committed_cache_is_fresh() -> None:
    """Compiling works out nothing anew, and the cache holds nothing that is no longer asked for."""

    def stale(name: str) -> None:
        pytest.fail(f"{cache_beside(demo_path())} does not hold '{name}' as it now stands; {REMAKE}")

    source, cache = load(demo_path()), caches_for(None)
    layouts(source, planned(source, cache, stale).plans, cache)
    assert cache.missed == [], f"the cache does not hold these as they now stand; {REMAKE}"
    assert cache.used == cache.entries, f"the cache holds what nothing asks for; {REMAKE}"


def test_every_class_has_one_plan_for_each_optic_and_region(pack: Pack) -> None:
    wanted = [(optic.id, region.id) for optic in pack.optics for region in pack.planning.regions]
    ids = [each.id for each in pack.reach_classes]
    assert ids == [each.id for each in reach_classes()]
    assert wanted
    for optic, region in wanted:
        named = [name for p in pack.plans if (p.optic, p.region) == (optic, region) for name in p.classes]
        assert sorted(named) == sorted(ids), f"{optic}, {region}"
    for region_asked in pack.planning.regions:
        choices = [c for c in pack.optic_choices if c.region == region_asked.id]
        assert sorted(name for choice in choices for name in choice.classes) == sorted(ids)
        for choice in choices:
            assert [row.optic for row in choice.rows] == [optic.id for optic in pack.optics]
            assert set(choice.quickest) == set(choice.farthest)
            assert set(choice.quickest) == {row.optic for row in choice.rows if row.possible}
    for optic_of_pack in pack.optics:
        swept = [name for s in pack.sweeps if s.optic == optic_of_pack.id for name in s.classes]
        assert sorted(swept) == sorted(ids)


def test_the_carried_plans_show_what_they_say(pack: Pack) -> None:
    """Counted in cells a third as wide as the planner's; half a per cent is the error that is allowed."""
    fine = cells(0.25)
    for plan in pack.plans:
        if not plan.fields:
            assert not plan.feasible
            continue
        inside = fine.mask(region_by_id(plan.region, pack.own_regions))
        seen = seen_by(fine, [(field, h, v) for h, v, field in plan.fields])[:, inside].any(axis=0)
        assert plan.region_fraction == pytest.approx(float(seen.sum()) / inside.sum(), abs=0.005)
        if plan.feasible:
            assert plan.region_fraction >= pack.planning.asked(plan.region).coverage - 1e-4
        assert plan.count == len(plan.fields) == len(plan.turn)
        assert plan.lower_bound <= plan.count
        assert plan.proved is (plan.lower_bound == plan.count)


def test_plans_of_up_to_nine_fields_that_do_what_is_asked_are_proved(pack: Pack) -> None:
    assert [
        (plan.optic, plan.region, plan.count, plan.lower_bound)
        for plan in pack.plans
        if plan.feasible and plan.count <= 9 and not plan.proved
    ] == []


def test_every_pattern_carried_has_its_name_and_source(pack: Pack) -> None:
    names = {name.id: name for name in pack.pattern_names}
    assert {pattern.id for pattern in pack.patterns} == set(names)
    assert all(name.source and name.name for name in names.values())
    assert all(pattern.sentence for pattern in pack.patterns)


def test_entries_that_differ_in_their_classes_alone_stand_once(pack: Pack) -> None:
    one = pack.plans[0]
    a, b = (msgspec.structs.replace(one, classes=[name]) for name in ("a", "b"))
    c = msgspec.structs.replace(one, classes=["c"], seconds=one.seconds + 1.0)
    kept: list[PackPlan] = alike([a, c, b])
    assert [each.classes for each in kept] == [["a", "b"], ["c"]]


def test_a_cache_gives_back_what_was_made_and_keeps_only_what_was_used(tmp_path: Path) -> None:
    made: list[int] = []

    def make() -> list[int]:
        made.append(1)
        return [1, 2]

    first = PlanCache()
    assert first.get({"a": 1}, list[int], make) == [1, 2]
    assert first.get({"a": 2}, list[int], make) == [1, 2]
    file = tmp_path / "pack.plans.gz"
    first.write(file)
    second = PlanCache.read(file)
    assert second.get({"a": 1}, list[int], make) == [1, 2]
    assert len(made) == 2
    second.write(file)
    again = file.read_bytes()
    assert len(PlanCache.read(file).entries) == 1
    second.write(file)
    assert file.read_bytes() == again
    # an entry of another kind than is asked for is made anew
    assert second.get({"a": 1}, int, lambda: 7) == 7


def test_a_damaged_cache_is_refused_in_words_and_none_is_none(tmp_path: Path) -> None:
    file = tmp_path / "pack.plans.gz"
    assert PlanCache.read(file).entries == {}
    for damaged in (b"no gzip", gzip.compress(b"\xff\xfe"), gzip.compress(b"whole")[:-6]):
        file.write_bytes(damaged)
        with pytest.raises(PackFaults, match="Delete it"):
            PlanCache.read(file)


@pytest.mark.parametrize(
    ("old", "new", "key", "reason"),
    [
        ("coverage = 0.95", "coverage = 1.5", "coverage", "1.5 is outside the range above 0 to 1"),
        ("overlap = 0.2", "overlap = 0.95", "overlap", "0.95 is outside the range 0 to 0.9"),
        ('id = "seven_fields"', 'id = "posterior_pole"', "regions[posterior_pole].id", "is named 2 times"),
        ('id = "seven_fields"', 'id = "nowhere"', "regions[nowhere].id", "there is no region 'nowhere'"),
        ("coverage = 0.75", "coverage = 0.0", "regions[far_periphery].coverage", "above 0 to 1"),
    ],
)
def test_faults_of_the_planning_are_named(
    folder: Path, spoil: Spoil, old: str, new: str, key: str, reason: str
) -> None:
    spoil("planning.toml", old, new)
    found = [fault for fault in faults_in(folder) if fault.file == "planning.toml"]
    assert any(fault.key == key and reason in fault.reason for fault in found), found
