"""Reads the TOML files of a source folder, and turns their tables into structures, collecting every fault."""

import tomllib
from collections.abc import Mapping
from copy import deepcopy
from pathlib import Path
from typing import Any, TypeVar, cast

import msgspec

from .faults import PackFault
from .kinds import faults_of_kind, join, name_of

Kind = TypeVar("Kind")
Table = dict[str, Any]

DYE_FILES = {"dyes", "screening", "reaction", "watch", "takeaway", "protocols"}
NEEDED = {"clinic", "optics", "faces", "limits", "steps", "fields", "choices", "emergency"}
FILES = {*NEEDED, "regions", "planning", *DYE_FILES}
FOLDERS = {"steps", "phrases"}
OPTIONAL = {"steps", "regions", "planning", *DYE_FILES, "protocols"}
"""`steps.toml` may be left out where the folder `steps/` holds them, the rest where a clinic gives none."""


class Reader:
    """One source: the tables of its files, and the faults found so far."""

    def __init__(self) -> None:
        self.faults: list[PackFault] = []
        self.tables: dict[str, Table] = {}
        self.unreadable: set[str] = set()
        self.phrase_files: list[str] = []

    @classmethod
    def of_folder(cls, folder: Path) -> "Reader":
        """The files as they lie in a folder."""
        reader = cls()
        reader.phrase_files = sorted(path.stem for path in (folder / "phrases").glob("*.toml"))
        if not folder.is_dir():
            reader.fault(str(folder), "", "is no folder; a pack's source is a folder of TOML files")
            return reader
        for path in sorted(folder.rglob("*.toml")):
            reader._read(path, path.relative_to(folder).as_posix())
        there = {f"{name}.toml" for name in FILES if (folder / f"{name}.toml").exists()}
        if any((folder / "steps").glob("*.toml")):
            there.add("steps/")
        reader._missing(there)
        return reader

    @classmethod
    def of_tables(cls, tables: Mapping[str, Table]) -> "Reader":
        """The same files as tables, named as they would be in a folder."""
        reader = cls()
        for file in sorted(tables):
            if reader._known(file):
                reader.tables[file] = deepcopy(tables[file])
        reader.phrase_files = [Path(file).stem for file in reader.tables if file.startswith("phrases/")]
        reader._missing({"steps/" if file.startswith("steps/") else file for file in reader.tables})
        return reader

    def _missing(self, there: set[str]) -> None:
        for name in sorted(FILES - OPTIONAL):
            if f"{name}.toml" not in there:
                self.fault(f"{name}.toml", "", "is missing")
        if not {"steps.toml", "steps/"} & there:
            self.fault("steps.toml", "", "is missing, and so is any file in steps/")
        if not self.phrase_files:
            self.fault("phrases/", "", "holds no TOML file; one for the pack's language must be there")

    def _known(self, file: str) -> bool:
        parts = Path(file).parts
        known = parts[0].removesuffix(".toml") in FILES if len(parts) == 1 else parts[0] in FOLDERS
        if known and len(parts) <= 2:
            return True
        names = ", ".join(sorted(FILES))
        self.fault(file, "", f"no such file in a pack; known are {names}, steps/ and phrases/")
        return False

    def _read(self, path: Path, file: str) -> None:
        if not self._known(file):
            return
        self.unreadable.add(file)
        if not path.is_file():  # reading a pipe or a device would wait, or go on, for ever
            self.fault(file, "", "is no plain file")
            return
        try:
            self.tables[file] = tomllib.loads(path.read_text("utf-8"))
            self.unreadable.discard(file)
        except OSError as error:
            self.fault(file, "", f"cannot be read: {error.strerror}")
        except UnicodeDecodeError as error:
            self.fault(file, "", f"is not UTF-8 at byte {error.start}")
        except tomllib.TOMLDecodeError as error:
            self.fault(file, "", f"is not TOML: {error}")
        except (RecursionError, ValueError) as error:  # nested too deeply, or a number of too many digits
            self.fault(file, "", f"cannot be read as TOML: {error}")

    def fault(self, file: str, key: str, reason: str) -> None:
        self.faults.append(PackFault(file=file, key=key, reason=reason))

    def convert(self, value: object, kind: type[Kind], file: str, key: str = "") -> Kind | None:
        """The structure, or None after noting each fault."""
        found = list(faults_of_kind(value, kind, key))
        for where, reason in found:
            self.fault(file, where, reason)
        return None if found else msgspec.convert(value, kind)

    def whole(self, file: str, kind: type[Kind]) -> Kind | None:
        """A file whose top level is one structure."""
        return self.convert(self.tables[file], kind, file) if file in self.tables else None

    def entries(self, file: str, key: str) -> list[Table]:
        """A list of tables at the top of a file, as they stand; what is no table is noted and left out."""
        value = self.tables.get(file, {}).get(key, [])
        if not isinstance(value, list):
            self.fault(file, key, "must be a list of tables")
            return []
        for i, entry in enumerate(value):
            if not isinstance(entry, dict):
                self.fault(file, f"{key}{name_of(i, entry)}", "must be a table")
        return [cast(Table, entry) for entry in value if isinstance(entry, dict)]

    def listed(self, file: str, key: str, kind: type[Kind]) -> list[Kind]:
        """The sound entries of such a list; one faulty entry does not hide its neighbours."""
        made = [
            self.convert(entry, kind, file, key + name_of(i, entry))
            for i, entry in enumerate(self.entries(file, key))
        ]
        return [item for item in made if item is not None]

    def only(self, file: str, known: set[str], required: set[str]) -> None:
        """Notes keys at the top of a file that are unknown, and those that are missing."""
        if file not in self.tables:
            return
        for name in self.tables[file]:
            if name not in known:
                self.fault(file, join("", name), f"unknown key; known here: {', '.join(sorted(known))}")
        for name in sorted(required - set(self.tables[file])):
            self.fault(file, name, "is missing")

    def rest(self, file: str, lists: set[str], kind: type[Kind]) -> Kind | None:
        """The structure that the keys of a file make up, but for its lists, which are read entry by entry."""
        if file not in self.tables:
            return None
        table = {name: value for name, value in self.tables[file].items() if name not in lists}
        return self.convert(table, kind, file)
