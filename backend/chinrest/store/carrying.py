"""The store's door for hubs: on either side of carrying lines from one server to another."""

from collections.abc import Sequence

from msgspec.structs import replace
from sqlalchemy.ext.asyncio import AsyncConnection

from chinrest.log.answers import LineAnswer
from chinrest.log.carried import CarryingKey
from chinrest.log.people_word import PeopleWord, PersonWord, people_text
from chinrest.log.signing import sign
from chinrest.store import backed_up, beyond, house, phone_people, relaying
from chinrest.store.backed_up import LastBackup, Mark
from chinrest.store.beyond import Beyond
from chinrest.store.intake import decode_batch
from chinrest.store.refolding import AT_ONCE
from chinrest.store.relaying import Hub, HubSaid, Parcel, Passed
from chinrest.store.reviewing import Uptime
from chinrest.store.settling import Settling


class Carrying(Settling):
    """Part of the store: relaying, and being relayed to; what a backup holds of what was carried here."""

    _uptime: Uptime

    async def add_hub(self, hub: str, name: str, public_key: str, now: int) -> None:
        """Approve a hub by its server id and key, or change it."""
        await self._engine.write(lambda connection: relaying.add_hub(connection, hub, name, public_key, now))

    async def withdraw_hub(self, hub: str, now: int) -> None:
        """Fault: hub_unknown."""
        await self._engine.write(lambda connection: relaying.withdraw_hub(connection, hub, now))

    async def hubs(self) -> list[Hub]:
        async with self._engine.read() as connection:
            return await relaying.all_hubs(connection)

    async def hear_hub(self, hub: str, said: HubSaid) -> None:
        """Keep what an approved hub says of itself, its signature checked. Fault: value."""
        await self._engine.write(lambda connection: relaying.hear_hub(connection, hub, said))

    async def waiting(self) -> int:
        """At a hub: lines that the server beyond has not said to hold."""
        async with self._engine.read() as connection:
            return await relaying.waiting(connection)

    async def take_parcel(self, hub: str, parcel: Parcel, received_at: int) -> list[LineAnswer]:
        """Take a device's lines from an approved hub, its signatures checked. Faults: site_unknown,
        device_taken."""
        decoded = decode_batch(parcel.raws)
        answers = await self._engine.write(
            lambda connection: relaying.take_parcel(connection, hub, parcel, decoded, received_at)
        )
        self._later.ask(large=len(parcel.raws) > AT_ONCE, more=False)
        return answers

    async def next_parcel(self, device: str, after: int, limit_bytes: int) -> Parcel | None:
        """What of a device the server beyond lacks, when it holds the chain up to `after`."""
        async with self._engine.read() as connection:
            return await relaying.next_parcel(connection, device, after, limit_bytes)

    async def public_key_of(self, device: str) -> str:
        async with self._engine.read() as connection:
            return await relaying.public_key_of(connection, device)

    async def note_passed(self, passed: Sequence[Passed]) -> None:
        """Keep the server's word of what it holds."""

        async def work(connection: AsyncConnection) -> None:
            for each in passed:
                await relaying.note_passed(connection, each)

        await self._engine.write(work)

    async def beyond(self) -> Beyond | None:
        """The server that this one relays to; null before the first contact."""
        async with self._engine.read() as connection:
            return await beyond.pinned(connection)

    async def pin_beyond(self, server: str, public_key: str, now: int) -> None:
        """Relay to this server and no other."""
        await self._engine.write(lambda connection: beyond.pin(connection, server, public_key, now))

    async def keep_beyonds_carrying_key(self, said: CarryingKey) -> None:
        """What phones here may seal lines for; its signature was checked."""
        await self._engine.write(lambda connection: beyond.keep_carrying_key(connection, said))

    async def people_word(self, site: str) -> PeopleWord:
        """This server's own word of who may unlock the site's phones no longer, or again."""
        async with self._engine.read() as connection:
            who = await house.identity(connection)
            word = PeopleWord(
                server=who.server,
                epoch=who.epoch,
                site=site,
                people=await phone_people.last_words(connection, site),
                signature="",
            )
            return replace(word, signature=sign(await house.own_key(connection), people_text(word)))

    async def follow_people(self, word: PeopleWord, by: str, now: int) -> list[PersonWord]:
        """At a hub: what of the word of the server beyond was new here, and is followed now. Its signature
        was checked."""

        async def work(connection: AsyncConnection) -> list[PersonWord]:
            return await phone_people.follow(connection, self._uptime, word, by, now)

        return await self._engine.write(work)

    async def envelope_at(self, device: str, seq: int) -> str | None:
        """Hash of the device's envelope that stands here at `seq`."""
        async with self._engine.read() as connection:
            return await beyond.envelope_at(connection, device, seq)

    async def heads(self, made_at: int) -> list[Mark]:
        """The heads of all phones' chains, as a backup made at `made_at` of this state holds them."""
        async with self._engine.read() as connection:
            return await backed_up.heads(connection, made_at)

    async def note_backup(self, epoch: str, marks: Sequence[Mark]) -> bool:
        """A backup holds this, and was read back. False, and nothing is noted, where a restore has begun
        another epoch since it was made."""

        async def work(connection: AsyncConnection) -> bool:
            if (await house.identity(connection)).epoch != epoch:
                return False
            await backed_up.note(connection, marks)
            return True

        return await self._engine.write(work)

    async def last_backup(self) -> LastBackup:
        async with self._engine.read() as connection:
            return await backed_up.last(connection)

    async def backup_mark(self, device: str) -> Mark | None:
        """What the last backup holds of a device; null where nothing."""
        async with self._engine.read() as connection:
            return await backed_up.mark_of(connection, device)

    async def passed_of(self, device: str) -> Passed | None:
        async with self._engine.read() as connection:
            return await relaying.passed_of(connection, device)
