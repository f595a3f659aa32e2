"""What a case adds to the counts: each rule of counting, by a case that shows it."""

from typing import Any

from invented import Phone, kept

from chinrest.log.amendments import stand
from chinrest.log.cases import fold_case
from chinrest.log.incidents import fold_incidents
from chinrest.log.tallies import CaseTallies, fold_tallies, month_of

SAFETY: dict[str, Any] = {"signs": [], "done": [], "told": []}


def folded(phone: Phone) -> CaseTallies | None:
    standing = stand(kept(line) for line in phone.lines)
    return fold_tallies(fold_case("c1", standing), standing, fold_incidents(standing))


def counted(phone: Phone) -> dict[tuple[str, str, str], int]:
    found = folded(phone)
    assert found is not None
    return {(tally.kind, tally.key, tally.sub): tally.n for tally in found.tallies}


def opened(practice: bool = False) -> Phone:
    phone = Phone()
    phone.write("case.opened", "c1", practice=practice)
    return phone


def injected(phone: Phone, dye: str = "fluorescein", route: str = "intravenous") -> Any:
    return phone.write(
        "dye.injected", "c1", dye=dye, arm="left", route=route, pressed_at=phone.at, pressed_mono=1
    )


def reaction(phone: Phone, **fields: Any) -> Any:
    given = {**SAFETY, "what": "dye_reaction", "reached_patient": True, "harm": "mild", **fields}
    return phone.write("safety.noted", "c1", **given)


def test_each_kind_is_counted_by_what_and_which() -> None:
    phone = opened()
    phone.write("optic.chosen", "c1", optic="wide")
    phone.write("optic.chosen", "c1", optic="ultra")
    phone.write("optic.chosen", "c1", optic="wide")
    injected(phone)
    injected(phone, "indocyanine_green")
    injected(phone, "fluorescein", "oral")
    phone.write("step.skipped", "c1", step="hearing_aid", reason="not_needed")
    reaction(phone)
    reaction(phone, what="optic_loose", reached_patient=False, harm="none")
    reaction(phone, what="touched_by_optic", optic="ultra", harm="none")
    found = {key: n for key, n in counted(phone).items() if key[0] != "stage"}
    assert found == {
        ("visit", "", ""): 1,
        ("use", "wide", ""): 2,
        ("use", "ultra", ""): 1,
        ("injection", "fluorescein", "intravenous"): 1,
        ("drink", "fluorescein", "oral"): 1,
        ("injection", "indocyanine_green", "intravenous"): 1,
        ("skipped", "hearing_aid", "not_needed"): 1,
        ("reaction_oral", "fluorescein", "mild"): 1,  # the last dye given before it was drunk
        ("event", "dye_reaction", "mild"): 1,
        ("near_miss", "optic_loose", ""): 1,
        ("event", "touched_by_optic", "none"): 1,
        ("touch", "ultra", ""): 1,
    }


def test_a_reaction_without_an_injection_on_record_has_no_dye() -> None:
    phone = opened()
    reaction(phone)
    assert counted(phone)["reaction", "", "mild"] == 1


def test_practice_and_cancelled_cases_are_left_out() -> None:
    assert folded(opened(practice=True)) is None
    phone = opened()
    phone.write("case.closed", "c1", outcome="cancelled")
    assert folded(phone) is None


def test_a_cancelled_case_counts_once_dye_was_given() -> None:
    phone = opened()
    injected(phone)
    phone.write("case.closed", "c1", outcome="cancelled")
    assert counted(phone)["injection", "fluorescein", "intravenous"] == 1


def test_a_practice_case_that_turned_real_counts_whole() -> None:
    phone = opened(practice=True)
    phone.write("optic.chosen", "c1", optic="wide", practice=True)
    phone.write("practice.ended", "c1")
    assert counted(phone)["use", "wide", ""] == 1


def test_what_is_amended_counts_as_it_stands() -> None:
    phone = opened()
    first = injected(phone)
    second = injected(phone)
    phone.write("line.amended", "c1", line=second.envelope.id, body=None, why="pressed twice")
    changed = {
        "dye": "indocyanine_green",
        "arm": "left",
        "route": "intravenous",
        "pressed_at": 1,
        "pressed_mono": 1,
    }
    phone.write("line.amended", "c1", line=first.envelope.id, body=changed, why="wrong button")
    found = counted(phone)
    assert found["injection", "indocyanine_green", "intravenous"] == 1
    assert ("injection", "fluorescein", "intravenous") not in found


def test_the_month_is_by_a_clock_set_right() -> None:
    phone = opened()
    standing = stand(
        [
            type(line)(
                **{
                    **{f: getattr(line, f) for f in line.__struct_fields__},
                    "offset_ms": 10 * 365 * 86_400_000,
                }
            )
            for line in map(kept, phone.lines)
        ]
    )
    found = fold_tallies(fold_case("c1", standing), standing, [])
    assert found is not None
    assert found.month == "2016-11"


def test_no_clock_is_too_wrong_to_count() -> None:
    assert month_of(0) == "1970-01"
    assert month_of(-(10**17)) == "0001-01"
    assert month_of(10**17) == "9999-12"
