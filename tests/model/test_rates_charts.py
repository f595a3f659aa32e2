"""Charts and run rules against published examples, and their false alarms against simulation."""

from math import inf, nan

import numpy as np
import pytest
from published_values import published

from chinrest.model.errors import InputError
from chinrest.model.rates.attribute_charts import p_chart, u_chart
from chinrest.model.rates.gchart import g_chart
from chinrest.model.rates.runs import runs_about, zone_rules
from chinrest.model.rates.tchart import t_chart

RATES = published("rates")
G, T, P, U, RUNS = (RATES[name] for name in ("gchart", "tchart", "pchart", "uchart", "run_rules"))


def test_g_chart_of_the_handbooks_births() -> None:
    """The handbook's limit comes out when its gaps are taken as it takes them: as cases between."""
    chart = g_chart(G["gaps"], "cases_between")
    assert (chart.mean, chart.median, chart.lcl) == (G["mean"], G["median"], 0.0)
    assert chart.ucl == pytest.approx(G["handbook_ucl"], abs=6e-4)
    assert not any(point.above_ucl for point in chart.points)


def test_g_chart_counting_the_events_own_case() -> None:
    chart = g_chart(G["gaps"], "cases_to_event")
    assert chart.ucl == pytest.approx(G["cases_to_event_ucl"], abs=6e-4)
    assert (chart.exact_low, chart.exact_high) == (G["exact_low"], G["exact_high"])
    # the published chance is that above 517; this limit lies 3 lower
    assert chart.false_alarm == pytest.approx(G["chance_above_517"] * (1 - 1 / 129) ** -3, rel=0.03)


def test_both_ways_of_counting_make_the_same_chart() -> None:
    gaps = [3, 12, 7, 30, 1, 99, 15]
    to_event, between = g_chart(gaps, "cases_to_event"), g_chart([gap - 1 for gap in gaps], "cases_between")
    assert to_event.ucl == pytest.approx(between.ucl + 1)
    assert to_event.exact_high == between.exact_high + 1
    assert to_event.false_alarm == pytest.approx(between.false_alarm)
    assert [p.above_ucl for p in to_event.points] == [p.above_ucl for p in between.points]


def test_g_charts_false_alarms_are_as_stated() -> None:
    """A long simulated series, whose mean is then nearly the true one."""
    gaps = np.random.default_rng(11).geometric(1 / 40, 200_000)
    chart = g_chart([int(gap) for gap in gaps], "cases_to_event")
    above = np.mean([point.above_ucl for point in chart.points])
    assert above == pytest.approx(chart.false_alarm, abs=4 * (0.018 / 200_000) ** 0.5)
    assert 0.017 < chart.false_alarm < 0.02
    exact = float(np.mean([point.above_exact for point in chart.points]))
    assert exact == pytest.approx(0.00135, abs=4 * (0.00135 / 200_000) ** 0.5)


def test_g_chart_where_every_case_has_the_event() -> None:
    chart = g_chart([0, 0, 0], "cases_between")
    assert (chart.ucl, chart.exact_high, chart.false_alarm) == (0.0, 0, 0.0)
    assert g_chart([1, 1], "cases_to_event").exact_high == 1


def test_few_points_are_said() -> None:
    assert "15 points" in g_chart(G["gaps"], "cases_between").small_number[0]
    assert g_chart([*G["gaps"], *G["gaps"]], "cases_between").small_number == ()


@pytest.mark.parametrize(
    ("gaps", "field"),
    [
        ([], "cases_to_event"),
        ([4], "cases_to_event"),
        ([4, 0], "cases_to_event[1]"),
        ([-4, 3], "cases_to_event[0]"),
        ([4, 2.5], "cases_to_event[1]"),
    ],
)
def test_gaps_that_make_no_g_chart(gaps: list[int], field: str) -> None:
    with pytest.raises(InputError) as caught:
        g_chart(gaps, "cases_to_event")
    assert caught.value.field == field


def test_t_chart_of_the_handbooks_days() -> None:
    chart = t_chart(T["days"])
    assert chart.centre == pytest.approx(T["centre"], abs=6e-5)
    assert chart.ucl == pytest.approx(T["ucl"], abs=6e-3)
    assert chart.ucl == pytest.approx(T["ucl_in_the_book"], abs=1.0)
    assert chart.lcl == pytest.approx(T["lcl"], abs=1e-7)
    assert not any(point.above_ucl or point.below_lcl for point in chart.points)


def test_t_charts_transform_makes_false_alarms_rare() -> None:
    """Exponential gaps, charted after Nelson: near 1 in 740 on each side, where raw ones give 1.8 % above."""
    days = np.random.default_rng(12).exponential(30.0, 200_000)
    chart = t_chart([float(day) for day in days])
    assert np.mean([point.above_ucl for point in chart.points]) < 0.0015
    assert np.mean([point.below_lcl for point in chart.points]) < 0.0015


def test_days_too_coarse_or_wrong() -> None:
    assert "0 days" in t_chart([3.0, 0.0, 5.0]).small_number[1]
    for days in ([1.0], [1.0, -2.0], [1.0, nan], [inf, 1.0]):
        with pytest.raises(InputError, match="days"):
            t_chart(days)


def test_p_chart_of_the_nist_handbook() -> None:
    size = P["size"]
    chart = p_chart(P["events"], [size] * len(P["events"]))
    assert chart.centre == pytest.approx(P["centre"], abs=6e-7)
    assert [chart.points[0].lcl, chart.points[0].ucl] == pytest.approx(P["limits"], abs=6e-7)
    outside = [place for place, point in enumerate(chart.points, start=1) if point.beyond_limits]
    assert outside == P["outside"]
    assert all("beyond_3_sigma" in chart.points[place - 1].rules for place in outside)
    kept = [x for place, x in enumerate(P["events"], start=1) if place not in outside]
    again = p_chart(kept, [size] * len(kept))
    assert again.centre == pytest.approx(P["centre_without"], abs=6e-7)
    assert [again.points[0].lcl, again.points[0].ucl] == pytest.approx(P["limits_without"], abs=6e-7)


def test_u_charts_of_the_open_data_sets() -> None:
    chart = u_chart(U["events"], U["sizes"])
    assert chart.centre == pytest.approx(U["centre"], abs=6e-7)
    for size, point in zip(U["sizes"], chart.points, strict=True):
        if f"{size:g}" in U["limits_by_size"]:
            assert [point.lcl, point.ucl] == pytest.approx(U["limits_by_size"][f"{size:g}"], abs=6e-5)
        assert not point.beyond_limits
    equal = u_chart(U["equal_events"], [U["equal_size"]] * len(U["equal_events"]))
    assert equal.centre == pytest.approx(U["equal_centre"])
    assert [equal.points[0].lcl, equal.points[0].ucl] == pytest.approx(U["equal_limits"], abs=6e-7)
    rare = u_chart([1] * 6 + [0] * 42, [1] * 48)
    assert rare.points[0].ucl == pytest.approx(U["c_ucl"], abs=5e-4)


def test_zone_rules_are_left_out_where_counts_are_low() -> None:
    low, enough = p_chart([2] * 20, [100] * 20), p_chart([5] * 20, [100] * 20)
    assert not low.zones
    assert "zone rules are left out" in low.small_number[0]
    assert all(point.rules == () for point in low.points)
    assert enough.zones
    assert enough.small_number == ()
    assert not p_chart([98] * 20, [100] * 20).zones, "few without the event are few too"
    assert not u_chart([4] * 20, [1] * 20).zones
    assert u_chart([5] * 20, [1] * 20).zones


def test_a_chart_without_any_event() -> None:
    chart = p_chart([0, 0, 0], [10, 20, 30])
    assert (chart.centre, chart.points[2].lcl, chart.points[2].ucl) == (0.0, 0.0, 0.0)
    assert not chart.zones
    assert not any(point.beyond_limits for point in chart.points)


def test_periods_that_make_no_chart() -> None:
    for events, procedures, field in (
        ([1], [10], "events"),
        ([1, 2], [10], "events"),
        ([1, 0], [10, 0], "period[1].procedures"),
        ([1, 11], [10, 10], "period[1].events"),
        ([-1, 2], [10, 10], "period[0].events"),
    ):
        with pytest.raises(InputError) as caught:
            p_chart(events, procedures)
        assert caught.value.field == field
    for exposure in (0.0, -1.0, nan, inf):
        with pytest.raises(InputError) as caught:
            u_chart([1, 2], [1.0, exposure])
        assert caught.value.field == "period[1].procedures"


def test_limits_of_the_runs_match_the_handbooks_rule() -> None:
    for points, longest, crossings in zip(RUNS["points"], RUNS["longest"], RUNS["crossings"], strict=True):
        runs = runs_about([place % 2 for place in range(points)], 0.5)
        assert runs is not None
        assert (runs.longest_limit, runs.crossings_limit) == (longest, crossings)
        assert (runs.longest_run, runs.crossings) == (1, points - 1)


def test_runs_see_a_shift_and_where_it_was() -> None:
    series = [
        3.0,
        9.0,
        5.0,
        2.0,
        2.5,
        2.0,
        1.0,
        5.0,
        3.0,
        2.0,
        1.0,
        4.0,
        9.0,
        8.0,
        5.0,
        9.0,
        3.0,
        9.0,
        8.0,
        9.0,
    ]
    runs = runs_about(series, 5.0)
    assert runs is not None
    assert (runs.useful, runs.longest_run, runs.longest_side) == (17, 8, "below")
    assert (runs.longest_from, runs.longest_to) == (3, 11)
    assert runs.shift
    assert (runs.crossings, runs.crossings_limit, runs.few_crossings) == (5, 5, False)
    assert runs_about(series[:10], 5.0) is None, "too few points off the line"


def test_false_alarms_of_the_runs_are_as_stated() -> None:
    random = np.random.default_rng(13)
    for points in RUNS["points"]:
        wrong = 0
        for series in random.standard_normal((2000, points)):
            runs = runs_about(list(series), float(np.median(series)))
            assert runs is not None
            wrong += runs.shift or runs.few_crossings
        assert 0.005 < wrong / 2000 < 0.065, points


def test_each_zone_rule_by_itself() -> None:
    assert zone_rules([0.0, 3.1, -3.1]) == [(), ("beyond_3_sigma",), ("beyond_3_sigma",)]
    two = "two_of_three_beyond_2_sigma"
    assert zone_rules([2.1, 0.0, 2.1, 0.0, 0.0, 2.1]) == [(), (), (two,), (), (), ()]
    assert zone_rules([2.1, 2.1, 0.0]) == [(), (two,), ()], "a point inside completes nothing"
    assert zone_rules([2.1, 0.0, -2.1]) == [(), (), ()], "two sides are no run"
    four = "four_of_five_beyond_1_sigma"
    assert zone_rules([1.1, 1.1, -0.5, 1.1, 1.1]) == [(), (), (), (), (four,)]
    assert zone_rules([0.5] * 8)[6:] == [(), ("eight_on_one_side",)]
    assert zone_rules([0.5] * 7 + [0.0]) == [()] * 8, "the line itself is no side"


def test_zone_rules_false_alarms_match_champ_and_woodall() -> None:
    series = np.random.default_rng(14).standard_normal((6000, 900))
    every = [next((place for place, rules in enumerate(zone_rules(z)) if rules), 900) + 1 for z in series]
    standard_error = np.std(every) / len(every) ** 0.5
    assert np.mean(every) == pytest.approx(RUNS["zone_rules_run_length"], abs=4 * standard_error)
    beyond = np.mean(np.abs(series) > 3)
    assert beyond == pytest.approx(1 / RUNS["three_sigma_run_length"], rel=0.04)
