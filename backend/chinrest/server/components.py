"""Every structure that leaves or enters the server, as JSON Schema for the OpenAPI document.

Only what stands in a handler's signature would otherwise be described; event bodies travel inside raw lines
and the guidance pack as raw bytes, and the phone's types come from here.
"""

from typing import Any, Literal, get_args, get_origin

import msgspec

from chinrest.log import answers, carried, case_events
from chinrest.log.envelope import Envelope
from chinrest.log.incidents import IncidentList
from chinrest.log.registry import BODY_TYPES
from chinrest.log.timeline import Timeline
from chinrest.model import face, fit
from chinrest.model.dye.dose import Dose
from chinrest.pack import schema as pack
from chinrest.server import (
    calibration_wire,
    charts_wire,
    craft_wire,
    drafts_wire,
    keeping_wire,
    people_wire,
    plans_wire,
    rates_wire,
    relay_wire,
    review_wire,
    rollout_wire,
    wire,
)
from chinrest.store import rows

REF = "#/components/schemas/{name}"
Schema = dict[str, Any]
# where the literals stand whose names the front end shares
NAMING = [case_events, answers, face, fit, pack, rows]


def _structs(module: object) -> list[type[msgspec.Struct]]:
    """The structures that a module has, its own and those it imports."""
    kinds = [value for value in vars(module).values() if isinstance(value, type)]
    return [kind for kind in kinds if issubclass(kind, msgspec.Struct) and kind is not msgspec.Struct]


def _roots() -> list[type[msgspec.Struct]]:
    """What travels; whatever these hold comes with them."""
    bodies: list[type[msgspec.Struct]] = list(BODY_TYPES.values())
    rest: list[type[msgspec.Struct]] = [
        Envelope,
        IncidentList,
        Timeline,
        pack.Pack,
        fit.FitRequest,
        fit.FitResult,
        Dose,
        *_structs(wire),
        *_structs(carried),
        *_structs(review_wire),
        *_structs(rates_wire),
        *_structs(charts_wire),
        *_structs(relay_wire),
        *_structs(craft_wire),
        *_structs(calibration_wire),
        *_structs(plans_wire),
        *_structs(rollout_wire),
        *_structs(drafts_wire),
        *_structs(people_wire),
        *_structs(keeping_wire),
    ]
    return list(dict.fromkeys([*bodies, *rest]))


def _any(kind: type) -> Schema:
    if kind is object:
        return {"description": "any JSON value"}  # an empty schema would count as no answer
    raise NotImplementedError(f"no JSON schema for {kind}")


def _choices(taken: set[str]) -> dict[frozenset[str], str]:
    """The named literals, by their values; a structure's name is not used twice."""
    return {
        frozenset(get_args(value)): name
        for module in NAMING
        for name, value in vars(module).items()
        if get_origin(value) is Literal and name not in taken
    }


def _name_choices(schema: Any, names: dict[frozenset[str], str]) -> Any:
    """The same schema with every enumeration that has a name replaced by a reference to it."""
    if isinstance(schema, list):
        return [_name_choices(item, names) for item in schema]
    if not isinstance(schema, dict):
        return schema
    name = names.get(frozenset(schema["enum"])) if isinstance(schema.get("enum"), list) else None
    if name and "default" not in schema:
        return {"$ref": REF.format(name=name)}
    return {key: _name_choices(value, names) for key, value in schema.items()}


def _name_keys(cls: type[msgspec.Struct], schema: Schema) -> None:
    """Says which keys a map may have, where its Python type says so."""
    info = msgspec.inspect.type_info(cls)
    for field in getattr(info, "fields", ()):
        keys = getattr(field.type, "key_type", None)
        if isinstance(keys, msgspec.inspect.LiteralType):
            schema["properties"][field.encode_name]["propertyNames"] = {"enum": list(keys.values)}


def components() -> dict[str, Schema]:
    """Name to JSON schema.

    Event bodies leave out the tag, since the type stands in the envelope only. They and the envelope keep
    defaulted fields optional, since older lines lack them; everything else is always written in full.
    """
    _, schemas = msgspec.json.schema_components(_roots(), schema_hook=_any, ref_template=REF)
    by_name = {cls.__name__: cls for module in (face, fit, pack) for cls in _structs(module)}
    body_names = {cls.__name__ for cls in BODY_TYPES.values()}
    for name, schema in schemas.items():
        properties = schema.get("properties", {})
        if name in by_name:
            _name_keys(by_name[name], schema)
        if name in body_names:
            del properties["type"]
            schema["required"] = [field for field in schema["required"] if field != "type"]
        elif properties and name != Envelope.__name__:
            schema["required"] = list(properties)
    names = _choices(set(schemas))
    named = {name: {"enum": sorted(values)} for values, name in names.items()}
    return dict(sorted({**named, **{name: _name_choices(of, names) for name, of in schemas.items()}}.items()))
