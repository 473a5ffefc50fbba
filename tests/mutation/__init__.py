"""Mutation testing of the domain: says whether a test would notice, if a line said something else.

`python -m tests.mutation` changes one thing at a time in a module of service/domain, in memory, and runs the tests of
tests/domain that reach the line; a change that no test notices survives. Survivors are listed with a reason in
survivors.toml. Of the tools on PyPI mutmut (3.8, BSD) passes over every decorated function, and so over most of what
kinds mean, and cosmic-ray (8.7, MIT) rewrites the sources in place and starts the suite anew for every change.
"""
