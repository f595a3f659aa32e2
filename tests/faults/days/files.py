"""A day on which lines go by file: to the hospital's server by couriers, while the same phones sync, there or
at a hub, and the server is killed."""

from __future__ import annotations

import asyncio
import subprocess
import sys
import threading
import time
from collections.abc import Iterable
from concurrent.futures import ThreadPoolExecutor

from bearing import Away, Courier, Letter, Post, spoilt
from campaign import Ground, Survived
from holding import hold, hold_raws, stored
from simulated import AtOnce, Simulated, enrolled, enrolled_as

from chinrest.server.context import now_ms
from chinrest.server.settings import DATABASE
from chinrest.store import Store
from serving import Server

LINES = 150  # of a phone in a round
MOST_LETTERS = 12
BROUGHT_AGAIN = 0.25


async def _introduced(hub: Server, hospital: Server) -> str:
    """Approve the hub at the hospital; the key by which the hub will know it."""
    stores = [await Store.open(server.data / DATABASE) for server in (hub, hospital)]
    try:
        its, theirs = [await store.identity() for store in stores]
        await stores[1].add_hub(its.server, "Lighthouse laptop", its.public_key, now_ms())
        return theirs.public_key
    finally:
        for store in stores:
            await store.close()


class Roads:
    """The hospital's server, a hub before it, phones at either, couriers, and the files that nobody has
    brought yet."""

    def __init__(self, ground: Ground, hospital: Server, hub: Server) -> None:
        self.ground, self.hospital, self.hub = ground, hospital, hub
        self.mail = Post()
        with ThreadPoolExecutor() as aside:  # the campaign's browser has this thread's loop
            self._key = aside.submit(asyncio.run, _introduced(hub, hospital)).result()
        (self.scout,) = enrolled(hub, 1, ground.dice)
        self.scout.send_all(hub.port)
        assert self.relay() == 0  # by a first phone's lines the hub comes to know the server beyond it
        self.near = enrolled_as(Away, hospital, 2, ground.dice, "near")
        self.far = enrolled_as(Away, hub, 2, ground.dice, "far")
        self.couriers = enrolled_as(Courier, hospital, 2, ground.dice, "courier")
        self.spoilt_answers = 0

    @property
    def away(self) -> list[Away]:
        return [*self.near, *self.far]

    def server_of(self, phone: Simulated) -> Server:
        return self.hub if phone in self.far else self.hospital

    def relay(self) -> int:
        command = [sys.executable, "-m", "chinrest.cli", "relay", "--to", self.hospital.origin]
        command += ["--server-key", self._key, "--data", str(self.hub.data), "--tries", "1"]
        done = subprocess.run(command, capture_output=True, text=True, timeout=120)
        assert done.returncode in (0, 1), done.stderr
        assert done.returncode == 0 or "nothing is lost" in done.stderr, done.stderr
        return done.returncode

    # what each does until it is told to stop
    def work(self, phone: Simulated, stop: threading.Event) -> None:
        while not stop.is_set():
            if isinstance(phone, Courier):
                letter = self.mail.take(phone.dice)
                if letter is not None and (
                    not phone.bring(self.hospital.port, letter) or phone.dice.random() < BROUGHT_AGAIN
                ):
                    self.mail.put(letter)
            elif isinstance(phone, Away):
                self._live_away(phone)
            time.sleep(0.05)  # the server is what is tried here, and not how fast phones can write

    def _live_away(self, phone: Away) -> None:
        if len(phone.lines) < LINES * self.ground.rounds:
            phone.live(phone.dice.randint(1, 6))
        which = phone.dice.random()
        if which < 0.5 and len(self.mail) < MOST_LETTERS:
            self.mail_file(phone)
        elif which < 0.7:
            phone.send(self.server_of(phone).port, phone.dice.randint(1, 20))
        elif (answer := phone.post.take(phone.dice)) is not None:
            self._open(phone, answer)

    def mail_file(self, phone: Away) -> None:
        if (file := phone.make_file()) is not None:
            self.mail.put(Letter(phone, file))

    def _open(self, phone: Away, answer: Letter) -> None:
        if phone.dice.random() < 0.3:
            assert not phone.open_answer(spoilt(answer.content, phone.dice)), "a spoilt answer was believed"
            self.spoilt_answers += 1
        assert phone.open_answer(answer.content)

    # the end of the day
    def deliver(self) -> None:
        """All that lies about, in any order."""
        letters = self.mail.empty()
        self.ground.dice.shuffle(letters)
        for letter in letters:
            assert self.couriers[0].bring(self.hospital.port, letter)
        for phone in self.away:
            for answer in phone.post.empty():
                self._open(phone, answer)

    def back_up(self, name: str) -> None:
        self.hospital.run("backup", str(self.ground.folder / name))


def carried(ground: Ground) -> Survived:
    """Files are brought twice, in the wrong order, cut short or changed, to a server that is killed while it
    takes them; answers come late, spoilt or never; the same lines come by a sync and through a hub."""
    with Server(ground.room("hospital")) as hospital, Server(ground.room("hub"), "--hub") as hub:
        roads = Roads(ground, hospital, hub)
        kills = 0
        with AtOnce([*roads.away, *roads.couriers], roads.work) as at_once:
            while kills < ground.rounds or not sum(courier.broken for courier in roads.couriers):
                if at_once.faults:
                    raise at_once.faults[0]
                assert kills < ground.rounds + 10, "no file was under way at any of the kills"
                time.sleep(ground.dice.uniform(0.3, 1.2))
                hospital.kill()
                kills += 1
                hospital.start()
            roads.back_up("one.backup")
            roads.relay()
        roads.deliver()
        _hear_of_a_last_backup(roads)
        for courier in roads.couriers:
            courier.send_all(hospital.port)
        assert roads.relay() == 0
        lines = hold(hub.data / DATABASE, [*roads.far, roads.scout])
        phones: list[Simulated] = [*roads.near, *roads.couriers]
        for phone in phones:
            assert not phone.waiting()
        lines += hold_raws(
            hospital.data / DATABASE,
            {phone.device: phone.raws for phone in [*phones, *roads.far, roads.scout]},
        )
        cleared = _hold_cleared(ground, roads.away)
        return _told(roads, kills, lines, cleared)


def _hear_of_a_last_backup(roads: Roads) -> None:
    """Everything in, and backed up. Then some more, which is in no backup: each way brings its word, and who
    hears it clears."""
    for phone in roads.away:
        phone.send_all(roads.server_of(phone).port)
    roads.back_up("two.backup")
    assert roads.relay() == 0
    for phone in roads.away:
        phone.live(3)
    by_file, by_sync = roads.near
    file = by_file.make_file()
    assert file is not None
    letter, courier = Letter(by_file, file), roads.couriers[1]
    courier.bring_spoilt(roads.hospital.port, letter)
    assert courier.bring(roads.hospital.port, letter)
    while courier.twice == 0 or not by_file.post:  # answers get lost
        assert courier.bring(roads.hospital.port, letter)
    for answer in by_file.post.empty():
        assert not by_file.open_answer(spoilt(answer.content, by_file.dice))
        assert by_file.open_answer(answer.content)
    for phone in (by_sync, *roads.far):
        phone.send_all(roads.server_of(phone).port)


def _hold_cleared(ground: Ground, phones: Iterable[Away]) -> int:
    """What phones have cleared stands in the last backup, byte for byte; how many lines."""
    restored = Server(ground.room("restored"))
    restored.run("restore", str(ground.folder / "two.backup"))
    cleared = 0
    for phone in phones:
        assert 0 < phone.cleared < len(phone.lines)
        kept = stored(restored.data / DATABASE, phone.device)
        assert kept[: phone.cleared] == phone.raws[: phone.cleared], "cleared, and in no backup"
        cleared += phone.cleared
    ways = set().union(*(phone.heard_by for phone in phones))
    assert ways == {"an answer file", "a sync", "a hub"}, ways
    return cleared


def _told(roads: Roads, kills: int, lines: int, cleared: int) -> Survived:
    couriers = roads.couriers
    counts = {
        "files cut off by a kill": sum(each.broken for each in couriers),
        "brought again": sum(each.twice for each in couriers),
        "spoilt": sum(each.spoilt for each in couriers) + roads.spoilt_answers,
        "answers lost": sum(each.lost for each in couriers),
        "lines cleared": cleared,
    }
    return Survived(kills, lines, ", ".join(f"{count} {what}" for what, count in counts.items()))
