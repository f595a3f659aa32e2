"""Days on which the link breaks, answers are lost, or clocks are wrong."""

from campaign import Ground, Survived
from cutting import CutWire
from holding import hold
from simulated import Simulated, enrolled

from serving import Server

BYTES = 9_000  # about what a batch and its answer are together


def cut(ground: Ground) -> Survived:
    """Each connection is cut after some number of bytes, there or back."""
    return _through(ground, replies=False)


def lost_replies(ground: Ground) -> Survived:
    """What was sent has been taken, and the phone never hears of it: it sends the same again."""
    return _through(ground, replies=True)


def _through(ground: Ground, *, replies: bool) -> Survived:
    with Server(ground.folder) as server:
        phones = enrolled(server, 3, ground.dice)
        wire = CutWire(
            ("127.0.0.1", server.port),
            ground.dice.randrange(2**32),
            most=1_500 if replies else BYTES,
            replies=replies,
        )
        try:
            for phone in phones:
                phone.live(40)
                tries = 0
                while phone.waiting() and tries < 8 * ground.rounds:
                    phone.send(wire.port, phone.dice.randint(1, 15))
                    phone.live(phone.dice.randint(0, 2))
                    tries += 1
            wire.whole = True
            for phone in phones:
                phone.send_all(wire.port)
        finally:
            wire.close()
        repeats = sum(phone.repeats for phone in phones)
        assert repeats or not replies, "no batch was sent twice"
        lines = hold(server.data / "chinrest.db", phones)
        return Survived(wire.cut, lines, f"{repeats} lines sent again that the server had")


def clocks(ground: Ground) -> Survived:
    """Clocks that are years wrong and are set in mid-case, forward and back."""
    with Server(ground.folder) as server:
        phones: list[Simulated] = enrolled(server, 4, ground.dice)
        for _ in range(3 * ground.rounds):
            for phone in phones:
                phone.live(phone.dice.randint(1, 15), jumps=True)
                assert phone.send(server.port, 10), "a clock must never stop a line"
        for phone in phones:
            phone.send_all(server.port)
        return Survived(sum(phone.jumps for phone in phones), hold(server.data / "chinrest.db", phones))
