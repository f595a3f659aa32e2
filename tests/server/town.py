"""The application with all kinds of callers, about each of two sites."""

import sqlite3
from collections.abc import Callable
from contextlib import closing
from typing import Any

import msgspec
from access_table import GONE, NOBODY, NONE_SUCH, OF_A_SITE, QUERY, TABLE
from callers import OWN_PAGE, PASSWORD, SITES, House
from carrying import NDJSON, Phone, near_miss, opened
from hub_calling import Hub
from send_tokens import hash_of, new_token, send_only, tokens_request

from chinrest.server.guards import COOKIE


class Town:
    """Two sites with a phone and a near miss each, a withdrawn phone, a withdrawn officer, a hub."""

    def __init__(self, house: House) -> None:
        self.house = house
        self.phones = {site: house.phone(site) for site in SITES}
        self.lines: dict[str, str] = {}
        for site, phone in self.phones.items():
            made = [phone.first_line(), phone.write(opened(), f"case-of-{site}")]
            made.append(phone.write(near_miss(site), f"case-of-{site}"))
            phone.sync(*made)
            self.lines[site] = made[-1].envelope.id
        self.locked, self.lost = house.phone(), house.phone()
        self.send_tokens = {phone.device: send_only(phone) for phone in (self.locked, self.lost)}
        done = house.as_lead().post(
            f"/api/devices/{self.lost.device}/withdraw", json={"why": "lost"}, headers=OWN_PAGE
        )
        assert done.status_code == 200, done.text
        self._add_people()
        self.hub, self.no_hub = Hub(), Hub()
        self.hub.approve(house.settings)

    def _invite(self, name: str) -> tuple[str, str]:
        """The id of somebody new, and the token of their link."""
        asked = {"name": name, "role": "officer", "site": None}
        made = self.house.as_admin().post("/api/people", json=asked, headers=OWN_PAGE)
        assert made.status_code == 200, made.text
        return made.json()["staff"], made.json()["url"].rsplit("/", 1)[1]

    def _add_people(self) -> None:
        """Another officer, about whom things are asked, and one who was withdrawn while signed in."""
        self.staff, _ = self._invite("Nora Newcomer")
        gone, token = self._invite(GONE)
        for become, path, body in (
            (self.house.as_nobody, "/api/invitations/take", {"token": token, "password": PASSWORD}),
            (self.house.as_nobody, "/api/session", {"name": GONE, "password": PASSWORD}),
            (self.house.as_admin, f"/api/people/{gone}/withdraw", {"why": "left"}),
        ):
            done = become().post(path, json=body, headers=OWN_PAGE)
            assert done.status_code == 200, done.text
            if path == "/api/session":
                self.house.sessions[GONE] = self.house.client.cookies[COOKIE]

    def _sending(self, phone: Phone) -> dict[str, str]:
        return {"Authorization": f"Bearer {self.send_tokens[phone.device]}"}

    def _caller(self, who: str) -> tuple[Callable[[], Any], dict[str, str], Phone]:
        """How to become it, its headers, and the phone that it would write as."""
        harbour, lighthouse = self.phones["harbour"], self.phones["lighthouse"]
        nobody = self.house.as_nobody
        table: dict[str, tuple[Callable[[], Any], dict[str, str], Phone]] = {
            NOBODY: (nobody, {}, harbour),
            "phone of harbour": (nobody, harbour.bearer, harbour),
            "phone of lighthouse": (nobody, lighthouse.bearer, lighthouse),
            "locked phone": (nobody, self._sending(self.locked), self.locked),
            "withdrawn phone": (nobody, self.lost.bearer, self.lost),
            "withdrawn locked phone": (nobody, self._sending(self.lost), self.lost),
            "officer": (self.house.as_officer, {}, harbour),
            "lead": (self.house.as_lead, {}, harbour),
            "photographer": (self.house.as_photographer, {}, harbour),
            "admin": (self.house.as_admin, {}, harbour),
            "withdrawn officer": (lambda: self.house._as(GONE), {}, harbour),
            "hub": (nobody, {"Authorization": f"Bearer {self.hub.id}"}, harbour),
        }
        return table[who]

    def call(self, who: str, method: str, path: str, site: str, **more: str) -> Any:
        """Everything in the address is real and of that site, as far as it can be."""
        become, headers, phone = self._caller(who)
        at = path.format(
            sha256=NONE_SUCH,
            older=NONE_SUCH,
            case=f"case-of-{site}",
            device=self.phones[site].device,
            line=self.lines[site],
            staff=self.staff,
            action="no-such-action",
            draft="0" * 36,
            name="no-such-name.js",
        )
        asked = [QUERY[path]] if path in QUERY else []
        asked += [f"site={site}"] if path in OF_A_SITE else []
        content, kind = self._content(who, TABLE[method, path].body, phone, site)
        sent = {**headers, **OWN_PAGE, **({"Content-Type": kind} if kind else {}), **more}
        client = become()
        return client.request(method, f"{at}?{'&'.join(asked)}", content=content, headers=sent)

    def _content(self, who: str, body: Any, phone: Phone, site: str) -> tuple[bytes, str]:
        hub = self.hub if who == "hub" else self.no_hub
        if body is None:
            return b"", ""
        if body == "sync":
            return phone.body(), NDJSON
        if body == "tokens":
            return msgspec.json.encode(tokens_request(phone, hash_of(new_token()))), "application/json"
        if body == "carried":
            return b"a letter, not a carried file\n", NDJSON
        if body == "relay":
            return hub.parcel(self.phones[site], site), NDJSON
        if body == "relay pack":
            return hub.pack(NONE_SUCH), "application/json"
        if body == "relay hub":
            return hub.word(), "application/json"
        if "public_key" in body:
            fresh = Phone(self.house.client)
            body = {**body, "device": fresh.device, "public_key": fresh.key}
        return msgspec.json.encode(body).replace(b"{site}", site.encode()), "application/json"

    def kept(self) -> list[str]:
        """Everything that the database holds. `last_heard_at` and its like would show here too."""
        with closing(sqlite3.connect(self.house.settings.data / "chinrest.db")) as database:
            return list(database.iterdump())
