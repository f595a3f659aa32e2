"""An invented history: the same seed makes the same cases, every line is sound, and the desk can count it."""

import json
import random
from collections import Counter
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from chinrest.cli import main
from chinrest.log.amendments import stand
from chinrest.log.kept import KeptLine
from chinrest.log.line import decode_line
from chinrest.log.verify import verify
from chinrest.log.windows import layouts_in, window_counts
from chinrest.server.demo import MARK, compiled_demo
from chinrest.server.invented_history import DAY_MS, InventedPhone, opening_hours
from serving import PACKS

DEVICE = "2f5c1c9e-3b0a-4c57-9d26-0d9a5d3c8e11"
START = 1_794_000_000_000


def run(*arguments: str) -> Result:
    result = CliRunner().invoke(main, arguments)
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result


def cases(seed: int, count: int) -> list[bytes]:
    phone = InventedPhone(DEVICE, "boot", random.Random(seed), 1.0, ["one", "two", "three"])
    return [raw for number in range(count) for raw in phone.case(number, START + number * DAY_MS, "0" * 64)]


def as_kept(raw: bytes) -> KeptLine:
    line = decode_line(raw)
    return KeptLine(
        envelope=line.envelope, body=line.body_bytes, received_at=START, offset_ms=0, site="harbour"
    )


def bodies(lines: list[bytes]) -> list[bytes]:
    return [line.partition(b"\t")[2] for line in lines]


def test_the_same_seed_makes_the_same_cases() -> None:
    assert bodies(cases(7, 20)) == bodies(cases(7, 20))
    assert bodies(cases(7, 20)) != bodies(cases(8, 20))


def test_every_line_is_sound_and_says_that_it_is_invented() -> None:
    lines = cases(7, 60)
    assert verify(lines).ok
    codes = [decode_line(raw).body for raw in lines if b'"type":"case.opened"' in raw]
    assert len(codes) == 60
    assert all(getattr(body, "code", "").startswith("INV-") for body in codes)


def test_it_is_made_by_the_rates_that_are_stated() -> None:
    lines = cases(3, 1500)
    practice = sum(b'"type":"case.opened"' in raw and b'"practice":true' in raw for raw in lines)
    again = sum(b'"outcome":"again"' in raw for raw in lines)
    frames = sum(b'"type":"frame.taken"' in raw for raw in lines)
    # 5 standard errors about 2 % of 1,500 and about 11 % of the frames
    assert 3 <= practice <= 57
    assert abs(again / frames - 0.11) < 5 * (0.11 * 0.89 / frames) ** 0.5


def test_cases_begin_by_day_and_in_order() -> None:
    moments = list(opening_hours(random.Random(1), START, START + 30 * DAY_MS, 200))
    assert len(moments) == 200
    assert moments == sorted(moments)


@pytest.fixture
def filled(tmp_path: Path) -> Path:
    compiled_demo(PACKS)
    for kept in PACKS.glob("demo-pack-*.json"):
        (tmp_path / kept.name).write_bytes(kept.read_bytes())
    said = run("demo", "--cases", "60", "--sites", "4", "--seed", "5", "--data", str(tmp_path), "--json")
    assert said.exit_code == 0, said.output
    told = json.loads(said.output)
    assert (told["cases"], len(told["sites"])) == (60, 4)
    assert told["lines"] > 60 * 20
    return tmp_path


def test_its_series_follow_the_layouts_of_the_demos_pack() -> None:
    layouts = layouts_in(compiled_demo(PACKS))
    phone = InventedPhone(DEVICE, "boot", random.Random(4), 1.0, ["one"], list(layouts.values()))
    lines = [phone.case(number, START + number * DAY_MS, "0" * 64) for number in range(600)]
    became: Counter[str] = Counter()
    for case in lines:
        for _kind, _key, what in window_counts(stand(map(as_kept, case)), lambda _pack: layouts):
            became[what] += 1
    assert became["kept"] > 0.9 * became.total(), became
    assert set(became) >= {"kept", "late", "missed"}
    assert "untimed" not in became


def test_it_fills_a_demo_folder_that_can_be_taken_out_and_verified(filled: Path, tmp_path: Path) -> None:
    assert (filled / MARK).is_file()
    out = tmp_path / "lines.ndjson"
    assert run("export", str(out), "--data", str(filled)).exit_code == 0
    assert json.loads(run("verify", str(out), "--json").output)["sealed"] is True
    again = run("demo", "--cases", "1", "--sites", "4", "--seed", "5", "--data", str(filled))
    assert again.exit_code == 1
    assert "--seed" in again.output


def test_a_real_servers_folder_is_left_alone(tmp_path: Path) -> None:
    assert run("sites", "add", "harbour", "Harbour", "--data", str(tmp_path)).exit_code == 0
    said = run("demo", "--cases", "1", "--data", str(tmp_path))
    assert said.exit_code == 1
    assert "real" in said.output
