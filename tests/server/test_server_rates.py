"""Rates at the desk: counted from the log, with their denominators, rules and intervals."""

import uuid
from typing import Any

import pytest
from callers import OWN_PAGE, House
from carrying import Phone, opened
from msgspec.structs import replace

from chinrest.log.case_events import CaseClosed, LineAmended, OpticChosen, SafetyNoted
from chinrest.log.dye_events import DyeInjected
from chinrest.log.reaction_seen import ReactionSeen
from chinrest.log.write import new_salt
from chinrest.model.rates.summary import rate_of
from chinrest.server.reaction_rates import NO_TABLE, RUNNING, class_of
from chinrest.store.counting import SeenReaction


def noted(what: str, **fields: Any) -> SafetyNoted:
    plain = SafetyNoted(
        salt=new_salt(), what=what, reached_patient=True, harm="mild", signs=[], done=[], told=[]
    )
    return replace(plain, **fields)


def injected(dye: str = "fluorescein") -> DyeInjected:
    return DyeInjected(
        salt=new_salt(), dye=dye, arm="left", route="intravenous", pressed_at=1, pressed_mono=1
    )


def visit(phone: Phone, *bodies: Any, optic: str = "wide") -> str:
    case = str(uuid.uuid4())
    written = [opened(), OpticChosen(salt=new_salt(), optic=optic), *bodies]
    phone.sync(*[phone.write(body, case) for body in written])
    return case


def asked(house: House, **wanted: Any) -> Any:
    answer = house.as_officer().get("/api/rates", params=wanted)
    assert answer.status_code == 200, answer.text
    return answer.json()


@pytest.fixture
def served(house: House) -> House:
    """Two sites' invented week: nine visits, seven injections, two reactions, one touch, one near miss."""
    harbour, lighthouse = house.phone(), house.phone("lighthouse")
    harbour.sync(harbour.first_line())
    lighthouse.sync(lighthouse.first_line())
    for _ in range(4):
        visit(harbour, injected())
    visit(harbour, injected(), noted("dye_reaction"))
    visit(harbour, noted("touched_by_optic", optic="ultrawide", harm="none"), optic="ultrawide")
    visit(lighthouse, injected("indocyanine_green"), noted("dye_reaction", harm="severe"))
    visit(lighthouse, injected(), noted("optic_loose_or_dropped", reached_patient=False, harm="none"))
    visit(lighthouse, noted("dye_reaction"))  # no injection on record
    cancelled = visit(lighthouse)
    lighthouse.sync(lighthouse.write(CaseClosed(salt=new_salt(), outcome="cancelled"), cancelled))
    return house


def test_reactions_among_injections_by_dye(served: House) -> None:
    report = asked(served, of="reaction", by="dye")
    assert [(row["key"], row["events"], row["procedures"]) for row in report["rows"]] == [
        ("fluorescein", 1, 6),
        ("indocyanine_green", 1, 1),
    ]
    total = report["total"]
    assert (total["events"], total["procedures"]) == (2, 7)
    expected = rate_of(2, 7)
    assert total["rate"]["per_1000"] == pytest.approx(expected.per_1000)
    assert total["rate"]["exact95"] == pytest.approx(expected.exact95)
    assert any("1 without a dye on record" in rule for rule in report["rules"])
    assert any("1 cancelled" in rule for rule in report["rules"])
    beside = {item["published"]["id"]: item for item in report["published"]}
    assert beside["kwan-2006"]["rate"]["per_1000"] == pytest.approx(11.09, abs=0.01)
    assert beside["kwan-2006"]["comparison"]["p_two_sided"] < 0.1


@pytest.mark.parametrize(
    ("wanted", "rows"),
    [
        ({"of": "reaction", "by": "site"}, [("harbour", 1, 5), ("lighthouse", 1, 2)]),
        ({"of": "reaction", "by": "harm"}, [("mild", 1, 7), ("severe", 1, 7)]),
        ({"of": "touch", "by": "optic"}, [("ultrawide", 1, 1), ("wide", 0, 8)]),
        ({"of": "near_miss", "by": "what"}, [("optic_loose_or_dropped", 1, 9)]),
        ({"of": "event", "by": "what"}, [("dye_reaction", 3, 9), ("touched_by_optic", 1, 9)]),
        ({"of": "event", "by": "none"}, []),
        ({"of": "event", "by": "site", "site": "harbour"}, [("harbour", 2, 6)]),
    ],
)
def test_each_rate_has_its_own_denominator(served: House, wanted: Any, rows: Any) -> None:
    report = asked(served, **wanted)
    assert [(row["key"], row["events"], row["procedures"]) for row in report["rows"]] == rows
    assert report["definition"]
    assert report["position"] > 0


def test_a_period_with_nothing_done_has_no_rate(served: House) -> None:
    total = asked(served, of="reaction", last="2001-01")["total"]
    assert (total["events"], total["procedures"], total["rate"]) == (0, 0, None)
    assert "no rate" in total["none"]


def test_more_events_than_procedures_are_said_and_not_divided(served: House) -> None:
    phone = served.phone()
    visit(phone, injected(), noted("dye_reaction"), noted("dye_reaction"))
    report = asked(served, of="reaction", by="site", site="harbour")
    assert report["total"]["rate"] is not None
    only = asked(served, of="touch", by="optic")
    assert all(row["rate"] is not None for row in only["rows"])
    phone.sync(
        phone.write(noted("touched_by_optic", optic="other"), visit(phone)),
    )
    [row] = [row for row in asked(served, of="touch", by="optic")["rows"] if row["key"] == "other"]
    assert (row["rate"], row["procedures"]) == (None, 0)


def test_it_is_provisional_while_a_device_may_hold_lines(served: House) -> None:
    assert asked(served, of="event", last="2020-01")["provisional"] == []
    waiting = served.phone()
    waiting.sync(waiting.first_line(), waiting=5)
    awaited = asked(served, of="event")["provisional"]
    assert [device["waiting"] for device in awaited if device["waiting"]] == [4]
    served.as_lead().post(f"/api/devices/{waiting.device}/withdraw", json={"why": "lost"}, headers=OWN_PAGE)
    assert not [device for device in asked(served, of="event")["provisional"] if device["waiting"]]


@pytest.mark.parametrize(
    ("wanted", "where"),
    [
        ({"of": "luck"}, "of"),
        ({"of": "touch", "by": "dye"}, "by"),
        ({"of": "touch", "first": "2026"}, "first"),
        ({"of": "touch", "first": "2026-13"}, "first"),
        ({"of": "touch", "first": "2026-02", "last": "2026-01"}, "last"),
    ],
)
def test_what_cannot_be_asked_is_named(served: House, wanted: Any, where: str) -> None:
    answer = served.as_officer().get("/api/rates", params=wanted)
    assert answer.status_code == 400
    assert answer.json()["where"] == where


def test_strangers_learn_nothing(served: House) -> None:
    assert served.as_nobody().get("/api/rates", params={"of": "event"}).status_code == 401


def test_dye_that_is_drunk_has_a_rate_of_its_own(served: House) -> None:
    phone = served.phone()
    drunk = replace(injected(), route="oral")
    visit(phone, drunk, noted("dye_reaction"))
    visit(phone, drunk)
    report = asked(served, of="reaction_oral", by="dye")
    assert [(row["key"], row["events"], row["procedures"]) for row in report["rows"]] == [
        ("fluorescein", 1, 2)
    ]
    assert {item["published"]["route"] for item in report["published"]} == {"oral"}
    beside = asked(served, of="reaction", by="dye")
    assert (beside["total"]["events"], beside["total"]["procedures"]) == (2, 7)
    assert {item["published"]["route"] for item in beside["published"]} == {"intravenous"}


def test_reactions_by_class_on_a_named_scale(house: House, demo_pack: bytes) -> None:
    headers = {**OWN_PAGE, "Content-Type": "application/json"}
    answer = house.as_lead().post("/api/packs", content=demo_pack, headers=headers)
    named = answer.json()["sha256"]
    phone = house.phone()
    phone.sync(phone.first_line())
    for signs, pack in ((["nausea"], named), (["no_pulse"], named), (["other"], named), (["nausea"], None)):
        case = str(uuid.uuid4())
        written = [opened(), injected(), noted("dye_reaction", signs=signs)]
        phone.sync(
            *(
                phone.chain.write(body, at=1_790_000_000_000, mono=1, actor="AB", case=case, pack=pack)
                for body in written
            )
        )
    report = asked(house, of="reaction", by="class")
    assert report["scale"] == report["scales"][0]["id"]
    for scale in report["scales"]:
        one = asked(house, of="reaction", by="class", scale=scale["id"])
        rows = {row["key"]: (row["events"], row["procedures"]) for row in one["rows"]}
        assert rows["no_table"] == (1, 4)
        assert sum(events for events, _ in rows.values()) == one["total"]["events"] == 4
        # every class of the scale has its row, the lightest first, those without a reaction too
        assert list(scale["classes"]) == [row["key"] for row in one["rows"]][: len(scale["classes"])]
    refused = house.as_officer().get("/api/rates", params={"of": "reaction", "by": "class", "scale": "luck"})
    assert (refused.status_code, refused.json()["where"]) == (400, "scale")


def test_a_reaction_that_has_not_ended_has_no_class() -> None:
    """Nor one whose pack is not here: which of the two is said."""
    running = SeenReaction(pack=None, seen=ReactionSeen(signs=["nausea"], ended=False))
    over = SeenReaction(pack=None, seen=ReactionSeen(signs=["nausea"], ended=True))
    assert (class_of(running, None, "brown"), class_of(over, None, "brown")) == (RUNNING, NO_TABLE)


def judged(house: House, harm: str | None, *lines: str) -> None:
    for line in lines:
        answer = house.as_officer().post(
            f"/api/incidents/{line}/classification",
            json={
                "seen": house.as_officer().get(f"/api/incidents/{line}").json()["review"]["count"],
                "harm": harm,
                "preventable": "no",
                "factors": [],
                "reaction": None,
                "note": "",
            },
            headers=OWN_PAGE,
        )
        assert answer.status_code == 200, answer.text


def test_harm_as_the_desk_judged_it_with_what_is_not_yet_judged_apart(served: House) -> None:
    listed = served.as_officer().get("/api/incidents").json()["rows"]
    events = {(row["what"], row["harm"], row["site"]): row["line"] for row in listed}
    severe, mild = (
        events["dye_reaction", "severe", "lighthouse"],
        events["dye_reaction", "mild", "harbour"],
    )
    judged(served, "moderate", severe)
    judged(served, "severe", severe)  # judged again: the last one stands
    judged(served, None, mild)
    served.as_officer().post(  # a comment is no judgement
        f"/api/incidents/{events['touched_by_optic', 'none', 'harbour']}/comments",
        json={"seen": 0, "text": "asked the site"},
        headers=OWN_PAGE,
    )
    report = asked(served, of="event", by="desk_harm")
    assert [(row["key"], row["events"], row["procedures"]) for row in report["rows"]] == [
        ("severe", 1, 9),
        ("left_open", 1, 9),
        ("unjudged", 2, 9),
    ]
    assert sum(row["events"] for row in report["rows"]) == report["total"]["events"]
    assert "not by the reporter's" in report["definition"]
    assert any("2 not judged yet stand in a row of their own" in rule for rule in report["rules"])
    reactions = asked(served, of="reaction", by="desk_harm")
    assert [(row["key"], row["events"]) for row in reactions["rows"]] == [("severe", 1), ("left_open", 1)]
    assert asked(served, of="reaction", by="desk_harm", last="2001-01")["rows"] == []


@pytest.mark.parametrize("of", ["event", "reaction", "reaction_oral"])
def test_the_two_ways_of_counting_by_harm_agree(served: House, of: str) -> None:
    """By the reporter's harm the sums count, by the desk's the incidents themselves: the events are the
    same."""
    phone = served.phone()
    visit(phone, replace(injected(), route="oral"), noted("dye_reaction", harm=None))
    gone = visit(phone, injected())
    event = phone.write(noted("dye_reaction", harm="death"), gone)
    phone.sync(event)
    phone.sync(
        phone.write(LineAmended(salt=new_salt(), line=event.envelope.id, body=None, why="wrong case"), gone)
    )
    report = asked(served, of=of, by="harm")
    by_reported: dict[str, int] = {}
    for pair in report["harm_pairs"]:
        by_reported[pair["reported"]] = by_reported.get(pair["reported"], 0) + pair["events"]
    assert by_reported == {row["key"]: row["events"] for row in report["rows"]}
    assert sum(by_reported.values()) == report["total"]["events"] > 0
