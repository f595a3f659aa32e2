"""One measured figure, and how the figures are printed."""

import os
import platform
from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True)
class Row:
    """`target` is None for what is only told; `good` says whether the figure keeps it."""

    what: str
    figure: str
    target: str | None = None
    good: bool = True


def against(what: str, value: float, limit: float, unit: str, digits: int = 1) -> Row:
    """A figure that has to be at most `limit`."""
    return Row(what, f"{value:.{digits}f} {unit}", f"≤ {limit:g} {unit}", value <= limit)


def machine() -> str:
    """The machine in a line: processor, cores, system, Python."""
    model = ""
    cpuinfo = Path("/proc/cpuinfo")
    if cpuinfo.exists():
        names = [x.split(":", 1)[1].strip() for x in cpuinfo.read_text().splitlines() if "model name" in x]
        model = names[0] if names else ""
    system = f"{platform.system()}, Python {platform.python_version()}"
    return f"{model or platform.machine()}, {os.cpu_count()} cores, {system}"


def as_markdown(rows: list[Row]) -> str:
    lines = ["| what | measured | target | kept |", "| --- | --- | --- | --- |"]
    for row in rows:
        kept = "" if row.target is None else ("yes" if row.good else "**no**")
        lines.append(f"| {row.what} | {row.figure} | {row.target or ''} | {kept} |")
    return "\n".join(lines)
