"""The checks: what to ask of the person, when a try is complete, and what the readings say.

The names are loaded when they are first used: the window draws outcomes long before it needs the measures and what
these import.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from station.checks.assess import (
        CaptureAssessment,
        CheckAssessment,
        assess_capture,
        assess_file,
        assess_files,
        find_sheet,
        takes_of,
        to_json_line,
        to_text,
    )
    from station.checks.decide import base_name, judged, outcome_of, reading_outcome, worst
    from station.checks.limits import limits_for, load_limits
    from station.checks.registry import CHECKS, check_named, checks_of
    from station.checks.takes import take_between
    from station.checks.types import Assessment, Check, Finding, Limits, Outcome, Progress, Prompt, Reading, Take

__all__ = [
    "CHECKS",
    "Assessment",
    "CaptureAssessment",
    "Check",
    "CheckAssessment",
    "Finding",
    "Limits",
    "Outcome",
    "Progress",
    "Prompt",
    "Reading",
    "Take",
    "assess_capture",
    "assess_file",
    "assess_files",
    "base_name",
    "check_named",
    "checks_of",
    "find_sheet",
    "judged",
    "limits_for",
    "load_limits",
    "outcome_of",
    "reading_outcome",
    "take_between",
    "takes_of",
    "to_json_line",
    "to_text",
    "worst",
]

_WHERE = {
    "assess": (
        "CaptureAssessment",
        "CheckAssessment",
        "assess_capture",
        "assess_file",
        "assess_files",
        "find_sheet",
        "takes_of",
        "to_json_line",
        "to_text",
    ),
    "decide": ("base_name", "judged", "outcome_of", "reading_outcome", "worst"),
    "limits": ("limits_for", "load_limits"),
    "registry": ("CHECKS", "check_named", "checks_of"),
    "takes": ("take_between",),
    "types": ("Assessment", "Check", "Finding", "Limits", "Outcome", "Progress", "Prompt", "Reading", "Take"),
}
_MODULE_OF = {name: module for module, names in _WHERE.items() for name in names}


def __getattr__(name: str) -> Any:
    if name not in _MODULE_OF:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"station.checks.{_MODULE_OF[name]}"), name)
