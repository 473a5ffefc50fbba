"""The ledger's tables: one SQL operation a file, its constant text and the typed function that runs it.

The caller opens the transaction and names its organisation (`writing`, `reading`); nothing here decides anything.
"""
