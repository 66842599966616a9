"""What station.hid offers is exactly what it lists."""

from __future__ import annotations

from types import ModuleType

import station.hid


def test_everything_public_is_listed_and_there() -> None:
    public = {
        name
        for name, value in vars(station.hid).items()
        if not name.startswith("_") and name != "annotations" and not isinstance(value, ModuleType)
    }
    assert public == set(station.hid.__all__)
