"""`restpoint key`: this bench's key for buyers, and the keys of other benches that are known here."""

from __future__ import annotations

import argparse
import platform
from pathlib import Path

from station.app import paths
from station.certificate import keys
from station.certificate.keys import KnownKey
from station.certificate.signature import find_seal
from station.errors import InputError

MOST_BYTES = 32_000_000


def run(args: argparse.Namespace) -> int:
    """Do the one thing that was asked for."""
    folder = paths.keys_folder()
    try:
        if args.trust:
            lines = _trust(folder, args.trust, args.name or "", args.fingerprint or "")
        elif args.forget:
            lines = [f"No longer known: {_line(keys.forget(folder, args.forget))}"]
        elif args.new:
            lines = _new(folder, args.name or platform.node())
        elif args.write:
            lines = _write(folder, args.write, args.name or "")
        else:
            lines = _show(folder)
    except OSError as error:
        raise InputError(
            f"{error.filename or folder} cannot be written ({error.strerror}); allow it or name another place."
        ) from error
    print("\n".join(lines))
    return 0


def _show(folder: Path) -> list[str]:
    own = keys.existing_key(folder)
    others = [key for key in keys.known_keys(folder).values() if own is None or key.public != own.public]
    if own is None:
        lines = ["This bench has no key yet; its first certificate makes one, or “restpoint key --new”."]
    else:
        lines = [
            f"This bench signs with key {own.fingerprint}",
            "“restpoint key --write FILE” writes it for a buyer; tell them the fingerprint by another way as well.",
        ]
    return lines + [f"known: {_line(key)}" for key in others]


def _write(folder: Path, target: Path, name: str) -> list[str]:
    own = keys.existing_key(folder)
    if own is None:
        raise InputError("This bench has no key yet; make one with “restpoint key --new”, then write it.")
    known = keys.known_keys(folder).get(own.public)
    key = KnownKey(name or (known.name if known else platform.node()), own.public)
    target.write_text(keys.public_text(key), encoding="utf-8")
    return [f"{target}: {_line(key)}"]


def _new(folder: Path, name: str) -> list[str]:
    key = keys.renew(folder, name)
    return [
        f"This bench now signs with key {key.fingerprint}",
        "Tell your buyers. What was signed before stays genuine where the old key is known.",
    ]


def _trust(folder: Path, path: Path, name: str, told: str) -> list[str]:
    """A certificate may come from anybody: its key is taken only with the fingerprint that the bench itself told."""
    sealed = _sealed_by(path)
    key = KnownKey(name, sealed) if sealed else keys.read_public(path)
    if sealed and not told:
        raise InputError(
            f"{path} is signed with key {key.fingerprint}; give the fingerprint that the seller told you by another "
            "way with --fingerprint."
        )
    if told and not keys.same_fingerprint(told, key.fingerprint):
        raise InputError(
            f"{path} holds key {key.fingerprint}, not the one you were told; do not rely on it, ask the seller."
        )
    key = KnownKey(name or key.name, key.public)
    if not key.name:
        raise InputError("It has to be said whose key this is; give a name with --name.")
    keys.trust(folder, key)
    lines = [f"Known from now on: {_line(key)}"]
    if not told:
        lines.append("Compare that with what the bench tells you; if it differs, take it back with --forget.")
    return lines


def _sealed_by(path: Path) -> bytes:
    """The key of the seal if this is a sealed file, else nothing."""
    try:
        with path.open("rb") as file:
            found = find_seal(file.read(MOST_BYTES))
    except OSError as error:
        raise InputError(f"{path} cannot be read ({error.strerror}); check the path.") from error
    return found.public if found is not None and found.holds else b""


def _line(key: KnownKey) -> str:
    return f"“{key.name}”, {key.fingerprint}"
