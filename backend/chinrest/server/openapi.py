"""The OpenAPI document: the handlers as they are, and every structure that travels."""

from functools import lru_cache
from typing import Any

from litestar import Litestar, Response, get
from litestar.openapi import OpenAPIConfig

import chinrest
from chinrest.server.components import REF, components

TITLE = "Chinrest"


@lru_cache(maxsize=1)
def document() -> dict[str, Any]:
    """OpenAPI 3.1.

    A second, unserved application describes the handlers, because Litestar's own route for the document
    answers unknown addresses under it with a page of its own instead of our error shape.
    """
    from chinrest.server.routes import HANDLERS

    described = Litestar(
        route_handlers=HANDLERS,
        openapi_config=OpenAPIConfig(title=TITLE, version=chinrest.__version__, use_handler_docstrings=True),
        logging_config=None,
    )
    schema: dict[str, Any] = described.openapi_schema.to_schema()
    fault = {"description": "refused", "content": {"application/json": {"schema": _ref("Fault")}}}
    for operations in schema["paths"].values():
        for operation in operations.values():
            operation["responses"].pop("400", None)  # Litestar's own shape, which is not ours
            operation["responses"].get("204", {}).pop("content", None)  # No Content, as its name says
            operation["responses"]["default"] = fault
    _describe_raw_bodies(schema["paths"])
    schema["components"] = {**schema.get("components", {}), "schemas": components()}
    return schema


def _ref(name: str) -> dict[str, str]:
    return {"$ref": REF.format(name=name)}


def _describe_raw_bodies(paths: dict[str, Any]) -> None:
    """Bodies that handlers take and give as bytes."""
    pack = {"application/json": {"schema": _ref("Pack")}}
    paths["/api/packs/{sha256}"]["get"]["responses"]["200"]["content"] = pack
    paths["/api/packs"]["post"]["requestBody"] = {"required": True, "content": pack}
    lines = {"type": "string", "description": "a SyncHeader, then raw lines, each ended by a line feed"}
    body = {"required": True, "content": {"application/x-ndjson": {"schema": lines}}}
    paths["/api/sync"]["post"]["requestBody"] = body
    file = {"type": "string", "description": "a file of carried lines, as it is"}
    body = {"required": True, "content": {"application/x-ndjson": {"schema": file}}}
    paths["/api/carried"]["post"]["requestBody"] = body


@get(["/api/schema", "/api/schema/openapi.json"], include_in_schema=False)
async def openapi() -> Response[dict[str, Any]]:
    return Response(document(), media_type="application/json")
