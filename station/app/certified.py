"""Which certificate was written last for a unit, remembered with this bench's settings."""

from __future__ import annotations

from station.app import paths
from station.records.store import Store
from station.ui.ports import CertificateReady


def remember_certificate(store: Store, ready: CertificateReady) -> None:
    """Keep the name of the file and the key that signed it."""
    name = ready.path.replace("\\", "/").rpartition("/")[2]
    store.set_setting(_key(ready.unit_id), f"{ready.key}|{name}")


def last_certificate(store: Store, unit_id: str) -> CertificateReady | None:
    """The unit's last certificate written here; the file may have been moved since."""
    key, _, name = store.get_setting(_key(unit_id)).partition("|")
    return CertificateReady(unit_id, str(paths.certificates_folder() / name), key) if name else None


def _key(unit_id: str) -> str:
    return f"certificate.{unit_id}"
