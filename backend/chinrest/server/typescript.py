"""Writes the front end's types from the server's OpenAPI document.

`python -m chinrest.server.typescript > frontend/src/types.gen.ts`

Only what our structures need: interfaces, unions, literals, arrays, tuples and maps.
"""

import json
import sys
from typing import Any

from chinrest.log.registry import BODY_TYPES
from chinrest.server.openapi import document

Schema = dict[str, Any]
PLAIN = {"string": "string", "integer": "number", "number": "number", "boolean": "boolean", "null": "null"}
HEAD = "// Generated from the server's schema by `python -m chinrest.server.typescript`. Do not edit.\n"


def type_of(schema: Schema) -> str:
    """The TypeScript type of one JSON schema."""
    if "$ref" in schema:
        return str(schema["$ref"]).rsplit("/", 1)[-1]
    if "anyOf" in schema:
        return " | ".join(dict.fromkeys(type_of(option) for option in schema["anyOf"]))
    if "enum" in schema:
        return " | ".join(json.dumps(value) for value in schema["enum"])
    if "const" in schema:
        return json.dumps(schema["const"])
    kind = schema.get("type")
    if kind == "array":
        return _array(schema)
    if kind == "object":
        return _map(schema)
    return "unknown" if kind is None else PLAIN[kind]


def _array(schema: Schema) -> str:
    if "prefixItems" in schema:
        return f"[{', '.join(type_of(item) for item in schema['prefixItems'])}]"
    item = type_of(schema.get("items", {}))
    return f"({item})[]" if " | " in item else f"{item}[]"


def _map(schema: Schema) -> str:
    value = schema.get("additionalProperties", {})
    keys = schema.get("propertyNames")
    key = type_of(keys) if keys else "string"
    return f"Record<{key}, {type_of(value) if isinstance(value, dict) else 'unknown'}>"


def _comment(text: str, indent: str = "") -> list[str]:
    lines = [line.strip() for line in text.strip().splitlines()]
    if len(lines) == 1:
        return [f"{indent}/** {lines[0]} */"]
    return [f"{indent}/**", *(f"{indent} * {line}".rstrip() for line in lines), f"{indent} */"]


def interface(name: str, schema: Schema) -> str:
    """One exported interface, or a type alias where the schema is not an object."""
    lines = _comment(schema["description"]) if schema.get("description") else []
    if "properties" not in schema:
        return "\n".join([*lines, f"export type {name} = {type_of(schema)};", ""])
    lines.append(f"export interface {name} {{")
    required = schema.get("required", [])
    for field, of in schema["properties"].items():
        lines.append(f"  {field}{'' if field in required else '?'}: {type_of(of)};")
    return "\n".join([*lines, "}", ""])


def declarations(schemas: dict[str, Schema]) -> str:
    """The whole file."""
    parts = [HEAD, *(interface(name, schema) for name, schema in sorted(schemas.items()))]
    parts.append("/** The body of each event type; the type itself stands in the envelope. */")
    rows = "".join(f'  "{tag}": {cls.__name__};\n' for tag, cls in sorted(BODY_TYPES.items()))
    parts[-1] += f"\nexport interface BodyOf {{\n{rows}}}\n"
    return "\n".join(parts)


if __name__ == "__main__":
    sys.stdout.write(declarations(document()["components"]["schemas"]))
