"""Gives out the certificate of the hub's own authority, so that a phone can be told to trust it.

Under TLS at `/authority.crt`, and beside it over plain HTTP on the next port, since a phone that does not
trust the hub yet cannot open it otherwise. The plain page offers nothing else.
"""

import html
import threading
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any

from litestar import Response, get

from chinrest.server.context import Call, settings_of
from chinrest.server.faults import RequestError

MEDIA_TYPE = "application/x-x509-ca-cert"
FILE_NAME = "chinrest-hub.crt"
DOWNLOAD = {"Content-Disposition": f'attachment; filename="{FILE_NAME}"'}


@get("/authority.crt", include_in_schema=False)
async def authority(request: Call) -> Response[bytes]:
    certificate = settings_of(request).authority
    if certificate is None:
        raise RequestError(404, "no_authority", "/authority.crt", "this server has no authority of its own")
    return Response(certificate, media_type=MEDIA_TYPE, headers=DOWNLOAD)


ROUTES = [authority]

PAGE = """<!doctype html>
<html lang="en"><head><meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>Trust this hub</title></head><body>
<h1>Let this phone trust the hub</h1>
<p>The phone works without a network only if it trusts the hub's certificate. Do this once on each phone, and
only if the person who runs the hub asked you to.</p>
<p><strong>1. Compare.</strong> The hub's terminal shows this fingerprint. If it shows another one, stop:</p>
<p><code>{fingerprint}</code></p>
<p><strong>2. Download</strong> <a href="/authority.crt">the hub's certificate</a>.</p>
<p><strong>3. Install it.</strong></p>
<ul>
<li>On an iPhone or iPad: open Settings, tap the downloaded profile, and install it. Then, under General,
About, Certificate Trust Settings, switch full trust on for it.</li>
<li>On an Android phone: open Settings, search for &quot;CA certificate&quot;, choose to install one anyway,
and pick the downloaded file. The phone may then say that the network may be monitored: the certificate can
vouch for this hub's own names and addresses only.</li>
<li>A phone that your organisation manages may not allow this: ask those who manage it.</li>
</ul>
<p><strong>4. Open</strong> <a href="{origin}/">{origin}</a>. If the browser still warns, the certificate
isn't trusted yet: do not go on past the warning, since nothing would work offline.</p>
</body></html>
"""


class PlainPage:
    """The plain page and the certificate, in a thread of their own."""

    def __init__(self, host: str, port: int, origin: str, certificate: bytes, fingerprint: str) -> None:
        page = PAGE.format(origin=html.escape(origin), fingerprint=html.escape(fingerprint)).encode()
        answers = {
            "/": (page, {"Content-Type": "text/html; charset=utf-8"}),
            "/authority.crt": (certificate, {"Content-Type": MEDIA_TYPE, **DOWNLOAD}),
        }

        class Handler(BaseHTTPRequestHandler):
            timeout = 10  # a silent caller may not hold a thread for ever

            def do_GET(self) -> None:
                found = answers.get(self.path.partition("?")[0])
                if found is None:
                    self.send_error(404)
                    return
                body, headers = found
                self.send_response(200)
                safe = {"Cache-Control": "no-store", "X-Content-Type-Options": "nosniff"}
                policy = {"Content-Security-Policy": "default-src 'none'"}
                for name, value in {**headers, **safe, **policy}.items():
                    self.send_header(name, value)
                self.send_header("Content-Length", str(len(body)))
                self.end_headers()
                self.wfile.write(body)

            def log_message(self, *_: Any) -> None:
                """Nothing to tell: the page is the same for everyone."""

        self._server = ThreadingHTTPServer((host, port), Handler)
        self._thread = threading.Thread(target=self._server.serve_forever, name="plain-page", daemon=True)
        self._thread.start()

    def close(self) -> None:
        self._server.shutdown()
        self._server.server_close()
        self._thread.join(timeout=5)
