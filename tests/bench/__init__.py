"""Benchmarks: ratios against a baseline in the same run. Not tests; `python -m tests.bench.run` prints a table."""
