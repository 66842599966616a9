"""What the window remembers, kept with the records."""

from __future__ import annotations

from station.app.keys_file import keys_text
from station.app.work import Worker
from station.records.store import Store

BY_ITSELF, ON, OFF = "by_itself", "on", "off"
"""whether the next check begins by itself"""


class Settings:
    """The `SettingsPort`."""

    def __init__(self, store: Store, worker: Worker) -> None:
        self._store, self._worker = store, worker

    def get(self, key: str, default: str = "") -> str:
        return self._store.get_setting(key, default)

    def own_keys(self) -> str:
        return keys_text(self._store.folder)

    def put(self, key: str, value: str) -> None:
        self._worker.submit(lambda: self._store.set_setting(key, value))
