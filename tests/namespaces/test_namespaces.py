"""A ward with phones, a satellite's hub and the hospital's server, each in a network namespace of its own.
The links to the hub and to the hospital are cut at random while phones send and the hub relays."""

import json
import random
import signal
import ssl
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from pathlib import Path

import pytest
from holding import hold, hold_raws, stored
from net import Net, PlacedServer
from simulated import AtOnce, Door, Simulated

CUTS = 8
MOST_CUTS = 40  # by then some line has gone over the hub's link, or none ever will
PATIENCE_S = 2.0  # a phone of ours waits longer; here it is to be seen giving up


def relay_command(hub: PlacedServer, hospital: PlacedServer, key: str, *more: str) -> list[str]:
    authority = str(hospital.data / "tls" / "authority.crt")
    command = [sys.executable, "-m", "chinrest.cli", "relay", "--to", hospital.origin, "--server-key", key]
    return [*command, "--ca", authority, "--data", str(hub.data), *more]


def cut_at_random(net: Net, dice: random.Random, arrived: Callable[[], bool]) -> dict[str, int]:
    """Take links down for a while each, one or both at a time, and on until something has `arrived` all the
    same; how often each was."""
    cuts = {"hub": 0, "hospital": 0}
    for done in range(MOST_CUTS):
        if done >= CUTS and arrived():
            break
        chosen = dice.choice([["hub"], ["hospital"], ["hub", "hospital"]])
        for place in chosen:
            net.cut(place)
            cuts[place] += 1
        time.sleep(dice.uniform(0.1, 2.5))
        for place in chosen:
            net.mend(place)
        time.sleep(dice.uniform(0.1, 0.8))
    return cuts


@pytest.mark.timeout(300)
@pytest.mark.parametrize("seed", [1, 2])
def test_links_between_networks_are_cut_and_nothing_is_lost_or_doubled(tmp_path: Path, seed: int) -> None:
    dice = random.Random(seed)
    for name in ("hub", "hospital"):
        (tmp_path / name).mkdir()
    with (
        Net("ward", "hub", "hospital") as net,
        PlacedServer(net, "hub", tmp_path / "hub", "--hub") as hub,
        PlacedServer(net, "hospital", tmp_path / "hospital") as hospital,
    ):
        key = json.loads(hub.run("hubs", "key", "--json"))
        hospital.run("hubs", "add", "Lighthouse laptop", "--id", key["id"], "--key", key["key"])
        theirs = json.loads(hospital.run("hubs", "key", "--json"))["fingerprint"]
        trust = ssl.create_default_context(cafile=str(hub.data / "tls" / "authority.crt"))
        door = Door(hub.port, net.address["hub"], trust, PATIENCE_S)
        with pytest.raises(OSError):  # noqa: PT011  # not even this machine gets there: no route at all
            Simulated("nobody", dice).enrol(Door(hub.port, net.address["hub"], trust, 1), "AAAA-AAAA")
        phones = [
            net.inside(
                "ward", lambda n=n: Simulated(f"p{n}", random.Random(seed)).enrol(door, hub.enrol_code())
            )
            for n in range(3)
        ]

        def send(phone: Simulated, stop: threading.Event) -> None:
            net.enter("ward")
            while not stop.is_set():
                if len(phone.waiting()) < 60:
                    phone.live(phone.dice.randint(1, 6))
                phone.send(door, phone.dice.randint(1, 20))
                time.sleep(0.05)
            phone.send_all(door)

        relaying = net.inside(
            "hub",
            lambda: subprocess.Popen(
                relay_command(hub, hospital, theirs, "--every", "1", "--tries", "100"),
                stdout=subprocess.DEVNULL,
                stderr=subprocess.DEVNULL,
            ),
        )
        beyond = hospital.data / "chinrest.db"
        try:
            with AtOnce(phones, send):
                cuts = cut_at_random(net, dice, lambda: any(stored(beyond, phone.device) for phone in phones))
        finally:
            relaying.send_signal(signal.SIGKILL)
            relaying.wait()
        done = net.inside(
            "hub",
            lambda: subprocess.run(
                relay_command(hub, hospital, theirs, "--json"), capture_output=True, text=True, timeout=120
            ),
        )
        assert done.returncode == 0, done.stderr
        broken = sum(phone.broken for phone in phones)
        assert broken, "no phone ever felt a cut: nothing was tested"
        lines = hold(hub.data / "chinrest.db", phones)
        hold_raws(beyond, {phone.device: phone.raws for phone in phones})
        last = json.loads(done.stdout)["lines"]
        assert last < lines, "nothing went over while links were cut"
        print(
            f"\nseed {seed}: cuts {cuts}, {broken} requests broken, {lines} lines, the last {last} at the end"
        )
