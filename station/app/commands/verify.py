"""`restpoint verify FILE.pdf`: is this certificate genuine? Needs no records and no display."""

from __future__ import annotations

import argparse
import json
from pathlib import Path

from station.app import paths
from station.certificate.keys import KnownKey, known_keys
from station.certificate.unpack import unpack
from station.certificate.verify import Checked, Verdict, check, check_torn
from station.errors import InputError

MOST_BYTES = 32_000_000


def run(args: argparse.Namespace) -> int:
    """0 genuine, 1 not (altered, unknown key, not signed), 2 when it cannot be read."""
    known = known_keys(paths.keys_folder())
    checked = check_file(args.file, known)
    print(as_json(args.file, checked) if args.json else as_text(args.file, checked))
    return 0 if checked.verdict is Verdict.GENUINE else 1


def check_file(path: Path, known: dict[bytes, KnownKey]) -> Checked:
    """Read and judge one file. InputError with one sentence when it cannot be read."""
    data = _read(path)
    try:
        found = unpack(data)
    except InputError:
        if (torn := check_torn(data, known)) is None:
            raise
        return torn
    return check(data, found, known)


def _read(path: Path) -> bytes:
    try:
        with path.open("rb") as file:
            data = file.read(MOST_BYTES + 1)
    except OSError as error:
        raise InputError(f"{path} cannot be read ({error.strerror}); check the path.") from error
    if len(data) > MOST_BYTES:
        raise InputError(f"{path} is larger than any certificate (32 MB); ask the seller for the right file.")
    if b"%PDF-" not in data[:1024]:
        raise InputError(f"{path} is no PDF; ask the seller for the file as the bench wrote it.")
    return data


def as_json(path: Path, checked: Checked) -> str:
    """One object: the verdict with its reasons, the key, and what the certificate says it is."""
    return json.dumps(
        {
            "file": str(path),
            "verdict": checked.verdict.value,
            "reasons": list(checked.reasons),
            "key": {
                "fingerprint": checked.fingerprint,
                "public": checked.public.hex(),
                "known_as": checked.signed_by or None,
            },
            "certificate": dict(checked.says),
        },
        ensure_ascii=False,
    )


def as_text(path: Path, checked: Checked) -> str:
    """The verdict first; then whose it is or why not, and what to do."""
    lines = [f"{checked.verdict.value}: {path}"]
    match checked.verdict:
        case Verdict.GENUINE:
            lines.append(f"Signed by “{checked.signed_by}”, key {checked.fingerprint}; unchanged since.")
        case Verdict.UNKNOWN_KEY:
            lines += [
                f"Unchanged since it was signed, but by a key that is not known here: {checked.fingerprint}",
                "Ask the seller for the fingerprint by another way (their web site, a call). If it is the same:",
                f'restpoint key --trust "{path}" --fingerprint "FINGERPRINT AS TOLD" --name "SELLER"',
            ]
        case _:
            lines += [f"- {reason}" for reason in checked.reasons]
            lines.append("Do not rely on it; ask the seller for the file as the bench wrote it.")
    if said := _said(checked):
        lines.append(said)
    return "\n".join(lines)


def _said(checked: Checked) -> str:
    """What the content says it is about, to compare with the unit in hand."""
    says = checked.says
    if not says:
        return ""
    counts = ", ".join(f"{says.get(name, '?')} {word}" for name, word in _COUNTS if says.get(name) != "0")
    what = ", ".join(filter(None, (f"unit {says.get('tag', '')}", says.get("model"), says.get("serial"))))
    return f"It says: {says.get('number', 'no number')}: {what}; {counts}; issued {says.get('issued_at', '')[:10]}."


_COUNTS = (("passed", "passed"), ("borderline", "borderline"), ("failed", "failed"), ("not_done", "not done"))
