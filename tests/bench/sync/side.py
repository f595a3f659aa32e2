"""Events from the phone's browser to the server: ours, the bare limit, the peers, in rounds that take turns.

`CHINREST_BENCH_ROUNDS` says how many (3). Figures are medians of the rounds; a ratio is the median of the
rounds' own ratios, since what else the machine does changes from round to round. The peers' events carry no
chain, no salt and no hash: what these cost is within our figures, and told apart.
"""

import gzip
import json
import os
import sqlite3
import sys
import tempfile
import time
from collections import defaultdict
from collections.abc import Sequence
from contextlib import ExitStack
from hashlib import sha256
from pathlib import Path
from statistics import median

from playwright.sync_api import Playwright, sync_playwright

from chinrest.log.signing import is_signed, new_key, public_of, sign

from ..phone_side import percentile
from ..server_side import free_port, started
from ..table import Row
from .pages import ROOT, bundled
from .peers import PEERS, REACTIVE, SHARED, Running, installed, running, version
from .relay import Relay, Traffic
from .rounds import MORE, Exchange, Hub, Ours, Theirs, ours, ours_cut, ours_throttled, theirs

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from short_form import shorten

SIZES = (1_000, 10_000)
SLOW_RATE = 4
RECORD_KEEPERS = tuple(peer.name for peer in PEERS if peer is not SHARED)


def rounds() -> int:
    return int(os.environ.get("CHINREST_BENCH_ROUNDS", "3"))


class Measured:
    """What the rounds gave: `ours` and `theirs` by size, each round in its place."""

    def __init__(self) -> None:
        self.ours: dict[int, list[Ours]] = defaultdict(list)
        self.theirs: dict[tuple[str, int], list[Theirs]] = defaultdict(list)
        self.slow: dict[str, list[float]] = defaultdict(list)
        self.cut = Traffic()


def _all_rounds(playwright: Playwright, hub: Hub, peers: Sequence[tuple[Running, Relay]]) -> Measured:
    script = bundled(ROOT / "tests/bench/sync/ours.ts")
    got = Measured()
    for turn in range(rounds()):
        for size in SIZES:
            run = f"run-{size}-{turn}"
            got.ours[size].append(ours(playwright, hub, script, run, size, bare_first=turn % 2 == 0))
            for peer, relay in peers:
                got.theirs[peer.peer.name, size].append(theirs(playwright, peer, relay, run, size))
        slow = f"slow-{turn}"
        got.slow["ours"].append(ours_throttled(playwright, hub, script, SIZES[-1], SLOW_RATE))
        for peer, relay in peers:
            if peer.peer is SHARED:
                done = theirs(playwright, peer, relay, slow, SIZES[-1], SLOW_RATE)
                got.slow[SHARED.name].append(done.sync.ms)
    half = got.ours[SIZES[-1]][-1].sync.traffic.up_bytes // 2
    got.cut = ours_cut(playwright, hub, script, SIZES[-1], half)
    return got


def _kb(count: float) -> str:
    return f"{count / 1000:,.0f} kB" if count >= 10_000 else f"{count:,.0f} B"


def _told(done: Sequence[Exchange]) -> str:
    up, down = (median(getattr(x.traffic, name) for x in done) for name in ("up_bytes", "down_bytes"))
    requests = median(x.traffic.requests for x in done)
    return f"{median(x.ms for x in done):,.0f} ms, up {_kb(up)}, down {_kb(down)}, requests {requests:.0f}"


def _taps(times: Sequence[float]) -> str:
    return f"p50 {percentile(list(times), 0.5):.1f} ms, p95 {percentile(list(times), 0.95):.1f} ms"


def _figures(got: Measured, names: dict[str, str]) -> list[Row]:
    rows = []
    for size in SIZES:
        own = got.ours[size]
        rows.append(Row(f"{size:,} events, ours", _told([x.sync for x in own])))
        folded = [x.sync.ms + x.folded_ms for x in own]
        rows.append(
            Row(f"{size:,} events, ours, until every case is folded too", f"{median(folded):,.0f} ms")
        )
        rows.append(Row(f"{size:,} events, the bare limit", _told([x.bare for x in own])))
        rows += [
            Row(f"{size:,} events, {what}", _told([x.sync for x in got.theirs[name, size]]))
            for name, what in names.items()
        ]
    last = SIZES[-1]
    rows.append(Row("synced again, ours", _told([x.again for x in got.ours[last]])))
    rows += [
        Row(f"synced again, {what}", _told([x.again for x in got.theirs[name, last]]))
        for name, what in names.items()
    ]
    own_taps = [ms for size in SIZES for x in got.ours[size] for ms in x.taps_ms]
    rows.append(Row(f"one tap to durable, ours (strict), n = {len(own_taps)}", _taps(own_taps)))
    for name, what in names.items():
        their_taps = [ms for size in SIZES for x in got.theirs[name, size] for ms in x.taps_ms]
        rows.append(Row(f"one tap to its own store, {what} (not strict)", _taps(their_taps)))
    return rows


def _ratio(ratios: Sequence[float]) -> str:
    spread = f" ({min(ratios):.2f} to {max(ratios):.2f})" if len(ratios) > 1 else ""
    return f"{median(ratios):.2f} ×{spread}"


def _at_most(what: str, ratios: Sequence[float], limit: float) -> Row:
    return Row(what, _ratio(ratios), f"≤ {limit:g} ×", median(ratios) <= limit)


def _targets(got: Measured) -> list[Row]:
    last = SIZES[-1]
    own = got.ours[last]
    turns = range(len(own))
    keepers = [[got.theirs[name, last][turn] for name in RECORD_KEEPERS] for turn in turns]
    faster = [min(x.sync.ms for x in keepers[turn]) / own[turn].sync.ms for turn in turns]
    every = [[got.theirs[peer.name, last][turn] for peer in PEERS] for turn in turns]
    least = [min(x.sync.traffic.up_bytes for x in every[turn]) for turn in turns]
    up = [x.sync.traffic.up_bytes for x in own]
    clean = own[-1].sync.traffic
    again = [x.again.traffic for x in own]
    taps = [
        (x, y)
        for size in SIZES
        for one in got.ours[size]
        for x, y in zip(one.taps_ms, one.bare_taps_ms, strict=True)
    ]
    p95 = percentile([x for x, _ in taps], 0.95) / percentile([y for _, y in taps], 0.95)
    repeat = median(x.up_bytes for x in again)
    once = max(x.requests for x in again) == 1
    return [
        _at_most(f"{last:,} events against bare", [x.sync.ms / x.bare.ms for x in own], 1.2),
        Row(
            f"{last:,} events, until every case is folded too, against bare",
            _ratio([(x.sync.ms + x.folded_ms) / x.bare.ms for x in own]),
        ),
        Row("the faster record-keeping peer against ours", _ratio(faster), "≥ 4 ×", median(faster) >= 4),
        _at_most(
            f"against the shared document at {SLOW_RATE}x throttle",
            [x / y for x, y in zip(got.slow["ours"], got.slow[SHARED.name], strict=True)],
            1,
        ),
        _at_most(f"{MORE} more events against bare", [x.more.ms / x.bare_more.ms for x in own], 1.5),
        _at_most(
            f"reopened with {last:,} and the first append, against bare",
            [x.first_append_ms / x.bare_first_put_ms for x in own],
            2,
        ),
        _at_most(
            "bytes in all after a cut in mid-request, against a clean sync's",
            [(got.cut.up_bytes + got.cut.down_bytes) / (clean.up_bytes + clean.down_bytes)],
            1.2,
        ),
        _at_most(
            "bytes up against bare", [x.sync.traffic.up_bytes / x.bare.traffic.up_bytes for x in own], 1.15
        ),
        _at_most("bytes up against the best peer's", [x / y for x, y in zip(up, least, strict=True)], 0.25),
        Row(
            "a repeat sync's request, headers included",
            f"{repeat:,.0f} B up in {max(x.requests for x in again)} request",
            "1 request, < 1 kB",
            once and repeat < 1000,
        ),
        Row(
            f"tap to durable, p95 against a bare strict put, n = {len(taps)}",
            f"{p95:.2f} ×",
            "≤ 2 ×",
            p95 <= 2,
        ),
    ]


def _apart(got: Measured, bare_file: Path) -> list[Row]:
    """What the chain and the signatures cost within our figures: time at either end, bytes on the wire."""
    last = SIZES[-1]
    with sqlite3.connect(bare_file) as store:
        rows = store.execute("SELECT raw FROM lines WHERE run = ? ORDER BY seq", (f"run-{last}-0",))
        lines = [raw for (raw,) in rows]
    batches = int(median(x.sync.traffic.requests for x in got.ours[last]))
    key = new_key()
    public = public_of(key)
    head = sha256(lines[-1]).hexdigest()
    signature = sign(key, head)
    began = time.perf_counter()
    for line in lines:
        envelope, _, body = line.partition(b"\t")
        sha256(envelope).hexdigest()
        sha256(body).hexdigest()
    for _ in range(batches):
        is_signed(public, head, signature)
    server_ms = (time.perf_counter() - began) * 1000
    plain = []
    for line in lines:
        envelope, _, body = line.partition(b"\t")
        said, fields = json.loads(envelope), json.loads(body)
        for name in ("prev", "body_sha256"):
            del said[name]
        del fields["salt"]
        plain.append(
            json.dumps(said, separators=(",", ":")) + "\t" + json.dumps(fields, separators=(",", ":"))
        )
    sent = shorten(lines)
    assert sent is not None
    whole = len(gzip.compress(b"\n".join(sent), 6))
    without = len(gzip.compress("\n".join(plain).encode(), 6))
    phone_ms = median(x.chain_ms for x in got.ours[last])
    return [
        Row(
            f"of this, chain and signatures ({batches} batches)",
            f"phone {phone_ms:.0f} ms, server {server_ms:.0f} ms; "
            f"{_kb(whole - without)} of {_kb(whole)} packed",
        )
    ]


def measure() -> list[Row]:
    folder_of_peers = installed()
    names = {}
    for peer in PEERS:
        versions = ", ".join(version(folder_of_peers, package) for package in peer.packages)
        more = ", endpoint as its documentation has it" if peer is REACTIVE else ""
        names[peer.name] = f"{peer.what} ({versions}{more})"
    with (
        tempfile.TemporaryDirectory(dir=ROOT) as folder,
        sync_playwright() as playwright,
        ExitStack() as stack,
    ):
        data, bare_file = Path(folder, "data"), Path(folder, "bare.db")
        port, bare_port = free_port(), free_port()
        serve = [
            sys.executable,
            "-m",
            "chinrest.cli",
            "serve",
            "--demo",
            "--data",
            str(data),
            "--port",
            str(port),
        ]
        stack.enter_context(started(serve, port, folder))
        bare = [sys.executable, "-m", "uvicorn", "bare_server:app", "--port", str(bare_port)]
        os.environ["BARE_FILE"] = str(bare_file)
        stack.enter_context(started(bare, bare_port, str(Path(__file__).parent)))
        hub = Hub(stack.enter_context(Relay(port)), port, bare_port, data)
        peers = []
        for peer in PEERS:
            there = stack.enter_context(running(peer, folder_of_peers, folder))
            peers.append((there, stack.enter_context(Relay(there.port))))
        got = _all_rounds(playwright, hub, peers)
        return [*_figures(got, names), *_targets(got), *_apart(got, bare_file)]
