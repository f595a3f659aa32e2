"""A newer app while a patient is in the chair: it waits until nobody is, and is then asked for."""

import re
import shutil
from pathlib import Path

import pytest
from playwright.sync_api import expect

from browsing import ROOT, Contexts
from phone_page import Phone
from serving import Server
from visit import Visit

pytestmark = pytest.mark.browser

BUILD = "document.documentElement.dataset.build"


def package_of_its_own(folder: Path, pages: Path) -> Path:
    """The package as it is installed, built pages inside, so that a test may change what is served."""
    package = Path(shutil.copytree(ROOT / "backend" / "chinrest", folder / "site" / "chinrest"))
    shutil.copytree(ROOT / "fixtures" / "demo", package / "demo")
    shutil.copytree(pages, package / "static")
    return package


def release_a_newer_app(pages: Path) -> None:
    """As a build would: the changed script has another name, and page and worker name the new one."""
    page = (pages / "index.html").read_text()
    (old,) = re.findall(r'src="/(assets/index-[^"]+\.js)"', page)
    new = old.replace("index-", "index-newer-")
    script = (pages / old).read_text()
    (pages / new).write_text(f'{script}\n{BUILD}="newer";\n')
    (pages / "index.html").write_text(page.replace(old, new))
    worker = (pages / "sw.js").read_text()
    assert old in worker
    worker, changed = re.subn(
        r'("revision":")[0-9a-f]+(","url":"index\.html")', r"\g<1>newer\2", worker.replace(old, new)
    )
    assert changed == 1
    (pages / "sw.js").write_text(worker)
    (pages / old).unlink()


def look_for_update(phone: Phone) -> None:
    phone.page.evaluate("navigator.serviceWorker.getRegistration().then((r) => r.update())")
    phone.page.wait_for_function(
        "() => navigator.serviceWorker.getRegistration().then((r) => r.waiting !== null)"
    )


def test_a_newer_app_waits_until_the_case_is_closed(
    tmp_path: Path, front_end: Path, contexts: Contexts, monkeypatch: pytest.MonkeyPatch
) -> None:
    package = package_of_its_own(tmp_path, front_end)
    monkeypatch.setenv("PYTHONPATH", str(package.parent))
    with Server(tmp_path) as server:
        phone = Phone(contexts.phone(), server)
        phone.enrol("Phone 7")
        phone.wait_for_guidance()
        phone.wait_for_shell()
        phone.begin("HR-5001", asked=("Fluorescein",))
        case = phone.page.url
        visit = Visit(phone)
        visit.go_through(until="Say which eye")
        lines = len(phone.own_raws())

        release_a_newer_app(package / "static")
        look_for_update(phone)
        phone.reload()
        assert phone.heading.startswith("Say which eye")
        assert phone.page.evaluate(BUILD) is None  # still the app that the case began with
        phone.home()
        notice = phone.page.get_by_text("A newer app is ready")
        expect(notice).to_be_visible()
        update = phone.button("Update the app now")
        expect(update).to_have_count(0)

        phone.page.goto(case)
        phone.button("Case").click()
        phone.page.get_by_role("button", name="Close or hand over").click()
        sheet = phone.page.get_by_role("dialog", name="Close or hand over")
        sheet.get_by_role("radio", name="Cancelled").check()
        sheet.get_by_role("radio", name="Does not apply here").check()
        sheet.get_by_role("button", name="Close the case").click()
        expect(update).to_be_visible()
        update.click()
        phone.page.wait_for_function(f"() => {BUILD} === 'newer'")
        expect(phone.page.get_by_role("heading", name="In the chair")).to_be_visible()
        expect(notice).to_have_count(0)
        assert len(phone.own_raws()) > lines  # the log is where it was
        phone.wait_until_sent()

        server.kill()  # and the newer one stands by itself too
        phone.reload()
        assert phone.page.evaluate(BUILD) == "newer"
