"""What the last backup holds is said to each phone, signed by the final server: a hub hands it on and can't
make it, a carried file's answer holds it, and a restore takes it back to the backup that was restored."""

import asyncio
import json
from hashlib import sha256
from pathlib import Path
from typing import Any

import msgspec
import pytest
from callers import House
from carried_file import carried_file, rows_of
from carrying import NDJSON, comfort, opened
from litestar.testing import TestClient
from test_server_backup import backed_up, run
from test_server_relay import Satellite, a_day, hospital_key, refused, satellite

from chinrest.log.backed_up import BackupWord, is_backup_word
from chinrest.server import relay as at_hospital
from chinrest.server.app import create_app
from chinrest.server.settings import Settings
from chinrest.store import Store

__all__ = ["satellite"]

CASE = "7f0c1b9e-0a3e-4f7b-9a51-6d2f9f3b1c12"


def word_of(said: dict[str, Any], key: str) -> BackupWord:
    word = BackupWord(**said["backup"])
    assert is_backup_word(word, key)
    return word


def test_the_word_follows_the_backups(house: House, tmp_path: Path) -> None:
    phone, other = house.phone(), house.phone("lighthouse")
    key = phone.enrolment["server_key"]
    lines = [phone.first_line(), phone.write(opened(), CASE)]
    assert phone.sync(*lines)["backup"] is None, "no backup was made yet"
    made = backed_up(house, tmp_path / "one.backup")
    lines.append(phone.write(comfort(), CASE))
    said = phone.sync(lines[-1])
    word = word_of(said, key)
    assert (word.server, word.epoch, word.device) == (said["server"], said["epoch"], phone.device)
    assert (word.seq, word.made_at) == (2, made["made_at"]), "the line that came later is in no backup"
    assert word.head_sha256 == sha256(lines[1].raw.partition(b"\t")[0]).hexdigest()
    assert word.at == said["now"]
    assert other.sync()["backup"] is None, "of a phone that had written nothing"
    backed_up(house, tmp_path / "two.backup")
    assert word_of(phone.sync(), key).seq == 3


def test_what_was_changed_in_it_is_found(house: House, tmp_path: Path) -> None:
    phone = house.phone()
    phone.sync(phone.first_line())
    backed_up(house, tmp_path / "one.backup")
    said = phone.sync()["backup"]
    key = phone.enrolment["server_key"]
    for name, value in said.items():
        changed = value + 1 if isinstance(value, int) else value[::-1]
        assert not is_backup_word(BackupWord(**{**said, name: changed}), key), name


def test_a_backup_that_was_not_made_counts_for_nothing(house: House, tmp_path: Path) -> None:
    phone = house.phone()
    phone.sync(phone.first_line())
    file = tmp_path / "one.backup"
    file.write_text("a letter")
    assert run("backup", str(file), "--data", str(house.settings.data)).exit_code == 1
    assert phone.sync()["backup"] is None
    other = run("backup", "--run", "true", "--data", str(house.settings.data), "--json")
    assert json.loads(other.output)["fault"]["code"] == "embedded"
    assert phone.sync()["backup"] is None


def test_after_a_restore_it_is_what_was_restored(house: House, tmp_path: Path) -> None:
    phone = house.phone()
    key = phone.enrolment["server_key"]
    lines = [phone.first_line(), phone.write(opened(), CASE)]
    phone.sync(*lines)
    made = backed_up(house, tmp_path / "one.backup")
    lines.append(phone.write(comfort(), CASE))
    phone.sync(lines[-1])
    backed_up(house, tmp_path / "two.backup")
    later = word_of(phone.sync(), key)
    assert later.seq == 3

    restored = tmp_path / "restored"
    assert run("restore", str(tmp_path / "one.backup"), "--data", str(restored)).exit_code == 0
    with TestClient(create_app(Settings(data=restored))) as client:
        phone.client = client
        word = word_of(phone.sync(), key)
        assert (word.seq, word.made_at) == (2, made["made_at"])
        assert word.epoch != later.epoch
        assert word.at > later.at
        assert phone.sync(lines[-1])["lines"][0]["status"] == "stored"
        assert word_of(phone.sync(), key).seq == 2, "offered again, and in no backup of this epoch"


def test_a_new_epoch_without_a_backup_has_none(house: House, tmp_path: Path) -> None:
    phone = house.phone()
    phone.sync(phone.first_line())
    backed_up(house, tmp_path / "one.backup")

    async def renew() -> bool:
        store = await Store.open(house.settings.database)
        try:
            before, marks = (await store.identity()).epoch, await store.heads(1)
            await store.new_epoch(1)
            # a backup that was begun before it says nothing of the server as it is now
            return await store.note_backup(before, marks)
        finally:
            await store.close()

    assert asyncio.run(renew()) is False
    assert phone.sync()["backup"] is None


def test_the_answer_to_a_carried_file_has_it(house: House, tmp_path: Path) -> None:
    away, carrier = house.phone(), house.phone("lighthouse")
    file = carried_file(away, away.body(away.first_line(), away.write(opened(), CASE)))

    def bring() -> dict[str, Any]:
        headers = {"Content-Type": NDJSON, **carrier.bearer}
        answer = house.as_nobody().post("/api/carried", content=file, headers=headers).json()
        return rows_of(answer["receipts"])[0]

    assert bring()["backup"] is None
    backed_up(house, tmp_path / "one.backup")
    assert word_of(bring(), away.enrolment["server_key"]).seq == 2


def test_a_hub_hands_it_on_as_it_is(satellite: Satellite, tmp_path: Path) -> None:
    lines = a_day(satellite.phone)
    satellite.relay()
    assert satellite.phone.sync()["backup"] is None
    # the hub's own backup is not where lines end
    own = run("backup", str(tmp_path / "hub.backup"), "--data", str(satellite.settings.data))
    assert own.exit_code == 0
    assert satellite.phone.sync()["backup"] is None
    backed_up(satellite.hospital, tmp_path / "hospital.backup")
    satellite.relay()
    word = word_of(satellite.phone.sync(), hospital_key(satellite.hospital))
    assert word.seq == len(lines)
    assert word.head_sha256 == sha256(lines[-1].partition(b"\t")[0]).hexdigest()
    satellite.phone.sync(satellite.phone.write(comfort(), "c1"))
    satellite.relay()
    assert word_of(satellite.phone.sync(), hospital_key(satellite.hospital)).seq == len(lines)


def test_a_hub_believes_no_word_that_the_hospital_did_not_sign(
    satellite: Satellite, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    a_day(satellite.phone)
    satellite.relay()
    backed_up(satellite.hospital, tmp_path / "one.backup")
    true_word = at_hospital.word_for

    async def longer(*arguments: Any) -> BackupWord | None:
        word = await true_word(*arguments)
        return None if word is None else msgspec.structs.replace(word, seq=word.seq + 1)

    monkeypatch.setattr(at_hospital, "word_for", longer)
    assert refused(satellite) == "bad_signature"
    assert satellite.phone.sync()["backup"] is None
