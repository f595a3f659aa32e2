"""The built front end: in the package, else in the checkout, else one plain page that says what to run."""

import gzip
import mimetypes
from functools import lru_cache
from pathlib import Path
from typing import Any

from litestar import Request, Response, get
from litestar.datastructures import State
from litestar.params import FromPath

from chinrest.server.faults import RequestError

PACKAGE = Path(__file__).resolve().parents[1]
IMMUTABLE = "public, max-age=31536000, immutable"
# browsers insist on these two, and the system's own table may lack or shadow them
TYPES = {".js": "text/javascript", ".webmanifest": "application/manifest+json"}
# files are packed once and kept; only what handlers make is packed as it goes
PACKED = "packed"
PAGE: dict[str, Any] = {"include_in_schema": False, "sync_to_thread": True, PACKED: True}
TEXT = ("text/", "application/json", "application/manifest+json", "image/svg+xml")
UNBUILT = (
    "<!doctype html><html lang=en><meta charset=utf-8><title>Chinrest</title>"
    "<h1>Chinrest: the pages are not built</h1><p>The server runs, but this checkout has no built front end. "
    "Run <code>npm --prefix frontend ci</code> and <code>npm --prefix frontend run build</code>, "
    "then load this page again.</p></html>"
)


def find_pages() -> Path | None:
    """The folder of the built front end, or None where nobody built it."""
    for folder in (PACKAGE / "static", PACKAGE.parents[1] / "frontend" / "dist"):
        if (folder / "index.html").is_file():
            return folder
    return None


@lru_cache(maxsize=256)
def _read(path: Path, _changed_ns: int, packed: bool) -> bytes:
    content = path.read_bytes()
    return gzip.compress(content, 9, mtime=0) if packed else content


def media_type(path: Path) -> str:
    found = TYPES.get(path.suffix) or mimetypes.guess_type(path.name)[0] or "application/octet-stream"
    return f"{found}; charset=utf-8" if found.startswith(TEXT) else found


def _inside(folder: Path, name: str) -> Path | None:
    """The file of this name; null where there is none, or where it lies outside the folder."""
    try:
        path = (folder / name).resolve()
        return path if path.is_relative_to(folder.resolve()) and path.is_file() else None
    except (OSError, ValueError):  # a name that no file can have: too long, or with a NUL in it
        return None


def serve_file(
    request: Request[object, object, State], folder: Path | None, name: str, cache: str
) -> Response[bytes]:
    """One file of the built front end. What is missing is a 404, never the page in its place."""
    missing = RequestError(404, "not_found", request.url.path, "there is no such file here")
    if folder is None:
        raise missing
    path = _inside(folder, name)
    if path is None:
        raise missing
    kind = media_type(path)
    packed = kind.startswith(TEXT) and "gzip" in request.headers.get("accept-encoding", "")
    headers = {"Cache-Control": cache, "Vary": "Accept-Encoding"}
    if packed:
        headers["Content-Encoding"] = "gzip"
    content = _read(path, path.stat().st_mtime_ns, packed)
    return Response(content, media_type=kind, headers=headers)


def _page(request: Request[object, object, State], name: str) -> Response[bytes]:
    folder = find_pages()
    if folder is None:
        return Response(UNBUILT.encode(), media_type="text/html; charset=utf-8", status_code=503)
    return serve_file(request, folder, name, "no-store")


@get("/", **PAGE)
def chairside(request: Request[object, object, State]) -> Response[bytes]:
    return _page(request, "index.html")


@get("/desk", **PAGE)
def desk(request: Request[object, object, State]) -> Response[bytes]:
    return _page(request, "desk.html")


@get("/{name:str}", **PAGE)
def top(request: Request[object, object, State], name: FromPath[str]) -> Response[bytes]:
    """The worker, the manifest and the pages by their file names: always asked for anew."""
    return serve_file(request, find_pages(), name, "no-store")


@get("/icons/{name:str}", **PAGE)
def icon(request: Request[object, object, State], name: FromPath[str]) -> Response[bytes]:
    return serve_file(request, find_pages(), f"icons/{name}", "no-cache")


@get("/assets/{name:path}", **PAGE)
def asset(request: Request[object, object, State], name: FromPath[str]) -> Response[bytes]:
    """Named by their content, so that they never change."""
    folder = find_pages()
    under = folder / "assets" if folder else None
    return serve_file(request, under, name.lstrip("/"), IMMUTABLE)


ROUTES = [chairside, desk, top, icon, asset]
