"""Who no longer works on a site's phones: the last word of the server's own chain on each name."""

import json
from pathlib import Path

import pytest
from invented import START, Phone
from stored import opened, rows, runs, send

from chinrest.log.people_word import PersonWord
from chinrest.store import Store, StoreError
from chinrest.store.engines import Place


async def withdraw(store: Store, person: str, site: str = "north") -> None:
    await store.withdraw_person(site, person, "Lea", "left the clinic", START)


@runs
async def test_the_last_word_on_a_name_counts_at_its_site_alone(file: Place) -> None:
    async with opened(file) as store:
        assert await store.withdrawn_people("north") == []
        for person in ("Bo", "AB", "Caf\u00e9"):
            await withdraw(store, person)
        assert await store.withdrawn_people("north") == ["AB", "Bo", "Caf\u00e9"]
        assert await store.withdrawn_people("south") == []
        # the same name, however it is typed
        await store.readmit_person("north", " bo ", "Lea", "back again", START)
        await store.readmit_person("north", "CAFE\u0301", "Lea", "back again", START)
        assert await store.withdrawn_people("north") == ["AB"]
        await withdraw(store, "bo")
        assert await store.withdrawn_people("north") == ["AB", "bo"]


@runs
async def test_it_outlives_a_restart_and_says_who_decided_and_why(file: Place) -> None:
    async with opened(file) as store:
        await withdraw(store, " Bo ")
    async with opened(file) as store:
        assert await store.withdrawn_people("north") == ["Bo"]
    (body,) = [row[0] for row in rows(file, "SELECT body FROM lines WHERE type = 'person.withdrawn'")]
    told = json.loads(body)
    assert (told["site"], told["person"], told["by"], told["why"]) == (
        "north",
        "Bo",
        "Lea",
        "left the clinic",
    )


@runs
async def test_what_is_no_name_or_no_site_is_refused(file: Place) -> None:
    async with opened(file) as store:
        for person in ("", "   ", "two\nlines", "x" * 41, "nul\0"):
            with pytest.raises(StoreError, match="value"):
                await withdraw(store, person)
        with pytest.raises(StoreError, match="site_unknown"):
            await withdraw(store, "Bo", "moon")
        assert await store.withdrawn_people("north") == []


@runs
async def test_a_phone_withdraws_nobody_and_lets_nobody_in(file: Place) -> None:
    phone = Phone("p")
    async with opened(file, phone) as store:
        await withdraw(store, "Bo")
        phone.write("person.withdrawn", site="north", person="AB", by="Lea", why="x")
        phone.write("person.readmitted", site="north", person="Bo", by="Lea", why="x")
        await send(store, phone, phone.raws)
        assert await store.withdrawn_people("north") == ["Bo"]


@runs
async def test_a_hub_follows_the_word_of_the_server_beyond_and_no_older_one(
    file: Place, tmp_path: Path
) -> None:
    async with opened(tmp_path / "beyond.db") as beyond, opened(file) as hub:
        words = [await beyond.people_word("north")]
        for decide in (withdraw, _readmit, withdraw):
            await decide(beyond, "Bo")
            words.append(await beyond.people_word("north"))
        assert [len(word.people) for word in words] == [0, 1, 1, 1]
        await withdraw(hub, "AB")  # by its own people, of whom the other server knows nothing
        (done,) = await hub.follow_people(words[3], "relay", START)
        assert done == PersonWord(person="Bo", withdrawn=True, number=done.number, at=START)
        for word in words:
            assert await hub.follow_people(word, "relay", START) == []
        assert await hub.withdrawn_people("north") == ["AB", "Bo"]
        assert await hub.withdrawn_people("south") == []
        await _readmit(beyond, "Bo")
        assert len(await hub.follow_people(await beyond.people_word("north"), "relay", START)) == 1
    async with opened(file) as hub:
        for word in words:
            assert await hub.follow_people(word, "relay", START) == []
        assert await hub.withdrawn_people("north") == ["AB"]


async def _readmit(store: Store, person: str) -> None:
    await store.readmit_person("north", person, "Lea", "back again", START)
