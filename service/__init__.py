"""Respirator Ledger: what happens to each respirator, kept for good, and whether it may be used."""
