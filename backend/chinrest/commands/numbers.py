"""Numbers on the command line: the digits 0 to 9 as everybody reads them, and nothing guessed.

Python's own readers also take the digits of other scripts and underscores; a figure that two people may read
differently is refused instead.
"""

import re
from typing import Any

import click

NUMBER = re.compile(r"[+-]?(([0-9]+(\.[0-9]*)?|\.[0-9]+)([eE][+-]?[0-9]{1,3})?|nan|inf)")
"""What is no amount (`nan`, `inf`) goes on to the question's own check, which answers with the range."""
WHOLE = re.compile(r"[+-]?[0-9]{1,18}")


def foreign_digit(text: str) -> str | None:
    """Which character is a digit of another script, and where it stands; None where there is none."""
    for place, letter in enumerate(text, 1):
        if letter.isnumeric() and not letter.isascii():
            return f"{text!r} has {letter!r} at place {place}; write numbers with the digits 0 to 9"
    return None


def number_of(text: str) -> float:
    """Raises ValueError with why it is none."""
    if not NUMBER.fullmatch(text):
        raise ValueError(foreign_digit(text) or f"{text!r} is not a number, such as 12.5")
    return float(text)


def whole_of(text: str) -> int:
    """Raises ValueError with why it is none."""
    if not WHOLE.fullmatch(text):
        raise ValueError(foreign_digit(text) or f"{text!r} is not a whole number, such as 12")
    return int(text)


class Number(click.ParamType[float]):
    """A number, from `least` on where that is given."""

    name = "number"

    def __init__(self, least: float | None = None) -> None:
        self.least = least

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:
        if isinstance(value, float):  # a default
            return value
        try:
            number = number_of(str(value))
        except ValueError as error:
            self.fail(str(error), param, ctx)
        if self.least is not None and not number >= self.least:
            self.fail(f"{value} is less than {self.least:g}", param, ctx)
        return number


class Whole(click.ParamType[int]):
    """A whole number within `least` and `most`, where they are given."""

    name = "whole number"

    def __init__(self, least: int | None = None, most: int | None = None) -> None:
        self.least, self.most = least, most

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> int:
        if isinstance(value, int):  # a default
            return value
        try:
            number = whole_of(str(value))
        except ValueError as error:
            self.fail(str(error), param, ctx)
        low, high = self.least, self.most
        if (low is not None and number < low) or (high is not None and number > high):
            reach = f"from {low} on" if high is None else f"from {low} to {high}"
            self.fail(f"{value} is out of range; it must lie {reach}", param, ctx)
        return number
