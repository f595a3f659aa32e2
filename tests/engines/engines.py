"""The engines that are promised, as Debian ships them: each opens a browser on a folder, which keeps what the
app stores, and can be closed, killed, and opened again."""

from __future__ import annotations

import os
import signal
import subprocess
import time
from abc import ABC, abstractmethod
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import TYPE_CHECKING

from by_playwright import PlaywrightScreen
from by_webdriver import WebDriverScreen
from screen import Screen
from selenium.common.exceptions import NoSuchWindowException
from selenium.webdriver import webkitgtk, wpewebkit
from selenium.webdriver.remote.client_config import ClientConfig
from selenium.webdriver.remote.remote_connection import RemoteConnection
from selenium.webdriver.remote.webdriver import WebDriver

from browsing import chromium_path

if TYPE_CHECKING:
    from playwright.sync_api import BrowserContext, Playwright
    from selenium.webdriver.common.options import ArgOptions
    from selenium.webdriver.common.service import Service

PROMISED = ("chromium", "firefox-esr", "webkitgtk")
HOST = Path(__file__).parent / "webkit_host.py"
FIREFOX = Path("/usr/bin/firefox-esr")
WEBKIT_DRIVER = Path("/usr/bin/WebKitWebDriver")
WPE_DRIVER = Path("/usr/bin/WPEWebDriver")
CALL_S = 60
END_S = 20
# the bindings are Debian's, and so must the Python be that reads them
DEBIAN_PYTHON = Path("/usr/bin/python3")


def needed(path: Path, package: str) -> Path:
    assert path.is_file(), f"these tests need {path}, of Debian's package {package}"
    return path


def _parents() -> dict[int, int]:
    """Every process that runs now, and its parent."""
    found = {}
    for place in Path("/proc").glob("[0-9]*/stat"):
        try:
            fields = place.read_text(errors="replace").rpartition(")")[2].split()
        except OSError:
            continue  # it has just ended
        found[int(place.parent.name)] = int(fields[1])
    return found


def processes_on(profile: Path) -> list[int]:
    """The browser that was started on this folder and all that it started, the eldest first."""
    parents = _parents()
    found = []
    for pid in sorted(parents):
        try:
            words = Path(f"/proc/{pid}/cmdline").read_bytes()
        except OSError:
            continue
        if os.fsencode(profile) in words:
            found.append(pid)
    grown = True
    while grown:
        young = [pid for pid, parent in parents.items() if parent in found and pid not in found]
        found += young
        grown = bool(young)
    return found


class Browser(ABC):
    """One run of a browser; its one page is `screen`."""

    def __init__(self, profile: Path, screen: Screen, version: str) -> None:
        self.profile = profile
        self.screen = screen
        self.version = version
        self.over = False

    def close(self) -> None:
        """As a person closes it: until the last process of it has ended."""
        self.over = True
        self._close()
        deadline = time.monotonic() + END_S
        while left := processes_on(self.profile):
            assert time.monotonic() < deadline, f"{left} still run on {self.profile}"
            time.sleep(0.1)

    def kill(self) -> None:
        """As when the phone dies: no process of it has time to tidy up."""
        self.over = True
        pids = processes_on(self.profile)
        assert pids, f"no browser runs on {self.profile}"
        for pid in pids:
            try:
                os.kill(pid, signal.SIGKILL)
            except ProcessLookupError:
                continue  # it went with its parent
        self._forget()

    @abstractmethod
    def _close(self) -> None: ...

    @abstractmethod
    def _forget(self) -> None:
        """Lets go of what the driver still keeps of a browser that is dead."""


class Engine(ABC):
    name: str

    @abstractmethod
    def open(self, profile: Path, trusted: Path | None = None) -> Browser:
        """A browser on this folder. `trusted`: the TLS folder of a hub that the person trusts."""


class PlaywrightBrowser(Browser):
    def __init__(self, profile: Path, context: BrowserContext, version: str) -> None:
        super().__init__(profile, PlaywrightScreen(context.pages[0], profile / "downloads"), version)
        self.context = context

    def _close(self) -> None:
        self.context.close()

    def _forget(self) -> None:
        """Playwright sees by itself that it is gone."""


def trust_in(store: Path, trusted: Path) -> None:
    """Puts a hub's authority among those that browsers of this store of certificates believe."""
    store.mkdir(parents=True, exist_ok=True)
    adding = ["-A", "-n", "hub", "-t", "C,,", "-i", str(trusted / "authority.crt")]
    for arguments in ([] if (store / "cert9.db").exists() else ["-N", "--empty-password"]), adding:
        if arguments:
            subprocess.run(
                ["certutil", "-d", f"sql:{store}", *arguments], check=True, capture_output=True, timeout=30
            )


class Chromium(Engine):
    name = "chromium"

    def __init__(self, playwright: Playwright) -> None:
        self.playwright = playwright

    def open(self, profile: Path, trusted: Path | None = None) -> Browser:
        home = profile / "home"
        if trusted:
            trust_in(home / ".pki" / "nssdb", trusted)
        phone = {k: v for k, v in self.playwright.devices["Pixel 7"].items() if k != "default_browser_type"}
        context = self.playwright.chromium.launch_persistent_context(
            profile / "browser",
            executable_path=chromium_path(),
            env={**os.environ, "HOME": str(home)},
            **phone,
        )
        return PlaywrightBrowser(profile, context, context.browser.version if context.browser else "")


class Firefox(Engine):
    name = "firefox-esr"

    def __init__(self, playwright: Playwright) -> None:
        self.playwright = playwright

    def open(self, profile: Path, trusted: Path | None = None) -> Browser:
        if trusted:
            trust_in(profile, trusted)
        downloads = profile / "downloads"
        downloads.mkdir(parents=True, exist_ok=True)
        context = self.playwright.firefox.launch_persistent_context(
            profile,
            executable_path=needed(FIREFOX, "firefox-esr"),
            channel="moz-firefox",
            downloads_path=downloads,  # the driver hears of no download of this browser
            viewport={"width": 412, "height": 839},
        )
        return PlaywrightBrowser(profile, context, context.browser.version if context.browser else "")


class WebKitBrowser(Browser):
    def __init__(self, profile: Path, driver: WebDriver, service: Service) -> None:
        screen = WebDriverScreen(driver, profile / "downloads")
        super().__init__(profile, screen, str(driver.capabilities["browserVersion"]))
        self.driver = driver
        self.service = service

    def _close(self) -> None:
        try:
            # the driver of WebKitGTK closes the window, and then looks for it once more
            with suppress(NoSuchWindowException):
                self.driver.quit()
        finally:
            self.service.stop()
        self._end_by_signal()

    def _end_by_signal(self) -> None:
        """It doesn't always end with its session: the browser, not what it started, is asked to close."""
        for pid in processes_on(self.profile)[:1]:
            with suppress(ProcessLookupError):
                os.kill(pid, signal.SIGTERM)

    def _forget(self) -> None:
        self.service.stop()


class OldWebKitBrowser(WebKitBrowser):
    def _end_by_signal(self) -> None:
        for pid in processes_on(self.profile):  # this one's helpers outlive it
            with suppress(ProcessLookupError):
                os.kill(pid, signal.SIGTERM)


def driven(service: Service, options: ArgOptions) -> WebDriver:
    """A browser of this driver. No call to it waits for ever."""
    service.start()
    try:
        config = ClientConfig(service.service_url, timeout=CALL_S)
        return WebDriver(RemoteConnection(client_config=config), options=options)
    except BaseException:
        service.stop()
        raise


class WebKitGtk(Engine):
    name = "webkitgtk"

    def __init__(self, display: str, runtime: Path) -> None:
        self.environment = {
            **os.environ,
            "DISPLAY": display,
            "GDK_BACKEND": "x11",
            "NO_AT_BRIDGE": "1",
            "XDG_RUNTIME_DIR": str(runtime),
        }

    def open(self, profile: Path, trusted: Path | None = None) -> Browser:
        options = webkitgtk.options.Options()
        options.binary_location = str(needed(DEBIAN_PYTHON, "python3-gi"))
        for argument in (HOST, "--profile", profile, *(("--trust", trusted / "hub.crt") if trusted else ())):
            options.add_argument(str(argument))
        path = str(needed(WEBKIT_DRIVER, "webkit2gtk-driver"))
        service = webkitgtk.service.Service(path, env=self.environment)
        return WebKitBrowser(profile, driven(service, options), service)


class OldWebKit(Engine):
    """WPE as Debian 12 ships it: a WebKit of 2022, which says that it is Safari 16.0. Its MiniBrowser forgets
    everything when it ends."""

    name = "wpewebkit"

    def __init__(self, runtime: Path) -> None:
        self.environment = {**os.environ, "XDG_RUNTIME_DIR": str(runtime)}

    def open(self, profile: Path, trusted: Path | None = None) -> Browser:
        assert trusted is None, "this one has no way to trust a hub"
        options = wpewebkit.options.Options()
        (browser,) = Path("/usr/lib").glob("*/wpe-webkit-1.1/MiniBrowser")  # of Debian's libwpewebkit-1.1-0
        options.binary_location = str(browser)
        profile.mkdir(parents=True, exist_ok=True)
        # the file is of no use here but for its name, by which this run is told from others
        for argument in ("--automation", "--headless", f"--cookies-file={profile / 'cookies'}"):
            options.add_argument(argument)
        path = str(needed(WPE_DRIVER, "wpewebkit-driver"))
        service = wpewebkit.service.Service(path, env=self.environment)
        return OldWebKitBrowser(profile, driven(service, options), service)


@contextmanager
def screen_of_its_own() -> Iterator[str]:
    """An X server without a monitor, for the engine that has no other way; its name."""
    reading, writing = os.pipe()
    needed(Path("/usr/bin/Xvfb"), "xvfb")
    server = subprocess.Popen(
        ["Xvfb", "-displayfd", str(writing), "-screen", "0", "1280x1024x24", "-nolisten", "tcp"],
        pass_fds=[writing],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    os.close(writing)
    try:
        with os.fdopen(reading) as said:
            number = said.readline().strip()
        assert number, "Xvfb did not start"
        yield f":{number}"
    finally:
        server.terminate()
        server.wait(20)
