"""Benchmarks: ratios against a baseline in the same run, never tests. `python -m tests.bench.run` prints all."""
