"""A phone writes markup into every field that is text, and so do officers: on every page of the desk nothing
of it runs, nothing of it becomes an element, and it is read as the text that it is."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any
from urllib.parse import quote

import pytest
from carrier import Carrier
from hostile_lines import LINK, MARK, NASTY, SHORT, bodies
from playwright.sync_api import expect
from scenes import Scene

from browsing import Contexts
from desk_page import Desk
from serving import Server

pytestmark = pytest.mark.browser

INJECTED = ", ".join(
    [
        'img[src="x"]',
        "script:not([src])",
        "[onerror]",
        "[onload]",
        'a[href^="javascript:" i]',
        "iframe",
        "object",
        "embed",
        "base",
        'form[action^="javascript:" i]',
    ]
)


class Hostile:
    """A scene with one more case, of hostile lines alone, and a review as hostile."""

    def __init__(self, scene: Scene) -> None:
        self.scene = scene
        phone: Carrier = scene.phone(scene.sites[0], SHORT)
        phone.actor, phone.pack = NASTY[:200], scene.sha256
        self.lines: dict[str, str] = {}
        for name, body in bodies():
            self.lines[name] = phone.write(name, "case-bad", **body).envelope.id
        amended = {"score": 3, "bothers": [NASTY], "note": NASTY}
        phone.write("line.amended", "case-bad", line=self.lines["comfort.noted"], body=amended, why=NASTY)
        future = b'{"salt":"AAAAAAAAAAAAAAAAAAAAAA==","%s":"<img src=x onerror=ran=1>"}' % MARK.encode()
        phone.write_raw("future.noted", future, "case-bad")
        said = phone.carry()
        assert {line["status"] for line in said["lines"]} == {"stored"}, said["lines"]
        self.incident = self.lines["safety.noted"]
        self._review()

    def _review(self) -> None:
        scene, line = self.scene, self.incident
        judged = {"harm": "mild", "preventable": "yes", "factors": [NASTY, LINK], "note": NASTY}
        scene.decide(line, "classification", **judged)
        scene.decide(line, "comments", text=NASTY)
        scene.decide(line, "links", other=scene.full["event"], why=NASTY)
        added = scene.decide(line, "actions", text=NASTY, owner=NASTY, due="2020-01-01")
        action = added["actions"][0]["action"]
        scene.decide(line, f"actions/{action}", owner=LINK, due="2020-01-02", why=NASTY)
        scene.decide(line, f"actions/{action}/end", done=False, note=NASTY)
        scene.decide(line, "closing", note=NASTY)
        body: dict[str, Any] = {"sites": scene.sites, "note": NASTY}
        for what, sent in (("approve", body), ("recall", {"why": NASTY})):
            answer = scene.lead.post(f"/api/packs/{scene.sha256}/{what}", json=sent)
            assert answer.status_code == 200, answer.text
        lost = scene.phone(scene.sites[0], f"{SHORT}2")
        answer = scene.lead.post(f"/api/devices/{lost.device}/withdraw", json={"why": NASTY})
        assert answer.status_code == 200, answer.text


@pytest.fixture(scope="module")
def hostile(tmp_path_factory: pytest.TempPathFactory, front_end: Path) -> Iterator[Hostile]:
    with Server(tmp_path_factory.mktemp("hostile")) as served:
        scene = Scene(served)
        yield Hostile(scene)
        scene.close()


@pytest.fixture
def desk(contexts: Contexts, hostile: Hostile) -> Desk:
    made = Desk(contexts.desk(), hostile.scene.server)
    made.page.on("dialog", lambda dialog: pytest.fail(f"a dialog opened: {dialog.message}"))
    made.page.add_init_script(
        "window.broken = [];"
        "addEventListener('securitypolicyviolation', e => broken.push(e.violatedDirective))"
    )
    made.follow_nothing()  # a stream that stays open is a network that is never idle
    return made.sign_in("lead")


def visit(desk: Desk, place: str) -> str:
    """The page's text, once it stands with everything unfolded. Nothing on it ran or became an element."""
    page = desk.page
    page.goto("about:blank")
    page.goto(f"{desk.server.origin}/desk#/{place}")
    expect(page.locator("main")).to_be_visible()
    page.wait_for_load_state("networkidle")
    expect(page.get_by_text("Asking", exact=False)).to_have_count(0)
    page.evaluate("document.querySelectorAll('details').forEach(one => { one.open = true })")
    page.wait_for_timeout(100)
    assert page.evaluate("window.ran") is None, place
    assert page.evaluate("window.broken") == [], place
    found = page.locator(INJECTED)
    assert found.count() == 0, [one.evaluate("node => node.outerHTML") for one in found.all()]
    return page.locator("body").inner_text()


# the pages that show a phone's or an officer's words, and how often at least
PLACES = {
    "incidents": 1,
    "incident/{line}": 8,
    "case/case-bad": 20,
    "devices": 2,
    "packs": 2,
    "report?since=2000-01-01&until=2099-12-31": 1,
}


@pytest.mark.parametrize("place", PLACES)
def test_markup_is_read_as_text_and_nothing_of_it_runs(desk: Desk, hostile: Hostile, place: str) -> None:
    text = visit(desk, place.format(line=hostile.incident))
    assert text.count(MARK) >= PLACES[place], f"{text.count(MARK)} times in:\n{text}"
    assert f"{MARK}<img src=x" in text or f"{MARK}\"'><img src=x" in text, (
        "it must stand there as it was written"
    )


@pytest.mark.parametrize("place", ["rates", "charts", "craft", "summary", "enrol"])
def test_pages_of_figures_run_nothing_either(desk: Desk, place: str) -> None:
    visit(desk, place)


@pytest.mark.parametrize(
    "place",
    [
        "incidents?q={}",
        "incidents?site={}&what={}",
        "incident/{}",
        "case/{}",
        "case/case-bad?line={}",
        "report?since={}",
        "rates?of={}&by={}",
        "{}",
    ],
)
def test_an_address_that_somebody_sent_runs_nothing(desk: Desk, place: str) -> None:
    for text in (NASTY, LINK, "%00", "..%2f..", "constructor", "__proto__"):
        visit(desk, place.replace("{}", quote(text, safe="")))


def test_the_policy_stops_what_would_run(desk: Desk, allow_noise: Any) -> None:
    """That nothing runs is not only the pages' own doing: what is put in by force does not run either."""
    page = desk.page
    sinks = [
        "document.body.insertAdjacentHTML('beforeend', '<img src=x onerror=\"window.ran=1\">')",
        "document.createElement('div').innerHTML = '<svg onload=window.ran=1>'",
        "document.createElement('img').setAttribute('onerror', 'window.ran=1')",
        "document.createElement('script').text = 'window.ran=1'",
        "document.write('<script>window.ran=1</script>')",
        "new DOMParser().parseFromString('<p>', 'text/html')",
        "document.createElement('iframe').srcdoc = '<script>parent.ran=1</script>'",
    ]
    for sink in sinks:
        name = page.evaluate(f"() => {{ try {{ {sink} }} catch (error) {{ return error.name }} return '' }}")
        assert name == "TypeError", f"{sink}: {name}"  # Trusted Types: no such place takes a text
    before = len(page.evaluate("window.broken"))
    page.evaluate(
        """() => { const made = document.createElement("a"); made.href = "javascript:window.ran=1";
                  document.body.append(made); made.click() }"""
    )
    page.wait_for_timeout(500)
    assert page.evaluate("window.ran") is None
    assert len(page.evaluate("window.broken")) > before, "it was tried, and stopped by the policy"
    allow_noise()
