"""Recalls: what they speak of, since when, and which units they bear on."""
