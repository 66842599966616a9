"""Which checks are only looks: they find what is surely bad, and are never a test. Light to import."""

from __future__ import annotations

GLANCE = "glance"
LOOKS = frozenset((GLANCE,))
"""those whose description says `first_look`"""
