"""Phones that never were, writing lines about patients who never were. Same names, same bytes every time."""

import base64
from hashlib import sha256
from typing import Any

import msgspec

from chinrest.log.case_events import Body
from chinrest.log.kept import KeptLine
from chinrest.log.line import Line, decode_line
from chinrest.log.registry import BODY_TYPES
from chinrest.log.write import ChainWriter, uuid7

START = 1_794_000_000_000
"""A morning in November 2026, ms since 1970."""


def digest(*parts: object) -> bytes:
    return sha256("/".join(map(str, parts)).encode()).digest()


def device_id(name: str) -> str:
    """A UUIDv4 (RFC 9562, section 5.4) out of a name."""
    d = digest("device", name).hex()
    return f"{d[:8]}-{d[8:12]}-4{d[13:16]}-8{d[17:20]}-{d[20:32]}"


class Phone:
    """Writes one device's chain. Its clock goes on by a second a line, plus whatever a test adds to `at`."""

    def __init__(self, name: str = "phone", at: int = START) -> None:
        self.name = name
        self.device = device_id(name)
        self.at = at
        self.pack: str | None = None
        self.actor: str | None = "AB"
        self.chain = ChainWriter(self.device, digest("boot", name).hex()[:16])
        self.lines: list[Line] = []

    def write(self, type_: str, case: str | None = None, *, practice: bool = False, **fields: Any) -> Line:
        """Append an event given by its type and fields; null and empty defaults are filled in."""
        self.at += 1000
        count = self.chain.seq + 1
        salt = base64.b64encode(digest("salt", self.name, count)[:16]).decode()
        body: Body = msgspec.convert({**DEFAULTS.get(type_, {}), **fields, "salt": salt}, BODY_TYPES[type_])
        line = self.chain.write(
            body,
            at=self.at,
            mono=count * 1000,
            actor=self.actor,
            case=case,
            practice=practice,
            pack=self.pack,
            line_id=uuid7(self.at, digest("id", self.name, count)[:10]),
        )
        self.lines.append(line)
        return line

    def write_raw(self, type_: str, body: bytes, case: str | None = None, **changes: Any) -> Line:
        """Append a line whose body is these very bytes, such as one of a type that isn't known yet."""
        self.at += 1000
        count = self.chain.seq + 1
        envelope = {
            "id": uuid7(self.at, digest("id", self.name, count)[:10]),
            "device": self.device,
            "seq": count,
            "prev": self.chain.head,
            "body_sha256": sha256(body).hexdigest(),
            "at": self.at,
            "mono": count * 1000,
            "boot": self.chain.boot,
            "actor": self.actor,
            "case": case,
            "practice": False,
            "pack": self.pack,
            "type": type_,
            "v": 1,
            **changes,
        }
        line = decode_line(msgspec.json.encode(envelope) + b"\t" + body)
        self.chain.seq, self.chain.head = count, line.envelope_sha256
        self.lines.append(line)
        return line

    @property
    def raws(self) -> list[bytes]:
        return [line.raw for line in self.lines]


DEFAULTS: dict[str, dict[str, Any]] = {
    "case.opened": {
        "code": "T-1",
        "eyes": ["right"],
        "study_eye": "right",
        "modalities": ["colour"],
        "cross_sections": False,
        "flags": [],
    },
    "case.closed": {"outcome": "completed"},
    "step.done": {"step": "identifiers"},
    "pose.advised": {
        "eye": "right",
        "optic": "wide",
        "gaze_deg": [0.0, 0.0],
        "reason": None,
        "yaw_deg": 12.0,
        "pitch_deg": 0.0,
        "working_distance_mm": 20.0,
        "clearance_mm": 5.0,
        "nearest": "nasal_flank",
        "field_deg": 100.0,
        "words": "likely_clear",
    },
    "pose.found": {"eye": "right", "optic": "wide", "gaze_deg": [0.0, 0.0], "outcome": "as_advised"},
    "safety.noted": {
        "what": "faint",
        "reached_patient": True,
        "harm": None,
        "signs": [],
        "done": [],
        "told": [],
    },
    "line.amended": {"body": None, "why": "pressed by mistake"},
    "device.enrolled": {"public_key": "AAAA", "label": "phone", "site": "north"},
}


def fields_of(body: Body) -> dict[str, Any]:
    """A body's fields, as an amendment gives them."""
    return {name: value for name, value in msgspec.to_builtins(body).items() if name not in ("type", "salt")}


def kept(line: Line, site: str = "north", received_at: int = START, offset_ms: int | None = 0) -> KeptLine:
    return KeptLine(
        envelope=line.envelope,
        body=line.body_bytes,
        received_at=received_at,
        offset_ms=offset_ms,
        site=site,
    )


__all__ = ["DEFAULTS", "START", "Phone", "device_id", "digest", "fields_of", "kept"]
