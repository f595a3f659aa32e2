"""A newer release of the app at the same server: what is installed, and what a build would change in it."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

from browsing import ROOT
from phone_page import Phone

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
    """Ask the server for a newer app, and wait until it is whole on the phone."""
    phone.page.evaluate("""async () => {
      const registration = await navigator.serviceWorker.getRegistration();
      await registration.update();
      while (registration.waiting === null) await new Promise((again) => setTimeout(again, 20));
    }""")
