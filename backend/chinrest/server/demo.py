"""Puts the demo scenario into a server's folder: its sites, its people, its guidance pack, approved."""

import secrets
import tomllib
from hashlib import sha256
from pathlib import Path

import msgspec

import chinrest.model
import chinrest.pack
from chinrest.pack.compiler import compile_pack
from chinrest.pack.demo import demo_folder
from chinrest.pack.source import load
from chinrest.server.context import now_ms
from chinrest.server.settings import DATABASE
from chinrest.store import Store
from chinrest.store.rows import Role, Staff

MARK = "demo.txt"
MARK_TEXT = "This folder holds the demo scenario, all of it invented. Keep no real record here.\n"
LETTERS = "23456789ABCDEFGHJKMNPQRSTVWXYZ"  # none that look like another


class WrongFolderError(Exception):
    """The folder holds a real server's record, or the demo's, and the other was asked for."""


class SignIn(msgspec.Struct, frozen=True, kw_only=True):
    role: Role
    name: str
    password: str


class _Person(msgspec.Struct, frozen=True, kw_only=True):
    id: str
    name: str
    role: Role
    site: str | None = None
    password: str | None = None


def random_password() -> str:
    """Twenty letters, about 98 bits, in groups that can be read out."""
    return "-".join("".join(secrets.choice(LETTERS) for _ in range(4)) for _ in range(5))


def check_folder(folder: Path, demo: bool) -> None:
    """Keeps the demo and real records apart. Marks a new demo folder."""
    marked, used = (folder / MARK).is_file(), (folder / DATABASE).is_file()
    if demo and used and not marked:
        raise WrongFolderError(f"{folder} holds a real server's record: give the demo another folder")
    if not demo and marked:
        raise WrongFolderError(f"{folder} holds the demo scenario: give another folder, or say --demo")
    if demo and not marked:
        (folder / MARK).write_text(MARK_TEXT)


def compiled_demo(cache: Path) -> bytes:
    """The demo's guidance pack. Compiling takes some seconds, so the bytes are kept in `cache` until the
    source or the code that compiles it changes."""
    folder = demo_folder() / "pack"
    digest = sha256()
    for root in (folder, *(Path(p) for p in (*chinrest.model.__path__, *chinrest.pack.__path__))):
        for path in sorted(root.rglob("*")):
            if path.suffix in {".toml", ".py"}:
                digest.update(f"{path.relative_to(root)}\0".encode() + path.read_bytes())
    kept = cache / f"demo-pack-{digest.hexdigest()[:16]}.json"
    if kept.is_file():
        return kept.read_bytes()
    raw = compile_pack(load(folder))
    for old in cache.glob("demo-pack-*.json"):
        old.unlink()
    half = kept.with_suffix(".part")
    half.write_bytes(raw)
    half.replace(kept)
    return raw


def demo_sites() -> dict[str, str]:
    return {site.id: site.name for site in load(demo_folder() / "pack").sites}


async def prepare_demo(store: Store, cache: Path, random_sign_ins: bool) -> list[SignIn]:
    """The demo's people and its approved pack, in an open store that knows its sites; their sign-ins.

    The passwords of the scenario are public. With `random_sign_ins` they are replaced at every start.
    """
    people = msgspec.convert(
        tomllib.loads((demo_folder() / "staff.toml").read_text())["staff"], list[_Person]
    )
    known = {person.name: person for person in await store.staff()}
    sign_ins: list[SignIn] = []
    for person in people:
        if person.password is None:
            continue
        password = random_password() if random_sign_ins else person.password
        if person.name not in known:
            known[person.name] = await store.add_staff(
                person.name, password, person.role, now_ms(), site=person.site
            )
        elif random_sign_ins or await store.check_password(person.name, password) is None:
            await store.set_password(person.name, password, now_ms())
        sign_ins.append(SignIn(role=person.role, name=person.name, password=password))
    await _approve_pack(store, cache, list(known.values()))
    return sign_ins


async def _approve_pack(store: Store, cache: Path, staff: list[Staff]) -> None:
    """Once for each version of the demo's pack: what its lead decides later stands."""
    digest = await store.put_pack(compiled_demo(cache), now_ms())
    (row,) = [row for row in await store.packs() if row.sha256 == digest]
    if not row.approvals:
        (lead, *_) = [person for person in staff if person.role == "lead"]
        sites = list(await store.sites())
        await store.approve_pack(digest, lead.id, sites, "the demo's own pack", now_ms())
