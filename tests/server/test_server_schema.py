"""The OpenAPI document tells the truth, and the front end's types are made of it."""

import json
import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import msgspec
import pytest
from callers import House
from carrying import near_miss, opened

from chinrest.log.registry import BODY_TYPES
from chinrest.server.openapi import document
from chinrest.server.typescript import declarations, type_of

ROOT = Path(__file__).resolve().parents[2]


def references(value: Any) -> set[str]:
    if isinstance(value, list):
        return set().union(*map(references, value))
    if not isinstance(value, dict):
        return set()
    here = {value["$ref"].rsplit("/", 1)[1]} if isinstance(value.get("$ref"), str) else set()
    return here.union(*map(references, value.values()))


def test_the_front_ends_types_are_those_of_the_schema() -> None:
    kept = (ROOT / "frontend" / "src" / "types.gen.ts").read_text()
    made = declarations(document()["components"]["schemas"])
    assert kept == made, "run: python -m chinrest.server.typescript > frontend/src/types.gen.ts"


def test_the_command_that_makes_them_prints_the_same() -> None:
    done = subprocess.run(
        [sys.executable, "-m", "chinrest.server.typescript"], capture_output=True, text=True, check=True
    )
    assert done.stdout == declarations(document()["components"]["schemas"])


def test_every_reference_leads_somewhere() -> None:
    schemas = document()["components"]["schemas"]
    assert references(document()) <= set(schemas)
    names = set(re.findall(r"^export (?:interface|type) (\w+)", declarations(schemas), re.M))
    assert set(schemas) <= names


def test_every_event_type_has_its_body() -> None:
    text = declarations(document()["components"]["schemas"])
    rows = dict(re.findall(r'^  "([\w.]+)": (\w+);$', text, re.M))
    assert rows == {name: cls.__name__ for name, cls in BODY_TYPES.items()}


def test_every_operation_may_answer_with_a_fault() -> None:
    for path, item in document()["paths"].items():
        for method, operation in item.items():
            said = operation["responses"]["default"]["content"]["application/json"]["schema"]
            assert said == {"$ref": "#/components/schemas/Fault"}, (method, path)


def test_bodies_leave_out_the_tag_and_stay_open_to_older_lines() -> None:
    schema = document()["components"]["schemas"]["SafetyNoted"]
    assert "type" not in schema["properties"]
    assert "note" not in schema["required"]
    assert "salt" in schema["required"]


@pytest.mark.parametrize(
    ("schema", "text"),
    [
        ({"type": "integer"}, "number"),
        ({"enum": ["a", 2]}, '"a" | 2'),
        ({"anyOf": [{"type": "string"}, {"type": "null"}]}, "string | null"),
        ({"type": "array", "items": {"anyOf": [{"type": "string"}, {"type": "null"}]}}, "(string | null)[]"),
        ({"type": "array", "prefixItems": [{"type": "number"}, {"$ref": "#/x/Y"}]}, "[number, Y]"),
        ({"type": "object", "additionalProperties": {"type": "boolean"}}, "Record<string, boolean>"),
        ({"description": "any JSON value"}, "unknown"),
    ],
)
def test_types(schema: dict[str, Any], text: str) -> None:
    assert type_of(schema) == text


def check(value: Any, schema: dict[str, Any], at: str) -> None:
    """A small JSON Schema check: enough to see that an answer is as described."""
    if "$ref" in schema:
        check(value, document()["components"]["schemas"][schema["$ref"].rsplit("/", 1)[1]], at)
    elif "anyOf" in schema:
        failures = []
        for option in schema["anyOf"]:
            try:
                check(value, option, at)
                return
            except AssertionError as failure:
                failures.append(str(failure))
        raise AssertionError("; ".join(failures))
    elif "enum" in schema:
        assert value in schema["enum"], f"{at}: {value!r}"
    elif schema.get("type") == "object" and "properties" in schema:
        assert isinstance(value, dict), at
        assert set(schema["required"]) <= set(value) <= set(schema["properties"]), f"{at}: {sorted(value)}"
        for name, inner in value.items():
            check(inner, schema["properties"][name], f"{at}.{name}")
    elif schema.get("type") == "array":
        assert isinstance(value, list), at
        kinds = schema.get("prefixItems") or [schema.get("items", {})] * len(value)
        assert len(kinds) == len(value), at
        for index, (inner, kind) in enumerate(zip(value, kinds, strict=True)):
            check(inner, kind, f"{at}[{index}]")
    elif "type" in schema:
        number = int | float
        kinds = {"string": str, "integer": int, "number": number, "boolean": bool, "null": type(None)}
        assert isinstance(value, kinds.get(schema["type"], object)), f"{at}: {value!r}"


def test_answers_are_as_described(house: House, demo_pack: bytes) -> None:
    phone, case = house.phone(), "0192f0c0-0000-7000-8000-000000000001"
    synced = phone.sync(phone.first_line(), phone.write(opened(), case), phone.write(near_miss(), case), b"?")
    lead = house.as_lead()
    kept = lead.post(
        "/api/packs", content=demo_pack, headers={"X-Chinrest": "1", "Content-Type": "application/json"}
    )
    seen = {
        "SyncAnswer": synced,
        "Health": lead.get("/api/health").json(),
        "IncidentList": lead.get("/api/incidents").json(),
        "Timeline": lead.get(f"/api/cases/{case}").json(),
        "Person": lead.get("/api/session").json(),
        "PackRow": kept.json(),
        "Pack": lead.get(f"/api/packs/{kept.json()['sha256']}").json(),
        "DeviceRow": lead.get("/api/devices").json()[0],
        "SiteRow": lead.get("/api/sites").json()[0],
        "RefusedRow": lead.get("/api/refused-lines").json()[0],
        "Fault": lead.get("/api/nothing").json(),
    }
    assert seen["IncidentList"]["rows"], "an empty list would prove little"
    for name, value in seen.items():
        check(value, {"$ref": f"#/components/schemas/{name}"}, name)


def test_the_document_is_served(house: House) -> None:
    for path in ("/api/schema", "/api/schema/openapi.json"):
        assert house.client.get(path).json() == json.loads(msgspec.json.encode(document()))
