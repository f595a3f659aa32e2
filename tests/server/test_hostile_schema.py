"""Schemathesis sends what the OpenAPI document allows, and what it does not, as everyone who may call: the
server never fails inside, and answers only as the document says.

The runs are bounded, and derandomized so that CI goes the same way each time.
"""

import asyncio
import copy
from collections.abc import Iterator
from functools import lru_cache
from typing import Any

import jsonschema_rs
import pytest
import schemathesis
from callers import OWN_PAGE, House, found
from carrying import NDJSON, Phone, comfort, near_miss, opened
from hypothesis import HealthCheck, Phase, given
from hypothesis import settings as bounds
from litestar.testing import TestClient
from schemathesis import Case, GenerationMode
from schemathesis.checks import not_a_server_error
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    status_code_conformance,
)

from chinrest.server.app import create_app
from chinrest.server.openapi import document
from chinrest.server.settings import Settings

EXAMPLES = 5
JSON = ("application/json", "application/fhir+json")
WHO = ["nobody", "phone", "officer", "lead", "admin"]
SIGNED_IN = {"officer": House.as_officer, "lead": House.as_lead, "admin": House.as_admin}
CHECKS: list[Any] = [
    not_a_server_error,
    status_code_conformance,
    content_type_conformance,
]

READ = schemathesis.openapi.from_dict(copy.deepcopy(document()))
OPERATIONS = {one.label: one for one in (each.ok() for each in READ.get_all_operations())}
# a whole guidance pack is too large a structure to be made by chance, and the stream of changes goes on for
# as long as it is asked to, up to an hour: both have tests of their own
BY_CHANCE = sorted(set(OPERATIONS) - {"POST /api/packs", "GET /api/changes"})


@schemathesis.serializer(NDJSON)
def as_lines(_context: Any, value: Any) -> bytes:
    return str(value).encode("utf-8", "replace")


@lru_cache(maxsize=256)
def described(label: str, status: int) -> jsonschema_rs.Draft202012Validator:
    """What the document says of this answer, by a reader of JSON Schema that has no part in making examples
    (which rewrites the pairs, `prefixItems`, in what the examples are made from)."""
    method, path = label.split(" ", 1)
    answers = document()["paths"][path][method.lower()]["responses"]
    said = answers.get(str(status), answers["default"])
    (content,) = said["content"].values()
    whole = {"components": document()["components"], "allOf": [content["schema"]]}
    return jsonschema_rs.Draft202012Validator(whole)


class Town:
    """One application for all examples, with something real behind every kind of id."""

    def __init__(self, house: House) -> None:
        self.house = house
        self.phone: Phone = house.phone()
        lost = house.phone()
        event = self.phone.write(near_miss("x"), "case-1")
        lines = [self.phone.first_line(), self.phone.write(opened(), "case-1"), event]
        self.phone.sync(*lines, self.phone.write(comfort(), "case-1"))
        added = house.as_officer().post(
            f"/api/incidents/{event.envelope.id}/actions",
            json={"seen": 0, "text": "x", "owner": "x", "due": "2026-12-01"},
            headers=OWN_PAGE,
        )
        assert added.status_code == 200, added.text
        somebody = {"name": "Nia New", "role": "officer", "site": None}
        invited = house.as_admin().post("/api/people", json=somebody, headers=OWN_PAGE)
        assert invited.status_code == 200, invited.text
        self.real = {
            "line": event.envelope.id,
            "action": added.json()["actions"][0]["action"],
            "case": "case-1",
            "device": lost.device,
            "sha256": "0" * 64,
            "older": "0" * 64,
            "draft": "0" * 36,
            "staff": invited.json()["staff"],
        }

    def send(self, who: str, case: Case) -> Any:
        client = self.house.as_nobody()
        headers = dict(OWN_PAGE)
        # signing out would end the session that the other examples need: only nobody does that here
        if who == "phone":
            headers |= self.phone.bearer
        elif who in SIGNED_IN and case.method != "DELETE":
            client = SIGNED_IN[who](self.house)
        asked = case.as_transport_kwargs(base_url="http://testserver.local")
        body = asked.get("data")
        return client.request(
            asked["method"],
            asked["url"],
            params=asked.get("params"),
            json=asked.get("json"),
            content=body.encode("utf-8", "replace") if isinstance(body, str) else body,
            headers={**asked.get("headers", {}), **headers},
        )


@pytest.fixture(scope="module")
def town(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Town]:
    settings = Settings(data=tmp_path_factory.mktemp("schema"), origin="http://hub.test:8480")
    sessions = asyncio.run(found(settings))
    with TestClient(create_app(settings), raise_server_exceptions=False) as client:
        yield Town(House(client, settings, sessions))


def examples(label: str, real: dict[str, str]) -> Iterator[Any]:
    """As described, about what is there; as described, about anything; and otherwise than described."""
    operation = OPERATIONS[label]
    named = {name: real[name] for name in real if f"{{{name}}}" in operation.path}
    yield operation.as_strategy(GenerationMode.POSITIVE, path_parameters=named) if named else None
    yield operation.as_strategy(GenerationMode.POSITIVE)
    # where nothing is asked for, nothing can be otherwise than described
    if named or operation.query or operation.body:
        yield operation.as_strategy(GenerationMode.NEGATIVE)


@pytest.mark.parametrize("who", WHO)
@pytest.mark.parametrize("label", BY_CHANCE)
def test_the_server_never_fails_and_answers_as_described(town: Town, label: str, who: str) -> None:
    for strategy in examples(label, town.real):
        if strategy is None:
            continue

        @bounds(
            max_examples=EXAMPLES,
            deadline=None,
            database=None,
            derandomize=True,
            phases=[Phase.generate],
            suppress_health_check=list(HealthCheck),
        )
        @given(case=strategy)
        def run(case: Case) -> None:
            answer = town.send(who, case)
            case.validate_response(answer, checks=CHECKS)
            if answer.headers.get("content-type", "").partition(";")[0] in JSON:
                described(label, answer.status_code).validate(answer.json())

        run()
