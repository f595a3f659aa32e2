"""A backup is taken from a running server, says when it is damaged, and a restored server gets from its
phones what it lacks."""

import asyncio
import io
import json
import tarfile
import uuid
from pathlib import Path

import pytest
from callers import House, found
from carrying import Phone, comfort, opened
from click.testing import CliRunner, Result
from litestar.testing import TestClient

from chinrest.cli import main
from chinrest.commands.holding import holding
from chinrest.server.app import create_app
from chinrest.server.backup import LIST
from chinrest.server.settings import DATABASE, Settings


def run(*arguments: str) -> Result:
    result = CliRunner().invoke(main, arguments)
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result


def backed_up(house: House, file: Path) -> dict[str, object]:
    made = run("backup", str(file), "--data", str(house.settings.data), "--json")
    assert made.exit_code == 0, made.output
    said: dict[str, object] = json.loads(made.output)
    return said


def test_a_restored_server_gets_from_its_phones_what_it_lacks(house: House, tmp_path: Path) -> None:
    (house.settings.data / "tls").mkdir()
    (house.settings.data / "tls" / "authority.key").write_text("a key")
    phone, case = house.phone(), str(uuid.uuid4())
    first = [phone.first_line(), phone.write(opened(), case)]
    before = phone.sync(*first)
    backed_up(house, tmp_path / "one.backup")
    late = phone.write(comfort(), case)
    assert phone.sync(late)["holds"] == [[1, 3]]

    restored = tmp_path / "restored"
    said = run("restore", str(tmp_path / "one.backup"), "--data", str(restored))
    assert said.exit_code == 0, said.output
    assert (restored / "tls" / "authority.key").read_text() == "a key"
    with TestClient(create_app(Settings(data=restored))) as client:
        again = Phone(client)
        again.device, again.signing_key, again.token = phone.device, phone.signing_key, phone.token
        heard = again.sync(epoch=before["epoch"])
        assert heard["server"] == before["server"]
        assert heard["epoch"] != before["epoch"]
        assert heard["holds"] == [[1, 2]], "the phone sees that line 3 is missing"
        assert again.sync(*first, late)["holds"] == [[1, 3]]


def test_what_the_folder_held_is_moved_aside_and_never_lost(house: House, tmp_path: Path) -> None:
    backed_up(house, tmp_path / "one.backup")
    target = tmp_path / "target"
    for _ in range(2):
        assert run("restore", str(tmp_path / "one.backup"), "--data", str(target)).exit_code == 0
    [aside] = tmp_path.glob("target.before-*")
    assert (aside / DATABASE).is_file()


def test_nothing_is_moved_beneath_a_running_server(house: House, tmp_path: Path) -> None:
    backed_up(house, tmp_path / "one.backup")
    target = tmp_path / "target"
    run("restore", str(tmp_path / "one.backup"), "--data", str(target))
    with holding(target):
        said = run("restore", str(tmp_path / "one.backup"), "--data", str(target), "--json")
    assert said.exit_code == 1
    assert json.loads(said.output)["fault"]["code"] == "in_use"


def test_another_programs_folder_is_left_alone(house: House, tmp_path: Path) -> None:
    backed_up(house, tmp_path / "one.backup")
    (tmp_path / "letters").mkdir()
    (tmp_path / "letters" / "letter.txt").write_text("Dear lead")
    said = run("restore", str(tmp_path / "one.backup"), "--data", str(tmp_path / "letters"))
    assert said.exit_code == 1
    assert [path.name for path in (tmp_path / "letters").iterdir()] == ["letter.txt"]


def test_a_changed_byte_anywhere_that_matters_is_found(house: House, tmp_path: Path) -> None:
    file = tmp_path / "one.backup"
    backed_up(house, file)
    whole = file.read_bytes()
    with tarfile.open(file) as archive:
        members = archive.getmembers()
    places = [
        member.offset_data + place for member in members for place in (0, member.size // 2, member.size - 1)
    ]
    for place in places:
        spoiled = tmp_path / "spoiled.backup"
        spoiled.write_bytes(whole[:place] + bytes([whole[place] ^ 1]) + whole[place + 1 :])
        said = run("restore", str(spoiled), "--check", "--data", str(tmp_path / "nowhere"))
        assert said.exit_code == 1, place
    assert not (tmp_path / "nowhere").exists()
    assert run("restore", str(file), "--check", "--data", str(tmp_path / "nowhere")).exit_code == 0


@pytest.mark.parametrize("size", [0, 100, 512, 5000])
def test_a_cut_backup_or_none_at_all_is_refused(house: House, tmp_path: Path, size: int) -> None:
    file = tmp_path / "one.backup"
    backed_up(house, file)
    file.write_bytes(file.read_bytes()[:size])
    said = run("restore", str(file), "--data", str(tmp_path / "target"))
    assert said.exit_code == 1
    assert not (tmp_path / "target").exists()
    file.write_text("a letter to the lead" * 100)
    assert run("restore", str(file), "--data", str(tmp_path / "target")).exit_code == 1


def test_a_hostile_name_cannot_leave_the_folder(house: House, tmp_path: Path) -> None:
    file = tmp_path / "one.backup"
    backed_up(house, file)
    hostile = tmp_path / "hostile.backup"
    with tarfile.open(file) as old, tarfile.open(hostile, "w") as new:
        for member in old.getmembers():
            data = old.extractfile(member)
            assert data is not None
            raw = data.read()
            if member.name == LIST:
                raw = raw.replace(DATABASE.encode(), b"../out.db")
            else:
                member.name = "../out.db"
            member.size = len(raw)
            new.addfile(member, io.BytesIO(raw))
    said = run("restore", str(hostile), "--data", str(tmp_path / "target"))
    assert said.exit_code == 1
    assert not (tmp_path / "out.db").exists()


def test_a_backup_is_never_written_over_and_only_its_owner_reads_it(house: House, tmp_path: Path) -> None:
    file = tmp_path / "one.backup"
    backed_up(house, file)
    assert file.stat().st_mode & 0o777 == 0o600
    before = file.read_bytes()
    assert run("backup", str(file), "--data", str(house.settings.data)).exit_code == 1
    assert file.read_bytes() == before
    assert sorted(path.name for path in tmp_path.glob("*one*")) == ["one.backup"]


def test_sites_and_people_come_back(tmp_path: Path) -> None:
    settings = Settings(data=tmp_path / "house")
    settings.data.mkdir()
    asyncio.run(found(settings))
    assert run("backup", str(tmp_path / "b"), "--data", str(settings.data)).exit_code == 0
    assert run("restore", str(tmp_path / "b"), "--data", str(tmp_path / "new")).exit_code == 0
    for command in (["people", "list"], ["sites", "list"]):
        old, new = (
            run(*command, "--json", "--data", str(folder)).output
            for folder in (settings.data, tmp_path / "new")
        )
        assert old == new


def test_a_server_on_postgresql_is_not_backed_up_as_a_file(
    house: House, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    backed_up(house, tmp_path / "one.backup")
    monkeypatch.setenv("CHINREST_DATABASE", "postgresql://nobody@localhost/none")
    for command in (
        ["backup", str(tmp_path / "two.backup"), "--data", str(house.settings.data)],
        ["restore", str(tmp_path / "one.backup"), "--data", str(tmp_path / "target")],
    ):
        said = run(*command)
        assert said.exit_code == 1
        assert "pg_dump" in said.output
    assert not (tmp_path / "target").exists()
