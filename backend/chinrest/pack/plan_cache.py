"""A file of worked-out plans, each under the hash of all that it follows from, so that a pack compiles
quickly.

A line an entry: the hash, a tab, the entry as JSON; sorted, and packed with gzip without a time of day, so
that the same entries make the same bytes. It is kept beside a pack's source, and can be thrown away: it
only saves time.
"""

import gzip
import hashlib
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import msgspec

from .demo import demo_path
from .faults import PackFault, PackFaults

SUFFIX = ".plans.gz"
T = TypeVar("T")


def cache_beside(folder: Path) -> Path:
    """Where the cache of a source folder is: beside it, for the folder holds nothing but the source."""
    whole = folder.resolve()
    return whole.with_name(whole.name + SUFFIX)


def caches_for(folder: Path | None) -> "PlanCache":
    """The folder's own cache and the demo's together. Raises PackFaults for one that is damaged."""
    shipped = PlanCache.read(cache_beside(demo_path()))
    return shipped if folder is None else PlanCache.read(cache_beside(folder)).merge(shipped)


class PlanCache:
    """Entries by their hash. `used` are those asked for since it was opened, `missed` those it did not
    have."""

    def __init__(self, entries: dict[str, str] | None = None) -> None:
        self.entries = dict(entries or {})
        self.used: dict[str, str] = {}
        self.missed: list[str] = []

    @classmethod
    def read(cls, path: Path) -> "PlanCache":
        """From a file; empty where there is none. Raises PackFaults for one that is damaged."""
        try:
            text = gzip.decompress(path.read_bytes()).decode()
        except FileNotFoundError:
            return cls()
        except (OSError, EOFError, UnicodeDecodeError, ValueError) as error:
            reason = f"cannot be read: {error}. Delete it: it only saves time."
            raise PackFaults([PackFault(file=str(path), key="", reason=reason)]) from None
        return cls(dict(line.split("\t", 1) for line in text.splitlines() if "\t" in line))

    def get(
        self,
        follows_from: dict[str, Any],
        kind: type[T],
        make: Callable[[], T],
        name: str = "",
        told: Callable[[str], None] = lambda _: None,
    ) -> T:
        """The entry for what it follows from, made where the cache has none or a damaged one."""
        key = _hash(follows_from)
        text = self.used.get(key) or self.entries.get(key)
        if text is not None:
            try:
                value = msgspec.json.decode(text, type=kind)
            except msgspec.DecodeError:
                text = None
        if text is None:
            told(name)
            self.missed.append(name)
            text = msgspec.json.encode(make()).decode()
            value = msgspec.json.decode(text, type=kind)
        self.used[key] = text
        return value

    def merge(self, other: "PlanCache") -> "PlanCache":
        """Both caches' entries: a hash says all that an entry follows from, so it holds for any pack."""
        return PlanCache({**other.entries, **self.entries})

    def write(self, path: Path) -> None:
        """Only what was used: what nothing asks for any more is dropped. No half a file is left behind."""
        lines = "".join(f"{key}\t{text}\n" for key, text in sorted(self.used.items()))
        half = path.with_name(f"{path.name}.part")
        half.write_bytes(gzip.compress(lines.encode(), 9, mtime=0))
        half.replace(path)


def _hash(follows_from: dict[str, Any]) -> str:
    plain = msgspec.to_builtins(follows_from)
    return hashlib.sha256(json.dumps(plain, sort_keys=True).encode()).hexdigest()
