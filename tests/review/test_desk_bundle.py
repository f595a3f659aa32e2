"""The desk stays out of what a phone carries: not in the chairside page, not in the offline shell."""

import re
from pathlib import Path

DESK_ONLY = ("/api/enrolment-codes", "Sign in", "Guidance packs")


ANYWHERE = r'["\'`](?:\./|/?assets/)([\w.-]+\.(?:js|css))["\'`]'
AT_ONCE = r'(?:from|import)\s*["\'`]\./([\w.-]+\.js)["\'`]'


def loaded_by(pages: Path, page: str, pattern: str = ANYWHERE) -> set[str]:
    """Every script and style that a page loads, through its imports: also those of later, or only at once."""
    wanted = set(re.findall(r'(?:src|href)="/(assets/[^"]+)"', (pages / page).read_text()))
    seen: set[str] = set()
    while wanted:
        name = wanted.pop()
        seen.add(name)
        text = (pages / name).read_text()
        found = re.findall(pattern, text)
        wanted |= {f"assets/{other}" for other in found} - seen
    return seen


def test_the_chairside_page_loads_nothing_of_the_desk(front_end: Path) -> None:
    chairside, desk = loaded_by(front_end, "index.html"), loaded_by(front_end, "desk.html")
    assert len(chairside) >= 2
    assert any(name.startswith("assets/desk-") for name in desk)
    text = "".join((front_end / name).read_text() for name in chairside)
    assert not [words for words in DESK_ONLY if words in text]
    theirs = "".join((front_end / name).read_text() for name in desk)
    assert all(words in theirs for words in DESK_ONLY), "these words would prove nothing"


def test_the_offline_shell_holds_the_chairside_page_and_nothing_of_the_desk(front_end: Path) -> None:
    worker = (front_end / "sw.js").read_text()
    shell = set(re.findall(r'url:"([^"]+)"', worker) or re.findall(r'"url":"([^"]+)"', worker))
    assert "index.html" in shell
    assert loaded_by(front_end, "index.html") <= shell
    only_desk = loaded_by(front_end, "desk.html") - loaded_by(front_end, "index.html")
    assert not (shell & (only_desk | {"desk.html"}))


def test_pages_that_few_people_open_are_read_in_when_they_are(front_end: Path) -> None:
    at_once, ever = loaded_by(front_end, "desk.html", AT_ONCE), loaded_by(front_end, "desk.html")
    assert len(at_once) >= 4
    for words in ("/api/invitations/take", "/api/draft-forms", "/api/calibration"):
        holding = {name for name in ever if words in (front_end / name).read_text()}
        assert holding, f"{words} would prove nothing"
        assert not holding & at_once, words
