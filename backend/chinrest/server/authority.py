"""The hub's own certificate authority, for clinics that have no other.

A phone runs no service worker and gives no cryptography to a page that came over plain HTTP, so a hub on the
clinic's network needs TLS. The authority is made once and can vouch for this hub's names and addresses and
for nothing else (name constraints, RFC 5280 section 4.2.1.10), so that a stolen key opens no other site.
"""

import ipaddress
import os
import socket
from collections.abc import Iterable
from datetime import UTC, datetime, timedelta
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID
from msgspec import Struct

AUTHORITY_DAYS = 3650
LEAF_DAYS = 90
RENEW_BEFORE_DAYS = 30
CLOCK_SLACK = timedelta(hours=12)  # phones with a slow clock
Address = ipaddress.IPv4Address | ipaddress.IPv6Address


class AuthorityError(Exception):
    """The authority cannot do what is asked; the text says why and what to do."""


class TlsFiles(Struct, frozen=True, kw_only=True):
    certificate: Path
    key: Path


class Authority:
    """The authority in a folder: `authority.crt`, `authority.key` (0600), and the leaf that it signed."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.certificate_file = folder / "authority.crt"
        self.key_file = folder / "authority.key"
        self.leaf = TlsFiles(certificate=folder / "hub.crt", key=folder / "hub.key")

    @property
    def exists(self) -> bool:
        return self.certificate_file.is_file() and self.key_file.is_file()

    def make(self, names: Iterable[str]) -> None:
        """Make the authority for these names and addresses. An older one in the folder is replaced."""
        self.folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        dns, addresses = split_names(names)
        key = ec.generate_private_key(ec.SECP256R1())
        called = f"Chinrest hub {dns[0] if dns else addresses[0]}"[:64]  # the limit of a common name
        who = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, called)])
        now = datetime.now(UTC)
        permitted: list[x509.GeneralName] = [x509.DNSName(name) for name in dns]
        permitted += [x509.IPAddress(ipaddress.ip_network(address)) for address in addresses]
        usage = x509.KeyUsage(
            digital_signature=False,
            content_commitment=False,
            key_encipherment=False,
            data_encipherment=False,
            key_agreement=False,
            key_cert_sign=True,
            crl_sign=True,
            encipher_only=False,
            decipher_only=False,
        )
        certificate = (
            _builder(who, who, key.public_key(), now, AUTHORITY_DAYS)
            .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
            .add_extension(usage, critical=True)
            .add_extension(x509.NameConstraints(permitted, None), critical=True)
            .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
            .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
            .sign(key, hashes.SHA256())
        )
        _write_private(self.key_file, key)
        self.certificate_file.write_bytes(certificate.public_bytes(serialization.Encoding.PEM))
        self.leaf.certificate.unlink(missing_ok=True)

    def certificate(self) -> x509.Certificate:
        return x509.load_pem_x509_certificate(self.certificate_file.read_bytes())

    def der(self) -> bytes:
        """The certificate as phones take it."""
        return self.certificate().public_bytes(serialization.Encoding.DER)

    def fingerprint(self) -> str:
        """SHA-256 of the certificate, in pairs of hex digits, as phones show it."""
        return self.certificate().fingerprint(hashes.SHA256()).hex(":").upper()

    def permitted(self) -> list[str]:
        """The names and addresses that it may vouch for."""
        constraints = self.certificate().extensions.get_extension_for_class(x509.NameConstraints).value
        found = []
        for name in constraints.permitted_subtrees or []:
            if isinstance(name, x509.IPAddress):
                found.append(str(ipaddress.ip_network(name.value).network_address))
            elif isinstance(name, x509.DNSName):
                found.append(name.value)
        return found

    def check_covers(self, host: str, now: datetime | None = None) -> None:
        """Raises AuthorityError where phones would refuse the hub under this name, or soon would."""
        ends = self.certificate().not_valid_after_utc
        if ends - (now or datetime.now(UTC)) < timedelta(days=LEAF_DAYS):
            raise AuthorityError(
                f"this hub's authority ends on {ends:%Y-%m-%d}. Start the hub once with --new-authority: "
                "every phone must then be told to trust the new certificate."
            )
        permitted = self.permitted()
        if host not in permitted:
            raise AuthorityError(
                f"this hub's authority vouches only for {', '.join(permitted)}, and not for {host}. "
                "Give the hub its old address again, say with --origin by which of these phones reach it, "
                "or start it once with --new-authority: every phone must then be told to trust the new one."
            )

    def renew(self, now: datetime | None = None) -> bool:
        """Sign a new leaf where there is none or where it ends soon. True when it did."""
        now = now or datetime.now(UTC)
        ends = self._leaf_ends()
        if ends is not None and ends - now > timedelta(days=RENEW_BEFORE_DAYS):
            return False
        self.issue(self.permitted(), now)
        return True

    def _leaf_ends(self) -> datetime | None:
        """None where there is no sound leaf: the power may have gone between writing its key and the rest."""
        try:
            held = x509.load_pem_x509_certificates(self.leaf.certificate.read_bytes())[0]
            key = serialization.load_pem_private_key(self.leaf.key.read_bytes(), password=None)
        except (FileNotFoundError, ValueError):
            return None
        return held.not_valid_after_utc if key.public_key() == held.public_key() else None

    def issue(self, names: Iterable[str], now: datetime | None = None) -> None:
        """Sign a leaf for these names; `hub.crt` holds it and the authority's own certificate."""
        signer = serialization.load_pem_private_key(self.key_file.read_bytes(), password=None)
        if not isinstance(signer, ec.EllipticCurvePrivateKey):
            raise AuthorityError(f"{self.key_file} holds no elliptic-curve key")
        above = self.certificate()
        dns, addresses = split_names(names)
        alternatives: list[x509.GeneralName] = [x509.DNSName(name) for name in dns]
        alternatives += [x509.IPAddress(address) for address in addresses]
        key = ec.generate_private_key(ec.SECP256R1())
        subject = x509.Name([x509.NameAttribute(NameOID.ORGANIZATION_NAME, "Chinrest hub")])
        leaf = (
            _builder(subject, above.subject, key.public_key(), now or datetime.now(UTC), LEAF_DAYS)
            .add_extension(x509.SubjectAlternativeName(alternatives), critical=False)
            .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
            .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
            .add_extension(_leaf_usage(), critical=True)
            .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
            .add_extension(
                x509.AuthorityKeyIdentifier.from_issuer_public_key(signer.public_key()), critical=False
            )
            .sign(signer, hashes.SHA256())
        )
        _write_private(self.leaf.key, key)
        chain = b"".join(c.public_bytes(serialization.Encoding.PEM) for c in (leaf, above))
        self.leaf.certificate.write_bytes(chain)


def _builder(
    subject: x509.Name, issuer: x509.Name, key: ec.EllipticCurvePublicKey, now: datetime, days: int
) -> x509.CertificateBuilder:
    return (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(issuer)
        .public_key(key)
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - CLOCK_SLACK)
        .not_valid_after(now + timedelta(days=days))
    )


def _leaf_usage() -> x509.KeyUsage:
    return x509.KeyUsage(
        digital_signature=True,
        content_commitment=False,
        key_encipherment=False,
        data_encipherment=False,
        key_agreement=False,
        key_cert_sign=False,
        crl_sign=False,
        encipher_only=False,
        decipher_only=False,
    )


def _write_private(path: Path, key: ec.EllipticCurvePrivateKey) -> None:
    """Never readable by others, not even for a moment."""
    path.unlink(missing_ok=True)
    text = key.private_bytes(
        serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
    )
    with os.fdopen(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as file:
        file.write(text)


def split_names(names: Iterable[str]) -> tuple[list[str], list[Address]]:
    """Host names and addresses apart, each once, in order."""
    dns: list[str] = []
    addresses: list[Address] = []
    for name in dict.fromkeys(names):
        try:
            addresses.append(ipaddress.ip_address(name))
        except ValueError:
            dns.append(name.lower())
    return dns, addresses


def lan_address() -> str | None:
    """The address by which this machine's network knows it; null without a network. Sends nothing."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))  # a documentation address: only the route is looked up
        except OSError:
            return None
        found = str(probe.getsockname()[0])
    return None if ipaddress.ip_address(found).is_loopback else found


def own_names(host: str) -> list[str]:
    """What this hub is called: the address given first, then its host name, also as multicast DNS has it."""
    short = socket.gethostname().split(".")[0].lower()
    plausible = short.replace("-", "").isalnum() and short.isascii()
    names = [host, *([short, f"{short}.local"] if plausible else []), "localhost", "127.0.0.1"]
    return list(dict.fromkeys(names))
