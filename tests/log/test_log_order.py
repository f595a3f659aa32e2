"""The one order of lines: each device's own, devices merged by the time they claim."""

import random

from hypothesis import given
from hypothesis import strategies as st
from invented import START, Phone, kept

from chinrest.log.kept import KeptLine, in_order


def ids(lines: list[KeptLine]) -> list[str]:
    return [line.envelope.id for line in lines]


def test_two_devices_are_merged_by_time() -> None:
    one, two = Phone("one", START), Phone("two", START + 1500)
    a = [one.write("step.done", "c"), one.write("step.done", "c"), one.write("step.done", "c")]
    b = [two.write("step.done", "c"), two.write("step.done", "c")]
    # one writes at 1000, 2000, 3000 after the start, two at 2500, 3500
    expected = [a[0], a[1], b[0], a[2], b[1]]
    assert ids(in_order(map(kept, b + a))) == [line.envelope.id for line in expected]


def test_a_clock_set_back_does_not_turn_a_device_round() -> None:
    one, two = Phone("one", START), Phone("two", START + 4500)
    a = [one.write("step.done", "c")]
    one.at += 5000
    a.append(one.write("step.done", "c"))  # at 7000 after the start
    one.at -= 6500
    a.append(one.write("step.done", "c"))  # at 1500, but after the line of 7000
    b = [two.write("step.done", "c")]  # at 5500
    expected = [a[0], b[0], a[1], a[2]]
    assert ids(in_order(map(kept, a + b))) == [line.envelope.id for line in expected]


@given(st.lists(st.lists(st.integers(-5000, 5000), max_size=8), min_size=1, max_size=4), st.randoms())
def test_however_they_come_the_order_is_the_same(clocks: list[list[int]], rng: random.Random) -> None:
    lines = []
    for number, jumps in enumerate(clocks):
        phone = Phone(f"phone {number}")
        for jump in jumps:
            phone.at += jump
            lines.append(kept(phone.write("step.done", "c")))
    expected = in_order(lines)
    shuffled = lines + rng.sample(lines, len(lines) // 2)
    rng.shuffle(shuffled)
    assert in_order(shuffled) == expected
    assert len(expected) == len(lines)
    for device in {line.envelope.device for line in lines}:
        seqs = [line.envelope.seq for line in expected if line.envelope.device == device]
        assert seqs == sorted(seqs)


def test_a_slow_clock_comes_after_what_it_had_read() -> None:
    """Two phones on one case: the second is an hour slow, and goes on from what the first wrote."""
    one, slow = Phone("one", START), Phone("slow", START - 3_600_000)
    first = [one.write("step.done", "c"), one.write("step.done", "c")]
    blind = slow.write("step.done", "c")
    seen = first[-1].envelope.at
    raw = slow.write_raw("step.done", b'{"salt":"s","step":"x"}', "c", after=seen)
    later = slow.write("step.done", "c")
    order = ids(in_order(map(kept, [raw, later, *first, blind])))
    assert order == [line.envelope.id for line in (blind, *first, raw, later)]
    # and whoever goes on from that comes after it in turn
    one.at = START + 1500
    back = one.write_raw("step.done", b'{"salt":"s","step":"y"}', "c", after=seen + 1)
    order = ids(in_order(map(kept, [back, raw, *first])))
    assert order == [line.envelope.id for line in (*first, raw, back)]
