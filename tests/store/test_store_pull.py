"""What other phones of a site take: its open cases, by a cursor that is the server's and never goes back."""

import random
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st
from invented import Phone
from stored import opened, runs, send

from chinrest.store.engines import Place

ALL = 10**6


@runs
async def test_lines_of_open_cases_by_other_devices_of_the_site(file: Place) -> None:
    one, two = Phone("one"), Phone("two")
    one.write("case.opened", "c1")
    one.write("step.done", "c1")
    one.write("storage.asked", None, answer="granted")
    two.write("case.taken", "c1", seen=2)
    async with opened(file, one, two) as store:
        await send(store, one, one.raws)
        pulled = await store.pull("north", two.device, None, ALL)
        assert pulled.lines == one.raws[:2]
        assert (pulled.cursor, pulled.more) == (3, False)
        await send(store, two, two.raws)
        assert (await store.pull("north", two.device, pulled.cursor, ALL)).lines == []
        assert (await store.pull("north", one.device, 3, ALL)).lines == two.raws
        assert (await store.pull("south", "another", None, ALL)).lines == []


@runs
async def test_another_sites_case_stays_there(file: Place) -> None:
    one, two = Phone("one"), Phone("two")
    one.write("case.opened", "c1")
    async with opened(file, two, site="south") as store, opened(file, one) as _:
        await send(store, one, one.raws)
        assert (await store.pull("south", two.device, None, ALL)).lines == []


@runs
async def test_closing_is_told_once_and_then_the_case_is_gone(file: Place) -> None:
    one = Phone("one")
    one.write("case.opened", "c1")
    async with opened(file, one) as store:
        await send(store, one, one.raws)
        first = await store.pull("north", "two", None, ALL)
        one.write("case.closed", "c1")
        await send(store, one, one.raws)
        second = await store.pull("north", "two", first.cursor, ALL)
        assert second.lines == one.raws[1:]
        assert (await store.pull("north", "two", second.cursor, ALL)).lines == []
        # one that never had the case gets nothing of it
        assert (await store.pull("north", "three", None, ALL)).lines == []


@runs
async def test_a_case_opened_again_comes_whole_to_those_who_passed_it_by(file: Place) -> None:
    one = Phone("one")
    for type_ in ("case.opened", "step.done", "case.closed"):
        one.write(type_, "c1")
    async with opened(file, one) as store:
        await send(store, one, one.raws)
        passed = await store.pull("north", "two", None, ALL)
        assert passed.lines == []
        one.write("line.amended", "c1", line=one.lines[2].envelope.id, body=None)
        await send(store, one, one.raws)
        again = await store.pull("north", "two", passed.cursor, ALL)
        assert again.lines == one.raws
        assert again.cursor > passed.cursor


@runs
async def test_a_case_that_turns_out_to_be_another_sites_comes_whole_to_that_site(file: Place) -> None:
    stranger, colleague, opener = Phone("stranger"), Phone("colleague"), Phone("opener")
    for phone, type_ in ((stranger, "step.done"), (colleague, "step.done"), (opener, "case.opened")):
        phone.write(type_, "c1")
    async with opened(file, opener, colleague, site="south") as store, opened(file, stranger) as _:
        await send(store, stranger, stranger.raws)
        await send(store, colleague, colleague.raws)
        passed = await store.pull("south", "phone", None, ALL)
        assert passed.lines == []
        await send(store, opener, opener.raws)
        # whole, but for what the other site wrote into it
        assert sorted((await store.pull("south", "phone", passed.cursor, ALL)).lines) == (
            sorted(colleague.raws + opener.raws)
        )
        assert (await store.pull("north", "phone", None, ALL)).lines == []


@runs
async def test_the_servers_own_lines_are_not_pulled(file: Place) -> None:
    from chinrest.log.house_events import CaseRead

    one = Phone("one")
    one.write("case.opened", "c1")
    async with opened(file, one) as store:
        await send(store, one, one.raws)
        await store.append_own(CaseRead(salt="s", by="officer"), "officer", 5, case="c1")
        assert (await store.pull("north", "two", None, ALL)).lines == one.raws


@runs
async def test_cut_by_size_and_carried_on(file: Place) -> None:
    one = Phone("one")
    one.write("case.opened", "c1")
    for number in range(700):
        one.write("step.done", "c1", step=f"step_{number}")
    async with opened(file, one) as store:
        await send(store, one, one.raws)
        taken: list[bytes] = []
        cursor, more, rounds = None, True, 0
        while more:
            pulled = await store.pull("north", "two", cursor, 20_000)
            assert 0 < sum(len(line) + 1 for line in pulled.lines) <= 20_000
            assert cursor is None or pulled.cursor > cursor
            taken += pulled.lines
            cursor, more, rounds = pulled.cursor, pulled.more, rounds + 1
        assert taken == one.raws
        assert rounds > 10
        # a line larger than the limit comes by itself: nothing is stuck behind it
        assert (await store.pull("north", "two", None, 1)).lines == one.raws[:1]


@runs
async def test_a_cursor_that_is_not_ours_starts_anew(file: Place) -> None:
    one = Phone("one")
    one.write("case.opened", "c1")
    async with opened(file, one) as store:
        await send(store, one, one.raws)
        for cursor in (-1, 2, 10**18, 10**30):
            pulled = await store.pull("north", "two", cursor, ALL)
            assert (pulled.lines, pulled.cursor) == (one.raws, 1)


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 2**32))
def test_a_phone_that_pulls_all_along_has_every_line_of_every_open_case(seed: int) -> None:
    """Cases are opened, closed and opened again at random by two phones while a third pulls now and then, in
    small pieces. In the end it has all that the others wrote in the cases that are open."""
    import shutil
    import tempfile

    rng = random.Random(seed)
    folder = Path(tempfile.mkdtemp())

    @runs
    async def scenario() -> None:
        phones = [Phone("one"), Phone("two")]
        closing: dict[str, tuple[Phone, str]] = {}
        have: set[bytes] = set()
        cursor: int | None = None
        async with opened(folder / "chinrest.db", *phones) as store:
            for _ in range(rng.randint(5, 40)):
                phone, case = rng.choice(phones), f"case-{rng.randint(0, 2)}"
                what = rng.choice(["case.opened", "step.done", "step.done", "close", "reopen", "pull"])
                if what == "close" and case not in closing:
                    closing[case] = (phone, phone.write("case.closed", case).envelope.id)
                elif what == "reopen" and case in closing:
                    closer, line = closing.pop(case)
                    closer.write("line.amended", case, line=line, body=None)
                elif what == "pull":
                    pulled = await store.pull("north", "three", cursor, 1500)
                    assert cursor is None or pulled.cursor >= cursor
                    cursor = pulled.cursor
                    have |= set(pulled.lines)
                elif what.endswith(("opened", "done")):
                    phone.write(what, case)
                for each in phones:
                    await send(store, each, rng.choice([each.raws, each.raws[-2:], []]))
            for each in phones:
                await send(store, each, each.raws)
            more = True
            while more:
                pulled = await store.pull("north", "three", cursor, 1500)
                cursor, more = pulled.cursor, pulled.more
                have |= set(pulled.lines)
            lines = [line for phone in phones for line in phone.lines]
            want = {line.raw for line in lines if line.envelope.case not in closing}
            assert want <= have

    try:
        scenario()
    finally:
        shutil.rmtree(folder)
