"""`chinrest rates` and `chinrest gchart` as a person runs them."""

import json
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result
from published_values import published

from chinrest.cli import main

G = published("rates")["gchart"]


def run(*arguments: str) -> Result:
    return CliRunner().invoke(main, list(arguments))


def asked(*arguments: str) -> dict[str, Any]:
    result = run(*arguments, "--json")
    assert result.exit_code == 0, result.output
    answer: dict[str, Any] = json.loads(result.stdout)
    return answer


def faults(file: Path) -> list[tuple[int, str, str]]:
    result = run("gchart", str(file), "--json")
    assert result.exit_code == 1, result.output
    answer = json.loads(result.stdout)
    assert answer["ok"] is False
    assert all(fault["file"] == file.name for fault in answer["faults"])
    return [(fault["line"], fault["column"], fault["why"]) for fault in answer["faults"]]


def test_rates_are_per_thousand() -> None:
    """Kwan et al. 2006: 132 in 11,898; limits recomputed, in per cent there."""
    rate = asked("rates", "--events", "132", "--procedures", "11898")
    assert rate["per_1000"] == pytest.approx(11.094, abs=1e-3)
    assert rate["exact95"] == pytest.approx([9.29, 13.14], abs=6e-3)
    assert rate["wilson95"] == pytest.approx([9.36, 13.14], abs=6e-3)
    assert rate["poisson95"] == pytest.approx([9.28, 13.16], abs=6e-3)
    assert rate["rule_of_three"] is None
    assert rate["small_number"] == []


def test_rates_where_nothing_happened() -> None:
    rate = asked("rates", "--events", "0", "--procedures", "1000")
    assert rate["per_1000"] == 0
    assert rate["rule_of_three"] == pytest.approx(3.0)
    assert rate["upper95_one_sided"] == pytest.approx(2.991, abs=6e-4)
    assert rate["exact95"] == pytest.approx([0, 3.682], abs=6e-4)
    assert rate["small_number"]
    words = run("rates", "--events", "0", "--procedures", "1000").stdout
    assert "rule of three            3" in words
    assert "upper limit, not a rate of none" in words


def test_words_do_not_promise_more_than_the_counts_can() -> None:
    """3 in 700 is 4.285714 per 1,000: two digits, and the warning."""
    words = run("rates", "--events", "3", "--procedures", "700").stdout
    assert "3 in 700: 4.3 per 1,000" in words
    assert "not reliable as a rate" in words
    assert "patients come again" in words


@pytest.mark.parametrize(
    ("events", "procedures", "where", "why"),
    [
        ("0", "0", "--procedures", "at least one procedure"),
        ("5", "4", "--events", "more than the 4 procedures"),
        ("-1", "4", "--events", "must lie from 0"),
        ("1.5", "4", "--events", "whole number"),
        ("1e1", "40", "--events", "whole number"),
        ("1", "four", "--procedures", "whole number"),
        ("", "4", "--events", "is empty"),
        ("1", "9" * 30, "--procedures", "whole number"),
    ],
)
def test_bad_counts_are_refused_by_name(events: str, procedures: str, where: str, why: str) -> None:
    result = run("rates", "--events", events, "--procedures", procedures, "--json")
    assert result.exit_code == 1
    fault = json.loads(result.stdout)["fault"]
    assert fault["where"] == where
    assert why in fault["why"]


def written(folder: Path, text: str | bytes) -> Path:
    file = folder / "gaps.csv"
    file.write_bytes(text if isinstance(text, bytes) else text.encode())
    return file


def test_gchart_of_the_handbooks_births(tmp_path: Path) -> None:
    file = written(tmp_path, "cases_between\n" + "\n".join(str(gap) for gap in G["gaps"]))
    chart = asked("gchart", str(file))
    assert chart["ucl"] == pytest.approx(G["handbook_ucl"], abs=6e-4)
    assert (chart["mean"], chart["median"], chart["lcl"]) == (G["mean"], G["median"], 0)
    assert [point["cases"] for point in chart["points"]] == G["gaps"]


def test_gchart_as_a_spreadsheet_saves_it(tmp_path: Path) -> None:
    """Byte order mark, semicolons, quotes, Windows line ends and a blank line."""
    gaps = [12, 7, 30, 4, 9, 15, 22, 3, 11, 6, 400]
    rows = "".join(f'"week {place}; b";{gap}\r\n' for place, gap in enumerate(gaps))
    file = written(tmp_path, f"\ufefflabel;cases_to_event\r\n\r\n{rows}")
    chart = asked("gchart", str(file))
    assert chart["counted"] == "cases_to_event"
    assert chart["labels"][3] == "week 3; b"
    assert [place for place, point in enumerate(chart["points"]) if point["above_ucl"]] == [10]
    words = run("gchart", str(file)).stdout
    assert "line 13 week 10; b: 400 cases, above both limits: better, or not reported" in words
    assert "Longest run" in words


def test_every_fault_is_told_with_line_and_column(tmp_path: Path) -> None:
    file = written(
        tmp_path, b"cases_to_event,label,site\n4,a,b\n0,a,b\nx,a,b\n,a,b\n5,a\n7,\xff,b\n2.5,a,b\n"
    )
    found = faults(file)
    assert [(line, column) for line, column, _ in found] == [
        *[(1, "site"), (3, "cases_to_event"), (4, "cases_to_event"), (5, "cases_to_event")],
        *[(6, ""), (7, ""), (8, "cases_to_event")],
    ]
    whys = [why for _, _, why in found]
    for why, part in zip(
        whys, ["no such column", "from 1", "whole", "is empty", "2 cells", "UTF-8", "whole"], strict=True
    ):
        assert part in why
    words = run("gchart", str(file))
    assert words.exit_code == 1
    assert "gaps.csv: line 4: cases_to_event: is 'x'; must be a whole number" in words.stderr


@pytest.mark.parametrize(
    ("text", "line", "part"),
    [
        ("", 1, "empty"),
        ("\n\n", 1, "empty"),
        ("4\n5\n6\n", 1, "no such column"),
        ("label\na\nb\n", 1, "neither stands here"),
        ("cases_between,cases_to_event\n1,2\n3,4\n", 1, "both stand here"),
        ("cases_between,cases_between\n1,2\n3,4\n", 1, "stands 2 times"),
        ("cases_between\n", 1, "has 0 gaps"),
        ("cases_between\n4\n", 2, "has 1 gap;"),
        ('cases_between\n4\n"5\n', 3, "not readable as CSV"),
    ],
)
def test_files_that_hold_no_chart(tmp_path: Path, text: str, line: int, part: str) -> None:
    found = faults(written(tmp_path, text))
    assert any(at == line and part in why for at, _, why in found), found


def test_a_file_that_is_not_there(tmp_path: Path) -> None:
    result = run("gchart", str(tmp_path / "none.csv"), "--json")
    assert result.exit_code == 1
    assert json.loads(result.stdout)["fault"]["code"] == "unreadable"
