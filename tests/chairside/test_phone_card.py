"""The card held before the patient: large print in the patient's language, spoken where there is a voice."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest
from beside import go
from playwright.sync_api import Locator, expect

from access import at_both_sizes, in_both_themes
from browsing import Contexts
from phone_page import Phone
from serving import Server

pytestmark = [pytest.mark.browser, pytest.mark.timeout(300)]

PHRASES = Path(__file__).resolve().parents[2] / "fixtures" / "demo" / "pack" / "phrases"
LARGE_PRINT_PX = 24
"""18 point at 96 px an inch: large print begins here (common practice of low-vision print, from memory)."""
VOICES = """(() => {
  const voices = %s;
  const said = (globalThis.said = []);
  const fake = new EventTarget();
  Object.assign(fake, {
    getVoices: () => voices,
    cancel: () => {},
    speak: (u) => { said.push([u.lang, u.voice?.name, u.text]); setTimeout(() => u.onend?.(), 50); },
  });
  Object.defineProperty(globalThis, "speechSynthesis", { value: fake });
  globalThis.SpeechSynthesisUtterance = class { constructor(text) { this.text = text; } };
})()"""


def phrase(language: str, key: str) -> str:
    return str(tomllib.loads((PHRASES / f"{language}.toml").read_text("utf-8"))["phrases"][key])


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory, front_end: Path) -> Iterator[Server]:
    """One for all of these tests: each has a phone and a case of its own."""
    with Server(tmp_path_factory.mktemp("hub")) as started:
        yield started


@pytest.fixture
def phone(server: Server, contexts: Contexts) -> Phone:
    made = Phone(contexts.phone(viewport={"width": 360, "height": 740}), server)
    made.enrol("Phone 7")
    made.wait_for_guidance()
    return made


def words(phone: Phone) -> Locator:
    return phone.page.locator("main blockquote")


def speak_in(phone: Phone, language: str) -> None:
    phone.pick("The patient's language", re.compile(language))


@pytest.mark.parametrize(
    ("name", "tag", "direction"), [("Arabic", "ar", "rtl"), ("Spanish", "es", "ltr"), ("Polish", "pl", "ltr")]
)
def test_a_phrase_in_the_patients_language(phone: Phone, name: str, tag: str, direction: str) -> None:
    go(phone, "#/card/look_up", "Card")
    speak_in(phone, name)
    expect(words(phone)).to_have_text(phrase(tag, "look_up"))
    expect(words(phone)).to_have_attribute("lang", tag)
    style = words(phone).evaluate(
        "e => [getComputedStyle(e).direction, parseFloat(getComputedStyle(e).fontSize)]"
    )
    assert style[0] == direction
    assert style[1] >= LARGE_PRINT_PX
    # what the photographer shows is said beside it, and that nobody has signed the wording
    expect(phone.main).to_contain_text(phrase("en", "look_up"))
    expect(phone.main).to_contain_text("Wording not yet reviewed")


def test_letters_run_from_the_right_edge_in_arabic(phone: Phone) -> None:
    go(phone, "#/card/pause", "Card")
    speak_in(phone, "Arabic")
    box = words(phone).bounding_box()
    first = words(phone).evaluate(
        """e => { const r = document.createRange(); r.setStart(e.firstChild, 0); r.setEnd(e.firstChild, 1);
        const b = r.getBoundingClientRect(); return b.left + b.width; }"""
    )
    assert box is not None
    assert abs(first - (box["x"] + box["width"])) < 3


def test_the_language_of_a_case_is_a_line_and_stands_on_its_steps(phone: Phone) -> None:
    phone.begin("HC-1", asked=("Colour",))
    case = phone.case_id
    phone.page.get_by_role("link", name="Show it as a card").click()
    expect(phone.page).to_have_url(re.compile(rf"#/card/identity/{case}$"))
    speak_in(phone, "Polish")
    expect(words(phone)).to_have_text(phrase("pl", "identity"))
    assert [body["language"] for body in phone.bodies("language.chosen")] == ["pl"]
    phone.page.get_by_role("link", name="Back to the case").click()
    said = phone.page.get_by_role("figure")
    expect(said).to_contain_text(phrase("pl", "identity"))
    expect(said).to_contain_text(phrase("en", "identity"))
    expect(said).to_contain_text("Wording not yet reviewed")
    phone.reload()
    expect(phone.page.get_by_role("figure")).to_contain_text(phrase("pl", "identity"))


def test_it_is_spoken_where_the_phone_has_the_voice(server: Server, contexts: Contexts) -> None:
    context = contexts.phone()
    local = '{ name: "Voice %s", lang: "%s", localService: %s, default: false }'
    voices = [local % ("A", "es-ES", "true"), local % ("B", "ar-EG", "false")]
    context.add_init_script(VOICES % f"[{', '.join(voices)}]")
    phone = Phone(context, server)
    phone.enrol("Phone 7")
    phone.wait_for_guidance()
    go(phone, "#/card/blink", "Card")
    speak_in(phone, "Spanish")
    phone.button("Speak it aloud").click()
    assert phone.page.evaluate("said") == [["es", "Voice A", phrase("es", "blink")]]
    speak_in(phone, "Arabic")
    expect(phone.main).to_contain_text("Arabic voice needs a network")
    speak_in(phone, "Polish")
    expect(phone.main).to_contain_text("This phone has no Polish voice")
    expect(phone.button("Speak it aloud")).to_have_count(0)


def test_the_list_begins_with_what_the_step_says(phone: Phone) -> None:
    phone.begin("HC-2", asked=("Colour",))
    go(phone, f"#/card/all/{phone.case_id}", "Card for the patient")
    now = phone.page.get_by_role("region", name="Now")
    expect(now.get_by_role("link")).to_have_text([phrase("en", "identity")])
    steps = phone.page.get_by_role("region", name="In the order of the visit").get_by_role("link")
    expect(steps.first).to_have_text(phrase("en", "which_eye"))


def test_everyone_can_read_it(phone: Phone) -> None:
    phone.home()
    at_both_sizes(phone.page, "home, with its doors")
    in_both_themes(phone.page, "home, with its doors")
    go(phone, "#/card", "Card for the patient")
    at_both_sizes(phone.page, "card, list")
    phone.page.set_viewport_size({"width": 412, "height": 4000})
    in_both_themes(phone.page, "card, list")
    go(phone, "#/card/welcome", "Card")
    speak_in(phone, "Arabic")
    expect(words(phone)).to_have_attribute("dir", "rtl")
    in_both_themes(phone.page, "card, Arabic")
    phone.page.set_viewport_size({"width": 360, "height": 740})
    for language in ("Arabic", "Polish", "Spanish", "English"):
        speak_in(phone, language)
        at_both_sizes(phone.page, f"card, {language}")
