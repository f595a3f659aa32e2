"""The CUSUM's steps against published ones; its run lengths against closed forms and simulation."""

from math import exp

import numpy as np
import pytest
from published_values import published

from chinrest.model.errors import InputError
from chinrest.model.rates.cusum import cusum_path, cusum_plan, steps

CUSUM = published("rates")["cusum"]


def with_odds(rate: float, ratio: float) -> float:
    """The rate whose odds are `ratio` times those of `rate`."""
    return ratio * rate / (1 - rate + ratio * rate)


@pytest.mark.parametrize("row", range(len(CUSUM["scores"])))
def test_steps_match_the_published_ones(row: int) -> None:
    rate = 1 / (1 + exp(3.68 - 0.077 * CUSUM["scores"][row]))
    without, with_event = steps(rate, with_odds(rate, CUSUM["odds_ratios"][row]))
    assert without == pytest.approx(CUSUM["without"][row], abs=5.1e-4)
    assert with_event == pytest.approx(CUSUM["with_event"][row], abs=5.1e-4)


def test_path_of_the_worked_example() -> None:
    plan = cusum_plan(CUSUM["path_rate"], with_odds(CUSUM["path_rate"], 2.0), 2.5)
    path = cusum_path(plan, CUSUM["path_outcomes"])
    assert path.sums == pytest.approx(CUSUM["path"], abs=6e-7)
    assert path.signals == ()


def test_after_a_signal_the_sum_starts_again() -> None:
    plan = cusum_plan(0.05, 0.1, 1.2)
    path = cusum_path(plan, [True, True, True, False, True])
    assert path.signals == (1, 4)
    assert path.sums[2] == pytest.approx(plan.step_with)


def test_one_event_reaching_the_threshold_is_a_geometric_wait() -> None:
    plan = cusum_plan(0.02, 0.04, 0.5)
    assert plan.step_with > 0.5
    assert plan.arl_in == pytest.approx(1 / 0.02)
    assert plan.arl_out == pytest.approx(1 / 0.04)


def test_two_events_close_together_is_a_closed_form() -> None:
    """From 0, one event, then another within k procedures, else anew.

    With a the chance of an event within k, each try takes 1/p + a/p procedures, and 1/a tries are needed.
    """
    p = 0.1
    without, with_event = steps(p, 0.2)
    k = int(with_event // -without) + 1
    threshold = with_event + with_event + (k - 1) * without - 1e-6
    # within that reach the sum is still above 0, so two events k procedures apart just reach the threshold
    assert with_event + k * without < threshold
    within = 1 - (1 - p) ** k
    closed = (1 / p + within / p) / within
    assert cusum_plan(p, 0.2, threshold).arl_in == pytest.approx(closed, rel=1e-6)


@pytest.mark.parametrize(
    ("rate_in", "rate_out", "threshold", "true_rate"),
    [
        (0.05, with_odds(0.05, 2.0), 2.5, 0.05),
        (0.05, with_odds(0.05, 2.0), 2.5, with_odds(0.05, 2.0)),
        (0.01, with_odds(0.01, 2.0), 3.5, with_odds(0.01, 2.0)),
        (0.003, 0.01, 4.0, 0.003),
        (0.0005, 0.001, 3.0, 0.001),
        (0.1, 0.05, 2.5, 0.1),
        (0.6, 0.8, 3.0, 0.6),
    ],
)
def test_run_lengths_match_simulation(
    rate_in: float, rate_out: float, threshold: float, true_rate: float
) -> None:
    plan = cusum_plan(rate_in, rate_out, threshold)
    waits = simulated_waits(*steps(rate_in, rate_out), threshold, true_rate)
    ours = plan.arl_in if true_rate == rate_in else plan.arl_out
    standard_error = float(np.std(waits)) / len(waits) ** 0.5
    assert ours == pytest.approx(float(np.mean(waits)), abs=4 * standard_error)


def simulated_waits(without: float, with_event: float, threshold: float, rate: float) -> np.ndarray:
    """Procedures to the first signal in 20,000 series, from one rarer outcome to the next."""
    random = np.random.default_rng(15)
    if without > 0:  # looks for a better rate: now the procedure without the event is the step up
        without, with_event, rate = with_event, without, 1 - rate
    sums, waits, going = np.zeros(20_000), np.zeros(20_000), np.arange(20_000)
    while len(going):
        apart = random.geometric(rate, len(going))
        sums[going] = np.maximum(sums[going] + (apart - 1) * without, 0.0) + with_event
        waits[going] += apart
        going = going[sums[going] < threshold]
    return waits


@pytest.mark.parametrize(
    ("plan", "field"),
    [
        ((0.0, 0.1, 3.0), "rate_in"),
        ((0.1, 1.0, 3.0), "rate_out"),
        ((0.1, 0.1, 3.0), "rate_out"),
        ((0.1, 0.2, 0.0), "threshold"),
        ((0.1, 0.2, 10.5), "threshold"),
        ((0.1, 0.2, float("nan")), "threshold"),
    ],
)
def test_plans_that_cannot_be(plan: tuple[float, float, float], field: str) -> None:
    with pytest.raises(InputError) as caught:
        cusum_plan(*plan)
    assert caught.value.field == field
