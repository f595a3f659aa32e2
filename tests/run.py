#!/usr/bin/env python3
"""Sets everything up for the tests and runs them, tier by tier.

Needs only Python 3.11+ with venv and pip; everything else it installs: the locked Python packages and Node
into .venv, the locked front-end packages into frontend/node_modules, and browsers, PostgreSQL and small tools
from Debian's packages where the system has none and lets us. A tier that this machine cannot run is printed
as not run, with the reason; with CI=true that is a failure.

    python3 tests/run.py               all tiers
    python3 tests/run.py model server  only these
    python3 tests/run.py --list        what tiers there are
"""

import argparse
import os
import re
import shutil
import subprocess
import sys
import time
import venv
from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass, field
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
FRONT = ROOT / "frontend"
BIN = ROOT / ".venv" / ("Scripts" if os.name == "nt" else "bin")
PYTHON = BIN / "python"
LEAST_PYTHON = (3, 11)
CHROMIUM = ("chromium", "chromium-browser", "google-chrome")
# what the three engines and the old one need of Debian beside Chromium: package, and a file of it
ENGINES = {
    "firefox-esr": "usr/bin/firefox-esr",
    "libnss3-tools": "usr/bin/certutil",
    "webkit2gtk-driver": "usr/bin/WebKitWebDriver",
    "gir1.2-webkit2-4.1": "usr/lib/*/girepository-1.0/WebKit2-4.1.typelib",
    "python3-gi": "usr/lib/python3/dist-packages/gi/__init__.py",
    "xvfb": "usr/bin/Xvfb",
    "wpewebkit-driver": "usr/bin/WPEWebDriver",
    "libwpewebkit-1.1-0": "usr/lib/*/wpe-webkit-1.1/MiniBrowser",
}


class CannotRunError(Exception):
    """This machine lacks what the tier needs; the text says what."""


@dataclass
class Tier:
    """`beside`: it runs beside those that stand before it, from the beginning, and is told of in its turn: it
    computes on one core, and shares neither a file nor the clock with them."""

    name: str
    what: str
    commands: Callable[[], list[list[str]]]
    needs: Callable[[], None] = field(default=lambda: None)
    beside: bool = False


@dataclass
class Done:
    """What became of a tier, and how many tests passed and failed."""

    outcome: str
    passed: int
    failed: int
    seconds: float


def environment() -> dict[str, str]:
    return {**os.environ, "PATH": f"{BIN}{os.pathsep}{os.environ.get('PATH', '')}"}


def pytest_in(*folders: str) -> Callable[[], list[list[str]]]:
    return lambda: [[str(PYTHON), "-m", "pytest", "-q", *(f"tests/{folder}" for folder in folders)]]


def npm(*arguments: str) -> list[str]:
    return [str(BIN / "npm"), "--prefix", str(FRONT), *arguments]


def install(*packages: str) -> None:
    """Installs Debian packages where we may."""
    names = ", ".join(packages)
    if not shutil.which("apt-get"):
        raise CannotRunError(f"no {names} on this machine and no apt-get to install it with")
    prefix = [] if os.geteuid() == 0 else ["sudo", "-n"]
    for arguments in (["update"], ["install", "-y", "--no-install-recommends", *packages]):
        done = subprocess.run([*prefix, "apt-get", *arguments], capture_output=True, text=True)
        if done.returncode:
            raise CannotRunError(
                f"no {names}, and apt-get {arguments[0]} failed: {done.stderr.strip()[-200:]}"
            )


def chromium_or_install() -> None:
    """Finds the system's Chromium, or installs Debian's where we may."""
    if not any(shutil.which(name) for name in CHROMIUM):
        install("chromium")


def engines_or_install() -> None:
    """Finds every engine that is promised, or installs what is missing of Debian's where we may."""
    chromium_or_install()
    missing = [package for package, file in ENGINES.items() if not any(Path("/").glob(file))]
    if missing:
        install(*missing)


def postgresql_or_install() -> None:
    """Finds PostgreSQL's server, or installs Debian's where we may."""
    if not (shutil.which("initdb") or any(Path("/usr/lib/postgresql").glob("*/bin/initdb"))):
        install("postgresql")


def own_user() -> list[str]:
    """In front of what needs root over its own networks: whoever is not root is that in there."""
    return [] if os.geteuid() == 0 else ["unshare", "--map-root-user", "--net"]


def namespaces_or_not() -> None:
    """Tries whether the kernel lets us make networks of our own."""
    if not shutil.which("ip"):
        install("iproute2")
    making = "ip link add br0 type bridge && ip link add port0 type veth peer name port1"
    try:
        done = subprocess.run(
            [*own_user(), "unshare", "--net", "sh", "-c", making], capture_output=True, text=True
        )
    except OSError as error:
        raise CannotRunError(f"no unshare on this machine ({error})") from error
    if done.returncode:
        raise CannotRunError(f"no network namespaces with bridges here: {done.stderr.strip()[-200:]}")


def chromium_and_postgresql() -> None:
    chromium_or_install()
    postgresql_or_install()


TIERS = [
    Tier(
        "format",
        "ruff and biome: lint and format",
        lambda: [
            [str(PYTHON), "-m", "ruff", "check", "."],
            [str(PYTHON), "-m", "ruff", "format", "--check", "."],
            npm("run", "lint"),
        ],
    ),
    Tier(
        "types",
        "mypy and tsc, both strict",
        lambda: [[str(PYTHON), "-m", "mypy"], npm("run", "check")],
    ),
    Tier("house", "import rules, file sizes, documents true to the code", pytest_in("house")),
    Tier("pack", "the guidance pack", pytest_in("pack")),
    Tier("log", "the log and the store", pytest_in("log", "store")),
    Tier(
        "postgresql",
        "the store on PostgreSQL, two servers on one database",
        lambda: [[str(PYTHON), "-m", "pytest", "-q", "tests/store", "--engine", "postgresql"]],
        postgresql_or_install,
    ),
    Tier("model", "the positioning model and its kernel on the phone", pytest_in("model"), beside=True),
    Tier("phone", "the front end's own units, in Node", lambda: [npm("test")]),
    Tier(
        "server",
        "the server and the commands",
        pytest_in("server"),
    ),
    Tier("wheel", "what pip installs, without Node", pytest_in("wheel")),
    Tier(
        "browser",
        "the chairside and the desk in Chromium",
        pytest_in("chairside", "review"),
        chromium_or_install,
    ),
    Tier(
        "engines",
        "the offline core in Chromium, Firefox ESR, WebKitGTK and an old WebKit",
        pytest_in("engines"),
        engines_or_install,
    ),
    Tier(
        "faults",
        "bad days: servers, browsers, links, disks and databases that fail in mid-work",
        pytest_in("faults"),
        chromium_and_postgresql,
    ),
    Tier(
        "namespaces",
        "phones, a hub and the hospital in networks of their own, with links that are cut",
        lambda: [[*own_user(), *command] for command in pytest_in("namespaces")()],
        namespaces_or_not,
    ),
]


def set_up() -> None:
    if not PYTHON.exists():
        print("setting up .venv", flush=True)
        venv.create(ROOT / ".venv", with_pip=True)
    quiet = ["--quiet", "--disable-pip-version-check"]
    steps = [
        [str(PYTHON), "-m", "pip", "install", *quiet, "-c", "constraints.txt", "-e", ".[test]"],
        npm("ci", "--ignore-scripts", "--include=dev", "--no-audit", "--no-fund", "--loglevel=error"),
        npm("run", "build", "--silent"),
    ]
    for step in steps:
        print(
            "setting up:",
            " ".join(Path(step[0]).name if i == 0 else a for i, a in enumerate(step)),
            flush=True,
        )
        subprocess.run(step, cwd=ROOT, env=environment(), check=True)


def counted(output: str) -> tuple[int, int]:
    """Passed and failed tests that the output of pytest or vitest tells of."""
    passed = failed = 0
    for line in output.splitlines():
        plain = re.sub(r"\x1b\[[0-9;]*m", "", line).strip()
        if re.match(r"^(=+ )?\d+ (passed|failed|error)", plain) or plain.startswith("Tests "):
            passed += sum(int(n) for n in re.findall(r"(\d+) passed", plain))
            failed += sum(int(n) for n in re.findall(r"(\d+) (?:failed|errors?)\b", plain))
    return passed, failed


def tell(line: str) -> None:
    print(line, end="", flush=True)


def run(tier: Tier, hear: Callable[[str], None] = tell) -> Done:
    """Runs one tier; `hear` gets each line that it prints."""
    began = time.monotonic()
    try:
        tier.needs()
    except CannotRunError as reason:
        return Done(f"NOT RUN: {reason}", 0, 0, 0)
    passed = failed = broken = 0
    for command in tier.commands():
        process = subprocess.Popen(
            command, cwd=ROOT, env=environment(), stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True
        )
        assert process.stdout is not None
        lines = []
        for line in process.stdout:
            hear(line)
            lines.append(line)
        code = process.wait()
        good, bad = counted("".join(lines))
        if (good, bad) == (0, 0):  # a checker, not a test runner: it counts as one check
            good, bad = (1, 0) if code == 0 else (0, 1)
        passed, failed = passed + good, failed + bad
        broken += code != 0
    failed = max(failed, broken)
    return Done("FAILED" if failed else "passed", passed, failed, time.monotonic() - began)


def run_all(tiers: list[Tier]) -> list[tuple[str, Done]]:
    """Each in its turn, but for those that run beside the others."""
    heard: dict[str, list[str]] = {tier.name: [] for tier in tiers if tier.beside}
    table = []
    with ThreadPoolExecutor() as aside:
        begun: dict[str, Future[Done]] = {
            tier.name: aside.submit(run, tier, heard[tier.name].append) for tier in tiers if tier.beside
        }
        for tier in tiers:
            print(f"\n=== {tier.name}: {tier.what}", flush=True)
            done = begun[tier.name].result() if tier.beside else run(tier)
            tell("".join(heard.get(tier.name, [])))
            table.append((tier.name, done))
    return table


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0] if __doc__ else None)
    parser.add_argument("tiers", nargs="*", metavar="TIER", help="only these tiers")
    parser.add_argument("--list", action="store_true", help="list the tiers and stop")
    parser.add_argument("--no-setup", action="store_true", help="everything is set up already")
    chosen = parser.parse_args()
    if chosen.list:
        for tier in TIERS:
            print(f"{tier.name:12}{tier.what}")
        return 0
    unknown = set(chosen.tiers) - {tier.name for tier in TIERS}
    if unknown:
        parser.error(
            f"no such tier: {', '.join(sorted(unknown))}; there are {', '.join(t.name for t in TIERS)}"
        )
    if sys.version_info[:2] < LEAST_PYTHON:
        parser.error(f"Python 3.11 or newer is needed; this is {sys.version.split()[0]}")
    if not chosen.no_setup:
        set_up()

    table = run_all([tier for tier in TIERS if not chosen.tiers or tier.name in chosen.tiers])
    print("\ntier        seconds  passed  failed  outcome")
    for name, done in table:
        print(f"{name:12}{done.seconds:7.0f} {done.passed:7d} {done.failed:7d}  {done.outcome}")
    all_passed, all_failed = sum(done.passed for _, done in table), sum(done.failed for _, done in table)
    not_run = [name for name, done in table if done.outcome.startswith("NOT RUN")]
    if not_run:
        print(f"not run on this machine: {', '.join(not_run)}")
        if os.environ.get("CI") == "true":
            print("CI requires every tier")
            all_failed += len(not_run)
    print(f"{all_passed} passed, {all_failed} failed")
    return 1 if all_failed else 0


if __name__ == "__main__":
    sys.exit(main())
