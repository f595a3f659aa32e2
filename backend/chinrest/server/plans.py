"""Plans of fields on request: another region or another face than the pack has plans for."""

import asyncio
import threading

from litestar import post
from litestar.params import JSONBody

from chinrest.model.errors import InputError
from chinrest.model.fields.coverage import check_field
from chinrest.model.fields.reach import Patient
from chinrest.model.retina.regions import Region, custom
from chinrest.pack.compiled import decode_pack
from chinrest.pack.regions import region_by_id
from chinrest.pack.replanning import Replanned, asked_of, replan
from chinrest.pack.schema import Pack
from chinrest.server.context import Call, store_of
from chinrest.server.faults import RequestError
from chinrest.server.guards import json_body, own_page, signed_in
from chinrest.server.plans_wire import PlanRequest
from chinrest.server.scope import WITHIN

MOST_CONES, MOST_CORNERS, MOST_BYTES, LONGEST_NAME = 40, 200, 64 * 1024, 80
RETRY_S = 5
_planning = threading.Lock()
"""A plan can keep a core busy for seconds: one at a time, so that phones are not kept waiting."""


@post(
    "/api/plans",
    guards=[signed_in, own_page, json_body],
    opt=WITHIN,
    status_code=200,
    request_max_body_size=MOST_BYTES,
)
async def plans(request: Call, data: JSONBody[PlanRequest]) -> Replanned:
    """The fewest joined fields that show a region, with known patterns beside. It changes nothing."""
    raw = await store_of(request).pack_bytes(data.pack)
    if raw is None:
        raise RequestError(404, "pack_unknown", "pack", "this server holds no such guidance pack")
    try:
        return await asyncio.to_thread(_plan, data, raw)
    except InputError as error:
        raise RequestError(400, "invalid", error.field, error.why) from None


def _plan(data: PlanRequest, raw: bytes) -> Replanned:
    pack = decode_pack(raw)
    region = _region(data, pack)
    if not _planning.acquire(blocking=False):
        why = f"another plan is being worked out; ask again in {RETRY_S} seconds"
        raise RequestError(503, "busy", "plans", why, {"Retry-After": str(RETRY_S)})
    try:
        return replan(
            pack,
            data.optic,
            data.eye,
            region,
            asked_of(pack, data.region, data.coverage, data.overlap),
            Patient(measures=data.measures, age_band=data.age_band, pupil_mm=data.pupil_mm),
        )
    finally:
        _planning.release()


def _region(data: PlanRequest, pack: Pack) -> Region:
    if not data.cones and not data.polygon:
        return region_by_id(data.region, pack.own_regions)
    if not 0 < len(data.region.strip()) <= LONGEST_NAME:
        raise InputError("region", f"give the region a name of 1 to {LONGEST_NAME} characters")
    for field, given, most in (("cones", data.cones, MOST_CONES), ("polygon", data.polygon, MOST_CORNERS)):
        if len(given) > most:
            raise InputError(field, f"{len(given)} are too many; at most {most}")
    for each in [*data.cones, *((1.0, *corner) for corner in data.polygon)]:
        check_field(each)
    return custom(
        data.region.strip(), data.region.strip(), "drawn at the desk", cones=data.cones, polygon=data.polygon
    )


ROUTES = [plans]
