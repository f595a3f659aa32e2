"""A phone that knows the id of another site's case can neither read the case nor change it."""

from invented import START, Phone
from stored import a_case, folds, opened, runs, said, send

from chinrest.store.engines import Place

ALL = 10**6


def thief_of(phone: Phone) -> Phone:
    """Says that it opened the case before its opener did, withdraws what was reported, and closes it."""
    thief = Phone("thief", at=START - 10**9)
    thief.write("case.opened", "c1", code="TAKEN")
    thief.write("line.amended", "c1", line=phone.lines[-1].envelope.id, body=None)
    thief.write("step.done", "c1", step="identifiers")
    thief.write("case.closed", "c1")
    return thief


@runs
async def test_it_reads_nothing_and_changes_nothing(file: Place) -> None:
    phone, colleague = a_case(lines=3), Phone("colleague")
    phone.write("safety.noted", "c1", note="touched the brow")
    thief = thief_of(phone)
    async with opened(file, phone, colleague) as store, opened(file, thief, site="south") as _:
        await send(store, phone, phone.raws)
        before = folds(file)
        assert said(await send(store, thief, thief.raws, START + 1000)) == ["stored"] * 4
        assert folds(file) == before
        assert (await store.pull("south", thief.device, None, ALL)).lines == []
        assert (await store.pull("north", colleague.device, None, ALL)).lines == phone.raws
        timeline = await store.timeline("c1")
        assert timeline is not None
        assert {line.envelope.id for line in thief.lines} < {entry.id for entry in timeline.entries}
        await store.refold()
        assert folds(file) == before


@runs
async def test_a_phone_that_moves_to_another_site_goes_on_with_its_case(file: Place) -> None:
    phone, colleague = a_case(lines=3), Phone("colleague")
    async with opened(file, phone, colleague) as store:
        await send(store, phone, phone.raws)
        pulled = await store.pull("north", colleague.device, None, ALL)
        code = (await store.add_code("south", "moved", START, START + 1000)).code
        await store.enrol(code, phone.device, "AAAA", "moved", START)
        phone.write("case.closed", "c1")
        await send(store, phone, phone.raws)
        assert (await store.pull("north", colleague.device, pulled.cursor, ALL)).lines == phone.raws[3:]
        assert [row[1:5] for row in folds(file)[0]] == [("north", "T-1", 1, "closed")]
