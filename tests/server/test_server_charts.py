"""Charts at the desk: made of the log's own counts, and silent where they could not be honest.

That the limits themselves are right is held by tests/model against published examples; here it is whether the
right counts come to them.
"""

from typing import Any

import pytest
from callers import House
from test_server_rates import injected, noted, visit

from chinrest.model.rates.cusum import cusum_path, cusum_plan
from chinrest.model.rates.funnel import funnel_point
from chinrest.model.rates.gchart import g_chart
from chinrest.server.charts import cusum, gaps, monthly
from chinrest.store.counting import CaseCount


def asked(house: House, **wanted: Any) -> Any:
    answer = house.as_officer().get("/api/charts", params=wanted)
    assert answer.status_code == 200, answer.text
    return answer.json()


def cases(*events: int, procedures: int = 1) -> list[CaseCount]:
    return [
        CaseCount(at=place * 86_400_000, procedures=procedures, events=n) for place, n in enumerate(events)
    ]


def test_gaps_count_the_procedures_without_the_event_between_two() -> None:
    drawn = gaps(cases(1, 0, 0, 1, 1, 0, 2))
    assert [point.cases for point in drawn.cases.points] == [2, 0, 1, 0]
    assert drawn.cases == g_chart([2, 0, 1, 0], "cases_between")
    assert [point.days for point in drawn.days.points] == [3, 1, 2, 0]
    assert drawn.ends == [day * 86_400_000 for day in (3, 4, 6, 6)]


def test_the_running_sum_goes_over_every_procedure_and_stays_small() -> None:
    outcomes = [case % 97 == 0 for case in range(5000)]
    drawn = cusum(cases(*map(int, outcomes)), 0.01, 0.02, 2.5)
    path = cusum_path(cusum_plan(0.01, 0.02, 2.5), outcomes)
    assert drawn.procedures == 5000
    assert drawn.signals == [place + 1 for place in path.signals]
    assert len(drawn.points) <= 1000
    assert max(height for _, height in drawn.points) == max(path.sums)
    assert all(path.sums[place - 1] == height for place, height in drawn.points)


def test_a_month_that_still_runs_is_said() -> None:
    counts = {"2026-01": 100, "2026-02": 90, "2026-03": 0}
    drawn = monthly({"2026-02": 3}, counts, "2026-02")
    assert (drawn.months, drawn.events, drawn.unfinished) == (["2026-01", "2026-02"], [0, 3], True)
    assert not monthly({"2026-02": 3}, counts, "2026-05").unfinished


@pytest.fixture
def served(house: House) -> House:
    for site, reactions in (("harbour", 3), ("lighthouse", 0)):
        phone = house.phone(site)
        phone.sync(phone.first_line())
        for number in range(6):
            visit(phone, injected(), *([noted("dye_reaction")] if number < reactions else []))
    return house


def test_the_charts_of_one_rate(served: House) -> None:
    report = asked(served, of="reaction", rate_in=10, rate_out=20)
    sites = {site["site"]: site["point"] for site in report["funnel"]["sites"]}
    assert report["funnel"]["target"] == 0.25
    expected = funnel_point(0.25, 3, 6)
    assert sites["harbour"]["tail"] == pytest.approx(expected.tail)
    assert [point["cases"] for point in report["gaps"]["cases"]["points"]] == [0, 0]
    assert report["cusum"]["procedures"] == 12
    assert report["cusum"]["plan"]["rate_in"] == 0.01
    assert "two months" in report["none"]["monthly"]
    assert report["rules"]
    assert report["position"] > 0


def test_what_cannot_be_drawn_says_why(served: House) -> None:
    report = asked(served, of="touch")
    assert (report["funnel"], report["gaps"], report["cusum"]) == (None, None, None)
    assert "none and all" in report["none"]["funnel"]
    assert "three events" in report["none"]["gaps"]
    assert "before you look" in report["none"]["cusum"]
    empty = asked(served, of="touch", last="1999-01", rate_in=1, rate_out=2)
    assert "Nothing" in empty["none"]["cusum"]


@pytest.mark.parametrize(
    ("wanted", "where"),
    [
        ({"rate_in": 0, "rate_out": 1}, "rate_in"),
        ({"rate_in": 5, "rate_out": 5}, "rate_out"),
        ({"threshold": 11}, "threshold"),
        ({"rate_in": "nan", "rate_out": 1}, "rate_in"),
        ({"first": "2026-02", "last": "2026-01"}, "last"),
    ],
)
def test_what_cannot_be_asked_is_named(served: House, wanted: Any, where: str) -> None:
    answer = served.as_officer().get("/api/charts", params={"of": "reaction", **wanted})
    assert answer.status_code == 400
    assert answer.json()["where"] == where
