"""What `chinrest serve` says when it starts, for people and for machines."""

from datetime import datetime
from pathlib import Path

import click
import msgspec

import chinrest
from chinrest.server.demo import SignIn
from chinrest.server.wire import EnrolmentCode

from .qr import qr_text

CAUTION = "Not a medical device. Watch from the side; local rules and the instrument's handbook come first."


class Trust(msgspec.Struct, frozen=True, kw_only=True):
    """The hub's own authority: its fingerprint, and the plain page that gives its certificate out."""

    fingerprint: str
    page: str


class Started(msgspec.Struct, frozen=True, kw_only=True):
    origin: str
    data: Path
    demo: bool
    sign_ins: list[SignIn]
    public_sign_ins: bool
    enrolment: EnrolmentCode | None
    enrolment_site: str | None
    trust: Trust | None
    hints: list[str]


def print_started(started: Started, as_json: bool) -> None:
    if as_json:
        click.echo(msgspec.json.encode(started, enc_hook=str))
    else:
        click.echo("\n".join(_lines(started)))


def _lines(started: Started) -> list[str]:
    what = ", serving the demo: an invented eye service, for no patient" if started.demo else ""
    lines = [
        f"Chinrest {chinrest.__version__}{what}",
        "",
        f"  Chairside  {started.origin}/",
        f"  Desk       {started.origin}/desk",
        f"  Data       {started.data}",
        "",
    ]
    if started.sign_ins:
        kind = "public, so keep this server to this machine" if started.public_sign_ins else "shown only now"
        lines += [f"  Sign-ins at the desk ({kind}):"]
        lines += [f"    {who.role:8} {who.name:20} {who.password}" for who in started.sign_ins]
        lines += [""]
    if started.trust:
        address = f"{started.trust.page}?authority={started.trust.fingerprint.replace(':', '')}"
        lines += [
            "  Phones must first trust this hub. Its certificate's SHA-256 fingerprint:",
            *(f"    {part}" for part in _halves(started.trust.fingerprint)),
            f"  1. On the phone open {started.trust.page} (no TLS, only the certificate), or scan:",
            "",
            *(f"    {row}" for row in qr_text(address).splitlines()),
            "",
        ]
    if started.enrolment:
        until = datetime.fromtimestamp(started.enrolment.expires_at / 1000).astimezone()
        step = "2. Then enrol" if started.trust else "Enrol"
        lines += [
            f"  {step} the first phone, at {started.enrolment_site}: code {started.enrolment.code}, "
            f"once, until {until:%H:%M}. Open",
            f"    {started.enrolment.url}",
            "  or scan:",
            "",
            *(f"    {row}" for row in qr_text(started.enrolment.url).splitlines()),
            "",
        ]
    lines += [f"  {hint}" for hint in started.hints]
    return [*lines, f"  {CAUTION}", "  Ctrl+C stops the server.", ""]


def _halves(fingerprint: str) -> list[str]:
    middle = len(fingerprint) // 2 + 1
    return [fingerprint[:middle], fingerprint[middle:]]
