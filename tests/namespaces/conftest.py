"""Real processes, each in a network of its own, joined by links that are cut."""

import sys
from pathlib import Path

TESTS = Path(__file__).resolve().parents[1]
sys.path[:0] = [str(TESTS / name) for name in ("faults", "store", "log")]
