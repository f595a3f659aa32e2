"""Passwords as argon2id hashes (RFC 9106), sessions as hashes of tokens."""

import time

import pytest
from invented import START
from stored import opened, rows, runs

from chinrest.store import StoreError
from chinrest.store.engines import Place


@runs
async def test_sign_in(file: Place) -> None:
    async with opened(file) as store:
        ada = await store.add_staff("Ada Fell", "korrekt Pferd", "officer", START)
        assert await store.check_password("Ada Fell", "korrekt Pferd") == ada
        assert await store.check_password(" ada fell ", "korrekt Pferd") == ada
        for name, password in (
            ("Ada Fell", "Korrekt Pferd"),
            ("Ada Fell", ""),
            ("Bob", "korrekt Pferd"),
            ("", ""),
        ):
            assert await store.check_password(name, password) is None
        assert await store.check_password("Ada Fell", "x" * 100_000) is None
        [(kept,)] = rows(file, "SELECT password_hash FROM staff")
        assert kept.startswith("$argon2id$v=19$")
        assert "Pferd" not in kept
        assert await store.staff() == [ada]


@runs
async def test_the_same_password_however_its_accents_are_typed(file: Place) -> None:
    async with opened(file) as store:
        zoe = await store.add_staff("Zoë", "caf\u00e9 au lait", "lead", START)
        assert await store.check_password("Zoe\u0308", "cafe\u0301 au lait") == zoe


@runs
async def test_an_unknown_name_costs_what_a_wrong_password_costs(file: Place) -> None:
    async with opened(file) as store:
        await store.add_staff("Ada", "secret words", "officer", START)
        await store.check_password("nobody", "warm up")

        async def seconds(name: str) -> float:
            times = []
            for _ in range(5):
                began = time.perf_counter()
                await store.check_password(name, "wrong words")
                times.append(time.perf_counter() - began)
            return min(times)

        known, unknown = await seconds("Ada"), await seconds("Nobody")
        # the hash takes tens of ms; leaving it out would make one a hundredth of the other
        assert 0.4 < known / unknown < 2.5


@runs
async def test_names_are_taken_once_and_passwords_are_not_empty(file: Place) -> None:
    async with opened(file) as store:
        await store.add_staff("Ada", "secret words", "officer", START)
        with pytest.raises(StoreError, match="name_taken"):
            await store.add_staff("ADA", "other words", "lead", START)
        with pytest.raises(StoreError, match="value: password"):
            await store.add_staff("Bob", "", "lead", START)
        with pytest.raises(StoreError, match="value: name"):
            await store.add_staff("  ", "secret words", "lead", START)


@runs
async def test_a_session_lasts_until_it_ends_or_runs_out(file: Place) -> None:
    async with opened(file) as store:
        ada = await store.add_staff("Ada", "secret words", "officer", START)
        token = await store.start_session(ada.id, START, START + 1000)
        assert await store.session(token, START + 999) == ada
        assert await store.session(token, START + 1000) is None
        assert await store.session("guess", START) is None
        assert token not in repr(rows(file, "SELECT * FROM sessions"))
        other = await store.start_session(ada.id, START, START + 1000)
        await store.end_session(other)
        assert await store.session(other, START) is None
        assert await store.session(token, START) == ada
        with pytest.raises(StoreError, match="staff_unknown"):
            await store.start_session("nobody", START, START + 1)


@runs
async def test_a_new_password_ends_the_sessions_of_the_old(file: Place) -> None:
    async with opened(file) as store:
        ada = await store.add_staff("Ada", "secret words", "officer", START)
        token = await store.start_session(ada.id, START, START + 1000)
        await store.set_password("ada", "newer words", START)
        assert await store.session(token, START) is None
        assert await store.check_password("Ada", "secret words") is None
        assert await store.check_password("Ada", "newer words") == ada
        with pytest.raises(StoreError, match="staff_unknown"):
            await store.set_password("Bob", "newer words", START)
