"""The store's door: all that the server keeps goes through here; each write is one immediate transaction."""

import asyncio
import time
from collections.abc import AsyncIterator, Mapping, Sequence
from contextlib import AbstractContextManager, asynccontextmanager
from copy import copy
from functools import partial
from pathlib import Path

from sqlalchemy.ext.asyncio import AsyncConnection

from chinrest.log.answers import LineAnswer
from chinrest.log.carried import CarryingKey, Receipts, write_receipts
from chinrest.log.case_events import Body
from chinrest.log.short import Hashes
from chinrest.log.signing import sign
from chinrest.store import (
    backed_up,
    devices,
    export,
    house,
    incident_reviews,
    invitations,
    lines,
    own,
    packs,
    phone_people,
    pull,
    tokens,
    unfolded,
)
from chinrest.store.accounts import Accounts
from chinrest.store.carrying import Carrying
from chinrest.store.drafts import Drafting
from chinrest.store.engines import Engine, Hearing, Place, open_engine
from chinrest.store.folds import RULES
from chinrest.store.intake import decode_batch
from chinrest.store.lines import take
from chinrest.store.migrate import migrate
from chinrest.store.refolding import AT_ONCE, refold_again, refold_all, refold_outside, review_apart
from chinrest.store.retaining import Retaining
from chinrest.store.reviewing import Reviewing
from chinrest.store.rows import (
    BatchHead,
    DeviceRecord,
    DeviceSummary,
    EnrolmentCode,
    Identity,
    InForce,
    PackRecall,
    PackRow,
    Pulled,
)
from chinrest.store.scope import Scope
from chinrest.store.settling import settle


async def _fold_anew(connection: AsyncConnection) -> None:
    await refold_all(connection)
    await review_apart(connection, await incident_reviews.begin_anew(connection))
    await house.set_folds(connection, RULES)


class Store(Reviewing, Carrying, Drafting, Retaining, Accounts):
    """Opened and closed in the application's lifespan. Raises `StoreError` where a call is refused."""

    @classmethod
    async def open(cls, place: Place, *, sites: Mapping[str, str] | None = None) -> "Store":
        """Open or make the database, bring it to the newest layout, and note `sites` (id -> name). Where its
        folds were made by other rules than today's, they are made anew, which takes minutes at size.

        Fault: file.
        """
        engine = open_engine(place)
        now = time.time_ns() // 1_000_000

        async def prepare(connection: AsyncConnection) -> None:
            await connection.run_sync(migrate)
            await house.found(connection, now)
            await house.put_sites(connection, sites or {})
            if await house.folds(connection) != RULES:
                await _fold_anew(connection)
            else:  # what a version before this one couldn't fold
                await refold_again(connection, await unfolded.failed(connection))
                await refold_outside(connection, await unfolded.failed_outside(connection))
            await settle(connection)  # left by a process that was killed

        try:
            await engine.write(prepare)
        except BaseException:
            await engine.close()
            raise
        return cls(engine)

    def __init__(self, engine: Engine) -> None:
        super().__init__(engine)
        # each hash of a password fills 64 MiB; many at once would starve the machine
        self._password_turns = asyncio.Semaphore(2)

    async def close(self) -> None:
        """Close every connection and its thread. Safe to call twice."""
        await self._later.stop()
        await self._engine.close()

    async def identity(self) -> Identity:
        async with self._engine.read() as connection:
            return await house.identity(connection)

    async def new_epoch(self, now: int, backup_made_at: int | None = None) -> Identity:
        """After a restore: devices offer again what is missing; the server's own chain starts anew. No
        invitation is open any more: it may have been used since the backup. `backup_made_at`: of the backup
        that was restored (ms), which holds all that stands here now; null where there is none that could be
        restored again."""

        async def renew(connection: AsyncConnection) -> Identity:
            await house.new_epoch(connection, now)
            await invitations.end_all(connection)
            held = [] if backup_made_at is None else await backed_up.heads(connection, backup_made_at)
            await backed_up.note(connection, held)
            return await house.identity(connection)

        return await self._engine.write(renew)

    def within(self, scope: Scope) -> "Store":
        """This store for somebody who sees and changes no more than that: it refuses another site (fault:
        other_site), and says of another site's things what it says of things that are not there."""
        bound = copy(self)
        bound._scope = scope
        return bound

    def hear(self) -> AbstractContextManager[Hearing]:
        """Be told of what kind of thing changes from now on at a site that is seen, in this process or (where
        several may write) any other."""
        return self._engine.hear(self._scope.site)

    async def position(self) -> int:
        """The last log position given. It only grows within an epoch."""
        async with self._engine.read() as connection:
            return await house.position(connection)

    async def sites(self) -> dict[str, str]:
        async with self._engine.read() as connection:
            return await house.site_names(connection, self._scope)

    # lines
    async def take_batch(
        self,
        device: str,
        raw_lines: Sequence[bytes],
        received_at: int,
        head: BatchHead,
        *,
        hashes: Sequence[Hashes] = (),
        carried: bool = False,
    ) -> list[LineAnswer]:
        """Take lines (without their line feeds) from a device: one answer a line, in the order given.

        All or nothing is committed before this returns, but for folds of a large batch's new cases, which
        follow. Faults: not_enrolled, device_withdrawn, value (a number in the head that can't be).
        Also notes that the device was heard (waiting, app, clock offset = head.now - received_at), unless the
        batch was carried by file: how old that is, nobody knows. `hashes`: each line's, where they were made
        of these very bytes before.
        """
        devices.check_head(head)
        decoded = decode_batch(raw_lines, hashes)
        offset = None if carried else head.now - received_at

        async def work(connection: AsyncConnection) -> list[LineAnswer]:
            site = await devices.site_of(connection, device)
            answers = await take(
                connection, device, site, raw_lines, decoded, received_at=received_at, offset_ms=offset
            )
            await devices.vouch(connection, device, head, received_at, sent=len(raw_lines))
            if carried:
                return answers
            await devices.heard(
                connection,
                device,
                received_at,
                # what this batch answered no longer waits, and the phone may not call again to say so
                waiting=max(0, head.waiting - len(answers)),
                clock_offset_ms=offset,
                app=head.app,
            )
            return answers

        answers = await self._engine.write(work, brief=True)
        self._later.ask(large=len(raw_lines) > AT_ONCE, more=head.waiting > len(answers))
        return answers

    async def head(self, device: str) -> tuple[int, str]:
        """The head of the device's unbroken chain here: sequence and envelope hash; 0 and 64 zeros before its
        first line."""
        async with self._engine.read() as connection:
            return await lines.head(connection, device)

    async def sign(self, text: str) -> str:
        """The server's signature over ASCII text, as `chinrest.log.signing` makes it."""
        async with self._engine.read() as connection:
            return sign(await house.own_key(connection), text)

    async def withdraw_person(self, site: str, person: str, by: str, why: str, now: int) -> None:
        """Phones of the site no longer open for this name, from their next contact on. Faults: site_unknown,
        value."""
        await self._change_person(site, person, True, by, why, now)

    async def readmit_person(self, site: str, person: str, by: str, why: str, now: int) -> None:
        """The name may work at the site again. Faults: site_unknown, value."""
        await self._change_person(site, person, False, by, why, now)

    async def _change_person(
        self, site: str, person: str, withdrawn: bool, by: str, why: str, now: int
    ) -> None:
        async def work(connection: AsyncConnection) -> None:
            await phone_people.change(
                connection,
                self._uptime,
                self._scope,
                site,
                person,
                withdrawn=withdrawn,
                by=by,
                why=why,
                now=now,
            )

        await self._engine.write(work)

    async def withdrawn_people(self, site: str) -> list[str]:
        """Who no longer works at the site, as they name themselves on its phones."""
        async with self._engine.read() as connection:
            return await phone_people.withdrawn(connection, site)

    @asynccontextmanager
    async def export(self, now: int) -> AsyncIterator[AsyncIterator[bytes]]:
        """Every line with its chain as a sealed export's rows, from one state of the database."""
        async with self._engine.read() as connection:
            yield export.rows(connection, now)

    async def carrying_private_key(self) -> str:
        async with self._engine.read() as connection:
            return await house.carrying_private_key(connection)

    async def carrying_key(self) -> CarryingKey:
        """What phones seal lines for that come to this server by file."""
        async with self._engine.read() as connection:
            return await house.carrying_key(connection)

    async def seal_receipts(self, said: Receipts) -> bytes:
        """As a file, sealed by this server's key."""
        async with self._engine.read() as connection:
            return write_receipts(said, await house.own_key(connection))

    async def copy_to(self, target: Path) -> None:
        """Everything that is kept, as a file that `open` takes. The store stays in use. Fault: file."""
        await self._engine.copy_to(target)

    async def holds(self, device: str) -> list[tuple[int, int]]:
        """Inclusive ranges of the device's sequences that stand here, stubs and waiting lines included."""
        async with self._engine.read() as connection:
            return await devices.holds(connection, device)

    async def pull(self, site: str, device: str, cursor: int | None, limit_bytes: int) -> Pulled:
        """Lines by other devices of the site's cases that are open now or were closed after `cursor`.

        Give `cursor` null when the device's epoch isn't this store's. At least one line comes if any does.
        """
        async with self._folds(own=device) as connection:
            return await pull.pull(connection, site, device, cursor, limit_bytes)

    async def append_own(
        self, body: Body, actor: str | None, now: int, *, case: str | None = None, practice: bool = False
    ) -> str:
        """Write a line to the server's own chain; returns its id."""
        return await self._engine.write(
            partial(
                own.append_own,
                clock=self._uptime,
                body=body,
                actor=actor,
                now=now,
                case=case,
                practice=practice,
            )
        )

    async def refold(self) -> None:
        """Make cases, incidents and reviews anew from the lines alone."""

        await self._engine.write(_fold_anew)

    # devices
    async def add_code(self, site: str, label: str, now: int, expires_at: int) -> EnrolmentCode:
        """A one-time enrolment code. Faults: other_site, site_unknown, value."""
        return await self._engine.write(
            lambda connection: devices.add_code(connection, self._scope, site, label, now, expires_at)
        )

    async def enrol(
        self, code: str, device: str, key: str, label: str, now: int, send: str = "", *, proved: bool = True
    ) -> tuple[str, str]:
        """Spend a code: (token, site). The same device and key may repeat a call whose answer was lost until
        the code expires; the earlier tokens are then void. `send`: hash of a token that may only send, or
        empty. `proved`: who asks holds the device's private key. Faults: code_unknown, code_used,
        code_expired, device_taken, not_proved, token_taken, value."""
        return await self._engine.write(
            lambda connection: devices.enrol(connection, code, device, key, label, now, send, proved)
        )

    async def change_tokens(self, device: str, send_token_sha256: str, full_token_sha256: str) -> None:
        """The hash of the token that may only send and, unless it is empty, of a new full one, whose first
        use ends the one before. Faults: token_taken, value."""
        await self._engine.write(
            lambda connection: tokens.change(connection, device, send_token_sha256, full_token_sha256)
        )

    async def device(self, device: str) -> DeviceRecord | None:
        async with self._engine.read() as connection:
            return await devices.by_id(connection, device)

    async def device_by_token(self, token: str) -> DeviceRecord | None:
        """A new full token's first use is this."""
        async with self._engine.read(brief=True) as connection:
            found = await devices.by_token(connection, token)
        if found is not None and found.by == "next":
            hashed = tokens.token_hash(token)
            await self._engine.write(lambda connection: tokens.take_over(connection, hashed))
        return found

    async def heard(
        self, device: str, now: int, *, waiting: int | None, clock_offset_ms: int | None, app: str | None
    ) -> None:
        await self._engine.write(
            partial(
                devices.heard,
                device=device,
                now=now,
                waiting=waiting,
                clock_offset_ms=clock_offset_ms,
                app=app,
            )
        )

    async def withdraw(self, device: str, by: str, why: str, now: int) -> None:
        """Its tokens are no longer honoured; written to the server's chain too. Fault: not_enrolled."""
        await self._engine.write(
            lambda connection: devices.withdraw(connection, self._uptime, self._scope, device, by, why, now)
        )

    async def devices(self) -> list[DeviceSummary]:
        async with self._engine.read() as connection:
            return await devices.summaries(connection, self._scope)

    # packs
    async def put_pack(self, raw: bytes, now: int) -> str:
        """Keep a compiled pack's bytes; its SHA-256. Twice is once."""
        return await self._engine.write(lambda connection: packs.put(connection, raw, now))

    async def pack_bytes(self, sha256: str) -> bytes | None:
        async with self._engine.read() as connection:
            return await packs.raw_bytes(connection, sha256)

    async def packs(self) -> list[PackRow]:
        async with self._engine.read() as connection:
            return await packs.rows(connection, self._scope)

    async def approve_pack(self, sha256: str, by: str, sites: Sequence[str], note: str, now: int) -> None:
        """Faults: pack_unknown, site_unknown, pack_recalled."""
        await self._engine.write(
            lambda connection: packs.approve(connection, self._uptime, sha256, by, sites, note, now)
        )

    async def recall_pack(self, sha256: str, by: str, why: str, now: int) -> None:
        """Fault: pack_unknown."""
        await self._engine.write(
            lambda connection: packs.recall(connection, self._uptime, sha256, by, why, now)
        )

    async def pack_in_force(self, site: str) -> str | None:
        """Hash of the latest approval that names the site; null when that one was recalled since."""
        async with self._engine.read() as connection:
            return await packs.in_force(connection, site)

    async def pack_orders(self, site: str) -> tuple[str | None, list[PackRecall]]:
        """What phones of the site are told of packs: `pack_in_force` and `recalls`, from one reading."""
        async with self._engine.read() as connection:
            return await packs.orders(connection, site)

    async def packs_over_time(self) -> dict[str, list[InForce]]:
        """For each site the packs in force there, one after the other."""
        async with self._engine.read() as connection:
            return await packs.over_time(connection)

    async def recalls(self) -> list[PackRecall]:
        """The latest recall of each recalled pack. A recall does not end."""
        async with self._engine.read() as connection:
            return await packs.recalls(connection)
