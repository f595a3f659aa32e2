"""An account's whole way through the desk: invited, joined, a second factor, another password; and what is
said to whoever it is closed to. Everyone in it is invented."""

import base64
import sqlite3
import time
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest
from cryptography.hazmat.primitives.hashes import SHA1
from cryptography.hazmat.primitives.twofactor.totp import TOTP
from playwright.sync_api import Page, expect

from access import at_both_sizes, in_both_themes
from browsing import Contexts
from desk_page import Desk
from serving import Server

pytestmark = pytest.mark.browser

NAME = "Nia Newcomer"
FIRST, SECOND = "harbour lamp thistle", "anvil quiet meadow"
STEP_S = 30


@pytest.fixture(scope="module")
def house(tmp_path_factory: pytest.TempPathFactory, front_end: Path) -> Iterator[Server]:
    """One server for all: each test acts on a person of its own."""
    with Server(tmp_path_factory.mktemp("people")) as started:
        yield started


def see(page: Page, where: str) -> None:
    """Everyone can use it: in both themes, and where the screen is narrow or the text large."""
    in_both_themes(page, where)
    at_both_sizes(page, where)


def invite(admin: Page, name: str) -> str:
    """The link for somebody new, who is an officer."""
    expect(admin.get_by_role("heading", level=1, name="People")).to_be_visible()
    admin.get_by_label("Name").fill(name)
    admin.get_by_label("Role").select_option("officer")
    admin.get_by_role("button", name="Make an invitation").click()
    made = admin.get_by_role("region", name="Invitation")
    expect(made.get_by_role("status").first).to_contain_text(f"Give this address to {name}")
    return made.locator("code").inner_text()


def sign_in(page: Page, name: str, password: str) -> None:
    expect(page.get_by_role("heading", name="Sign in")).to_be_visible()
    page.get_by_label("Name").fill(name)
    page.get_by_label("Password").fill(password)
    page.get_by_role("button", name="Sign in").click()


def give_code(page: Page, code: str) -> None:
    field = page.get_by_label("Code", exact=True)
    expect(field).to_be_focused()
    field.fill(code)
    page.get_by_role("button", name="Sign in").click()


def sign_out(page: Page) -> None:
    page.get_by_role("button", name="Sign out").click()
    expect(page.get_by_role("heading", name="Sign in")).to_be_visible()


def join(page: Page, link: str) -> None:
    """From the link to the sign-in, which leads to one's own account."""
    page.goto(link)
    expect(page.get_by_text(f"For {NAME}, safety officer.")).to_be_visible()
    see(page, "invitation")
    first, again = page.get_by_label("New password", exact=True), page.get_by_label("New password, again")
    first.fill("short")
    again.fill("shore")
    expect(page.get_by_role("alert")).to_have_text(["This is too short.", "The two are not the same."])
    see(page, "invitation, refused")
    expect(page.get_by_role("button", name="Set this password")).to_be_disabled()
    first.fill(FIRST)
    again.fill(FIRST)
    page.get_by_role("button", name="Set this password").click()
    expect(page.get_by_role("status")).to_have_text("Your password is set. The link is used up.")
    page.get_by_role("button", name="Go to the sign-in").click()
    sign_in(page, NAME, FIRST)
    expect(page.get_by_role("heading", level=1, name="Your account")).to_be_visible()


def second_factor(page: Page) -> tuple[TOTP, list[str]]:
    """Somebody's authenticator, by the registry's own TOTP, and the recovery codes."""
    part = page.get_by_role("region", name="Second factor")
    part.get_by_label("Your password").fill(FIRST)
    see(page, "account")
    part.get_by_role("button", name="Set it up").click()
    key = part.locator("code").inner_text().replace(" ", "")
    see(page, "account, the key")
    shows = TOTP(base64.b32decode(key), 6, SHA1(), STEP_S)
    part.get_by_role("textbox", name="Code").fill(shows.generate(int(time.time())).decode())
    part.get_by_role("button", name="Turn it on").click()
    expect(part.get_by_role("alert")).to_contain_text("Write these recovery codes down now")
    codes = part.get_by_role("list", name="Recovery codes").get_by_role("listitem").all_inner_texts()
    see(page, "account, recovery codes")
    part.get_by_role("button", name="I have them").click()
    expect(page.get_by_text(f"It is on. {len(codes)} recovery codes are left.")).to_be_visible()
    return shows, codes


def change_password(page: Page) -> None:
    part = page.get_by_role("form", name="Change the password")
    part.get_by_label("Current password").fill(FIRST)
    part.get_by_label("New password", exact=True).fill(SECOND)
    part.get_by_label("New password, again").fill(SECOND)
    part.get_by_role("button", name="Change it").click()
    expect(part.get_by_role("status")).to_have_text("Your password is changed.")


def test_from_the_invitation_to_a_second_factor_and_another_password(
    house: Server, contexts: Contexts
) -> None:
    admin = Desk(contexts.desk(), house).sign_in("admin").page
    link = invite(admin, NAME)
    see(admin, "people, invited")
    hers = contexts.desk(viewport={"width": 360, "height": 740}).new_page()
    join(hers, link)
    shows, codes = second_factor(hers)
    sign_out(hers)
    sign_in(hers, NAME, FIRST)
    expect(hers.get_by_label("Code", exact=True)).to_be_visible()
    see(hers, "sign-in, code wanted")
    # the code of now has confirmed it, and none is taken twice: the next one is good a step ahead, too
    give_code(hers, shows.generate(int(time.time()) + STEP_S).decode())
    expect(hers.get_by_role("heading", level=1, name="Your account")).to_be_visible()
    change_password(hers)
    sign_out(hers)
    sign_in(hers, NAME, FIRST)
    expect(hers.get_by_role("alert")).to_contain_text("no such name, or not its password")
    sign_in(hers, NAME, SECOND)
    give_code(hers, codes[0])
    expect(hers.get_by_text("7 recovery codes are left.")).to_be_visible()

    admin.get_by_role("button", name="Ask again").click()
    row = admin.get_by_role("row").filter(has_text=NAME)
    expect(row).to_contain_text("safety officer")
    expect(row).to_contain_text("just now")
    expect(row.get_by_role("cell").nth(3)).to_contain_text("on")


def test_whoever_is_withdrawn_is_told_at_the_next_contact(house: Server, contexts: Contexts) -> None:
    officer = Desk(contexts.desk(), house).sign_in("officer")
    admin = Desk(contexts.desk(), house).sign_in("admin").page
    name, password = house.sign_in("officer")
    admin.get_by_role("button", name=f"Change {name}").click()
    sheet = admin.get_by_role("dialog", name=name)
    see(admin, "a person's sheet")
    sheet.get_by_role("form", name="Withdraw").get_by_label("Why").fill("left the house")
    sheet.get_by_role("button", name=f"Withdraw {name}").click()
    expect(sheet).to_have_count(0)
    expect(admin.get_by_role("row").filter(has_text=name)).to_contain_text("withdrawn")

    # an open page is told by itself
    expect(officer.page.get_by_role("alert")).to_contain_text("An admin has withdrawn your account")
    see(officer.page, "sign-in, withdrawn")
    sign_in(officer.page, name, password)
    expect(officer.page.get_by_role("alert")).to_contain_text("an admin has withdrawn your account")
    expect(officer.page.get_by_role("navigation", name="Desk")).to_have_count(0)


def test_a_link_that_opens_nothing_says_why(house: Server, contexts: Contexts) -> None:
    admin = Desk(contexts.desk(), house).sign_in("admin").page
    link = invite(admin, "Lars Late")
    with closing(sqlite3.connect(house.data / "chinrest.db")) as database, database:
        staff = "(SELECT id FROM staff WHERE name = 'Lars Late')"
        database.execute(f"UPDATE invitations SET expires_at = 1 WHERE staff = {staff}")
    page = contexts.desk(viewport={"width": 360, "height": 740}).new_page()
    for opened, said in (
        (link, "This link has run out; ask for a new one."),
        (link + "x", "This link was used, replaced or taken back, or never was; ask for a new one."),
    ):
        page.goto(opened)
        expect(page.get_by_role("alert")).to_contain_text(said)
    see(page, "a link that opens nothing")
    admin.get_by_role("button", name="Ask again").click()
    expect(admin.get_by_role("row").filter(has_text="Lars Late")).to_contain_text("ran out")


def test_another_site_counts_on_an_open_page(house: Server, contexts: Contexts) -> None:
    """The page says by itself whose things it shows from then on, and what is not theirs in words."""
    lead = Desk(contexts.desk(), house).sign_in("lead")
    lead.go("packs", "Guidance packs")
    expect(lead.page.get_by_role("link", name="Drafts")).to_be_visible()
    admin = Desk(contexts.desk(), house).sign_in("admin").page
    name, _password = house.sign_in("lead")
    admin.get_by_role("button", name=f"Change {name}").click()
    sheet = admin.get_by_role("dialog", name=name)
    form = sheet.get_by_role("form", name="Role and site")
    form.get_by_label("Site").select_option("harbour")
    form.get_by_role("button", name="Save role and site").click()
    expect(sheet).to_have_count(0)

    expect(lead.page.get_by_role("banner")).to_contain_text("(clinic lead, Harbour Road Clinic (invented))")
    expect(lead.page.get_by_text("needs a lead whose account has no site")).to_be_visible()
    expect(lead.page.get_by_role("link", name="Drafts")).to_have_count(0)
    see(lead.page, "packs, for one site")
    lead.go("drafts", "Drafts of the next pack")
    expect(lead.page.get_by_role("alert")).to_contain_text("Editing guidance is about every site")
    lead.go("devices", "Devices")
    expect(lead.page.get_by_text("These are the devices of Harbour Road Clinic")).to_be_visible()
    lead.incidents()
    expect(lead.page.get_by_label("Site").get_by_role("option")).to_have_count(1)
