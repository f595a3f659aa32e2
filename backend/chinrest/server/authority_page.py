"""Gives out the certificate of the hub's own authority, so that a phone can be told to trust it."""

from litestar import Response, get

from chinrest.server.context import Call, settings_of
from chinrest.server.faults import RequestError

MEDIA_TYPE = "application/x-x509-ca-cert"


@get("/authority.crt", include_in_schema=False)
async def authority(request: Call) -> Response[bytes]:
    certificate = settings_of(request).authority
    if certificate is None:
        raise RequestError(404, "no_authority", "/authority.crt", "this server has no authority of its own")
    return Response(certificate, media_type=MEDIA_TYPE)


ROUTES = [authority]
