"""Whatever was written of some cases: erased, they count as before, and every chain verifies."""

import asyncio
import shutil
import tempfile
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from invented import START
from stored import folds, meddle, opened, rows, said, send
from test_store_any_order import WRITTEN, write
from test_store_erasing import YEAR, erase_due, verdict_of

pytestmark = pytest.mark.embedded

# the desk has reviewed all, by its own means
REVIEWED = (
    "INSERT INTO reviews (incident, case_id, state, late) SELECT line, case_id, 'closed', 0 FROM incidents"
)


def standing(file: Path) -> list[Any]:
    """What must be as it was: cases but for their codes and whether they are open, incidents but for what
    somebody wrote, and all counts."""
    _cases, _incidents, tallies, sums, _reviews, _lines = folds(file)
    without_words = (
        "SELECT line, case_id, site, device, at, received_at, what, reached_patient, harm, near_miss,"
        " practice, optic, amended, withdrawn, after_closing, pack, seen FROM incidents ORDER BY line"
    )
    cases = "SELECT case_id, site, opened, outcome, practice FROM cases ORDER BY case_id"
    return [rows(file, cases), rows(file, without_words), tallies, sums]


@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(WRITTEN)
def test_erased_cases_count_as_before(script: list[tuple[int, int, str, int]]) -> None:
    phones = write(script)
    folder = Path(tempfile.mkdtemp())

    async def scenario() -> None:
        file = folder / "chinrest.db"
        async with opened(file, *phones) as store:
            for phone in phones:
                await send(store, phone, phone.raws)
            meddle(file, REVIEWED)
            before = standing(file)
            of_a_case = sum(line.envelope.case is not None for phone in phones for line in phone.lines)
            await erase_due(store)
            assert standing(file) == before
            await store.refold()
            assert standing(file) == before
            verdict = await verdict_of(store)
            assert verdict.ok, verdict.first_bad
            assert verdict.erased == of_a_case
            for phone in phones:
                again = await send(store, phone, phone.raws, at=START + YEAR)
                assert said(again) == ["repeat"] * len(phone.lines)
            assert standing(file) == before

    try:
        asyncio.run(scenario())
    finally:
        shutil.rmtree(folder)
