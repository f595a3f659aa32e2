"""Whatever way the lines come - in halves, again, backwards, among poison - the same stands in the end."""

import asyncio
import random
import shutil
import tempfile
from pathlib import Path
from typing import Any

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from invented import Phone, fields_of, kept
from stored import folds, opened, said, send, stored_raws

import chinrest.store.refolding
from chinrest.log.amendments import stand
from chinrest.log.incidents import fold_incidents
from chinrest.log.line import Line
from chinrest.store import Store
from chinrest.store.refolding import AT_ONCE

EVENTS = ("open", "step", "safety", "touch", "close", "amend", "withdraw", "loose", "unknown")
COUNTED = (
    *("practice", "real", "cancel", "dye", "optic"),
    *("emergency", "sign", "reading", "over", "dye_reaction"),
)
# each line: which of two phones, which of two cases, what, and how the phone's clock jumps before it
WRITTEN = st.lists(
    st.tuples(
        st.integers(0, 1), st.integers(0, 1), st.sampled_from(EVENTS + COUNTED), st.integers(-4000, 4000)
    ),
    min_size=1,
    max_size=25,
)


def write(script: list[tuple[int, int, str, int]]) -> list[Phone]:
    phones = [Phone("one"), Phone("two")]
    made: list[Line] = []
    for which, case_number, what, jump in script:
        phone, case = phones[which], f"case-{case_number}"
        phone.at += jump
        if what == "open":
            line = phone.write("case.opened", case, code=f"T-{len(made)}")
        elif what == "step":
            line = phone.write("step.done", case)
        elif what == "safety":
            line = phone.write("safety.noted", case, what="touched_by_optic", note=f"note {len(made)}")
        elif what == "touch":
            line = phone.write("pose.found", case, touched=True)
        elif what == "close":
            line = phone.write("case.closed", case)
        elif what == "loose":
            line = phone.write("safety.noted", None, note="of no case")
        elif what in COUNTED:
            line = write_counted(phone, case, what, jump)
        elif what == "unknown":
            line = phone.write_raw("balloon.released", b'{"salt":"s"}', case)
        elif made:
            target = made[(len(made) * 7) % len(made)] if jump < 0 else made[-1]
            body: dict[str, Any] | None = None
            if what == "amend" and target.body is not None:
                body = fields_of(target.body)
            line = phone.write("line.amended", target.envelope.case, line=target.envelope.id, body=body)
        else:
            continue
        made.append(line)
    return phones


def write_counted(phone: Phone, case: str, what: str, value: int) -> Line:
    """What only the counts and the reactions hang on."""
    type_, fields = {
        "practice": ("case.opened", {}),
        "real": ("practice.ended", {}),
        "cancel": ("case.closed", {"outcome": "cancelled"}),
        "dye": (
            "dye.injected",
            {"dye": "fluorescein", "arm": "left", "route": "vein", "pressed_at": 0, "pressed_mono": 0},
        ),
        "optic": ("optic.chosen", {"optic": "wide"}),
        "emergency": ("reaction.started", {}),
        "sign": ("reaction.sign", {"sign": "nausea", "seen": value > 0}),
        "reading": ("reaction.observed", {"saturation": 90 + value % 10}),
        "over": ("reaction.ended", {"outcome": "case_goes_on"}),
        "dye_reaction": ("safety.noted", {"what": "dye_reaction"}),
    }[what]
    return phone.write(type_, case, practice=what == "practice", **fields)


def poison(rng: random.Random, phone: Phone, other: Phone) -> bytes:
    sound = rng.choice(phone.raws or [b"none"])
    return rng.choice(
        [
            b"",
            b"junk",
            rng.randbytes(30),
            b"x" * 17_000,
            sound + b" ",
            sound + b"\t",
            rng.choice(other.raws or [b"none"]),
        ]
    )


async def carry(store: Store, phones: list[Phone], rng: random.Random) -> None:
    """Send everything at random until the store holds it all, and check each answer on the way."""
    acknowledged: set[str | None] = set()
    left = {phone.name: list(phone.lines) for phone in phones}
    while any(left.values()):
        phone, other = rng.sample(phones, 2)
        sent = rng.sample(phone.lines, rng.randint(0, len(phone.lines)))
        if rng.random() < 0.5:
            sent = [*left[phone.name], *sent]
        batch: list[Line | bytes] = [*sent, *(poison(rng, phone, other) for _ in range(rng.randint(0, 3)))]
        if rng.random() < 0.7:
            rng.shuffle(batch)
        answers = await send(store, phone, [x.raw if isinstance(x, Line) else x for x in batch])
        assert [answer.index for answer in answers] == list(range(len(batch)))
        for item, answer in zip(batch, answers, strict=True):
            if isinstance(item, Line):
                assert answer.status in ("stored", "repeat", "waiting")
                assert answer.id == item.envelope.id
                acknowledged.add(answer.id)
            else:
                assert answer.status == "refused"
        left[phone.name] = [line for line in left[phone.name] if line.envelope.id not in acknowledged]


def expected_incidents(phones: list[Phone]) -> list[str]:
    """Folded from all lines at once, by no store."""
    groups: dict[tuple[str, str | None], list[Line]] = {}
    for phone in phones:
        for line in phone.lines:
            owner = "" if line.envelope.case else phone.device
            groups.setdefault((owner, line.envelope.case), []).append(line)
    return sorted(
        f"{fact.line} {fact.withdrawn} {fact.note} {fact.case_code}"
        for lines in groups.values()
        for fact in fold_incidents(stand(map(kept, lines)))
    )


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(WRITTEN, st.randoms(use_true_random=False), st.sampled_from([0, 2, AT_ONCE]))
def test_any_way_leads_to_the_same(
    script: list[tuple[int, int, str, int]], rng: random.Random, at_once: int
) -> None:
    """`at_once`: of how many lines a batch is folded in the write that stores it."""
    phones = write(script)
    folder = Path(tempfile.mkdtemp())

    async def scenario() -> None:
        file = folder / "chinrest.db"
        async with opened(file, *phones) as store:
            await carry(store, phones, rng)
            for phone in phones:
                assert await store.holds(phone.device) == ([(1, len(phone.lines))] if phone.lines else [])
                assert said(await send(store, phone, phone.raws)) == ["repeat"] * len(phone.lines)
            found = (await store.incidents()).rows
            assert sorted(f"{r.line} {r.withdrawn} {r.note} {r.case_code}" for r in found) == (
                expected_incidents(phones)
            )
            # the folds made on the way are those made from the lines alone
            before = folds(file)
            await store.refold()
            assert folds(file) == before
        for phone in phones:
            assert stored_raws(file, phone.device) == phone.raws

    chinrest.store.refolding.AT_ONCE = at_once
    try:
        asyncio.run(scenario())
    finally:
        chinrest.store.refolding.AT_ONCE = AT_ONCE
        shutil.rmtree(folder)
