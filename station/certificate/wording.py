"""Counts in words, as a certificate prints them."""

from __future__ import annotations


def count(n: int, noun: str) -> str:
    """The number with its noun: 1 check, 3 checks."""
    return f"{n} {noun}" + ("" if n == 1 else "s")
