"""Imports run one way and files stay small, so that each part of the house can be changed by itself."""

import ast
import re
from collections.abc import Iterator
from pathlib import Path, PurePosixPath

import pytest

ROOT = Path(__file__).resolve().parents[2]
BACKEND = ROOT / "backend" / "chinrest"
FRONT = ROOT / "frontend" / "src"
MAX_LINES = 400

# part -> the other parts of ours that it may import
PYTHON_RULES: dict[str, set[str]] = {
    "model": set(),
    "pack": {"model"},
    "log": {"model"},
    "store": {"log"},
    "server": {"model", "pack", "log", "store"},
    "commands": {"model", "pack", "log", "store", "server"},
    "cli": {"model", "pack", "log", "store", "server", "commands"},
}
# `types.gen` is generated from the server's schema: types only, no code
FRONT_RULES: dict[str, set[str]] = {
    "ui": set(),
    "kernel": {"types.gen"},
    "log": {"types.gen"},
    "pack": {"kernel", "types.gen"},
    "chairside": {"ui", "kernel", "log", "pack", "types.gen"},
    "review": {"ui", "kernel", "log", "pack", "types.gen"},
    "types.gen": set(),
    "sw": set(),
}
# these have one door; whoever stands outside comes in by it
DOORS = {"log", "pack", "kernel"}
# the clock stands by itself: an emergency needs it at a cold start, and nothing else of the kernel
SIDE_DOORS = {"kernel/clock"}

SPECIFIER = re.compile(r"""(?:\bfrom\s*|\bimport\s*\(?\s*)["']([^"'\n]+)["']""")
GENERATED = {"types.gen.ts", "package-lock.json"}
WRITTEN = {".py", ".ts", ".tsx", ".css"}


def python_part(path: Path) -> str:
    """The part that a module of ours belongs to: `chinrest/cli.py` and `chinrest/cli/x.py` are both `cli`."""
    first = path.relative_to(BACKEND).parts[0]
    return first.removesuffix(".py")


def python_imports(text: str, package: list[str]) -> Iterator[tuple[int, str]]:
    """Yields (line, full name) for every import, relative ones resolved against `package`.

    `from chinrest import log` names a part too, so each imported name is joined to its module.
    """
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.Import):
            for alias in node.names:
                yield node.lineno, alias.name
        elif isinstance(node, ast.ImportFrom):
            base = package[: len(package) - node.level + 1] if node.level else []
            module = ".".join([*base, *([node.module] if node.module else [])])
            for alias in node.names:
                yield node.lineno, f"{module}.{alias.name}"


def python_breaches(part: str, text: str, package: list[str]) -> list[str]:
    allowed = PYTHON_RULES.get(part)
    found = []
    for line, name in python_imports(text, package):
        ours = name.split(".")
        if ours[0] != "chinrest" or len(ours) < 2:
            continue
        other = ours[1]
        known = other in PYTHON_RULES
        if allowed is None or (known and other != part and other not in allowed):
            found.append(f"line {line}: {part} imports {name}")
    return found


def front_part(path: PurePosixPath) -> str:
    return path.parts[0] if len(path.parts) > 1 else path.name.removesuffix(".tsx").removesuffix(".ts")


def front_breaches(path: PurePosixPath, text: str) -> list[str]:
    """`path` is relative to frontend/src. Bare specifiers are packages from the registry and not ours."""
    part = front_part(path)
    found = []
    for specifier in SPECIFIER.findall(text):
        if not specifier.startswith("."):
            continue
        parts: list[str] = list(path.parent.parts)
        for piece in PurePosixPath(specifier).parts:
            if piece == "..":
                if not parts:
                    found.append(f"{path} reaches outside src: {specifier}")
                    break
                parts.pop()
            else:
                parts.append(piece)
        else:
            target = PurePosixPath(*parts)
            other = front_part(target) if len(parts) > 1 else parts[0].removesuffix(".js") if parts else ""
            if other == part or part not in FRONT_RULES:
                continue
            if other not in FRONT_RULES[part]:
                found.append(f"{path}: {part} imports {specifier}")
            elif (
                other in DOORS
                and parts[1:] not in ([], ["index"], ["index.ts"])
                and "/".join(parts) not in SIDE_DOORS
            ):
                found.append(f"{path}: {specifier} goes round {other}'s door (index.ts)")
    return found


def front_sources() -> list[Path]:
    return sorted(p for p in FRONT.rglob("*") if p.suffix in {".ts", ".tsx"} and p.is_file())


def test_python_imports_run_one_way() -> None:
    files = sorted(BACKEND.rglob("*.py"))
    assert len(files) > 10, "no sources found: the rule would hold of nothing"
    breaches = []
    for path in files:
        part = python_part(path)
        if part == "__init__":
            continue
        package = ["chinrest", *path.relative_to(BACKEND).parts[:-1]]
        for breach in python_breaches(part, path.read_text(), package):
            breaches.append(f"{path.relative_to(ROOT)} {breach}")
    assert not breaches, "\n".join(breaches)


def test_front_end_imports_run_one_way() -> None:
    files = front_sources()
    assert len(files) > 10, "no sources found: the rule would hold of nothing"
    breaches = []
    for path in files:
        relative = PurePosixPath(path.relative_to(FRONT).as_posix())
        breaches += front_breaches(relative, path.read_text())
    assert not breaches, "\n".join(breaches)


def test_every_folder_of_the_house_has_a_rule() -> None:
    ours = {python_part(p) for p in BACKEND.rglob("*.py")} - {"__init__", "__main__"}
    assert ours <= PYTHON_RULES.keys(), f"no import rule for {sorted(ours - PYTHON_RULES.keys())}"
    front = {front_part(PurePosixPath(p.relative_to(FRONT).as_posix())) for p in front_sources()}
    front -= {"vite-env.d"}
    assert front <= FRONT_RULES.keys(), f"no import rule for {sorted(front - FRONT_RULES.keys())}"


@pytest.mark.parametrize(
    ("part", "text"),
    [
        ("model", "from chinrest.log.envelope import Envelope"),
        ("model", "import chinrest.pack.schema"),
        ("pack", "from chinrest.log.case_events import Eye"),
        ("log", "from chinrest import store"),
        ("store", "from ..server import app"),
        ("server", "from chinrest.cli import main"),
    ],
)
def test_a_wrong_python_import_is_found(part: str, text: str) -> None:
    assert python_breaches(part, text, ["chinrest", part])


@pytest.mark.parametrize(
    ("path", "text"),
    [
        ("ui/Button.tsx", 'import { openLog } from "../log";'),
        ("kernel/index.ts", "import type { Held } from '../pack';"),
        ("log/index.ts", 'export { x } from "../pack/index";'),
        ("review/main.tsx", 'import "../chairside/wiring";'),
        ("chairside/main.tsx", 'const m = await import("../review/main");'),
        ("chairside/screens/Home.tsx", 'import { fold } from "../../log/case";'),
    ],
)
def test_a_wrong_front_end_import_is_found(path: str, text: str) -> None:
    assert front_breaches(PurePosixPath(path), text)


def test_a_right_front_end_import_passes() -> None:
    text = 'import { openLog } from "../../log";\nimport { fit } from "../../kernel/index";\nimport "preact";'
    assert not front_breaches(PurePosixPath("chairside/screens/Home.tsx"), text)


def test_no_file_written_by_hand_is_too_long() -> None:
    roots = [ROOT / "backend", ROOT / "frontend" / "src", ROOT / "tests"]
    long = []
    for path in (p for root in roots for p in root.rglob("*")):
        if path.suffix in WRITTEN and path.is_file() and path.name not in GENERATED and "/." not in str(path):
            count = len(path.read_text().splitlines())
            if count > MAX_LINES:
                long.append(f"{path.relative_to(ROOT)} has {count} lines (at most {MAX_LINES})")
    assert not long, "\n".join(long)
