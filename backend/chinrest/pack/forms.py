"""What of a pack's source is edited as forms at the desk; the forms are made of the structures themselves."""

from typing import Any

import msgspec
from msgspec import Struct

from chinrest.model.fit import Limits
from chinrest.model.optic import Optic

from .difference.words import part_of
from .parts import Clinic, PhraseFile
from .schema import Step


class Form(Struct, frozen=True, kw_only=True):
    """A table of a file. `file` may end in a slash: then each file of that folder is such a table. `key`:
    the list whose entries are such tables, empty where the file's top is one. `kept`: lists at the file's top
    that the form does not hold. `schema`: JSON Schema of one table, with a title for each key."""

    id: str
    title: str
    file: str
    key: str = ""
    kept: list[str] = []
    schema: dict[str, object] = {}

    def takes(self, file: str, key: str) -> bool:
        inside = self.file.endswith("/") and file.startswith(self.file)
        return key == self.key and (inside or file == self.file)


def _label(key: str) -> str:
    words, unit = part_of(key)
    return f"{words}, {'degrees' if unit == '°' else unit}" if unit else words


def _titled(schema: Any) -> Any:
    if isinstance(schema, list):
        return [_titled(item) for item in schema]
    if not isinstance(schema, dict):
        return schema
    made = {key: _titled(item) for key, item in schema.items()}
    if isinstance(made.get("properties"), dict):
        made["properties"] = {key: {**of, "title": _label(key)} for key, of in made["properties"].items()}
    return made


def _form(kind: Any, **fields: Any) -> Form:
    return Form(schema=_titled(msgspec.json.schema(kind)), **fields)


FORMS = [
    _form(Clinic, id="clinic", title="Clinic, version and thresholds", file="clinic.toml", kept=["sites"]),
    _form(Limits, id="limits", title="Limits of positioning", file="limits.toml"),
    _form(Optic, id="optics", title="Optics", file="optics.toml", key="optics"),
    _form(Step, id="steps", title="Steps", file="steps.toml", key="steps"),
    _form(PhraseFile, id="phrases", title="Phrases", file="phrases/"),
]
