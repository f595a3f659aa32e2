"""The built front end as it is handed out, and the headers that every answer carries."""

import gzip
from pathlib import Path

import pytest
from callers import House

from chinrest.server import pages
from chinrest.server.headers import POLICY

PAGE = "<!doctype html><title>Chairside</title>"
SCRIPT = "console.log('é');" * 100


@pytest.fixture
def built(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A front end as the build lays it out."""
    folder = tmp_path / "dist"
    (folder / "assets").mkdir(parents=True)
    (folder / "icons").mkdir()
    (folder / "index.html").write_text(PAGE)
    (folder / "desk.html").write_text(PAGE.replace("Chairside", "Desk"))
    (folder / "sw.js").write_text("self.x = 1")
    (folder / "manifest.webmanifest").write_text('{"name": "Chinrest"}')
    (folder / "assets" / "index-abcd1234.js").write_text(SCRIPT)
    (folder / "icons" / "icon.png").write_bytes(b"\x89PNG")
    (tmp_path / "secret.txt").write_text("outside")
    monkeypatch.setattr(pages, "find_pages", lambda: folder)
    return folder


@pytest.mark.usefixtures("built")
@pytest.mark.parametrize(
    ("path", "kind"),
    [
        ("/", "text/html"),
        ("/desk", "text/html"),
        ("/index.html", "text/html"),
        ("/sw.js", "text/javascript"),
        ("/manifest.webmanifest", "application/manifest+json"),
    ],
)
def test_page_worker_and_manifest_are_never_kept(house: House, path: str, kind: str) -> None:
    answer = house.client.get(path)
    assert answer.status_code == 200
    assert answer.headers["content-type"].split(";")[0] == kind
    assert answer.headers["cache-control"] == "no-store"


@pytest.mark.usefixtures("built")
def test_hashed_files_are_kept_for_ever(house: House) -> None:
    answer = house.client.get("/assets/index-abcd1234.js", headers={"Accept-Encoding": "gzip"})
    assert answer.headers["cache-control"] == "public, max-age=31536000, immutable"
    assert answer.headers["content-encoding"] == "gzip"
    assert answer.text == SCRIPT
    plain = house.client.get("/assets/index-abcd1234.js", headers={"Accept-Encoding": "identity"})
    assert "content-encoding" not in plain.headers
    assert plain.text == SCRIPT


@pytest.mark.usefixtures("built")
@pytest.mark.parametrize(
    "path",
    [
        "/assets/gone-abcd1234.js",
        "/assets/",
        "/assets/%2e%2e/index.html",
        "/assets/%2e%2e/%2e%2e/secret.txt",
        "/icons/..%2f..%2fsecret.txt",
        "/..%2fsecret.txt",
        "/secret.txt",
        "/%00",
        "/assets/%00.js",
        "/" + "a" * 3000,
        "/assets/" + "a" * 300,
    ],
)
def test_a_missing_file_is_no_page(house: House, path: str) -> None:
    answer = house.client.get(path)
    assert answer.status_code == 404
    assert answer.headers["content-type"] == "application/json"
    assert "outside" not in answer.text


def test_a_new_build_is_seen_without_a_restart(house: House, built: Path) -> None:
    assert "Chairside" in house.client.get("/").text
    (built / "index.html").write_text("<!doctype html><title>Newer build</title>")
    assert "Newer build" in house.client.get("/").text


def test_without_a_build_one_plain_page_says_what_to_run(
    house: House, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(pages, "find_pages", lambda: None)
    answer = house.client.get("/")
    assert answer.status_code == 503
    assert "npm --prefix frontend run build" in answer.text
    assert house.client.get("/assets/x.js").status_code == 404


@pytest.mark.usefixtures("built")
@pytest.mark.parametrize("path", ["/", "/sw.js", "/assets/index-abcd1234.js", "/api/health", "/nothing/here"])
def test_every_answer_carries_the_policy(house: House, path: str) -> None:
    headers = house.client.get(path).headers
    assert headers["content-security-policy"] == POLICY
    assert headers["x-content-type-options"] == "nosniff"
    assert headers["referrer-policy"] == "no-referrer"
    assert headers["cross-origin-opener-policy"] == "same-origin"
    assert headers["x-frame-options"] == "DENY"
    assert "server" not in headers


def test_the_policy_lets_nothing_inline_and_nothing_from_elsewhere() -> None:
    rules = dict(rule.split(" ", 1) for rule in POLICY.split("; "))
    assert rules["default-src"] == "'none'"
    assert rules["script-src"] == "'self'"
    assert rules["style-src"] == "'self'"
    assert rules["require-trusted-types-for"] == "'script'"
    assert rules["trusted-types"] == "chinrest-sw"
    for weak in ("unsafe-inline", "unsafe-eval", "data:", "blob:", "http:", "https:", "*"):
        assert weak not in POLICY


def test_answers_of_the_interface_are_not_kept_and_may_be_packed(house: House) -> None:
    answer = house.client.get("/api/schema", headers={"Accept-Encoding": "gzip"})
    assert answer.headers["cache-control"] == "no-store"
    assert answer.headers["content-encoding"] == "gzip"
    assert answer.json()["openapi"].startswith("3.1")


def test_the_cached_bytes_are_one_gzip_stream(built: Path) -> None:
    packed = pages._read(built / "index.html", 0, True)
    assert gzip.decompress(packed).decode() == PAGE
