"""Scans: what a reader of codes gives, read by itself, without knowing what the firm has."""
