"""Classes of a reaction on the officer's page: derived from the pack's tables, and only once it is over."""

import uuid
from typing import Any

import pytest
from callers import OWN_PAGE, House
from carrying import Phone, opened

from chinrest.log.case_events import Body, LineAmended
from chinrest.log.line import Line
from chinrest.log.reaction_events import ReactionEnded, ReactionObserved, ReactionSign, ReactionStarted
from chinrest.log.write import new_salt
from chinrest.server.context import now_ms


class Visit:
    """One case with a reaction in it, line by line, under one pack."""

    def __init__(self, house: House, pack: str | None) -> None:
        self.house, self.pack = house, pack
        self.phone: Phone = house.phone()
        self.case = str(uuid.uuid4())
        self.say(opened())
        self.say(ReactionStarted(salt=new_salt()))

    def say(self, body: Body) -> Line:
        line = self.phone.chain.write(
            body, at=now_ms(), mono=self.phone.chain.seq, actor="AB", case=self.case, pack=self.pack
        )
        self.phone.sync(line)
        return line

    def sign(self, name: str, seen: bool = True) -> Line:
        return self.say(ReactionSign(salt=new_salt(), sign=name, seen=seen))

    def end(self) -> Line:
        return self.say(ReactionEnded(salt=new_salt(), outcome="case_stopped"))

    def rows(self) -> list[dict[str, Any]]:
        answer = self.house.as_officer().get(f"/api/cases/{self.case}")
        assert answer.status_code == 200, answer.text
        rows: list[dict[str, Any]] = answer.json()["reactions"]
        return rows

    def classes(self) -> dict[str, str | None]:
        [row] = self.rows()
        return {classed["scale"]: classed["class_id"] for classed in row["classes"]}


@pytest.fixture
def visit(house: House, demo_pack: bytes) -> Visit:
    headers = {"Content-Type": "application/json", **OWN_PAGE}
    sent = house.as_lead().post("/api/packs", content=demo_pack, headers=headers)
    assert sent.status_code == 200, sent.text
    return Visit(house, sent.json()["sha256"])


def test_no_class_while_it_runs(visit: Visit) -> None:
    visit.sign("wheeze")
    [row] = visit.rows()
    assert row["ended_at"] is None
    assert row["classes"] == []
    assert row["signs"] == ["wheeze"]
    assert row["why"].startswith("It has not ended")


def test_each_scale_says_its_own_once_it_is_over(visit: Visit) -> None:
    """Vomiting: mild in the dye's lists, III in Ring and Messmer 1977, 2 in Brown 2004."""
    visit.sign("vomiting")
    visit.sign("vomiting", seen=False)  # gone again: it was seen all the same
    visit.end()
    assert visit.classes() == {
        "fluorescein_survey": "mild",
        "fluorescein_series": "mild",
        "ring_messmer": "III",
        "brown": "2",
    }
    [row] = visit.rows()
    assert row["why"] == ""
    for classed in row["classes"]:
        assert classed["scale_name"]
        assert classed["version"]
        assert classed["by"] == ["vomiting"]


def test_a_low_reading_counts_as_its_sign(visit: Visit) -> None:
    """Systolic under 90 mmHg is low (Sampson 2006); hypotension is 3 in Brown 2004."""
    visit.say(ReactionObserved(salt=new_salt(), systolic=120))
    visit.say(ReactionObserved(salt=new_salt(), systolic=84))
    visit.say(ReactionObserved(salt=new_salt(), systolic=118))
    visit.end()
    assert visit.rows()[0]["lowest"] == {"systolic": 84}
    assert visit.classes()["brown"] == "3"


def test_a_sign_tapped_by_mistake_and_withdrawn_counts_for_nothing(visit: Visit) -> None:
    wrong = visit.sign("no_pulse")
    visit.sign("itching")
    visit.say(LineAmended(salt=new_salt(), line=wrong.envelope.id, body=None, why="tapped by mistake"))
    visit.end()
    assert visit.classes()["ring_messmer"] == "I"


def test_a_reaction_that_was_none_is_not_there(visit: Visit) -> None:
    """The way out opened by mistake, and withdrawn."""
    opening = visit.rows()[0]["line"]
    visit.say(LineAmended(salt=new_salt(), line=opening, body=None, why="opened by mistake"))
    assert visit.rows() == []


def test_without_the_pack_there_is_no_table_and_it_says_so(house: House) -> None:
    for pack in (None, "0" * 64):
        visit = Visit(house, pack)
        visit.sign("wheeze")
        visit.end()
        [row] = visit.rows()
        assert row["classes"] == []
        assert "not on this server" in row["why"]
