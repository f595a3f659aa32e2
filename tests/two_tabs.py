"""Two tabs of one phone: opening the second, tapping in it by itself, and what the one log must look like."""

import json
from collections import Counter

from chinrest.log.verify import verify
from phone_page import Phone

# taps one comfort answer after the other, as fast as the sheet lets it; each has a note of its own
TAP_ON = """async (notes) => {
  const until = async (found) => {
    for (;;) {
      const it = found();
      if (it) return it;
      await new Promise((again) => setTimeout(again, 5));
    }
  };
  const sheet = () => document.querySelector("dialog[open]");
  const button = (name, where) => [...(where?.querySelectorAll("button") ?? [])]
    .find((b) => b.textContent.trim() === name && !b.disabled);
  for (const note of notes) {
    const out = await until(() => !document.querySelector("dialog") && document.querySelector("nav"));
    button("Comfort", out).click();
    (await until(() => button("2", sheet()))).click();
    const text = await until(() => sheet()?.querySelector("textarea"));
    text.value = note;
    text.dispatchEvent(new Event("input", { bubbles: true }));
    (await until(() => button("Note 2 of 10", sheet()))).click();
    await until(() => !document.querySelector("dialog"));
  }
}"""


def other_tab(phone: Phone, place: str = "") -> Phone:
    tab = Phone(phone.context, phone.server)
    tab.page.goto(f"{phone.server.origin}/{place}")
    return tab


def hold_to_one_chain(phone: Phone) -> list[bytes]:
    """The phone's own lines: sequence without gaps, each joined to the one before, no id twice."""
    raws = phone.own_raws()
    envelopes = [json.loads(raw.split(b"\t")[0]) for raw in raws]
    assert [envelope["seq"] for envelope in envelopes] == list(range(1, len(raws) + 1))
    verdict = verify(raws)
    assert verdict.ok, verdict.first_bad
    return raws


def notes_of(raws: list[bytes]) -> Counter[str]:
    """How often each comfort answer stands in the log, by its note."""
    lines = [[json.loads(part) for part in raw.split(b"\t")] for raw in raws]
    return Counter(body["note"] for envelope, body in lines if envelope["type"] == "comfort.noted")
