"""A phone with PINs as the server knows it: it made two tokens, one of which may only send."""

import secrets
from hashlib import sha256
from typing import Any

from carrying import Phone

from chinrest.log.signing import sign


def new_token() -> str:
    return secrets.token_urlsafe(32)


def hash_of(token: str) -> str:
    return sha256(token.encode()).hexdigest()


def tokens_request(phone: Phone, send: str, full: str = "") -> dict[str, str]:
    """Of hashes, signed by the phone."""
    text = f"chinrest tokens {phone.enrolment['server']} {phone.device} {send} {full}"
    return {"send": send, "full": full, "signature": sign(phone.signing_key, text)}


def tell_tokens(phone: Phone, send: str, full: str = "", /, **changes: Any) -> Any:
    """The answer to telling the hashes of these tokens (`full` empty: it stays)."""
    asked = tokens_request(phone, hash_of(send), full and hash_of(full))
    return phone.client.post("/api/tokens", json={**asked, **changes}, headers=phone.bearer)


def send_only(phone: Phone) -> str:
    """The phone's new token that may only send; its full one stays."""
    token = new_token()
    answer = tell_tokens(phone, token)
    assert answer.status_code == 204, answer.text
    return token
