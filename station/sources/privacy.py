"""What a descriptor says that matters before a single report is read: what is private, how wide, how to send.

Keyboards, keypads, mice and touch surfaces are private: nobody may find keystrokes in the evidence of a game
controller. A node of the system can hold several collections (on Linux one hidraw node holds all of an interface), so
what is private is decided by report id.
"""

from __future__ import annotations

from station.errors import DescriptorError
from station.hid.descriptor import parse_descriptor
from station.hid.types import Layout, ReportLayout
from station.sources.usages import is_private

MIN_WIDTH, MAX_WIDTH = 64, 4096
APPLICATION = 1


def layout_or_none(descriptor: bytes) -> Layout | None:
    """The layout, or None where there is no descriptor or it cannot be read."""
    if not descriptor:
        return None
    try:
        return parse_descriptor(descriptor)
    except DescriptorError:
        return None


def private_report_ids(descriptor: bytes) -> frozenset[int]:
    """Ids of the input reports that carry fields of private collections; they must not be stored."""
    layout = layout_or_none(descriptor)
    if layout is None or not layout.numbered:
        return frozenset()
    return frozenset(r.report_id for r in layout.reports if r.kind == "input" and _is_private(r))


def records_keys(descriptor: bytes, usages: tuple[int, ...] = ()) -> bool:
    """Whether reading this node would record keys or pointing that cannot be told apart from the rest.

    So it is with a node of private collections alone, and with a mixed one whose reports carry no ids.
    """
    layout = layout_or_none(descriptor)
    applications = layout.applications if layout else usages
    private = [is_private(usage) for usage in applications]
    return bool(private) and (all(private) or (any(private) and layout is not None and not layout.numbered))


def _is_private(report: ReportLayout) -> bool:
    return any(c.kind == APPLICATION and is_private(c.usage) for f in report.fields for c in f.collections)


def report_width(descriptor: bytes) -> int:
    """Bytes a row of the ring should have: the longest input report, and at least 64, as descriptors can lie."""
    layout = layout_or_none(descriptor)
    widths = [r.width for r in layout.reports if r.kind == "input"] if layout else []
    return min(max([MIN_WIDTH, *widths]), MAX_WIDTH)


def feature_width(descriptor: bytes, report_id: int) -> int:
    """Bytes of a feature report (id included where ids are used); of one that is not announced, as much as any has."""
    layout = layout_or_none(descriptor)
    widths = [r.width for r in layout.reports if r.kind == "feature" and r.report_id == report_id] if layout else []
    return widths[0] if widths else MAX_WIDTH


def sent_as_feature(descriptor: bytes, report: bytes) -> bool:
    """Whether a report to send is a feature report: its id is that of one, and not that of an output report."""
    layout = layout_or_none(descriptor)
    if layout is None or not report:
        return False
    kinds = {r.kind for r in layout.reports if r.report_id == report[0] and r.kind != "input"}
    return kinds == {"feature"}
