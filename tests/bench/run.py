"""Runs every benchmark, or those named (PARTS has the names), and prints one table."""

import sys

from . import (
    desk_side,
    emergency_side,
    lock_side,
    map_side,
    partition_side,
    phone_side,
    plan_side,
    python_side,
    refold_side,
    scale_side,
    series_side,
    server_side,
    sizes,
    visit_side,
)
from .sync import side as sync_side
from .table import as_markdown, machine

PARTS = {
    "python": python_side.measure,
    "plan": plan_side.measure,
    "series": series_side.measure,
    "sync": sync_side.measure,
    "sizes": sizes.measure,
    "phone": phone_side.measure,
    "lock": lock_side.measure,
    "visit": visit_side.measure,
    "emergency": emergency_side.measure,
    "map": map_side.measure,
    "server": server_side.measure,
    "desk": desk_side.measure,
    "refold": refold_side.measure,
    "scale": scale_side.measure,
    "partitions": partition_side.measure,
}


def main() -> int:
    chosen = sys.argv[1:] or list(PARTS)
    unknown = [name for name in chosen if name not in PARTS]
    if unknown:
        print(f"no such benchmark: {', '.join(unknown)}; there are {', '.join(PARTS)}", file=sys.stderr)
        return 2
    rows = [row for name in chosen for row in PARTS[name]()]
    print(f"\n{machine()}\n\n{as_markdown(rows)}")
    return 0 if all(row.good for row in rows) else 1


if __name__ == "__main__":
    sys.exit(main())
