"""A phone with PINs, by what a person sees on it, and what somebody finds who copies its stores."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

from playwright.sync_api import expect

from phone_page import OPEN_LOG, Phone

if TYPE_CHECKING:
    from pathlib import Path

    from playwright.sync_api import Locator

# every row of every database, and all of the browser's own store; bytes as the letters that they would be
EVERYTHING = r"""async () => {
  const asked = (request) => new Promise((ok, no) => {
    request.onsuccess = () => ok(request.result);
    request.onerror = () => no(request.error);
  });
  const letters = (bytes) => Array.from(bytes, (byte) => String.fromCharCode(byte)).join("");
  const plain = (key, value) => {
    if (value instanceof ArrayBuffer) return letters(new Uint8Array(value));
    if (ArrayBuffer.isView(value)) return letters(value);
    return value;
  };
  const all = { local: { ...localStorage }, session: { ...sessionStorage } };
  for (const { name } of await indexedDB.databases()) {
    const db = await asked(indexedDB.open(name));
    all[name] = {};
    for (const store of db.objectStoreNames) {
      const rows = db.transaction(store).objectStore(store);
      all[name][store] = [await asked(rows.getAllKeys()), await asked(rows.getAll())];
    }
    db.close();
  }
  return JSON.stringify(all, plain);
}"""


HAS_SENDING_TOKEN = f"""async () => {{ {OPEN_LOG}
  try {{ return (await asked(db.transaction("meta").objectStore("meta").get("device"))).full !== undefined; }}
  finally {{ db.close(); }}
}}"""


def everything(phone: Phone) -> str:
    """All that this origin stores in the browser, as the page itself can read it."""
    return str(phone.page.evaluate(EVERYTHING))


def on_disk(profile: Path) -> list[bytes]:
    """The files in which the browser keeps it."""
    files = [path for path in profile.rglob("*") if path.is_file()]
    return [path.read_bytes() for path in files if {"IndexedDB", "Local Storage"} & set(path.parts)]


class LockedPhone:
    def __init__(self, phone: Phone) -> None:
        self.phone = phone
        self.page = phone.page

    @property
    def ways_out(self) -> Locator:
        return self.page.get_by_role("navigation", name="Ways out")

    def fill_pin(self, name: str, pin: str) -> None:
        self.page.get_by_label("Initials or staff id").fill(name)
        self.page.get_by_label("New PIN or passphrase").fill(pin)
        self.page.get_by_label("The same again").fill(pin)

    def set_first(self, name: str, pin: str) -> None:
        self.page.evaluate("location.hash = '#/settings'")
        self.phone.button("Set the first PIN").click()
        sheet = self.page.get_by_role("dialog", name="The first PIN")
        self.fill_pin(name, pin)
        sheet.get_by_role("button", name="Set this PIN").click()
        expect(sheet).to_have_count(0, timeout=30_000)
        expect(self.page.get_by_role("region", name="PINs")).to_contain_text(f"Unlocked by {name}")

    def set_another(self, name: str, pin: str) -> None:
        self.page.evaluate("location.hash = '#/settings'")
        self.phone.button("A PIN for somebody").click()
        sheet = self.page.get_by_role("dialog", name="A PIN for somebody")
        self.fill_pin(name, pin)
        sheet.get_by_role("button", name="Set this PIN").click()
        expect(sheet).to_have_count(0, timeout=30_000)
        expect(self.page.get_by_role("region", name="PINs")).to_contain_text(name)

    def wait_for_tokens(self) -> None:
        """Until the server knows the token by which a locked phone sends, and that alone stands readable."""
        self.page.wait_for_function(HAS_SENDING_TOKEN)

    def lock(self) -> None:
        self.page.evaluate("location.hash = '#/settings'")
        self.phone.button("Lock now").click()
        self.is_locked()

    def is_locked(self) -> None:
        expect(self.page.get_by_role("heading", name="Locked", level=1)).to_be_visible()
        expect(self.page.get_by_role("button", name="Unlock")).to_be_visible()

    def try_pin(self, name: str, pin: str) -> None:
        self.page.get_by_role("radio", name=name, exact=True).check()
        self.page.get_by_label("Your PIN or passphrase").fill(pin)
        self.phone.button("Unlock").click()

    def unlock(self, name: str, pin: str) -> None:
        self.try_pin(name, pin)
        expect(self.page.get_by_role("heading", name="Locked", level=1)).to_have_count(0, timeout=30_000)

    def comfort(self, score: int, note: str = "", *, pause: bool = False) -> None:
        """By the bar below, locked or not. `pause`: so high that one is suggested."""
        self.ways_out.get_by_role("button", name="Comfort").click()
        sheet = self.page.get_by_role("dialog", name="Comfort")
        sheet.get_by_role("button", name=str(score), exact=True).click()
        sheet.get_by_label("Note (may stay empty)").fill(note)
        sheet.get_by_role("button", name=f"Note {score} of 10").click()
        if pause:
            offered = self.page.get_by_role("dialog").filter(has_text="Offer a pause")
            offered.get_by_role("button", name="Go on without").click()
        expect(self.page.get_by_role("dialog")).to_have_count(0)


def types(raws: list[bytes]) -> list[str]:
    return [json.loads(raw.split(b"\t")[0])["type"] for raw in raws]
