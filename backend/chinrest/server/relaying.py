"""The hub's side of relaying: sends what the server beyond lacks, keeps its receipts, brings its packs.

Every step may be cut and done again: what was taken is answered as a repeat, and what was not is still here.
"""

import asyncio
import gzip
import random
from collections.abc import Callable
from contextlib import suppress
from hashlib import sha256

import httpx
import msgspec
from msgspec import Struct

from chinrest import __version__
from chinrest.log.backed_up import BackupWord, is_backup_word
from chinrest.log.carried import is_carrying_key
from chinrest.log.envelope import FIRST_PREV
from chinrest.log.people_word import is_people_word
from chinrest.log.signing import fingerprint, is_signed
from chinrest.pack.proving import faults_of
from chinrest.server.context import now_ms
from chinrest.server.relay_wire import (
    HubWord,
    PackAsked,
    RelayAnswer,
    RelayHeader,
    answer_text,
    pack_text,
    relay_text,
    word_text,
)
from chinrest.store import Store
from chinrest.store.beyond import Beyond
from chinrest.store.relaying import Parcel, Passed, Sender

PATIENCE_S = 60.0
FIRST_WAIT_S = 2.0
LONGEST_WAIT_S = 300.0
FIRST_PARCEL_BYTES = 8 * 1024
LARGEST_PARCEL_BYTES = 512 * 1024
RELAYED_BY = "relay"
OF_A_DEVICE = frozenset({"site_unknown", "device_taken"})
"""Refusals of one device by the server that this hub knows; a stranger's are others."""


class RelayError(Exception):
    """The server beyond said no, in a way that waiting does not mend."""

    def __init__(self, code: str, where: str, why: str) -> None:
        super().__init__(f"{code}: {where}: {why}")
        self.code, self.where, self.why = code, where, why


class Relayed(Struct, kw_only=True):
    """What one round did. `refused`: lines that the server beyond would not store, in words. `forks`: devices
    of which it holds another branch than this hub; it keeps the hub's aside, for a person to look at.
    `erased`: devices of which it lacked lines whose bodies were erased here.
    `unproved`: packs in force there that this hub could not prove, and did not take. `withdrawn`: phones,
    `people`: who may unlock a site's phones no longer, or again, by that server's word."""

    devices: int = 0
    lines: int = 0
    repeats: int = 0
    refused: list[str] = []
    forks: list[str] = []
    packs: list[str] = []
    unproved: list[str] = []
    erased: list[str] = []
    withdrawn: list[str] = []
    people: list[str] = []


def back_off(tries: int, dice: random.Random) -> float:
    """Seconds to wait after so many failures in a row: doubling, with jitter, up to a ceiling."""
    ceiling = min(LONGEST_WAIT_S, FIRST_WAIT_S * 2.0 ** min(tries, 16))
    return dice.uniform(ceiling / 2, ceiling)


class Relay:
    """Carries from `store` to the server behind `client` (an HTTP client with its base address set).

    `server_key`: that server's public key or its fingerprint, from its own people. Needed at first contact,
    and kept from then on; whatever answers with another key is not believed.
    """

    def __init__(self, store: Store, client: httpx.AsyncClient, server_key: str | None = None) -> None:
        self._store = store
        self._client = client
        self._server_key = server_key
        # small at first, so that a bad link gets on at all; larger as the link holds
        self._parcel_bytes = FIRST_PARCEL_BYTES
        self._unproved: dict[str, str] = {}  # pack -> its first fault, so that none is proved over and over

    async def round(self, told: Callable[[str], None] = lambda _text: None) -> Relayed:
        """Everything that waits, once, device by device. Raises RelayError, or httpx.HTTPError where the link
        fails. Where the server beyond refuses a device, the others' lines go over before that is raised."""
        if self._server_key is None and await self._store.beyond() is None:
            why = "the first contact needs the server's key or its fingerprint: chinrest hubs key, there"
            raise RelayError("key_needed", "--server-key", why)
        done = Relayed()
        refused: RelayError | None = None
        hub = (await self._store.identity()).server
        for device in await self._store.devices():
            sender = Sender(
                device=device.id,
                label=device.label,
                site=device.site,
                public_key=await self._store.public_key_of(device.id),
                enrolled_at=device.enrolled_at,
            )
            try:
                await self._device(hub, sender, device.withdrawn, done, told)
            except RelayError as fault:
                if fault.code not in OF_A_DEVICE:
                    raise
                refused = refused or fault
                continue
            done.devices += 1
        await self._say(hub)
        if refused:
            raise refused
        return done

    async def _say(self, hub: str) -> None:
        """How this hub stands, for the desk beyond. The lines matter and this does not: where it fails, or
        the server is too old to listen, the next round says it."""
        if await self._store.beyond() is None:
            return
        packs = {await self._store.pack_in_force(site) for site in await self._store.sites()}
        word = HubWord(
            hub=hub,
            now=now_ms(),
            waiting=await self._store.waiting(),
            app=__version__,
            packs=sorted(pack for pack in packs if pack),
            hub_signature="",
        )
        word = msgspec.structs.replace(word, hub_signature=await self._store.sign(word_text(word)))
        with suppress(httpx.HTTPError):
            await self._client.post("/api/relay/hub", json=msgspec.to_builtins(word))

    async def _device(
        self, hub: str, sender: Sender, withdrawn: bool, done: Relayed, told: Callable[[str], None]
    ) -> None:
        """Asks what the other side holds, then sends what it lacks, parcel by parcel."""
        nothing = Parcel(sender=sender, raws=[], head_seq=0, head_sha256=FIRST_PREV, signature="")
        answer = await self._send(hub, nothing)
        at, _ = await self._keep(sender.device, answer)
        # who is shut out comes down first: it is short, and the link may break among the lines
        await self._take_people(sender.site, answer, done)
        if answer.withdrawn and not withdrawn:
            why = "withdrawn at the server beyond"
            await self._store.withdraw(sender.device, RELAYED_BY, why, now_ms())
            done.withdrawn.append(sender.label)
        forked: list[int] = []
        bare = 0
        while (parcel := await self._store.next_parcel(sender.device, at, self._parcel_bytes)) is not None:
            answer = await self._send(hub, parcel)
            self._parcel_bytes = min(2 * self._parcel_bytes, LARGEST_PARCEL_BYTES)
            stored = sum(line.status in ("stored", "waiting") for line in answer.lines)
            done.lines += stored
            done.repeats += sum(line.status == "repeat" for line in answer.lines)
            done.refused += [
                f"{sender.label}, sequence {line.seq}: {line.code}: {line.reason}"
                for line in answer.lines
                if line.status == "refused" and line.code not in ("fork", "erased")
            ]
            bare += sum(line.code == "erased" for line in answer.lines)
            forked += [line.seq or 0 for line in answer.lines if line.code == "fork"]
            told(f"{sender.label}: {stored} lines")
            held, one_chain = await self._keep(sender.device, answer)
            # two branches, or it can't be told: all of the hub's goes over; what differs is kept aside there
            beyond = held if one_chain else parcel.head_seq
            if beyond <= at:
                break  # the other side does not get on (a gap): asking again would change nothing
            at = beyond
        if forked:
            done.forks.append(
                f"{sender.label}: the server beyond holds another branch; {len(forked)} lines of this one,"
                f" from sequence {min(forked)} on, are kept aside there"
            )
        if bare:
            done.erased.append(f"{sender.label}: {bare} lines stand there by their envelopes alone")
        await self._take_pack(hub, sender.site, answer, done)

    async def _send(self, hub: str, parcel: Parcel) -> RelayAnswer:
        sender, now = parcel.sender, now_ms()
        rows = b"".join(raw + b"\n" for raw in parcel.raws)
        header = RelayHeader(
            hub=hub,
            now=now,
            device=sender.device,
            label=sender.label,
            site=sender.site,
            public_key=sender.public_key,
            enrolled_at=sender.enrolled_at,
            head_seq=parcel.head_seq,
            head_sha256=parcel.head_sha256,
            signature=parcel.signature,
            hub_signature="",
            tombstones=parcel.tombstones,
            stubs=parcel.stubs,
        )
        signature = await self._store.sign(relay_text(header, sha256(rows).hexdigest()))
        header = msgspec.structs.replace(header, hub_signature=signature)
        response = await self._client.post(
            "/api/relay",
            content=await asyncio.to_thread(gzip.compress, msgspec.json.encode(header) + b"\n" + rows, 6),
            headers={"Content-Type": "application/x-ndjson", "Content-Encoding": "gzip"},
        )
        _check(response)
        try:
            answer = msgspec.json.decode(response.content, type=RelayAnswer)
        except msgspec.MsgspecError as error:
            raise RelayError("not_an_answer", "server", "what answered is no server of ours") from error
        await self._check_server(answer, header)
        return answer

    async def _check_server(self, answer: RelayAnswer, header: RelayHeader) -> None:
        """Raises RelayError unless the one server that this hub relays to has said all of it."""
        known, key = await self._store.beyond(), answer.server_key
        wanted = self._server_key or (known.public_key if known else "")
        if wanted not in (key, fingerprint(key)):
            why = f"what answered has another key, whose fingerprint is {fingerprint(key)}"
            raise RelayError("wrong_key", "server_key", why)
        if not is_signed(key, answer_text(answer, header), answer.signature):
            raise RelayError("bad_signature", "signature", "the answer is not signed by the server's key")
        if known is None or known.public_key != key:
            await self._store.pin_beyond(answer.server, key, now_ms())
        elif known.server != answer.server:
            raise RelayError("wrong_server", "server", f"it was {known.server}, and now says {answer.server}")
        await self._keep_carrying_key(answer, known)

    async def _keep_carrying_key(self, answer: RelayAnswer, known: Beyond | None) -> None:
        """What this hub's phones may seal lines for, once the server has signed for it."""
        said = answer.carrying_key
        if said is None or (known is not None and known.carrying_key is not None):
            return
        if said.server != answer.server or not is_carrying_key(said, answer.server_key):
            raise RelayError("bad_signature", "carrying_key", "not signed by the server's key")
        await self._store.keep_beyonds_carrying_key(said)

    async def _keep(self, device: str, answer: RelayAnswer) -> tuple[int, bool]:
        """Keeps its receipt once that is signed and of the hub's own chain. Returns up to where both are
        known to hold one chain, and whether that is all that the receipt names."""
        receipt, backup = answer.receipt, _backup_word(answer, device)
        seq, digest = (receipt.seq, receipt.head_sha256) if receipt else (0, FIRST_PREV)
        at, signature = (receipt.at, receipt.signature) if receipt else (now_ms(), "")
        if receipt is not None:
            text = (
                f"chinrest receipt {answer.server} {answer.epoch} {answer.kind} {device} {seq} {digest} {at}"
            )
            if receipt.device != device or not is_signed(answer.server_key, text, signature):
                raise RelayError("bad_signature", "receipt", "the receipt is not signed by the server's key")
            if await self._store.envelope_at(device, seq) != digest:
                # another branch, or beyond what is here: it vouches for nothing of this hub's. An earlier
                # receipt stands: within an epoch a chain only grows
                earlier = await self._store.passed_of(device)
                if earlier is not None and earlier.epoch == answer.epoch and earlier.seq <= seq:
                    return earlier.seq, False
                seq, digest, at, signature = 0, FIRST_PREV, now_ms(), ""
        passed = Passed(
            device=device,
            server=answer.server,
            epoch=answer.epoch,
            kind=answer.kind,
            seq=seq,
            head_sha256=digest,
            at=at,
            signature=signature,
            backup=backup,
        )
        await self._store.note_passed([passed])
        return seq, receipt is None or seq == receipt.seq

    async def _take_people(self, site: str, answer: RelayAnswer, done: Relayed) -> None:
        """Who was withdrawn from the site's phones beyond is withdrawn here, and let in again with it."""
        word = answer.people
        if word is None:
            return
        same = (word.server, word.epoch, word.site) == (answer.server, answer.epoch, site)
        if not same or not is_people_word(word, answer.server_key):
            why = "the word of who was withdrawn is not signed by the server's key"
            raise RelayError("bad_signature", "people", why)
        done.people += [
            f"{site}: {said.person} {'withdrawn' if said.withdrawn else 'readmitted'}"
            for said in await self._store.follow_people(word, RELAYED_BY, now_ms())
        ]

    async def _take_pack(self, hub: str, site: str, answer: RelayAnswer, done: Relayed) -> None:
        """The pack that is in force beyond is in force here once it is proved as a lead's upload is (the
        server's signature says whose it is, not that its figures are right). What was recalled there is
        recalled here."""
        recalled = {recall.sha256 for recall in await self._store.recalls()}
        for recall in answer.recalls:
            if recall.sha256 not in recalled and await self._store.pack_bytes(recall.sha256) is not None:
                await self._store.recall_pack(recall.sha256, RELAYED_BY, recall.why, now_ms())
        if answer.pack is None or answer.pack == await self._store.pack_in_force(site):
            return
        if answer.pack not in self._unproved and await self._store.pack_bytes(answer.pack) is None:
            asked = PackAsked(hub=hub, now=now_ms(), sha256=answer.pack, hub_signature="")
            asked = msgspec.structs.replace(asked, hub_signature=await self._store.sign(pack_text(asked)))
            response = await self._client.post("/api/relay/pack", json=msgspec.to_builtins(asked))
            _check(response)
            if sha256(response.content).hexdigest() != answer.pack:
                raise RelayError("bad_pack", "pack", "its bytes do not match its name")
            if faults := await asyncio.to_thread(faults_of, response.content):
                self._unproved[answer.pack] = str(faults[0])
            else:
                await self._store.put_pack(response.content, now_ms())
        if answer.pack in self._unproved:  # what is in force here stays so; the lines go over all the same
            done.unproved.append(f"{site}: {answer.pack[:12]}: {self._unproved[answer.pack]}")
            return
        note = "in force at the server beyond"
        await self._store.approve_pack(answer.pack, RELAYED_BY, [site], note, now_ms())
        done.packs.append(f"{site}: {answer.pack[:12]}")


def _backup_word(answer: RelayAnswer, device: str) -> BackupWord | None:
    """Kept as it is for the device, which proves it by its own chain. Raises RelayError."""
    word = answer.backup
    if word is None:
        return None
    same = (word.server, word.epoch, word.device) == (answer.server, answer.epoch, device)
    if answer.kind != "final" or not same or not is_backup_word(word, answer.server_key):
        why = "the word of its backup is not signed by the server's key"
        raise RelayError("bad_signature", "backup", why)
    return word


def _check(response: httpx.Response) -> None:
    """Says what the other side refused. What may pass by itself (its 5xx, too many requests) is a failed
    link."""
    if response.status_code == 200:
        return
    if response.status_code >= 500 or response.status_code == 429:
        raise httpx.HTTPStatusError("not now", request=response.request, response=response)
    try:
        said = response.json()
        raise RelayError(str(said["code"]), str(said["where"]), str(said["why"]))
    except (ValueError, KeyError, TypeError) as error:
        why = f"it answered with status {response.status_code}; is this the server's address?"
        raise RelayError("not_an_answer", "server", why) from error
