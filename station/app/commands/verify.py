"""`restpoint verify FILE.pdf`: is this certificate genuine? Needs no records and no display."""

from __future__ import annotations

import argparse
import contextlib
import json
import re
from collections.abc import Mapping
from dataclasses import asdict
from pathlib import Path

from station.app import paths
from station.app.opening import open_records
from station.app.shell import shell_word
from station.app.terminal import one_line
from station.capture.regular import read_regular
from station.certificate.keys import KnownKey, known_keys
from station.certificate.unpack import unpack
from station.certificate.verify import Checked, Verdict, check, check_torn
from station.errors import InputError, StationError
from station.records.place import FILE_NAME
from station.records.types import Comeback
from station.words import command_line as words
from station.words import figures, grammar, selling

MOST_BYTES = 32_000_000


def run(args: argparse.Namespace) -> int:
    """0 genuine, 1 not (altered, unknown key, not signed), 2 when it cannot be read."""
    known = known_keys(paths.keys_folder())
    checked = check_file(args.file, known)
    back = _withdrawn_here(checked)
    if args.json:
        print(as_json(args.file, checked, back.at if back is not None else None))
    else:
        print(as_text(args.file, checked))
        if back is not None:
            print(selling.VERIFY_WITHDRAWN.format(day=figures.day(back.at)))
    return 0 if checked.verdict is Verdict.GENUINE and back is None else 1


def _withdrawn_here(checked: Checked) -> Comeback | None:
    """The return with which this bench withdrew the certificate; None where it did not, or there are no records that
    can be read."""
    number = re.sub(r"[^A-Za-z0-9-]+", "_", checked.says.get("number", ""))
    if not number or not (paths.records_folder() / FILE_NAME).exists():
        return None
    with contextlib.suppress(StationError), open_records(read_only=True) as store:
        return store.withdrawn_certificate(number)
    return None


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
        data = read_regular(path, MOST_BYTES + 1)
    except OSError as error:
        raise InputError(words.CANNOT_READ.format(path=path, reason=error.strerror)) from error
    if len(data) > MOST_BYTES:
        raise InputError(words.TOO_LARGE.format(path=path, most=MOST_BYTES // 1_000_000))
    if b"%PDF-" not in data[:1024]:
        raise InputError(words.NO_PDF.format(path=path))
    return data


def as_json(path: Path, checked: Checked, withdrawn_on: str | None = None) -> str:
    """One object: the verdict with its reasons, the key, what the certificate says it is, and the day on which this
    bench withdrew it."""
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
            "log": [asdict(head) for head in checked.log],
            "withdrawn_on": withdrawn_on,
        },
        ensure_ascii=False,
    )


def as_text(path: Path, checked: Checked) -> str:
    """The verdict first; then whose it is or why not, and what to do."""
    lines = [words.VERDICT.format(verdict=words.VERDICTS[checked.verdict.value], path=one_line(str(path)))]
    if checked.says.get("simulated"):
        lines.append(words.OF_SIMULATED)
    match checked.verdict:
        case Verdict.GENUINE:
            lines.append(words.GENUINE.format(name=checked.signed_by, fingerprint=checked.fingerprint))
        case Verdict.UNKNOWN_KEY:
            lines += [
                words.UNKNOWN_KEY.format(fingerprint=checked.fingerprint),
                words.ASK_FOR_FINGERPRINT,
                words.TRUST_WHEN_TOLD.format(path=shell_word(path)),
            ]
        case _:
            lines += [words.REASON.format(reason=reason) for reason in checked.reasons]
            lines.append(words.NOT_TO_BE_RELIED_ON)
    if said := _said(checked):
        lines.append(said)
    return "\n".join(lines)


def _said(checked: Checked) -> str:
    """What the content says it is about, to compare with the unit in hand."""
    says = checked.says
    if not says:
        return ""
    what = filter(None, (words.UNIT.format(tag=says.get("tag", "")), says.get("model"), says.get("serial")))
    return words.SAYS.format(
        number=says.get("number", words.NO_NUMBER),
        what=grammar.COMMA.join(what),
        counts=_result(says),
        day=figures.day(says.get("issued_at", "")),
    )


def _result(says: Mapping[str, str]) -> str:
    """The headline; of a certificate from before there was one its grade and counts."""
    if says.get("headline"):
        return says["headline"].rstrip(".")
    counts = [
        template.format(count=says.get(name, words.NOT_SAID))
        for name, template in words.COUNTS.items()
        if says.get(name) != "0"
    ]
    if grade := says.get("grade"):
        template = words.SHOPS_GRADE if says.get("grade_scale") == "shop" else words.GRADE
        counts.insert(0, template.format(grade=grade))
    return grammar.COMMA.join(counts)
