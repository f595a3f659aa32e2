"""The store's door for people: who may sign in, their passwords, sessions, invitations and second factors."""

import asyncio
from functools import partial

from sqlalchemy.ext.asyncio import AsyncConnection

from chinrest.store import invitations, people, second_factors
from chinrest.store.engines import Engine
from chinrest.store.faults import StoreError
from chinrest.store.reviewing import Uptime
from chinrest.store.rows import Account, Invitation, Invited, Role, SecondFactor, Staff
from chinrest.store.scope import Scope


class Accounts:
    """Part of the store: people. `by` is a staff id, or `people.BY_COMMAND`."""

    _engine: Engine
    _uptime: Uptime
    _scope: Scope
    _password_turns: asyncio.Semaphore

    async def add_staff(
        self,
        name: str,
        password: str,
        role: Role,
        now: int,
        *,
        site: str | None = None,
        by: str = people.BY_COMMAND,
    ) -> Staff:
        """Faults: name_taken, site_unknown, other_site, value."""
        password_hash = await self._hashed(password)

        async def work(connection: AsyncConnection) -> Staff:
            return await people.add(
                connection, self._uptime, self._scope, name, password_hash, role, site, by, now
            )

        return await self._engine.write(work)

    async def invite(
        self, name: str, role: Role, site: str | None, by: str, now: int, expires_at: int
    ) -> Invitation:
        """Somebody new, who sets their password by the link. Faults: name_taken, site_unknown, other_site,
        value."""
        clock, scope = self._uptime, self._scope

        async def work(connection: AsyncConnection) -> Invitation:
            person = await people.add(connection, clock, scope, name, "", role, site, by, now)
            return await invitations.invite(connection, clock, scope, person.id, by, "", now, expires_at)

        return await self._engine.write(work)

    async def invite_again(self, person: str, by: str, why: str, now: int, expires_at: int) -> Invitation:
        """A link for somebody who is known: theirs ran out, or they forgot their password. Faults:
        staff_unknown, staff_withdrawn."""
        return await self._engine.write(
            lambda connection: invitations.invite(
                connection, self._uptime, self._scope, person, by, why, now, expires_at
            )
        )

    async def invited(self, token: str, now: int) -> Invited:
        """Faults: invitation_unknown, invitation_expired."""
        async with self._engine.read() as connection:
            return await invitations.find(connection, token, now)

    async def take_invitation(self, token: str, password: str, now: int) -> Invited:
        """Faults: short_password, invitation_unknown, invitation_expired."""
        people.check_new_password(password)
        await self.invited(token, now)  # before the slow hash, which is nobody's to ask for
        password_hash = await self._hashed(password)
        return await self._engine.write(
            lambda connection: invitations.take(connection, self._uptime, token, password_hash, now)
        )

    async def set_password(self, name: str, password: str, now: int) -> None:
        """By command. Also ends that person's sessions. Fault: staff_unknown."""
        password_hash = await self._hashed(password)

        async def work(connection: AsyncConnection) -> None:
            person = await people.named(connection, name)
            await people.set_password(
                connection, self._uptime, person.id, password_hash, people.BY_COMMAND, now
            )

        await self._engine.write(work)

    async def change_password(self, person: str, password: str, keep: str, now: int) -> None:
        """By themselves; every session but that of the token `keep` ends. Fault: short_password."""
        people.check_new_password(password)
        password_hash = await self._hashed(password)
        await self._engine.write(
            lambda connection: people.set_password(
                connection, self._uptime, person, password_hash, person, now, keep
            )
        )

    async def change_staff(self, person: str, role: Role, site: str | None, by: str, now: int) -> None:
        """Faults: staff_unknown, site_unknown, other_site."""
        await self._engine.write(
            lambda connection: people.change(
                connection, self._uptime, self._scope, person, role, site, by, now
            )
        )

    async def withdraw_staff(self, person: str, by: str, why: str, now: int) -> None:
        """From their next contact on nothing opens for them. Faults: staff_unknown, changed_meanwhile."""
        await self._engine.write(
            lambda connection: people.withdraw(connection, self._uptime, self._scope, person, by, why, now)
        )

    async def readmit_staff(self, person: str, by: str, why: str, now: int) -> None:
        """Faults: staff_unknown, changed_meanwhile."""
        await self._engine.write(
            lambda connection: people.readmit(connection, self._uptime, self._scope, person, by, why, now)
        )

    async def staff(self) -> list[Staff]:
        async with self._engine.read() as connection:
            return await people.everyone(connection)

    async def staff_named(self, name: str) -> Staff:
        """Fault: staff_unknown."""
        async with self._engine.read() as connection:
            return await people.named(connection, name)

    async def accounts(self) -> list[Account]:
        async with self._engine.read() as connection:
            return await people.accounts(connection, self._scope)

    async def check_password(self, name: str, password: str) -> Staff | None:
        """The same work for an unknown name as for a wrong password. A withdrawn person is found too."""
        async with self._engine.read() as connection:
            person = await people.by_name(connection, name)
            password_hash = await people.password_hash_of(connection, name)
        return person if await self._matches(password_hash or None, password) else None

    async def start_session(self, staff: str, now: int, expires_at: int) -> str:
        """The session's token, stored only as a hash."""
        return await self._engine.write(
            lambda connection: people.start_session(connection, staff, now, expires_at)
        )

    async def session(self, token: str, now: int) -> Staff | None:
        async with self._engine.read() as connection:
            return await people.session(connection, token, now)

    async def end_session(self, token: str) -> None:
        await self._engine.write(lambda connection: people.end_session(connection, token))

    # second factors
    async def second_factor(self, person: str) -> SecondFactor:
        async with self._engine.read() as connection:
            return await second_factors.state(connection, person)

    async def begin_second_factor(self, person: str) -> bytes:
        """A new secret, which counts once it is confirmed. Fault: second_factor_on."""
        secret = second_factors.new_secret()
        await self._engine.write(lambda connection: second_factors.begin(connection, person, secret))
        return secret

    async def confirm_second_factor(self, person: str, code: str, now: int) -> list[str]:
        """The recovery codes, shown once. Faults: second_factor_unknown, wrong_code."""
        async with self._engine.read() as connection:
            secret = await second_factors.secret_of(connection, person, on=False)
        if secret is not None and second_factors.step_of(secret, second_factors.plain(code), now) is None:
            # before the slow hashes
            raise StoreError("wrong_code", "code", second_factors.WRONG)
        codes = second_factors.new_recovery_codes()
        async with self._password_turns:
            hashes = [await asyncio.to_thread(second_factors.hash_of, one) for one in codes]
        await self._engine.write(
            partial(
                second_factors.confirm, clock=self._uptime, person=person, code=code, hashes=hashes, now=now
            )
        )
        return codes

    async def check_second_factor(self, person: str, code: str, now: int) -> bool:
        """Whether it is a code of their authenticator or a recovery code that was not used before. It is
        used from then on."""
        typed = second_factors.plain(code)
        if len(typed) == second_factors.DIGITS and typed.isascii() and typed.isdigit():
            async with self._engine.read() as connection:
                secret = await second_factors.secret_of(connection, person, on=True)
            step = None if secret is None else second_factors.step_of(secret, typed, now)
            if step is None:
                return False
            return await self._engine.write(
                lambda connection: second_factors.take_step(connection, person, step)
            )
        async with self._engine.read() as connection:
            number, code_hash = await second_factors.recovery_hash(connection, person, typed)
        if not await self._matches(code_hash, typed):
            return False
        return await self._engine.write(
            lambda connection: second_factors.take_recovery(connection, self._uptime, person, number, now)
        )

    async def turn_second_factor_off(self, person: str, by: str, why: str, now: int) -> None:
        """Faults: staff_unknown, second_factor_unknown."""

        async def work(connection: AsyncConnection) -> None:
            await people.row_of(connection, person, self._scope)
            await second_factors.turn_off(connection, self._uptime, person, by, why, now)

        await self._engine.write(work)

    async def _hashed(self, password: str) -> str:
        async with self._password_turns:
            return await asyncio.to_thread(people.hash_password, password)

    async def _matches(self, password_hash: str | None, password: str) -> bool:
        async with self._password_turns:
            return await asyncio.to_thread(people.matches, password_hash, password)
