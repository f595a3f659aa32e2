"""What the officer sees of a reaction: signs line by line, and its class on named scales once it is over."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import pytest
from playwright.sync_api import expect
from scenes import Scene

from desk_page import Desk

if TYPE_CHECKING:
    from playwright.sync_api import Locator

pytestmark = pytest.mark.browser
TITLE = "Class of the reaction"


def written(scene: Scene, case: str, code: str, *signs: str, end: bool) -> None:
    """A case with a reaction, by an invented phone that has the pack."""
    phone = scene.near
    phone.write("case.opened", case, code=code, modalities=["fluorescein"])
    phone.write("reaction.started", case)
    for sign in signs:
        phone.write("reaction.sign", case, sign=sign, seen=True)
    if end:
        phone.write("reaction.ended", case, outcome="case_stopped")
    phone.carry()


def card(officer: Desk) -> Locator:
    return officer.page.get_by_role("region", name=TITLE)


def test_each_scale_is_named_and_none_stands_before_the_end(
    desk: Callable[..., Desk], own_scene: Scene
) -> None:
    """Vomiting is mild in the lists of the dye, III in Ring and Messmer 1977, 2 in Brown 2004."""
    written(own_scene, "running", "R-1", "vomiting", end=False)
    written(own_scene, "over", "R-2", "vomiting", "chest_pain", end=True)
    officer = desk(own_scene)
    officer.go("case/running", "Case R-1")
    expect(card(officer)).to_contain_text("It has not ended: no class is derived while a reaction runs.")
    expect(card(officer)).not_to_contain_text("Ring and Messmer")
    officer.go("case/over", "Case R-2")
    table = card(officer).get_by_role("table")
    found = {
        row.get_by_role("rowheader").inner_text(): [
            cell.inner_text() for cell in row.get_by_role("cell").all()
        ]
        for row in table.get_by_role("row").filter(has=officer.page.get_by_role("cell")).all()
    }
    chest = "chest pain or tight chest"
    said = {name: row[:3] for name, row in found.items()}
    assert said == {
        "Fluorescein survey scheme (Yannuzzi 1986), as listed in Eye 2022": ["Mild", "vomiting", chest],
        "Fluorescein series of 14,455 (Beleña 2013)": ["Mild", "vomiting", chest],
        "Ring and Messmer 1977": ["III", "vomiting", chest],
        "Brown 2004": ["2, moderate", f"{chest}, vomiting", "none"],
    }
    assert all(row[3] for row in found.values())  # the version of the table
    expect(card(officer)).to_contain_text("none is a diagnosis")


def test_a_case_without_a_reaction_has_no_such_card(desk: Callable[..., Desk], scene: Scene) -> None:
    officer = desk(scene)
    officer.go("case/case-full", "Case HR-2041")
    expect(card(officer)).to_have_count(0)
