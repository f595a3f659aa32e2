"""The long campaign: bad days of every kind, one after another, until the time is up.

    python -m tests.faults.run --seed 7 --minutes 30
    python -m tests.faults.run --seed 7 --minutes 5 --only "server killed in sync"

Each day's seed follows from the first; a day that was not survived is told with its seed, under which it
happens again with `--seed SEED --only NAME --days 1`.
"""

import argparse
import sys
import time
from pathlib import Path

TESTS = Path(__file__).resolve().parents[1]
sys.path[:0] = [str(TESTS / name) for name in ("", "faults", "review", "store", "log")]


def main() -> int:
    from campaign import Done, Tools, run_day, table
    from kinds import KINDS
    from playwright.sync_api import sync_playwright

    parser = argparse.ArgumentParser(description="Bad days, one after another, from a seed.")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--minutes", type=float, default=10)
    parser.add_argument("--rounds", type=int, default=4, help="how much goes wrong in each day")
    parser.add_argument("--days", type=int, help="stop after so many days")
    parser.add_argument(
        "--only", action="append", choices=list(KINDS), help="only this kind; may be repeated"
    )
    chosen = parser.parse_args()
    kinds = {name: KINDS[name] for name in chosen.only or KINDS}
    until = time.monotonic() + chosen.minutes * 60
    done: list[Done] = []
    with sync_playwright() as playwright:
        tools = Tools(lambda: playwright)
        try:
            while time.monotonic() < until and (chosen.days is None or len(done) < chosen.days):
                name = list(kinds)[len(done) % len(kinds)]
                day = run_day(name, kinds[name], chosen.seed + len(done) // len(kinds), chosen.rounds, tools)
                done.append(day)
                told = "survived" if day.fault is None else f"NOT SURVIVED\n{day.fault}"
                print(f"{name}, seed {day.seed}: {told} ({day.seconds:.0f} s)", flush=True)
        finally:
            tools.close()
    print(f"\nseed {chosen.seed}, {chosen.minutes:g} minutes, {chosen.rounds} rounds a day\n{table(done)}")
    return 1 if any(day.fault for day in done) else 0


if __name__ == "__main__":
    sys.exit(main())
