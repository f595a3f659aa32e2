"""The smallest browser around WebKitGTK that a WebDriver can drive: one window of a phone's size, its
store kept in a folder. Run by Debian's own Python, which has the bindings:

    /usr/bin/python3 webkit_host.py --profile DIR [--trust CERTIFICATE]

MiniBrowser, which Debian ships, forgets everything when it is driven, and is never narrower than 447 pixels.
"""

import argparse
import signal
from pathlib import Path

import gi

gi.require_version("Gtk", "3.0")
gi.require_version("WebKit2", "4.1")
from gi.repository import Gio, GLib, Gtk, WebKit2  # noqa: E402  # the versions are asked for first

WIDTH_PX, HEIGHT_PX = 412, 839


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--profile", type=Path, required=True)
    parser.add_argument(
        "--trust", type=Path, help="a certificate to believe at 127.0.0.1, as a person may choose to"
    )
    chosen, _ = parser.parse_known_args()

    manager = WebKit2.WebsiteDataManager(
        base_data_directory=str(chosen.profile / "data"), base_cache_directory=str(chosen.profile / "cache")
    )
    context = WebKit2.WebContext(website_data_manager=manager)
    if chosen.trust:
        context.allow_tls_certificate_for_host(
            Gio.TlsCertificate.new_from_file(str(chosen.trust)), "127.0.0.1"
        )

    def downloading(_context: WebKit2.WebContext, download: WebKit2.Download) -> None:
        download.connect("decide-destination", decide)

    def decide(download: WebKit2.Download, name: str) -> bool:
        folder = chosen.profile.absolute() / "downloads"
        folder.mkdir(parents=True, exist_ok=True)
        download.set_destination((folder / name).as_uri())
        return True

    def view(_session: WebKit2.AutomationSession) -> WebKit2.WebView:
        made = WebKit2.WebView(web_context=context, is_controlled_by_automation=True)
        window = Gtk.Window(decorated=False)
        window.set_default_size(WIDTH_PX, HEIGHT_PX)
        window.add(made)
        window.connect("destroy", lambda _: Gtk.main_quit())
        window.show_all()
        return made

    def started(_context: WebKit2.WebContext, session: WebKit2.AutomationSession) -> None:
        info = WebKit2.ApplicationInfo()
        info.set_name("MiniBrowser")  # the driver takes no other name
        info.set_version(
            WebKit2.get_major_version(), WebKit2.get_minor_version(), WebKit2.get_micro_version()
        )
        session.set_application_info(info)
        session.connect("create-web-view", view)

    context.connect("automation-started", started)
    context.connect("download-started", downloading)
    context.set_automation_allowed(True)
    # asked from outside to close: it ends as when its window is closed
    GLib.unix_signal_add(GLib.PRIORITY_DEFAULT, signal.SIGTERM, Gtk.main_quit)
    Gtk.main()


if __name__ == "__main__":
    main()
