"""A short campaign: one bad day of each kind, from a fixed seed. The long one is `tests.faults.run`."""

from pathlib import Path

import pytest
from campaign import Done, Survived, Tools, run_day
from kinds import KINDS

SEED = 1
ROUNDS = 1


@pytest.mark.parametrize("kind", KINDS)
def test_a_bad_day_is_survived(kind: str, tools: Tools, days_done: list[Done], front_end: Path) -> None:
    done = run_day(kind, KINDS[kind], SEED, ROUNDS, tools)
    days_done.append(done)
    assert done.fault is None, done.fault


def test_a_day_on_which_nothing_goes_wrong_counts_for_nothing(tools: Tools) -> None:
    done = run_day("nothing", lambda _ground: Survived(0, 100), SEED, ROUNDS, tools)
    assert done.fault is not None
    assert "nothing was tested" in done.fault
