"""What README and DEVELOPERS say of the house is so: commands, folders, files, dependencies."""

import json
import re
import tomllib
from pathlib import Path

from chinrest.cli import COMMANDS
from chinrest.store.tables import metadata

ROOT = Path(__file__).resolve().parents[2]
README = (ROOT / "README.md").read_text()
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text()
# where a path in the documents may begin
STARTS = [ROOT / at for at in ("", "backend/chinrest", "frontend/src", "fixtures/demo/pack")]


def test_readme_names_every_command_and_no_other() -> None:
    table = README.split("## Commands")[1].split("## ")[0]
    named = set(re.findall(r"`chinrest (\w+)", table))
    assert named == set(COMMANDS)


def test_readme_says_which_tables_are_of_a_site_which_of_a_device_and_which_of_all() -> None:
    """Whoever spreads a store over machines goes by this."""
    further = README.split("**Further**")[1].split("\n## ")[0]
    of_site, rest = further.split("These hang on one device")
    of_device, of_all = rest.split("One for all")
    named = [set(re.findall(r"`(\w+)`", part)) for part in (of_site, of_device, of_all)]
    tables = {name: set(table.columns.keys()) for name, table in metadata.tables.items()}
    with_site = {name for name, columns in tables.items() if "site" in columns}
    with_device = {name for name, columns in tables.items() if "device" in columns} - with_site
    assert {"lines", "cases", "incidents"} <= named[0] <= with_site
    assert {"chains", "stubs", "refused"} <= named[1] <= with_device
    # the keys of the partitions stand beside the tables, on one engine alone
    assert {"house", "line_keys"} <= named[2] <= {*tables, "line_keys"} - with_site - with_device


def test_every_picture_in_readme_is_there_and_every_picture_is_shown() -> None:
    shown = set(re.findall(r"\]\((fixtures/[^)]+)\)", README))
    assert shown, "README shows the real screens"
    assert {path for path in shown if not (ROOT / path).is_file()} == set()
    kept = {path.relative_to(ROOT).as_posix() for path in (ROOT / "fixtures" / "pictures").glob("*.png")}
    assert kept - shown == set()


def test_every_file_that_the_documents_name_is_there() -> None:
    """What stands in backticks with a slash in it; a word with a dot alone may be a key or a call."""
    missing = []
    for name, text in (("README", README), ("DEVELOPERS", DEVELOPERS)):
        for path in re.findall(r"`([\w.-]+(?:/[\w.-]*)+)`", text):
            if not any((start / path).exists() for start in STARTS):
                missing.append(f"{name}: {path}")
    assert missing == []


def test_the_house_in_developers_is_the_house() -> None:
    drawn = DEVELOPERS.split("```")[1]
    for root in ("backend/chinrest", "frontend/src"):
        block = drawn.split(f"{root}/\n")[1]
        rooms = set()
        for line in block.splitlines():
            if not line.startswith("  "):
                break
            rooms.add(line.split()[0].rstrip("/"))
        there = {path.name for path in (ROOT / root).iterdir() if path.is_dir() and path.name[0] not in "_."}
        assert there - rooms == set(), f"rooms of {root} that are not drawn"
        assert {room for room in rooms if not (ROOT / root / room).exists()} == set(), f"drawn in {root}"


def test_every_dependency_has_its_reason() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    front = json.loads((ROOT / "frontend" / "package.json").read_text())
    wanted = [*project["dependencies"], *project["optional-dependencies"]["test"]]
    names = {re.split(r"[\[<>=]", text)[0] for text in wanted}
    names |= {name.rsplit("/", 1)[-1] for name in (*front["dependencies"], *front["devDependencies"])}
    reasons = DEVELOPERS.split("## Dependencies")[1]
    assert {name for name in names if not re.search(rf"\b{re.escape(name)}\b", reasons)} == set()
