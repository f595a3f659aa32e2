"""One page in any engine, by what a person sees and does on it. Each driver fills in what it does its way."""

from __future__ import annotations

import re
import time
from abc import ABC, abstractmethod
from collections.abc import Callable
from pathlib import Path
from typing import Any

FINDING = (Path(__file__).parent / "finding.js").read_text()
PATIENCE_S = 30.0
LOOK_AGAIN_S = 0.05

Name = str | re.Pattern[str] | None
Within = tuple[str, Name] | None


class NotYetError(Exception):
    """What was found has gone or moved meanwhile: look again."""


def _plain(name: Name) -> Any:
    if isinstance(name, re.Pattern):
        return {"source": name.pattern, "flags": "i" if name.flags & re.IGNORECASE else ""}
    return name


class Screen(ABC):
    """The kinds of things are those of `finding.js`. What is asked for is waited for; an AssertionError says
    what was not there, and what was."""

    def wait(self, what: str, ready: Callable[[], Any], within_s: float = PATIENCE_S) -> Any:
        deadline = time.monotonic() + within_s
        while True:
            try:
                found = ready()
            except NotYetError:
                found = None
            if found:
                return found
            if time.monotonic() > deadline:
                raise AssertionError(
                    f"{what}: not within {within_s:.0f} s at {self.address}; shown:\n{self.shown}"
                )
            time.sleep(LOOK_AGAIN_S)

    def _find(self, kind: str, name: Name, within: Within) -> Any:
        inside = None if within is None else [within[0], _plain(within[1])]
        return self.element(FINDING, kind, _plain(name), inside)

    def _do(self, act: Callable[[Any], None], kind: str, name: Name, within: Within) -> None:
        def done() -> bool:
            found = self._find(kind, name, within)
            if found is None:
                return False
            act(found)
            return True

        inside = "" if within is None else f" in {within}"
        self.wait(f"{kind} {name!r}{inside}", done)

    def see(self, kind: str, name: Name = None, within: Within = None) -> None:
        self._do(lambda _: None, kind, name, within)

    def has(self, kind: str, name: Name = None, within: Within = None) -> bool:
        return self._find(kind, name, within) is not None

    def gone(self, kind: str, name: Name = None, within: Within = None) -> None:
        self.wait(f"no more {kind} {name!r}", lambda: not self.has(kind, name, within))

    def press(self, name: Name, within: Within = None, kind: str = "button") -> None:
        self._do(self.click, kind, name, within)

    def press_and_leave(self, name: Name, within: Within = None) -> None:
        """Press what ends a step, until the address names another."""
        here = self.address
        self.press(name, within)
        self.wait(f"another place after {name!r}", lambda: self.address != here)

    def hold(self, name: Name, for_s: float) -> None:
        self._do(lambda found: self.click(found, for_s), "button", name, None)

    def pick(self, group: Name, option: Name) -> None:
        """One of a group's choices."""
        self.press(option, ("group", group), "choice")

    def fill(self, label: Name, text: str) -> None:
        self._do(lambda found: self.type(found, text), "field", label, None)

    def saved(self, press: Callable[[], None], into: Path) -> None:
        """The one file that the browser downloads after `press`."""
        press()

        def whole() -> list[Path]:
            found = list(self.downloads.glob("*"))
            under_way = any(file.suffix != ".txt" or file.stat().st_size == 0 for file in found)
            return [] if under_way else found

        (file,) = self.wait("the file that was to be saved", whole)
        file.replace(into)

    def pick_file(self, label: Name, file: Path) -> None:
        self._do(lambda found: self.give(found, file), "field", label, None)

    def place(self, hash_: str) -> None:
        """Another place of the app that is open, by its address."""
        self.script("location.hash = hash", "hash", hash_)

    @property
    def address(self) -> str:
        return str(self.script("return location.href"))

    @property
    def shown(self) -> str:
        return str(self.script("return document.body.innerText"))

    # what each driver does its own way

    @abstractmethod
    def script(self, code: str, names: str = "", *values: Any) -> Any:
        """Runs `code`, the body of an async function with parameters `names` (separated by commas)."""

    @abstractmethod
    def element(self, code: str, *values: Any) -> Any:
        """A handle of the element that the body of a function (what, name, within) returns, or None."""

    @abstractmethod
    def click(self, element: Any, for_s: float = 0.0) -> None:
        """A real press by the driver's own mouse. Raises NotYetError when it can't be pressed now."""

    @abstractmethod
    def type(self, element: Any, text: str) -> None:
        """Real keys, in place of what stood there."""

    @abstractmethod
    def give(self, element: Any, file: Path) -> None:
        """Picks a file where the page asks for one."""

    @abstractmethod
    def go(self, address: str) -> None: ...

    @abstractmethod
    def reload(self) -> None: ...

    @abstractmethod
    def picture(self, file: Path) -> None: ...
