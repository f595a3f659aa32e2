"""Numbers on the command line are written in the digits 0 to 9: those of other scripts are refused, with the
option and the place. (Decimal digits: Unicode Standard, general category Nd. Python reads them all.)
"""

import json
import sys
import unicodedata

import click
import pytest
from click.testing import CliRunner

from chinrest.cli import COMMANDS, main
from chinrest.commands.numbers import Number, Whole, number_of, whole_of

FIT = "fit --optic wide --eye right --exophthalmometry average --nose medium --brow medium --neck free"
FACE = "--eye right --region posterior_pole"
ASKED = [
    ("coverage --eye right --field ٥٠@0,0", "--field", "'٥' at place 1"),
    ("coverage --eye right --field 50@0,-５", "--field", "'５' at place 7"),
    (f"{FIT} --pd ٦٣", "--pd", "'٦' at place 1"),
    (f"{FIT} --pd 63 --gaze 0,१०", "--gaze", "'१' at place 3"),
    (f"{FIT} --pd 63 --pupil 6.５", "--pupil", "'５' at place 3"),
    (f"{FIT} --pd 63 --target-cm ۹۰", "--target-cm", "'۹' at place 1"),
    (f"{FIT} --pd 63 --at ٣,0", "--at", "'٣' at place 1"),
    (f"plan --optic wide {FACE} --coverage ٠.9", "--coverage", "'٠' at place 1"),
    (f"plan --optic wide {FACE} --overlap 0.٢", "--overlap", "'٢' at place 3"),
    (f"plan --optic wide {FACE} --exophthalmometry ١٦", "--exophthalmometry", "'١' at place 1"),
    (f"choose {FACE} --minutes ٣", "--minutes", "'٣' at place 1"),
    (f"choose {FACE} --detail ٢٠", "--detail", "'٢' at place 1"),
    ("dose --dye fluorescein --weight-kg ٢٠", "--weight-kg", 'is "٢٠"; must be plain digits'),
    ("dose --dye fluorescein --weight-kg 20 --made-up-min ٩", "--made-up-min", "'٩' at place 1"),
    ("rates --events ٣ --procedures 100", "--events", "is '٣'; must be a whole number"),
    ("relay --every ٣", "--every", "'٣' at place 1"),
    ("serve --port ٨٤٨٠", "--port", "'٨' at place 1"),
    ("demo --cases ٣", "--cases", "'٣' at place 1"),
]


@pytest.mark.parametrize(("line", "option", "why"), ASKED)
def test_other_digits_are_refused_with_what_and_where(line: str, option: str, why: str) -> None:
    result = CliRunner().invoke(main, [*line.split(), "--json"])
    assert result.exit_code != 0
    fault = json.loads(result.output)["fault"]
    assert fault["where"] == option
    assert why in fault["why"]


def test_every_decimal_digit_of_unicode_but_ten_is_refused() -> None:
    every = [letter for letter in map(chr, range(sys.maxunicode + 1)) if unicodedata.category(letter) == "Nd"]
    assert len(every) > 600
    for digit in set(every) - set("0123456789"):
        assert float(digit) == int(digit)  # so Python itself would take it
        for read in (number_of, whole_of):
            with pytest.raises(ValueError, match="at place 1; write numbers with the digits 0 to 9"):
                read(digit)
    assert [number_of(digit) for digit in "0123456789"] == list(range(10))


@pytest.mark.parametrize("text", ["1_000", " 5", "5 ", "1,5", "", "+", ".", "0x10", "infinity", "1e", "--5"])
def test_what_is_no_plain_number_is_refused(text: str) -> None:
    for read in (number_of, whole_of):
        with pytest.raises(ValueError, match="number"):
            read(text)


def test_plain_numbers_are_taken_as_before() -> None:
    assert [number_of(text) for text in ("5", "-2.5", "+.5", "1e-3", "12.")] == [5.0, -2.5, 0.5, 1e-3, 12.0]
    assert [whole_of(text) for text in ("5", "-2", "007")] == [5, -2, 7]


def test_no_option_reads_numbers_in_another_way() -> None:
    """Every option of every command: none is of click's own kinds of number."""
    own = (click.types.IntParamType, click.types.FloatParamType)
    for name in COMMANDS:
        command = main.get_command(click.Context(main), name)
        assert command is not None
        commands = [command, *(command.commands.values() if isinstance(command, click.Group) else [])]
        for each in commands:
            for param in each.params:
                assert not isinstance(param.type, own), f"{each.name} {param.name}"
    assert issubclass(Number, click.ParamType)
    assert issubclass(Whole, click.ParamType)
