"""The hub's own authority, judged by OpenSSL: it vouches for the hub and for nothing else.

Name constraints and how a verifier applies them: RFC 5280, sections 4.2.1.10 and 6.1.
"""

import ipaddress
import socket
import ssl
import stat
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes

from chinrest.server.authority import (
    LEAF_DAYS,
    RENEW_BEFORE_DAYS,
    Authority,
    AuthorityError,
    own_names,
)
from chinrest.server.running import load_leaf

NAMES = ["192.168.7.20", "hub", "hub.local", "localhost", "127.0.0.1"]


@pytest.fixture
def authority(tmp_path: Path) -> Authority:
    made = Authority(tmp_path / "tls")
    made.make(NAMES)
    made.renew()
    return made


@contextmanager
def tls_server(context: ssl.SSLContext) -> Iterator[int]:
    """Answers every handshake on a port of loopback until the block ends."""
    listener = socket.create_server(("127.0.0.1", 0))
    listener.settimeout(0.1)
    done = threading.Event()

    def serve() -> None:
        while not done.is_set():
            try:
                raw, _ = listener.accept()
            except TimeoutError:
                continue
            try:
                with context.wrap_socket(raw, server_side=True) as wrapped:
                    wrapped.recv(1)
            except (ssl.SSLError, OSError):
                raw.close()  # the caller refused the certificate: that is what some tests ask for

    thread = threading.Thread(target=serve)
    thread.start()
    try:
        yield listener.getsockname()[1]
    finally:
        done.set()
        thread.join()
        listener.close()


def leaf_context(authority: Authority) -> ssl.SSLContext:
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    load_leaf(context, authority.leaf.certificate, authority.leaf.key)
    return context


def call(port: int, authority: Authority, name: str) -> x509.Certificate:
    """A handshake as a phone that trusts the authority makes it; the certificate that it got."""
    context = ssl.create_default_context(cafile=str(authority.certificate_file))
    context.verify_flags |= ssl.VERIFY_X509_STRICT
    with (
        socket.create_connection(("127.0.0.1", port), 5) as raw,
        context.wrap_socket(raw, server_hostname=name) as wrapped,
    ):
        got = wrapped.getpeercert(binary_form=True)
    assert got is not None
    return x509.load_der_x509_certificate(got)


@pytest.mark.parametrize("name", NAMES)
def test_a_phone_that_trusts_it_opens_the_hub_by_each_of_its_names(authority: Authority, name: str) -> None:
    with tls_server(leaf_context(authority)) as port:
        call(port, authority, name)


def test_a_phone_that_does_not_trust_it_is_warned(authority: Authority) -> None:
    with (
        tls_server(leaf_context(authority)) as port,
        socket.create_connection(("127.0.0.1", port), 5) as raw,
        pytest.raises(ssl.SSLCertVerificationError, match="self-signed certificate in certificate chain"),
    ):
        ssl.create_default_context().wrap_socket(raw, server_hostname="localhost")


@pytest.mark.parametrize("foreign", ["bank.example", "192.168.7.21", "hub.example", "localhost.example"])
def test_a_leaf_for_a_foreign_name_is_refused(authority: Authority, foreign: str) -> None:
    """Somebody who has stolen the key signs what he likes: verifiers refuse it all the same."""
    authority.issue([foreign])
    with (
        tls_server(leaf_context(authority)) as port,
        pytest.raises(ssl.SSLCertVerificationError, match="permitted subtree violation"),
    ):
        call(port, authority, foreign)


def test_a_leaf_cannot_sign_further(authority: Authority) -> None:
    held = x509.load_pem_x509_certificates(authority.leaf.certificate.read_bytes())[0]
    basic = held.extensions.get_extension_for_class(x509.BasicConstraints).value
    assert not basic.ca
    above = authority.certificate().extensions.get_extension_for_class(x509.BasicConstraints).value
    assert above.ca
    assert above.path_length == 0


def test_keys_are_for_their_owner_only(authority: Authority) -> None:
    for key in (authority.key_file, authority.leaf.key):
        assert stat.S_IMODE(key.stat().st_mode) == 0o600
    assert stat.S_IMODE(authority.folder.stat().st_mode) == 0o700


def test_made_once_and_the_leaf_renewed_before_its_end(authority: Authority) -> None:
    before = authority.fingerprint()
    first = authority.leaf.certificate.read_bytes()
    now = datetime.now(UTC)
    assert not authority.renew(now + timedelta(days=LEAF_DAYS - RENEW_BEFORE_DAYS - 1))
    assert authority.leaf.certificate.read_bytes() == first
    assert authority.renew(now + timedelta(days=LEAF_DAYS - RENEW_BEFORE_DAYS + 1))
    assert authority.leaf.certificate.read_bytes() != first
    assert Authority(authority.folder).fingerprint() == before


@pytest.mark.parametrize("spoil", ["cut certificate", "another key", "no key"])
def test_a_leaf_that_was_half_written_is_made_anew(authority: Authority, spoil: str) -> None:
    leaf, before = authority.leaf, authority.fingerprint()
    if spoil == "cut certificate":
        leaf.certificate.write_bytes(leaf.certificate.read_bytes()[:200])
    elif spoil == "another key":
        leaf.key.write_bytes(authority.key_file.read_bytes())
    else:
        leaf.key.unlink()
    assert authority.renew()
    load_leaf(ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER), leaf.certificate, leaf.key)
    assert authority.fingerprint() == before


def test_a_running_server_hands_out_the_renewed_leaf(authority: Authority) -> None:
    context = leaf_context(authority)
    with tls_server(context) as port:
        old = call(port, authority, "hub").serial_number
        authority.issue(authority.permitted())
        load_leaf(context, authority.leaf.certificate, authority.leaf.key)
        assert call(port, authority, "hub").serial_number != old


def test_the_fingerprint_is_that_of_the_certificate_that_phones_take(authority: Authority) -> None:
    taken = x509.load_der_x509_certificate(authority.der())
    assert authority.fingerprint() == taken.fingerprint(hashes.SHA256()).hex(":").upper()
    assert len(authority.fingerprint()) == 64 + 31


def test_a_hub_with_a_new_address_is_told_what_to_do(authority: Authority) -> None:
    authority.check_covers("192.168.7.20")
    with pytest.raises(AuthorityError, match=r"not for 192\.168\.7\.99.*--new-authority"):
        authority.check_covers("192.168.7.99")


def test_an_authority_near_its_end_is_replaced_in_time(authority: Authority) -> None:
    """No leaf may outlive what vouches for it."""
    ends = authority.certificate().not_valid_after_utc
    authority.check_covers("hub", ends - timedelta(days=LEAF_DAYS + 1))
    with pytest.raises(AuthorityError, match="--new-authority"):
        authority.check_covers("hub", ends - timedelta(days=LEAF_DAYS - 1))


def test_it_may_vouch_for_just_what_it_was_made_for(authority: Authority) -> None:
    assert sorted(authority.permitted()) == sorted(NAMES)
    constraints = authority.certificate().extensions.get_extension_for_class(x509.NameConstraints)
    assert constraints.critical
    nets = [n.value for n in constraints.value.permitted_subtrees or [] if isinstance(n, x509.IPAddress)]
    assert all(isinstance(net, ipaddress.IPv4Network) and net.num_addresses == 1 for net in nets)


def test_own_names_start_with_the_address_and_hold_loopback() -> None:
    names = own_names("10.1.2.3")
    assert names[0] == "10.1.2.3"
    assert {"localhost", "127.0.0.1"} <= set(names)
    assert len(set(names)) == len(names)
