"""The benchmark: `python -m tests.bench` makes its own database and servers, asks them, and prints ratios of one run.

Nothing here is a timed test: the numbers are compared with each other alone, on whatever machine they come from.
"""
