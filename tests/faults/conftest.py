"""Bad days: real processes that are cut off, killed and started again. Each test prints what it did."""

import sys
from pathlib import Path

TESTS = Path(__file__).resolve().parents[1]
sys.path[:0] = [str(TESTS / "review"), str(TESTS / "log")]  # the phone without a screen, and invented phones
