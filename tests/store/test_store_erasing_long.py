"""Erasing what an honest phone never writes: names and signs of any length."""

from invented import START, Phone
from stored import opened, runs, send
from test_store_erasing import BY_AGE, counts

from chinrest.store.engines import Place


@runs
async def test_a_case_with_claims_too_long_for_a_tombstone_goes_all_the_same(file: Place) -> None:
    """Ids are short; but no line that a phone may write keeps a case from being erased, and others with
    it."""
    phone, long = Phone("one"), "\x01" * 1200  # six bytes each in JSON
    pressed = {"arm": None, "pressed_at": START, "pressed_mono": 0}
    for practice, case in ((False, "c1"), (True, "c2")):
        phone.write("case.opened", case, practice=practice, code="T-1")
        phone.write("optic.chosen", case, practice=practice, optic="x" * 15_700)
        phone.write("dye.injected", case, practice=practice, dye=long, route=long, **pressed)
        phone.write("step.skipped", case, practice=practice, step=long, reason="r")
    phone.write("safety.noted", "c2", practice=True, what=long, optic=long, reached_patient=True)
    phone.write("reaction.started", "c2", practice=True)
    for number in range(200):
        phone.write("reaction.sign", "c2", practice=True, sign=f"{number}{long}", seen=True)
    phone.write("reaction.observed", "c2", practice=True, pulse=10**4000)
    async with opened(file, phone) as store:
        await send(store, phone, phone.raws)
        await store.settle()
        before = counts(file)
        for due in await store.due_before(START + 10**12):
            assert (await store.erase(due, BY_AGE, START + 10**12)).bodies == due.lines
        assert await store.due_before(START + 10**12) == []
        assert counts(file) == before
