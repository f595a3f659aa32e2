"""What a phone of another site, or one that plays the server, writes into a case: kept, shown, and without
effect."""

import itertools

from invented import START, Phone, kept

from chinrest.log.amendments import stand
from chinrest.log.cases import CaseFact, fold_case
from chinrest.log.incidents import fold_incidents
from chinrest.log.kept import SERVER_SITE, KeptLine
from chinrest.log.timeline import build_timeline

LATER = START + 60_000


def a_case() -> Phone:
    phone = Phone("north phone")
    phone.write("case.opened", "c1", code="N-1")
    phone.write("safety.noted", "c1", note="touched the brow")
    return phone


def at(phone: Phone, site: str, received_at: int = START) -> list[KeptLine]:
    return [kept(line, site=site, received_at=received_at) for line in phone.lines]


def fact(*lines: list[KeptLine]) -> CaseFact:
    return fold_case("c1", stand(itertools.chain(*lines)))


def test_another_sites_phone_cannot_take_a_case_over() -> None:
    """Its opening line may be dated back before the first; it came later all the same."""
    thief = Phone("south phone", at=START - 10**9)
    thief.write("case.opened", "c1", code="S-1")
    found = fact(at(a_case(), "north"), at(thief, "south", LATER))
    assert (found.site, found.code) == ("north", "N-1")


def test_it_can_neither_close_the_case_nor_amend_it() -> None:
    phone, thief = a_case(), Phone("south phone")
    thief.write("line.amended", "c1", line=phone.lines[1].envelope.id, body=None)
    thief.write("case.closed", "c1")
    lines = [*at(phone, "north"), *at(thief, "south", LATER)]
    assert fact(lines).state == "open"
    (incident,) = fold_incidents(stand(lines))
    assert (incident.withdrawn, incident.amended, incident.note) == (False, False, "touched the brow")


def test_what_it_reports_is_listed_and_shown() -> None:
    phone, thief = a_case(), Phone("south phone")
    report = thief.write("safety.noted", "c1", note="from elsewhere")
    standing = stand([*at(phone, "north"), *at(thief, "south", LATER)])
    assert {(i.note, i.site) for i in fold_incidents(standing)} == {
        ("touched the brow", "north"),
        ("from elsewhere", "south"),
    }
    timeline = build_timeline("c1", standing, device_labels={}, site_names={}, position=1)
    assert report.envelope.id in [entry.id for entry in timeline.entries]


def test_a_phone_that_moved_goes_on_with_its_case() -> None:
    phone = a_case()
    before = at(phone, "north")
    closing = phone.write("case.closed", "c1")
    found = fact([*before, kept(closing, site="south", received_at=LATER)])
    assert (found.site, found.state) == ("north", "closed")


def test_a_case_whose_opening_has_not_come_is_not_the_servers() -> None:
    """Its phone's clock is ahead, so that the officer's reading of it stands first."""
    phone, server = Phone("north phone", at=START + 10**9), Phone("server")
    phone.write("safety.noted", "c1")
    server.write("case.read", "c1", by="officer")
    assert fact(at(server, SERVER_SITE), at(phone, "north")).site == "north"


def test_a_reading_that_a_phone_writes_is_none() -> None:
    phone, server = a_case(), Phone("server")
    phone.write("case.read", "c1", by="officer")
    server.write("case.read", "c1", by="officer")
    standing = stand([*at(phone, "north"), *at(server, SERVER_SITE)])
    read = [line for line in standing if line.kept.envelope.type == "case.read"]
    assert {(line.kept.site, line.known, line.body is None) for line in read} == {
        ("north", False, True),
        (SERVER_SITE, True, False),
    }
