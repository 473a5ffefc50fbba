"""A published series of intermittent demand."""

#: The monthly "Scripts" series of the Pharmaceutical Benefits Scheme from July 1991, as in sktime's PBS_dataset.csv:
#: 204 months, the last 38 without use.
PRINTED = """
1 1 1 0 0 1 3 1 1 1 1 1 2 1 1 0 0 2 0 0 1 2 0 1 0 0 1 1 1 1 0 0 2 1 0 0 0 1 0 3 3 2 4 1 1 3 3 1 0 4
1 3 0 1 2 5 14 2 0 0 3 6 2 2 2 5 1 6 3 3 2 0 1 1 0 0 0 1 4 12 4 0 7 0 2 1 4 1 3 1 0 6 9 3 1 3 1 7 1
3 3 3 5 6 10 5 1 3 1 1 1 2 1 3 7 11 10 5 5 2 2 1 0 3 6 5 8 9 1 1 0 0 0 1 2 2 0 0 0 0 1 0 0 0 2 1 1 0
1 0 0 0 0 0 0 0 0 0 0 0 0 0 1 0 1 3
"""
SCRIPTS = (*map(float, PRINTED.split()), *[0.0] * 38)
