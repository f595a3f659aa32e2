"""A server's signed word of who may unlock a site's phones no longer, or again: hubs beneath it follow it."""

from hashlib import sha256

import msgspec
from msgspec import Struct

from chinrest.log.signing import is_signed


class PersonWord(Struct, frozen=True, kw_only=True):
    """The last decision about one name. `number`: where it stands in the server's log, which only grows
    within an epoch; `at`: when it was made, by that server's clock (ms), for what a restore lies between. By
    these an older decision never undoes a newer one, whoever sends its word again."""

    person: str
    withdrawn: bool
    number: int
    at: int


class PeopleWord(Struct, frozen=True, kw_only=True):
    """`people`: everybody about whom `server` ever decided at `site`. `signature`: by the server's key over
    `people_text`."""

    server: str
    epoch: str
    site: str
    people: list[PersonWord]
    signature: str


def people_text(word: PeopleWord) -> str:
    told = [word.site, [[each.person, each.withdrawn, each.number, each.at] for each in word.people]]
    return f"chinrest people {word.server} {word.epoch} {sha256(msgspec.json.encode(told)).hexdigest()}"


def is_people_word(word: PeopleWord, server_key: str) -> bool:
    return is_signed(server_key, people_text(word), word.signature)
