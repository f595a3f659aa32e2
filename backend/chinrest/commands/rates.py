"""`chinrest rates` and `chinrest gchart`: the desk's figures, for counts that somebody has at hand."""

from decimal import Decimal
from pathlib import Path

import click
import msgspec

from chinrest.model.errors import InputError
from chinrest.model.rates.counts import whole_text
from chinrest.model.rates.gchart import GChart, g_chart
from chinrest.model.rates.summary import Rate, rate_of

from .ending import CommandError, json_option
from .gaps_file import COLUMNS, FileFaults, Gaps, read_gaps
from .printing import print_json

DEPENDENCE = "Taken as independent procedures; where patients come again the true intervals are wider."


@click.command()
@click.option("--events", required=True, metavar="X", help="How many procedures had the event.")
@click.option("--procedures", required=True, metavar="N", help="Among how many procedures.")
@json_option
def rates(events: str, procedures: str, as_json: bool) -> None:
    """Print the rate of X events among N procedures, per 1,000, with its exact and other 95 % intervals."""
    try:
        rate = rate_of(whole_text("events", events), whole_text("procedures", procedures))
    except InputError as error:
        raise CommandError("value", f"--{error.field}", error.why) from None
    if as_json:
        print_json(rate)
        return
    for line in _rate_in_words(rate):
        click.echo(line)


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@json_option
def gchart(file: Path, as_json: bool) -> None:
    """Print the g-chart (cases between rare events) of FILE: CSV in UTF-8, oldest gap first.

    The first line names the columns, with commas or semicolons between. One of them is `cases_between`, the
    cases without the event between two events (0 or more), or `cases_to_event`, the same and the event's own
    case (1 or more). A column `label` may stand beside it and is given back. Every fault is printed.
    """
    try:
        gaps = read_gaps(file)
    except OSError as error:
        raise CommandError("unreadable", str(file), str(error.strerror or error)) from error
    except FileFaults as error:
        if as_json:
            print_json({"ok": False, "faults": error.faults})
        else:
            for fault in error.faults:
                click.echo(str(fault), err=True)
        raise SystemExit(1) from None
    chart = g_chart(gaps.cases, gaps.counted)
    if as_json:
        print_json({"labels": gaps.labels, **msgspec.structs.asdict(chart)})
        return
    for line in _chart_in_words(chart, gaps):
        click.echo(line)


def _rate_in_words(rate: Rate) -> list[str]:
    digits = 2 if rate.small_number else 3

    def between(interval: tuple[float, float]) -> str:
        return f"{_rounded(interval[0], digits)} to {_rounded(interval[1], digits)}"

    lines = [f"{rate.events} in {rate.procedures}: {_rounded(rate.per_1000, digits)} per 1,000"]
    if rate.rule_of_three is not None and rate.upper95_one_sided is not None:
        upper = _rounded(rate.upper95_one_sided, digits)
        lines.append(f"  95 % sure below          {upper}  (exact, one side)")
        lines.append(f"  rule of three            {_rounded(rate.rule_of_three, digits)}")
    lines += [
        f"  exact 95 % interval      {between(rate.exact95)}  (Clopper-Pearson)",
        f"  Wilson 95 % interval     {between(rate.wilson95)}",
        f"  Poisson 95 % interval    {between(rate.poisson95)}  (Garwood)",
    ]
    return [*lines, *rate.small_number, DEPENDENCE]


def _rounded(value: float, digits: int) -> str:
    """To so many significant digits, never in powers of ten."""
    return f"{Decimal(f'{value:.{digits}g}'):f}"


def _chart_in_words(chart: GChart, gaps: Gaps) -> list[str]:
    lines = [
        f"{len(chart.points)} gaps, {COLUMNS[chart.counted]}: mean {chart.mean:.1f}, median {chart.median:g}",
        f"  upper limit, 3 sigma     {chart.ucl:.1f}  (by chance {100 * chart.false_alarm:.1f} % lie above)",
        f"  upper limit, exact       {chart.exact_high}  (by chance 0.135 % lie above)",
        "  lower limit              none; look at the runs for worse",
    ]
    for point, label, line in zip(chart.points, gaps.labels, gaps.lines, strict=True):
        if point.above_ucl:
            which = "above both limits" if point.above_exact else "above the 3-sigma limit"
            name = f" {label}" if label else ""
            lines.append(f"  line {line}{name}: {point.cases} cases, {which}: better, or not reported")
    if chart.runs is None:
        lines.append("Too few points off the median for run rules.")
    else:
        runs = chart.runs
        shift = "" if runs.shift else "no "
        few = "" if runs.few_crossings else "no "
        lines += [
            f"Longest run {runs.longest_run}, {runs.longest_side} the median; "
            f"above {runs.longest_limit} is a shift: {shift}shift.",
            f"Crossings of the median {runs.crossings}; below {runs.crossings_limit} is a shift: {few}shift.",
        ]
    return [*lines, *chart.small_number, DEPENDENCE]
