"""`chinrest serve`: starts the server and says how to reach it."""

import asyncio
import ipaddress
import re
import socket
import ssl
import sys
from contextlib import closing
from pathlib import Path
from urllib.parse import urlsplit

import click
from msgspec import Struct

from chinrest.pack.faults import PackFaults
from chinrest.server import logs
from chinrest.server.app import create_app
from chinrest.server.authority import (
    Authority,
    AuthorityError,
    TlsFiles,
    lan_address,
    own_names,
)
from chinrest.server.authority_page import PlainPage
from chinrest.server.demo import WrongFolderError, check_folder, demo_sites
from chinrest.server.running import run_server
from chinrest.server.settings import BACKUP_DAYS, Settings

from .banner import Started, Trust, print_started
from .ending import CommandError, data_option, json_option, origin_option, user_folder, with_store
from .enrol import note_serving
from .holding import holding
from .numbers import Whole
from .printing import end_with_faults
from .ready import make_ready

HOST_NAME = re.compile(r"(?!-)[A-Za-z0-9-]{1,63}(?<!-)(\.(?!-)[A-Za-z0-9-]{1,63}(?<!-))*")


class Choices(Struct, frozen=True, kw_only=True):
    """What was asked for on the command line."""

    demo: bool
    data: Path
    host: str
    shown_host: str
    port: int
    lan: bool
    tls: TlsFiles | None
    local_tls: bool
    tls_names: tuple[str, ...]
    new_authority: bool
    origin: str | None
    proxy: str | None
    hub: bool
    backup_days: int
    as_json: bool


def _names_of_option(
    _context: click.Context, _option: click.Parameter, value: tuple[str, ...]
) -> tuple[str, ...]:
    for name in value:
        if not HOST_NAME.fullmatch(name):
            raise click.BadParameter(f"{name!r} is no host name such as hub.example")
    return tuple(name.lower() for name in value)


@click.command()
@click.option("--demo", is_flag=True, help="Serve the invented demo scenario, in a folder of its own.")
@data_option
@click.option("--host", help="Address to listen at. Default: 127.0.0.1, or with --lan this machine's own.")
@click.option("--port", type=Whole(0, 65534), default=8480, show_default=True)
@click.option("--lan", is_flag=True, help="Open to the clinic's network: TLS and random sign-ins.")
@click.option("--tls-cert", type=click.Path(path_type=Path, dir_okay=False), help="Certificate chain (PEM).")
@click.option("--tls-key", type=click.Path(path_type=Path, dir_okay=False), help="Its private key (PEM).")
@click.option("--local-tls", is_flag=True, help="TLS by an authority of this hub's own.")
@click.option(
    "--tls-name",
    "tls_names",
    multiple=True,
    callback=_names_of_option,
    help="Another name that the new authority vouches for; one that can move to another machine.",
)
@click.option("--new-authority", is_flag=True, help="Make that authority anew: phones must trust it again.")
@origin_option
@click.option("--behind-proxy", "proxy", help="IP of a proxy in front, believed about a caller's address.")
@click.option(
    "--hub", is_flag=True, help="A satellite's server: phones keep lines until the hospital has them."
)
@click.option(
    "--backup-days",
    type=Whole(1, 365),
    default=BACKUP_DAYS,
    show_default=True,
    help="The desk warns when no backup was made for so many days.",
)
@click.option(
    "--log-level",
    type=click.Choice(["debug", "info", "warning"]),
    help="Default: warning on a terminal, else info.",
)
@json_option
def serve(
    demo: bool,
    data: Path | None,
    host: str | None,
    port: int,
    lan: bool,
    tls_cert: Path | None,
    tls_key: Path | None,
    local_tls: bool,
    tls_names: tuple[str, ...],
    new_authority: bool,
    origin: str | None,
    proxy: str | None,
    hub: bool,
    backup_days: int,
    log_level: str | None,
    as_json: bool,
) -> None:
    """Serve phones, officers and leads. By default only this machine can reach it."""
    logs.set_up(log_level or ("warning" if sys.stderr.isatty() else "info"))
    tls = _tls_files(tls_cert, tls_key)
    listen, shown = _hosts(host, lan)
    _serve(
        Choices(
            demo=demo,
            data=(data or user_folder(demo)).absolute(),
            host=listen,
            shown_host=shown,
            port=port,
            lan=lan,
            tls=tls,
            local_tls=tls is None and (local_tls or lan),
            tls_names=tls_names,
            new_authority=new_authority,
            origin=origin,
            proxy=_proxy(proxy, origin),
            hub=hub,
            backup_days=backup_days,
            as_json=as_json,
        )
    )


def _proxy(proxy: str | None, origin: str | None) -> str | None:
    if proxy is None:
        return None
    try:
        address = str(ipaddress.ip_address(proxy))
    except ValueError as error:
        raise CommandError("value", "--behind-proxy", "give the proxy's IP address") from error
    if origin is None:
        why = "say with --origin at which address people reach the proxy"
        raise CommandError("no_origin", "--behind-proxy", why)
    return address


def _tls_files(certificate: Path | None, key: Path | None) -> TlsFiles | None:
    if certificate is None and key is None:
        return None
    if certificate is None or key is None:
        raise CommandError("half_tls", "--tls-cert", "give --tls-cert and --tls-key together")
    for path in (certificate, key):
        if not path.is_file():
            raise CommandError("no_file", str(path), "there is no such file")
    try:
        # a key with a passphrase is refused rather than asked about: nobody sits at a server that restarts
        ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER).load_cert_chain(certificate, key, password=lambda: "")
    except (ssl.SSLError, OSError) as error:
        why = f"this and {key} are no certificate chain and its key without a passphrase, in PEM ({error})"
        raise CommandError("bad_tls", str(certificate), why) from error
    return TlsFiles(certificate=certificate, key=key)


def _hosts(host: str | None, lan: bool) -> tuple[str, str]:
    """The address to listen at, and the one to show to people."""
    if not lan:
        host = host or "127.0.0.1"
        if not _is_loopback(host):
            why = f"{host} is reachable by others: say --lan, which turns TLS on and makes random sign-ins"
            raise CommandError("not_loopback", "--host", why)
        return host, host
    found = lan_address()
    if host is None and found is None:
        raise CommandError("no_network", "--lan", "this machine has no network address; give one with --host")
    listen = host or str(found)
    everywhere = listen in ("0.0.0.0", "::")  # noqa: S104  # compared, not bound
    if everywhere and found is None:
        raise CommandError("no_network", "--host", "this machine has no network address to show")
    return listen, str(found) if everywhere else listen


def _is_loopback(host: str) -> bool:
    if host == "localhost":
        return True
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return False


def _listen(host: str, port: int) -> socket.socket:
    """Bound before anything is printed or written, so that what is printed is true."""
    try:
        family, kind, protocol, _, address = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)[0]
        bound = socket.socket(family, kind, protocol)
        bound.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        bound.bind(address)
    except OSError as error:
        why = f"{error.strerror or error}; is another server running? Choose another with --port"
        raise CommandError("cannot_listen", f"{host}:{port}", why) from error
    return bound


def _serve(choices: Choices) -> None:
    choices.data.mkdir(parents=True, exist_ok=True, mode=0o700)
    try:
        check_folder(choices.data, choices.demo)
    except WrongFolderError as error:
        raise CommandError("wrong_folder", "--data", str(error)) from error
    with holding(choices.data), closing(_listen(choices.host, choices.port)) as bound:
        _serve_at(bound, choices)


def _serve_at(bound: socket.socket, choices: Choices) -> None:
    port = bound.getsockname()[1]
    try:
        authority, tls = _tls(choices)
    except AuthorityError as error:
        raise CommandError("authority", "--local-tls", str(error)) from error
    shown = f"[{choices.shown_host}]" if ":" in choices.shown_host else choices.shown_host
    origin = choices.origin or f"{'https' if tls else 'http'}://{shown}:{port}"
    plain: PlainPage | None = None
    trust: Trust | None = None
    if authority is not None:
        trust = Trust(fingerprint=authority.fingerprint(), page=f"http://{shown}:{port + 1}/")
        plain = _plain_page(choices, port + 1, origin, authority)
    settings = Settings(
        data=choices.data,
        origin=origin,
        tls=origin.startswith("https:"),
        demo=choices.demo,
        kind="hub" if choices.hub else "final",
        authority=authority.der() if authority else None,
        backup_days=choices.backup_days,
    )
    try:
        started = _prepare(choices, settings, trust)
        note_serving(choices.data, origin)
        print_started(started, choices.as_json)
        asyncio.run(run_server(create_app(settings), bound, tls, authority, choices.proxy))
    except KeyboardInterrupt:
        click.echo("Stopped.", err=True)
    finally:
        if plain is not None:
            plain.close()


def _tls(choices: Choices) -> tuple[Authority | None, TlsFiles | None]:
    if not choices.local_tls:
        return None, choices.tls
    authority = Authority(choices.data / "tls")
    # phones know the hub by its origin: where that was said, it is what must be vouched for
    host = urlsplit(choices.origin or "").hostname or choices.shown_host
    if choices.new_authority or not authority.exists:
        authority.make([host, *choices.tls_names, *own_names(choices.shown_host)])
    elif missing := [name for name in choices.tls_names if name not in authority.permitted()]:
        why = f"the authority was made without {missing[0]}, and can't be given a name later"
        raise AuthorityError(f"{why}. Start without --tls-name, or once with --new-authority.")
    try:
        authority.check_covers(host)
        authority.renew()
    except ValueError as error:
        raise AuthorityError(
            f"the authority in {authority.folder} is damaged ({error}). Put its files back from a backup, or "
            "start the hub once with --new-authority: every phone must then be told to trust the new one."
        ) from error
    return authority, authority.leaf


def _plain_page(choices: Choices, port: int, origin: str, authority: Authority) -> PlainPage:
    try:
        return PlainPage(choices.host, port, origin, authority.der(), authority.fingerprint())
    except OSError as error:
        why = f"{error.strerror or error}; the page with the certificate needs the port after the server's"
        raise CommandError("cannot_listen", f"{choices.host}:{port}", why) from error


def _prepare(choices: Choices, settings: Settings, trust: Trust | None) -> Started:
    try:
        sites = demo_sites() if choices.demo else None
        return with_store(
            choices.data, lambda store: make_ready(store, settings, trust, opened=choices.lan), sites
        )
    except PackFaults as error:
        end_with_faults(error, as_json=choices.as_json)
    except FileNotFoundError as error:
        raise CommandError("no_demo", "--demo", str(error)) from error
