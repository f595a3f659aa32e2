"""Who may unlock a site's phones no longer comes down to its hub with the hospital's answer: signed, and
never undone by an older word."""

from collections.abc import Callable
from typing import Any

import httpx
import msgspec
import pytest
from beside import at
from test_relay_strangers import Between, told_otherwise
from test_server_relay import Satellite, a_day, hospital_key, satellite

from chinrest.log.people_word import PeopleWord, PersonWord, is_people_word, people_text
from chinrest.log.signing import new_key, sign
from chinrest.server.context import now_ms
from chinrest.server.relay_wire import RelayAnswer
from chinrest.store import Store
from chinrest.store.engines import Place

__all__ = ["satellite"]

SITE = "lighthouse"


def withdraw(place: Place, person: str, site: str = SITE) -> None:
    at(place, lambda store: store.withdraw_person(site, person, "Lea", "left", now_ms()))


def readmit(place: Place, person: str) -> None:
    at(place, lambda store: store.readmit_person(SITE, person, "Lea", "is back", now_ms()))


def told(satellite: Satellite) -> list[str]:
    """What the hub says to its phone."""
    people: list[str] = satellite.phone.sync()["withdrawn_people"]
    return people


def lines_of_people(satellite: Satellite) -> int:
    async def count(store: Store) -> int:
        async with store.export(0) as rows:
            return sum([b'"type":"person.' in row async for row in rows])

    number: int = at(satellite.settings.database, count)
    return number


@pytest.fixture
def hospital(satellite: Satellite) -> Place:
    a_day(satellite.phone)
    satellite.relay()
    return satellite.hospital.settings.database


def test_a_withdrawal_and_a_readmission_come_down_once_each(satellite: Satellite, hospital: Place) -> None:
    withdraw(hospital, "Bo")
    withdraw(hospital, "Somebody of another site", "harbour")
    assert told(satellite) == []
    assert satellite.relay().people == [f"{SITE}: Bo withdrawn"]
    assert told(satellite) == ["Bo"]
    assert satellite.relay().people == []
    assert lines_of_people(satellite) == 1
    readmit(hospital, " bo")
    assert satellite.relay().people == [f"{SITE}: bo readmitted"]
    assert told(satellite) == []
    withdraw(hospital, "BO")
    satellite.relay()
    assert told(satellite) == ["BO"]
    assert lines_of_people(satellite) == 3


def test_whom_the_hub_withdrew_by_itself_stays_out(satellite: Satellite, hospital: Place) -> None:
    hub = satellite.settings.database
    withdraw(hub, "Ida")
    satellite.relay()
    assert told(satellite) == ["Ida"], "the hospital has said nothing of them"
    withdraw(hospital, "Ida")
    satellite.relay()
    readmit(hospital, "Ida")
    assert satellite.relay().people == []
    assert told(satellite) == ["Ida"]
    readmit(hub, "Ida")
    satellite.relay()
    assert told(satellite) == []


def test_whom_the_hospital_withdrew_a_hub_does_not_let_in(satellite: Satellite, hospital: Place) -> None:
    withdraw(hospital, "Bo")
    satellite.relay()
    readmit(satellite.settings.database, "Bo")
    assert told(satellite) == []
    assert satellite.relay().people == [f"{SITE}: Bo withdrawn"]
    assert told(satellite) == ["Bo"]


@pytest.mark.parametrize("cut", ["before", "after"])
def test_a_link_that_breaks_only_delays_it(satellite: Satellite, hospital: Place, cut: str) -> None:
    withdraw(hospital, "Bo")
    satellite.link.cuts = [cut]
    with pytest.raises(httpx.TransportError):
        satellite.relay()
    assert told(satellite) == []
    satellite.relay()
    assert told(satellite) == ["Bo"]


def test_it_comes_before_the_lines(satellite: Satellite, hospital: Place) -> None:
    """A link on which the first answer gets through and no parcel does."""
    withdraw(hospital, "Bo")
    a_day_more = [satellite.phone.first_line()]
    satellite.phone.sync(*a_day_more)
    satellite.link.cuts = [None, "before"]
    with pytest.raises(httpx.TransportError):
        satellite.relay()
    assert told(satellite) == ["Bo"]


def word_of(satellite: Satellite) -> PeopleWord:
    """The word as it is now, off the wire."""
    words: list[PeopleWord] = []

    def keep(content: bytes) -> bytes:
        said = msgspec.json.decode(content, type=RelayAnswer)
        assert said.people is not None
        words.append(said.people)
        return content

    real = satellite.link
    satellite.link = _only_relays(real, keep)
    try:
        satellite.relay()
    finally:
        satellite.link = real
    return words[0]


def _only_relays(behind: Any, change: Callable[[bytes], bytes]) -> Any:
    """What the hub says of itself is answered with nothing, which is passed on as it is."""
    return Between(behind, lambda content: change(content) if content else content)


def test_an_older_word_sent_again_undoes_nothing(satellite: Satellite, hospital: Place) -> None:
    nobody = word_of(satellite)
    withdraw(hospital, "Bo")
    out = word_of(satellite)
    key = hospital_key(satellite.hospital)
    assert nobody.people == []
    assert [(each.person, each.withdrawn) for each in out.people] == [("Bo", True)]
    assert is_people_word(nobody, key)
    assert is_people_word(out, key)
    readmit(hospital, "Bo")
    back = word_of(satellite)
    withdraw(hospital, "Bo")
    satellite.relay()
    again(satellite, nobody)
    again(satellite, back)
    assert told(satellite) == ["Bo"]
    readmit(hospital, "Bo")
    satellite.relay()
    again(satellite, out)
    assert told(satellite) == []


def again(satellite: Satellite, word: PeopleWord) -> None:
    """A round in which this word comes in place of the true one."""

    def change(content: bytes) -> bytes:
        said = msgspec.json.decode(content, type=RelayAnswer)
        return msgspec.json.encode(msgspec.structs.replace(said, people=word))

    real = satellite.link
    satellite.link = _only_relays(real, change)
    try:
        assert satellite.relay().people == []
    finally:
        satellite.link = real


def test_what_the_hospital_did_not_sign_is_not_followed(satellite: Satellite, hospital: Place) -> None:
    withdraw(hospital, "Bo")
    word = word_of(satellite)
    readmit(hospital, "Bo")
    satellite.relay()
    (bo,) = word.people
    replace = msgspec.structs.replace
    changed: list[PeopleWord] = [
        replace(word, people=[]),
        replace(word, people=[replace(bo, person="Ida")]),
        replace(word, people=[replace(bo, number=bo.number + 100)]),
        replace(word, people=[replace(bo, at=bo.at + 100)]),
        replace(word, people=[replace(bo, withdrawn=False)]),
        replace(word, site="harbour"),
        replace(word, epoch=word.server),
        replace(word, server=word.epoch),
    ]
    mine = replace(word, people=[PersonWord(person="Ida", withdrawn=True, number=10**6, at=10**13)])
    changed.append(replace(mine, signature=sign(new_key(), people_text(mine))))
    for forged in changed:
        assert told_otherwise(satellite, people=forged) == "bad_signature"
    assert told(satellite) == []


def test_an_older_server_that_says_nothing_of_it_changes_nothing(
    satellite: Satellite, hospital: Place
) -> None:
    withdraw(hospital, "Bo")
    satellite.relay()

    def change(content: bytes) -> bytes:
        said = msgspec.json.decode(content)
        del said["people"]
        return msgspec.json.encode(said)

    satellite.link = _only_relays(satellite.link, change)
    assert satellite.relay().people == []
    assert told(satellite) == ["Bo"]


def test_a_hospital_that_was_set_back_lets_nobody_in_by_that(satellite: Satellite, hospital: Place) -> None:
    """Its backup is from before the withdrawal: its word has the name no more, or has it as let in of old."""
    withdraw(hospital, "Ida")
    readmit(hospital, "Ida")
    satellite.relay()
    before = word_of(satellite)
    withdraw(hospital, "Bo")
    withdraw(hospital, "Ida")
    satellite.relay()
    assert told(satellite) == ["Bo", "Ida"]

    async def follow(store: Store, word: PeopleWord) -> list[PersonWord]:
        return await store.follow_people(word, "relay", now_ms())

    restored = msgspec.structs.replace(before, epoch=hospital_key(satellite.hospital)[:36])
    hub = satellite.settings.database
    assert at(hub, lambda store: follow(store, restored)) == []
    assert told(satellite) == ["Bo", "Ida"]
    # what it decides from then on counts, though its numbers begin lower
    later = [PersonWord(person="Bo", withdrawn=False, number=1, at=now_ms() + 1000)]
    decided = msgspec.structs.replace(restored, people=later)
    assert at(hub, lambda store: follow(store, decided)) == later
    assert told(satellite) == ["Ida"]


def test_a_phone_that_the_hospital_withdrew_is_withdrawn_at_the_hub_before_its_lines_go_over(
    satellite: Satellite, hospital: Place
) -> None:
    line = satellite.phone.first_line()
    satellite.phone.sync(line)
    at(hospital, lambda store: store.withdraw(satellite.phone.device, "Lea", "lost", now_ms()))
    satellite.link.cuts = [None, "before"]
    with pytest.raises(httpx.TransportError):
        satellite.relay()
    assert satellite.phone.post(b"").status_code == 403
    assert satellite.relay().withdrawn == []
    assert line.raw in satellite.at_hospital(), "what it wrote before that is not lost"


def test_a_word_for_another_site_is_no_word(satellite: Satellite, hospital: Place) -> None:
    withdraw(hospital, "Bo", "harbour")
    word = at(hospital, lambda store: store.people_word("harbour"))
    assert told_otherwise(satellite, people=word) == "bad_signature"
    assert told(satellite) == []
