"""Networks of their own on one machine: each a namespace of the kernel, all joined by one switch, whose ports
are taken down and up."""

import ctypes
import os
import subprocess
import threading
import time
from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

from serving import Server

T = TypeVar("T")
CLONE_NEWNET = 0x40000000  # linux/sched.h


class Net:
    """A switch and the places on it, by name; `address` of each is 10.77.0.x. A context manager: with it all
    of it is gone, since each namespace lives as long as one sleeping process."""

    def __init__(self, *places: str) -> None:
        self._holders: dict[str, subprocess.Popen[bytes]] = {}
        self._places = places
        self.address = {place: f"10.77.0.{number}" for number, place in enumerate(places, start=2)}

    def __enter__(self) -> "Net":
        try:
            for name in ("switch", *self._places):
                self._holders[name] = subprocess.Popen(["unshare", "--net", "sleep", "infinity"])
            for name in self._holders:
                self._wait_for(name)
            self._ip("switch", "link add br0 type bridge")
            self._ip("switch", "addr add 10.77.0.1/24 dev br0")
            self._ip("switch", "link set br0 up")
            for place in self._places:
                self._join(place)
        except BaseException:
            self.__exit__()
            raise
        return self

    def _wait_for(self, name: str) -> None:
        """Until the process has left this namespace."""
        here = Path("/proc/self/ns/net").readlink()
        until = time.monotonic() + 10
        while Path(f"/proc/{self._holders[name].pid}/ns/net").readlink() == here:
            assert self._holders[name].poll() is None, "no namespace could be made"
            assert time.monotonic() < until
            time.sleep(0.01)

    def _join(self, place: str) -> None:
        self._ip("switch", f"link add {place} type veth peer name up0 netns {self._holders[place].pid}")
        self._ip("switch", f"link set {place} master br0 up")
        self._ip(place, f"addr add {self.address[place]}/24 dev up0")
        self._ip(place, "link set up0 up")
        self._ip(place, "link set lo up")
        self._ip(place, "route add default via 10.77.0.1")

    def _ip(self, place: str, command: str) -> None:
        subprocess.run(
            ["nsenter", f"--net={self._of(place)}", "ip", *command.split()], check=True, capture_output=True
        )

    def _of(self, place: str) -> str:
        return f"/proc/{self._holders[place].pid}/ns/net"

    def cut(self, place: str) -> None:
        """Nothing gets there or from there; nobody is told."""
        self._ip("switch", f"link set {place} down")

    def mend(self, place: str) -> None:
        self._ip("switch", f"link set {place} up")

    def enter(self, place: str) -> None:
        """This thread, and the processes that it starts, are in that place from now on."""
        libc = ctypes.CDLL(None, use_errno=True)
        handle = os.open(self._of(place), os.O_RDONLY)
        try:
            if libc.setns(handle, CLONE_NEWNET) != 0:
                raise OSError(ctypes.get_errno(), "setns")
        finally:
            os.close(handle)

    def inside(self, place: str, work: Callable[[], T]) -> T:
        """What `work` gives, done in that place."""
        found: list[T] = []
        faults: list[BaseException] = []

        def run() -> None:
            try:
                self.enter(place)
                found.append(work())
            except BaseException as fault:  # told in the thread that waits
                faults.append(fault)

        thread = threading.Thread(target=run)
        thread.start()
        thread.join()
        if faults:
            raise faults[0]
        return found[0]

    def __exit__(self, *_: object) -> None:
        for holder in self._holders.values():
            holder.kill()
            holder.wait()


class PlacedServer(Server):
    """A server that runs in one of the places, and is reached at its address there."""

    def __init__(self, net: Net, place: str, folder: Path, *arguments: str) -> None:
        super().__init__(folder, "--lan", *arguments)
        self.net, self.place = net, place

    def start(self, within_s: float = 90) -> "PlacedServer":
        self.net.inside(self.place, lambda: Server.start(self, within_s))
        return self
