"""All checks, in the order in which a visit works through them."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from station.checks.types import Check

ORDER = (
    "contact",
    "light",
    "hold",
    "rest",
    "letgo",
    "travel",
    "rim",
    "sweep",
    "trigger",
    "hat",
    "link",
    "rumble",
    "charge",
    "look",
)
_ALL: tuple[Check, ...] = ()

CHECKS: Mapping[str, Check] = MappingProxyType({check.name: check for check in _ALL})
"""name → check, in the order of a visit"""
