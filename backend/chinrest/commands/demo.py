"""`chinrest demo`: an invented history in a demo folder, for trying the desk out and for measuring it at
size."""

import random
import time
import uuid
from pathlib import Path

import click

from chinrest.log.windows import layouts_in
from chinrest.pack.compiled import decode_pack
from chinrest.server.demo import WrongFolderError, check_folder, demo_sites, prepare_demo
from chinrest.server.invented_history import DAY_MS, InventedPhone, Rates, opening_hours
from chinrest.store import Store
from chinrest.store.rows import BatchHead

from .ending import CommandError, data_option, json_option, user_folder, with_store
from .holding import holding
from .numbers import Whole
from .printing import print_json

BATCH_LINES = 4000
YEARS = 2
PHONES_A_SITE = 2
CASES_LIMIT = 1_000_000


def site_names(count: int) -> dict[str, str]:
    """The demo's own sites, then more of the kind."""
    known = demo_sites()
    names = dict(list(known.items())[:count])
    for number in range(len(names) + 1, count + 1):
        names[f"site-{number:02d}"] = f"Site {number:02d} (invented)"
    return names


@click.command()
@click.option("--cases", type=Whole(1, CASES_LIMIT), required=True, help="How many cases.")
@click.option("--sites", type=Whole(1, 99), default=3, show_default=True, help="At how many sites.")
@click.option(
    "--seed", type=Whole(), default=1, show_default=True, help="The same seed makes the same cases."
)
@data_option
@json_option
def demo(cases: int, sites: int, seed: int, data: Path | None, as_json: bool) -> None:
    """Add an invented history of two years to a demo folder. Nothing in it was measured.

    The rates that it is made from stand in `server/invented_history.py`. The server need not run; stop it
    first.
    """
    folder = (data or user_folder(demo=True)).absolute()
    folder.mkdir(parents=True, exist_ok=True, mode=0o700)
    try:
        check_folder(folder, demo=True)
    except WrongFolderError as error:
        raise CommandError("wrong_folder", "--data", str(error)) from error
    names = site_names(sites)
    began = time.monotonic()

    async def fill(store: Store) -> int:
        await prepare_demo(store, folder, random_sign_ins=False)
        return await write_history(store, cases, list(names), seed)

    with holding(folder):
        lines = with_store(folder, fill, names)
    seconds = time.monotonic() - began
    if as_json:
        print_json({"cases": cases, "sites": list(names), "lines": lines, "seed": seed, "data": str(folder)})
    else:
        click.echo(f"{cases} invented cases at {sites} sites: {lines} lines in {seconds:.0f} s, in {folder}.")
        click.echo(f"Read them at the desk: chinrest serve --demo --data {folder}")


async def write_history(store: Store, cases: int, sites: list[str], seed: int) -> int:
    """Enrols two phones a site, and lets them send; how many lines were stored."""
    dice = random.Random(seed)  # noqa: S311  # a simulation, not a secret
    now = time.time_ns() // 1_000_000
    began = now - YEARS * 365 * DAY_MS
    [approved, *_] = [row for row in await store.packs() if row.approvals]
    raw = await store.pack_bytes(approved.sha256)
    steps = [step.id for step in decode_pack(raw or b"").steps if step.screen == "tick"][:24]
    layouts = list(layouts_in(raw or b"").values())
    phones = []
    factors = Rates().site_factor
    for place, site in enumerate(sites):
        for number in range(PHONES_A_SITE):
            device = str(uuid.UUID(int=dice.getrandbits(128), version=4))
            label = f"{site}, phone {number + 1} (invented)"
            code = await store.add_code(site, label, began, began + DAY_MS)
            await store.enrol(code.code, device, "AAAA", code.label, began)
            if await store.holds(device):
                why = "the history of this seed is there already; give another --seed"
                raise CommandError("taken", "--seed", why)
            own = random.Random(dice.getrandbits(64))  # noqa: S311  # a simulation, not a secret
            factor = factors[place % len(factors)]
            phones.append(InventedPhone(device, f"boot-{number}", own, factor, steps, layouts))
    stored = 0
    waiting: dict[str, list[bytes]] = {phone.chain.device: [] for phone in phones}
    for number, at in enumerate(opening_hours(dice, began, now - DAY_MS, cases), 1):
        phone = dice.choice(phones)
        batch = waiting[phone.chain.device]
        batch += phone.case(number, at, approved.sha256)
        if len(batch) >= BATCH_LINES:
            stored += await send(store, phone, batch, at)
    for phone in phones:
        stored += await send(store, phone, waiting[phone.chain.device], now)
    return stored


async def send(store: Store, phone: InventedPhone, batch: list[bytes], at: int) -> int:
    """Send a batch as if it came at `at`, by a phone whose clock is off by its own measure; empties it."""
    head = BatchHead(
        head_seq=phone.chain.seq,
        head_sha256=phone.chain.head,
        signature=None,
        waiting=len(batch),
        now=at + phone.clock_off_ms,
        app="invented",
    )
    answers = await store.take_batch(phone.chain.device, batch, at, head)
    refused = [answer for answer in answers if answer.status not in ("stored", "repeat")]
    if refused:
        raise CommandError("refused", "line", f"{refused[0].code}: {refused[0].reason}")
    batch.clear()
    return len(answers)
