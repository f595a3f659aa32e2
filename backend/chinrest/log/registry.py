"""Event type -> the class of its body. A type that isn't here is kept and carried, and shown as not
understood."""

import json
from collections.abc import Iterable
from typing import Any, get_args

import msgspec

from chinrest.log.case_events import Body, CaseBody
from chinrest.log.dye_events import DyeBody
from chinrest.log.envelope import Envelope
from chinrest.log.erasure_events import ErasureBody
from chinrest.log.house_events import HouseBody, ServerBody
from chinrest.log.plan_events import PlanBody
from chinrest.log.reaction_events import ReactionBody
from chinrest.log.review_events import ReviewBody
from chinrest.log.series_events import SeriesBody

FORMAT = 1
"""The line format that this version writes and fully reads."""


def type_of(body: Body | type[Body]) -> str:
    """The event type that a body class stands for."""
    tag = body.__struct_config__.tag
    if not isinstance(tag, str):
        raise TypeError(f"{body!r} has no event type")
    return tag


def _by_type(classes: Iterable[type[Body]]) -> dict[str, type[Body]]:
    return {type_of(cls): cls for cls in classes}


BODY_TYPES: dict[str, type[Body]] = _by_type(
    cls
    for union in (CaseBody, PlanBody, DyeBody, SeriesBody, ReactionBody, HouseBody, ErasureBody, ReviewBody)
    for cls in get_args(union)
)
SERVER_TYPES = frozenset(_by_type((*get_args(ServerBody), *get_args(ErasureBody), *get_args(ReviewBody))))
REVIEW_TYPES = frozenset(_by_type(get_args(ReviewBody)))
"""Types that count only in a server's own chain."""

_DECODERS = {name: msgspec.json.Decoder(cls) for name, cls in BODY_TYPES.items()}


def known(envelope: Envelope) -> bool:
    """Whether this version may interpret the body. A newer format of a known type is not known."""
    return envelope.v == FORMAT and envelope.type in BODY_TYPES


def decode_body(envelope: Envelope, body: bytes) -> Body | None:
    """The body as its class; null for an unknown type. Raises ValueError where a known type lacks
    something."""
    if not known(envelope):
        return None
    try:
        return _DECODERS[envelope.type].decode(body)
    except (msgspec.MsgspecError, UnicodeDecodeError, RecursionError) as fault:
        mended = _without_lone_surrogates(body)
        if mended is None:
            raise ValueError(str(fault)) from fault
        return convert_body(envelope.type, mended)


def convert_body(event_type: str, fields: dict[str, Any]) -> Body:
    """A known type's body from plain fields. The salt may be absent, as in an amendment's inner body."""
    given = {"salt": "", **{name: value for name, value in fields.items() if name != "type"}}
    try:
        return msgspec.convert(given, BODY_TYPES[event_type])
    except (msgspec.MsgspecError, RecursionError) as fault:
        raise ValueError(str(fault)) from fault


def body_fields(body: bytes) -> dict[str, Any] | None:
    """The body's fields as plain values; null where it isn't a JSON object."""
    try:
        fields = msgspec.json.decode(body)
    except (msgspec.MsgspecError, UnicodeDecodeError, RecursionError):
        return _without_lone_surrogates(body)
    return fields if isinstance(fields, dict) else None


def _without_lone_surrogates(body: bytes) -> dict[str, Any] | None:
    """A browser writes half of a cut emoji as an escape that strict decoders refuse. The bytes stay as they
    are; for reading, such a half becomes U+FFFD. Null where the text is no JSON object either way."""
    try:
        text = body.decode()
        if "\\u" not in text:
            return None
        fields = json.loads(text, parse_constant=_refuse_constant)
        with_halves = json.dumps(fields, ensure_ascii=False).encode("utf-16", "surrogatepass")
        mended = json.loads(with_halves.decode("utf-16", "replace"))
    except (ValueError, RecursionError):
        return None
    return mended if isinstance(mended, dict) else None


def _refuse_constant(name: str) -> None:
    raise ValueError(f"{name} is not JSON")


def encode_body(body: Body) -> bytes:
    """The body's bytes: salt first, no tag (the type stands in the envelope only)."""
    fields = msgspec.to_builtins(body)
    fields.pop("type")
    return msgspec.json.encode({"salt": fields.pop("salt"), **fields})
