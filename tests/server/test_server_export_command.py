"""`chinrest export` and `chinrest verify`, as an officer or a coroner would use them."""

import json
from pathlib import Path

from callers import House
from carrying import comfort
from click.testing import CliRunner, Result

from chinrest.cli import main
from chinrest.commands.verify import fingerprint


def run(*arguments: str) -> Result:
    result = CliRunner().invoke(main, arguments)
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result


def test_an_export_verifies_without_the_server(house: House, tmp_path: Path) -> None:
    phone = house.phone()
    phone.sync(phone.first_line(), phone.write(comfort(), "c1"))
    file = tmp_path / "log.ndjson"
    made = run("export", str(file), "--data", str(house.settings.data), "--json")
    assert made.exit_code == 0, made.output
    key = json.loads(made.output)["server_key"]
    for wanted in (key, fingerprint(key)):
        checked = run("verify", str(file), "--server-key", wanted, "--json")
        assert checked.exit_code == 0, checked.output
        verdict = json.loads(checked.output)
        assert (verdict["ok"], verdict["sealed"], verdict["signed"]) == (True, True, {phone.device: 2})
    assert fingerprint(key) in run("verify", str(file)).output
    assert run("verify", str(file), "--server-key", "another").exit_code == 1
    again = run("export", str(file), "--data", str(house.settings.data))
    assert again.exit_code == 1
    assert "there already" in again.output


def test_a_cut_export_names_its_first_bad_row(house: House, tmp_path: Path) -> None:
    phone = house.phone()
    phone.sync(phone.first_line(), phone.write(comfort(), "c1"))
    file = tmp_path / "log.ndjson"
    run("export", str(file), "--data", str(house.settings.data))
    rows = file.read_bytes().splitlines(keepends=True)
    file.write_bytes(b"".join(rows[:-1]))
    cut = run("verify", str(file), "--json")
    assert cut.exit_code == 1
    assert json.loads(cut.output)["first_bad"]["code"] == "not_sealed"
    bare = tmp_path / "bare.ndjson"
    bare.write_bytes(b"".join(row for row in rows if phone.device.encode() in row and b"\t" in row))
    said = run("verify", str(bare))
    assert said.exit_code == 0
    assert "cannot be seen" in said.output
    assert run("verify", str(bare), "--server-key", "any").exit_code == 1
