"""What must hold after any bad day: each acknowledged line present once, byte for byte, in sequence, and each
fold equal to the model's own of the same lines."""

import time
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping

from simulated import Simulated
from stored import rows

from chinrest.log.amendments import stand
from chinrest.log.cases import fold_case
from chinrest.log.incidents import fold_incidents
from chinrest.log.kept import KeptLine
from chinrest.log.line import decode_envelope
from chinrest.log.tallies import fold_tallies
from chinrest.log.verify import verify
from chinrest.store.engines import Place

CASE = ("case_id", "site", "code", "opened", "state", "outcome", "practice")
INCIDENT = (
    *("line", "case_id", "case_code", "site", "device", "at", "received_at", "what", "reached_patient"),
    *("harm", "near_miss", "practice", "optic", "amended", "withdrawn", "note", "after_closing", "pack"),
)
TALLY = ("case_id", "kind", "key", "sub", "n", "site", "month", "at")
SUM = "kind, key, sub, site, month, n"
BOOLEANS = {"opened", "practice", "reached_patient", "near_miss", "amended", "withdrawn", "after_closing"}


def hold(place: Place, phones: Iterable[Simulated]) -> int:
    """After all was sent: everything that these phones wrote stands; how many lines."""
    written = {phone.device: phone.raws for phone in phones}
    for phone in phones:
        assert len(phone.acknowledged) == len(phone.lines)
    return hold_raws(place, written)


def hold_raws(place: Place, written: Mapping[str, list[bytes]]) -> int:
    """The same of any devices' lines as they wrote them, by sequence."""
    for device, raws in written.items():
        found = stored(place, device)
        assert found == raws, f"{device}: {len(found)} lines stand, {len(raws)} were acknowledged"
        verdict = verify(found)
        assert verdict.ok, verdict.first_bad
    hold_folds(place)
    return sum(map(len, written.values()))


def stored(place: Place, device: str) -> list[bytes]:
    """The device's lines as they stand; two at one sequence would both be here."""
    found = rows(place, "SELECT envelope, body FROM lines WHERE device = ? ORDER BY seq, id", device)
    return [bytes(envelope) + b"\t" + bytes(body) for envelope, body in found]


def wait_for_folds(place: Place) -> None:
    """A large batch's cases are folded after its answer. The bound is for a machine that stands still."""
    until = time.monotonic() + 60
    while rows(place, "SELECT count(*) FROM unfolded") != [(0,)]:
        assert time.monotonic() < until, "lines stand that were never folded"
        time.sleep(0.02)


def hold_folds(place: Place) -> None:
    """The folded tables against the pure model over every line that stands."""
    wait_for_folds(place)
    by_case: dict[str, list[KeptLine]] = defaultdict(list)
    loose: dict[str, list[KeptLine]] = defaultdict(list)
    columns = "envelope, body, received_at, offset_ms, site, case_id, device"
    for envelope, body, received_at, offset_ms, site, case, device in rows(
        place, f"SELECT {columns} FROM lines"
    ):
        kept = KeptLine(
            envelope=decode_envelope(bytes(envelope)),
            body=bytes(body),
            received_at=received_at,
            offset_ms=offset_ms,
            site=site,
        )
        (loose[device] if case is None else by_case[case]).append(kept)
    cases: Counter[tuple[object, ...]] = Counter()
    incidents: Counter[tuple[object, ...]] = Counter()
    tallies: Counter[tuple[object, ...]] = Counter()
    summed: Counter[tuple[object, ...]] = Counter()
    for case, lines in by_case.items():
        standing = stand(lines)
        fact, found = fold_case(case, standing), fold_incidents(standing)
        cases[(case, fact.site, fact.code, fact.opened, fact.state, fact.outcome, fact.practice)] += 1
        incidents.update(_incident(incident) for incident in found)
        counted = fold_tallies(fact, standing, found)
        for tally in counted.tallies if counted else []:
            at = (fact.site, counted.month, counted.at)
            tallies[(case, tally.kind, tally.key, tally.sub, tally.n, *at)] += 1
            summed[tally.kind, tally.key, tally.sub, fact.site, counted.month] += tally.n
    for lines in loose.values():
        incidents.update(_incident(incident) for incident in fold_incidents(stand(lines)))
    assert table(place, "cases", CASE) == cases
    assert table(place, "incidents", INCIDENT) == incidents
    assert table(place, "tallies", TALLY) == tallies
    assert {row[:5]: row[5] for row in rows(place, f"SELECT {SUM} FROM sums")} == summed


def _incident(incident: object) -> tuple[object, ...]:
    return tuple(getattr(incident, "case" if name == "case_id" else name) for name in INCIDENT)


def table(place: Place, name: str, columns: tuple[str, ...]) -> Counter[tuple[object, ...]]:
    found = rows(place, f"SELECT {', '.join(columns)} FROM {name}")
    return Counter(
        tuple(
            bool(value) if column in BOOLEANS and value is not None else value
            for column, value in zip(columns, row, strict=True)
        )
        for row in found
    )
