"""One round of each who is measured: a new profile on disk, events written, then synced, and synced again."""

import tempfile
from dataclasses import dataclass
from pathlib import Path

from playwright.sync_api import Playwright

from ..phone_side import new_code
from ..server_side import folded
from .pages import ROOT, Bench
from .peers import Running
from .relay import Relay, Traffic

MORE = 100
TAPS = 40
TAP_PAUSE_MS = 40
FIRST_LINES = 2
"""What an enrolled phone has written by itself: that it was enrolled, and the browser's word on its store."""


@dataclass(frozen=True)
class Exchange:
    ms: float
    traffic: Traffic


@dataclass(frozen=True)
class Ours:
    """The bare limit beside each of ours. Times in ms. `folded_ms`: from the last answer until every case is
    folded, so that the desk reads of it without waiting."""

    sync: Exchange
    folded_ms: float
    bare: Exchange
    again: Exchange
    more: Exchange
    bare_more: Exchange
    first_append_ms: float
    bare_first_put_ms: float
    chain_ms: float
    taps_ms: list[float]
    bare_taps_ms: list[float]


@dataclass(frozen=True)
class Theirs:
    sync: Exchange
    again: Exchange
    taps_ms: list[float]


@dataclass(frozen=True)
class Hub:
    """Our server and the bare one behind one relay, so that both are asked from one origin and one store."""

    relay: Relay
    port: int
    bare_port: int
    data: Path

    @property
    def base(self) -> str:
        return f"http://127.0.0.1:{self.relay.port}"

    def enrolled(self, playwright: Playwright, profile: Path, script: str, count: int) -> Bench:
        """A page of an enrolled phone with `count` unsent events; its log is closed."""
        bench = Bench(playwright, self.base, profile, script)
        bench.call("enrol", new_code(self.data))
        bench.rest(500)
        bench.call("write", count)
        return bench

    def open_without_link(self, bench: Bench) -> None:
        """Opened where the server can't be reached; then the link comes back, and the next press finds it."""
        self.relay.shut(True)
        bench.call("open")
        bench.call("noticeShut")
        self.relay.shut(False)
        self.relay.since()

    def sync(self, bench: Bench) -> Exchange:
        self.relay.since()
        ms = bench.call("sync")
        return Exchange(ms, self.relay.since())

    def bare(self, bench: Bench, run: str, skip: int, count: int) -> Exchange:
        self.relay.turn_to(self.bare_port)
        bench.rest(100)
        self.relay.since()
        said = bench.call("bare", run, skip, count)
        traffic = self.relay.since()
        self.relay.turn_to(self.port)
        bench.rest(100)
        if said["held"] != count:
            raise RuntimeError(f"the bare server holds {said['held']} lines, not {count}")
        return Exchange(said["ms"], traffic)


def ours(playwright: Playwright, hub: Hub, script: str, run: str, count: int, *, bare_first: bool) -> Ours:
    with tempfile.TemporaryDirectory(dir=ROOT) as profile:  # beside the sources: the disk, not memory
        bench = hub.enrolled(playwright, Path(profile), script, count)
        before = hub.bare(bench, run, FIRST_LINES, count) if bare_first else None
        hub.open_without_link(bench)
        synced = hub.sync(bench)
        folded_ms = folded(hub.data) * 1000
        again = hub.sync(bench)
        bench.call("write", MORE)
        more = hub.sync(bench)
        taps = bench.call("taps", TAPS, TAP_PAUSE_MS)
        bench.call("close")
        chain_ms = bench.call("chainCost", synced.traffic.requests)
        bare = before or hub.bare(bench, run, FIRST_LINES, count)
        bare_more = hub.bare(bench, f"{run}-more", FIRST_LINES + count, MORE)
        bench.close()
        first: dict[str, float] = {}
        order = ("bareFirstPut", "firstAppend") if bare_first else ("firstAppend", "bareFirstPut")
        for name in order:  # each in a browser that has just started
            bench = Bench(playwright, hub.base, Path(profile), script)
            first[name] = bench.call(name)
            bench.close()
    return Ours(
        sync=synced,
        folded_ms=folded_ms,
        bare=bare,
        again=again,
        more=more,
        bare_more=bare_more,
        first_append_ms=first["firstAppend"],
        bare_first_put_ms=first["bareFirstPut"],
        chain_ms=chain_ms,
        taps_ms=taps["ours"],
        bare_taps_ms=taps["bare"],
    )


def ours_throttled(playwright: Playwright, hub: Hub, script: str, count: int, rate: int) -> float:
    with tempfile.TemporaryDirectory(dir=ROOT) as profile:
        bench = hub.enrolled(playwright, Path(profile), script, count)
        hub.open_without_link(bench)
        bench.throttle(rate)
        synced = hub.sync(bench)
        bench.close()
    return synced.ms


def ours_cut(playwright: Playwright, hub: Hub, script: str, count: int, up_bytes: int) -> Traffic:
    """All that goes over the wire when the first try is cut after so many bytes and the next one is not."""
    with tempfile.TemporaryDirectory(dir=ROOT) as profile:
        bench = hub.enrolled(playwright, Path(profile), script, count)
        hub.open_without_link(bench)
        hub.relay.cut_after(up_bytes)
        bench.call("noticeShut")
        if not hub.relay.is_shut:
            raise RuntimeError("nothing was cut")
        hub.relay.shut(False)
        bench.call("sync")
        bench.close()
        return hub.relay.since()


def theirs(
    playwright: Playwright, peer: Running, relay: Relay, run: str, count: int, rate: int = 1
) -> Theirs:
    with tempfile.TemporaryDirectory(dir=ROOT) as profile:
        bench = Bench(playwright, f"http://127.0.0.1:{relay.port}", Path(profile), peer.script)
        bench.call("open", run)
        bench.call("write", count)
        bench.throttle(rate)
        relay.since()
        synced = Exchange(bench.call("sync"), relay.since())
        bench.throttle(1)
        peer.check(run, count)  # its time counts only with every event on its server
        relay.since()
        again = Exchange(bench.call("sync"), relay.since())
        taps: list[float] = []
        for _ in range(TAPS):
            bench.rest(TAP_PAUSE_MS)
            taps.append(bench.call("tap"))
        bench.close()
    return Theirs(synced, again, taps)
