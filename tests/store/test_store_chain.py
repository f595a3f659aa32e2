"""The rules by which a device's chain grows, without a database: whatever comes in whatever order, what
stands is one unbroken chain, and what doesn't stand is kept aside."""

import random
from collections import defaultdict

from hypothesis import given, settings
from hypothesis import strategies as st
from invented import Phone
from stored import said

from chinrest.log.line import Line
from chinrest.store.intake import Intake, decode_batch
from chinrest.store.standing import Refusal, Slot, Standing


class Desk:
    """Keeps what a database would keep between batches: lines, stubs, the head, and what was refused."""

    def __init__(self, device: str) -> None:
        self.device = device
        self.head = (0, "0" * 64)
        self.lines: dict[str, Line] = {}
        self.stubs: dict[int, Slot] = {}
        self.aside: dict[str, tuple[str, int | None]] = {}
        self.healed: set[str] = set()

    def send(self, raws: list[bytes]) -> list[str]:
        seq, digest = self.head
        settled: dict[int, Slot] = {}
        waiting: dict[int, list[Slot]] = defaultdict(list)
        slots = [
            (line.envelope.seq, Slot(sha256=line.envelope_sha256, prev=line.envelope.prev, line=name))
            for name, line in self.lines.items()
        ]
        for at, slot in [*slots, *self.stubs.items()]:
            if at <= seq:
                assert at not in settled
                settled[at] = slot
            else:
                waiting[at].append(slot)
        branch = {name for name, (code, _) in self.aside.items() if code == "fork"}
        placeless: dict[str, Refusal] = {
            name: ("malformed", "") for name, (_, place) in self.aside.items() if place is None
        }
        standing = Standing(seq=seq, sha256=digest, settled=settled, waiting=dict(waiting), branch=branch)
        ids = {name: line.envelope_sha256 for name, line in self.lines.items()}
        plan = Intake(self.device, standing, ids, placeless).plan(raws, decode_batch(raws))
        for name in plan.unseat:
            del self.lines[name]
        for aside in plan.aside:
            self.aside.setdefault(aside.envelope_sha256, (aside.code, aside.claim.seq))
        self.healed |= set(plan.healed)
        for at in plan.stubs_gone:
            del self.stubs[at]
        self.stubs |= plan.stubs
        for line in plan.seat:
            assert line.envelope.id not in self.lines
            self.lines[line.envelope.id] = line
        self.head = (standing.seq, standing.sha256)
        self.check()
        return said(plan.answers)

    def check(self) -> None:
        """Every sequence up to the head has one line or one stub, and each line joins what stands before."""
        seq, digest = self.head
        at = {line.envelope.seq: line for line in self.lines.values() if line.envelope.seq <= seq}
        assert len(at) == sum(line.envelope.seq <= seq for line in self.lines.values())
        prev = "0" * 64
        for place in range(1, seq + 1):
            assert (place in at) != (place in self.stubs)
            if place in at:
                assert at[place].envelope.prev == prev
            prev = at[place].envelope_sha256 if place in at else self.stubs[place].sha256
        assert prev == digest

    def standing(self) -> list[bytes]:
        ordered = sorted(self.lines.values(), key=lambda line: line.envelope.seq)
        return [line.raw for line in ordered]


def two_branches(common: int, one_more: int, other_more: int) -> tuple[Phone, Phone]:
    """A phone, and the same one put back to its first `common` lines and gone on otherwise."""
    one, other = Phone("phone"), Phone("phone")
    for phone, count, jump in ((one, one_more, 0), (other, other_more, 55)):
        for number in range(common):
            phone.write("step.done", "c1", step=f"step_{number}")
        phone.at += jump
        for number in range(count):
            phone.write("step.done", "c1", step=f"{jump}_{number}")
    return one, other


FORKED = (st.integers(0, 5), st.integers(0, 5), st.integers(1, 5), st.integers(0, 2**32))


@settings(max_examples=200, deadline=None)
@given(*FORKED)
def test_of_a_forked_chain_nothing_is_lost_in_any_order(
    common: int, more: int, other_more: int, seed: int
) -> None:
    one, other, rng = *two_branches(common, more, other_more), random.Random(seed)
    raws = sorted({*one.raws, *other.raws})
    desk = Desk(one.device)
    for _ in range(3):
        rng.shuffle(raws)
        cut = rng.randint(0, len(raws))
        desk.send(raws[:cut])
        desk.send(raws[cut:])
    assert len(desk.lines) + len(desk.aside.keys() - desk.healed) == len(raws)
    assert {code for code, _ in desk.aside.values()} <= {"fork", "broken_chain"}


@settings(max_examples=200, deadline=None)
@given(*FORKED)
def test_of_a_forked_chain_sent_in_order_one_branch_stands_and_the_other_is_kept_whole(
    common: int, more: int, other_more: int, seed: int
) -> None:
    """As phones do it: each sends from its oldest unacknowledged line on, some again, batches interleaved."""
    one, other, rng = *two_branches(common, more, other_more), random.Random(seed)
    desk = Desk(one.device)
    sent = {id(one): 0, id(other): 0}
    while sent[id(one)] < len(one.raws) or sent[id(other)] < len(other.raws):
        phone = rng.choice([one, other])
        again, upto = rng.randint(0, sent[id(phone)]), rng.randint(sent[id(phone)], len(phone.raws))
        desk.send(phone.raws[again:upto])
        sent[id(phone)] = upto
    assert desk.standing() in (one.raws, other.raws)
    raws = {*one.raws, *other.raws}
    assert len(desk.lines) + len(desk.aside.keys() - desk.healed) == len(raws)
    assert {code for code, _ in desk.aside.values()} <= {"fork"}
    assert desk.stubs == {}


SPOIL = st.sampled_from(["no", "no", "no", "body", "tab", "large", "cut", "prev", "value"])


@settings(max_examples=400, deadline=None)
@given(st.lists(SPOIL, min_size=1, max_size=12), st.randoms(use_true_random=False))
def test_a_faulty_phones_lines_are_refused_one_by_one_and_the_chain_goes_on(
    spoils: list[str], rng: random.Random
) -> None:
    """The phone chains on whatever it wrote; each line is wrong in its own way or not at all."""
    phone = Phone("phone")
    raws: list[bytes] = []
    sound: list[bytes] = []
    for spoil in spoils:
        changes = {"prev": "a" * 64} if spoil == "prev" else {}
        body = b'{"salt":"s","step":"x"}'
        line = phone.write_raw("step.done", body, "c1", **changes)
        raw = line.raw
        if spoil == "body":
            raw = raw + b" "
        elif spoil == "tab":
            raw = raw + b"\t"
        elif spoil == "large":
            raw = raw + b" " * 17_000
        elif spoil == "cut":
            raw = raw.split(b"\t")[0]
        elif spoil == "value":
            raw = raw.replace(b'"practice":false', b'"practice":"no"')
            phone.chain.head = decode_batch([raw])[0].envelope_sha256
        else:
            sound += [raw] if spoil == "no" else []
        raws.append(raw)
    desk = Desk(phone.device)
    for _ in range(3):
        rng.shuffle(raws)
        cut = rng.randint(0, len(raws))
        desk.send(raws[:cut])
        desk.send(raws[cut:])
    assert desk.head[0] == len(spoils)
    assert desk.standing() == sound
    assert set(desk.stubs) == {at + 1 for at, spoil in enumerate(spoils) if spoil != "no"}
    assert len(desk.lines) + len(desk.aside) == len(spoils)


def test_the_line_that_joins_is_taken_though_another_waited_longer() -> None:
    one, other = two_branches(1, 3, 3)
    desk = Desk(one.device)
    assert desk.send(other.raws[2:]) == ["waiting", "waiting"]
    assert desk.send(one.raws[2:]) == ["waiting", "waiting"]
    assert desk.send(one.raws[:2]) == ["stored", "stored"]
    assert desk.standing() == one.raws
    assert desk.send(other.raws) == ["repeat", "fork", "fork", "fork"]


def test_a_spoilt_copy_of_a_line_that_waits_leaves_no_stub() -> None:
    phone = two_branches(4, 0, 1)[0]
    desk = Desk(phone.device)
    assert desk.send(phone.raws[2:]) == ["waiting", "waiting"]
    assert desk.send([phone.raws[2] + b" "]) == ["body_hash"]
    assert desk.send(phone.raws[:2]) == ["stored", "stored"]
    assert desk.standing() == phone.raws
    assert desk.stubs == {}
