"""The commands beside `serve`: help, human text, JSON, and an end with a status."""

import json
from pathlib import Path

import pytest
from carrying import comfort
from click.testing import CliRunner, Result

from chinrest.cli import COMMANDS, main
from chinrest.log.write import ChainWriter


def run(*arguments: str, stdin: str | None = None) -> Result:
    result = CliRunner().invoke(main, arguments, input=stdin)
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result


def house(folder: Path) -> list[str]:
    """A folder with a site."""
    data = ["--data", str(folder / "house")]
    assert run("sites", "add", "harbour", "Harbour Road", *data).exit_code == 0
    return data


@pytest.mark.parametrize("command", [[], *([name] for name in COMMANDS)])
def test_every_command_has_help(command: list[str]) -> None:
    result = run(*command, "--help")
    assert result.exit_code == 0
    assert "Usage:" in result.output


def test_an_unknown_command_is_refused() -> None:
    assert run("sing").exit_code == 2


def test_sites(tmp_path: Path) -> None:
    data = house(tmp_path)
    assert json.loads(run("sites", "list", *data, "--json").output) == {"harbour": "Harbour Road"}
    assert "Harbour Road" in run("sites", "list", *data).output
    renamed = run("sites", "add", "harbour", "Harbour", *data, "--json")
    assert json.loads(renamed.output) == {"harbour": "Harbour"}
    bad = run("sites", "add", "Not An Id", "X", *data)
    assert bad.exit_code == 1
    assert "SITE" in bad.output


def test_people_of_a_sites_phones(tmp_path: Path) -> None:
    data = house(tmp_path)

    def change(what: str, name: str, *more: str, site: str = "harbour") -> Result:
        return run("people", what, "--name", name, "--site", site, "--why", "left", *data, *more)

    withdrawn = change("withdraw", " Bo ", "--json")
    assert json.loads(withdrawn.output) == {"site": "harbour", "withdrawn": ["Bo"]}
    assert "closed to: AB, Bo." in change("withdraw", "AB", "--by", "Lea").output
    assert "closed to: AB." in change("readmit", "bo").output
    assert "closed to: nobody." in change("readmit", "ab").output
    unknown = change("withdraw", "AB", site="nowhere")
    assert unknown.exit_code == 1
    assert "nowhere" in unknown.output
    assert run("people", "withdraw", "--name", "AB", "--site", "harbour", *data).exit_code == 2  # why?


def test_people(tmp_path: Path) -> None:
    data = house(tmp_path)
    added = run(
        "people", "add", "--name", "Lea", "--role", "lead", "--password-stdin", *data, "--json",
        stdin="long enough for it\n",
    )  # fmt: skip
    assert added.exit_code == 0, added.output
    assert json.loads(added.output)["role"] == "lead"
    twice = run("people", "add", "--name", "Lea", "--role", "lead", "--password-stdin", *data, stdin="x" * 20)
    assert twice.exit_code == 1
    assert "name" in twice.output
    short = run("people", "add", "--name", "Bo", "--role", "lead", "--password-stdin", *data, stdin="short\n")
    assert (short.exit_code, "10 characters" in short.output) == (1, True)
    prompted = run(
        "people", "add", "--name", "Olga", "--role", "officer", *data,
        stdin="long enough for it\nlong enough for it\n",
    )  # fmt: skip
    assert prompted.exit_code == 0, prompted.output
    assert "long enough" not in prompted.output
    changed = run("people", "password", "--name", "Olga", "--password-stdin", *data, stdin="another long one")
    assert changed.exit_code == 0
    unknown = run("people", "password", "--name", "Eve", "--password-stdin", *data, stdin="another long one")
    assert unknown.exit_code == 1
    listed = json.loads(run("people", "list", *data, "--json").output)
    assert [(p["name"], p["role"]) for p in listed] == [("Lea", "lead"), ("Olga", "officer")]
    assert "password" not in json.dumps(listed)


def test_an_invitation(tmp_path: Path) -> None:
    data = house(tmp_path)
    asked = ["people", "invite", "--name", "Ada", "--role", "admin", "--site", "harbour", *data]
    nowhere = run(*asked, "--json")
    assert json.loads(nowhere.output)["fault"]["where"] == "--origin", "no server was started here"
    made = run(*asked, "--origin", "https://hub.test/")
    assert made.exit_code == 0, made.output
    assert "https://hub.test/desk#/invitation/" in made.output
    assert "Ada, harbour alone (invited)" in run("people", "list", *data).output
    again = run(*asked, "--origin", "https://hub.test", "--json")
    assert json.loads(again.output)["fault"]["code"] == "name_taken"
    off = run("people", "second-factor-off", "--name", "Ada", "--why", "phone lost", *data, "--json")
    assert json.loads(off.output)["fault"]["code"] == "second_factor_unknown"
    unknown = run("people", "second-factor-off", "--name", "Eve", "--why", "x", *data, "--json")
    assert json.loads(unknown.output)["fault"]["code"] == "staff_unknown"


def test_enrol(tmp_path: Path) -> None:
    data = house(tmp_path)
    made = json.loads(run("enrol", "--site", "harbour", "--label", "Room 1", *data, "--json").output)
    assert len(made["code"]) == 9
    assert made["url"] == "", "no server was started here, so nobody knows its address"
    with_origin = run(
        "enrol", "--site", "harbour", "--label", "Room 1", "--origin", "https://hub.test/", *data
    )
    assert "https://hub.test/#enrol=" in with_origin.output
    assert "█" in with_origin.output
    unknown = run("enrol", "--site", "moon", "--label", "x", *data, "--json")
    assert unknown.exit_code == 1
    assert json.loads(unknown.output)["fault"]["code"] == "site_unknown"
    nowhere = run("enrol", "--site", "harbour", "--label", "x", "--data", str(tmp_path / "none"))
    assert nowhere.exit_code == 1
    assert "no server was started" in nowhere.output


def test_verify(tmp_path: Path) -> None:
    chain = ChainWriter("0192f0c0-0000-4000-8000-000000000001", "boot")
    lines = [chain.write(comfort(), at=1_794_000_000_000, mono=n, case="c").raw for n in range(3)]
    file = tmp_path / "lines.ndjson"
    file.write_bytes(b"".join(line + b"\n" for line in lines))
    good = run("verify", str(file), "--json")
    assert good.exit_code == 0
    assert json.loads(good.output)["lines"] == 3
    assert "3 lines" in run("verify", str(file)).output
    file.write_bytes(
        b"".join(line + b"\n" for line in (lines[0], lines[1].replace(b'"score":2', b'"score":9')))
    )
    bad = run("verify", str(file))
    assert bad.exit_code == 1
    assert "line 2" in bad.output
    assert "body_hash" in bad.output
    assert json.loads(run("verify", str(file), "--json").output)["first_bad"]["number"] == 2
    missing = run("verify", str(tmp_path / "gone"))
    assert missing.exit_code == 1
    assert "gone" in missing.output
