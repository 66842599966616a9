"""`restpoint verify FILE`: is this certificate, or list of certificates, genuine? Needs no records and no display."""

from __future__ import annotations

import argparse
import json
from collections import Counter
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from pathlib import Path

from station.app import paths
from station.app.shell import shell_word
from station.app.terminal import one_line
from station.capture.regular import read_regular
from station.capture.text import plain_text
from station.certificate.keys import KnownKey, known_keys
from station.certificate.register import Entry, Register, bench_in, is_register, read_register
from station.certificate.signature import fingerprint
from station.certificate.unpack import unpack
from station.certificate.verify import Checked, Verdict, check, check_torn, is_whole
from station.errors import InputError
from station.records.place import FILE_NAME
from station.words import command_line as words
from station.words import figures, grammar, register

MOST_BYTES = 32_000_000


def run(args: argparse.Namespace) -> int:
    """0 genuine, 1 not (altered, unknown key, not signed), 2 when it cannot be read. Asked with a list, 0 only where
    the list names the certificate, too, and as one that holds."""
    known = known_keys(paths.keys_folder())
    data = _read(args.file)
    if is_register(data):
        return _check_list(args, read_register(data), known)
    checked = check_data(data, known)
    listed = _by_list(args.list, checked) if args.list is not None else None
    if args.json:
        print(as_json(args.file, checked, listed))
    else:
        print("\n".join(filter(None, (as_text(args.file, checked), listed.said if listed else ""))))
    holds = listed is None or listed.state == "genuine"
    return 0 if checked.verdict is Verdict.GENUINE and holds else 1


def _check_list(args: argparse.Namespace, found: Register, known: dict[bytes, KnownKey]) -> int:
    """The same of a list."""
    key, signer = fingerprint(found.public), known.get(found.public)
    named = one_line(signer.name if signer else found.shop)  # what a known shop calls itself is not asked
    states = Counter(one.state for one in found.entries)
    verdict = Verdict.ALTERED if not found.holds else Verdict.GENUINE if found.public in known else Verdict.UNKNOWN_KEY
    if args.json:
        told = {
            "file": str(args.file),
            "verdict": verdict.value,
            "key": {"fingerprint": key, "known_as": signer.name if signer else None},
            "shop": found.shop,
            "at": found.at,
            "certificates": [asdict(one) for one in found.entries],
        }
        print(json.dumps(told, ensure_ascii=False))
        return 0 if verdict is Verdict.GENUINE else 1
    template = {
        Verdict.ALTERED: register.ALTERED,
        Verdict.UNKNOWN_KEY: register.UNKNOWN_KEY,
        Verdict.GENUINE: register.GENUINE,
    }[verdict]
    where, day = one_line(str(args.file)), figures.day(found.at)
    print(words.VERDICT.format(verdict=words.VERDICTS[verdict.value], path=where))
    print(template.format(shop=named, fingerprint=key, day=day))
    if found.holds:
        count = grammar.count_of(len(found.entries), register.CERTIFICATES)
        counts = {state: states[state] for state in ("genuine", "replaced", "withdrawn")}
        print(register.COUNTED.format(count=count, **counts))
    return 0 if verdict is Verdict.GENUINE else 1


@dataclass(frozen=True, slots=True)
class ByList:
    """What a list says of a certificate: `state` as the list has it, or why it says nothing ("not_asked": of a file
    that is not as it was signed; "other_key", "other_bench", "left_out", "not_listed"); `said` in words."""

    state: str
    said: str = ""
    entry: Entry | None = None


def _by_list(path: Path, checked: Checked) -> ByList:
    """What the list at `path` says of a certificate; InputError where it is no list that holds."""
    found = read_register(_read(path))
    if not found.holds:
        raise InputError(register.LIST_ALTERED.format(path=path))
    if checked.verdict in (Verdict.ALTERED, Verdict.NOT_SIGNED):
        return ByList("not_asked")  # that the list names what was signed once tells nothing of this file
    day = figures.day(found.at)
    if found.public != checked.public:
        return ByList("other_key", register.OTHER_KEY.format(fingerprint=checked.fingerprint))
    entry = found.of(checked.content_sha256)
    if entry is None:
        before = "" < checked.says.get("issued_at", "") < found.at
        if not before:
            return ByList("not_listed", register.NOT_LISTED.format(day=day))
        bench = bench_in(checked.says.get("number", ""))
        if bench and found.entries and not any(bench_in(one.number) == bench for one in found.entries):
            return ByList("other_bench", register.OTHER_BENCH.format(day=day, bench=bench))
        return ByList("left_out", register.LEFT_OUT.format(day=day))
    template = {"genuine": register.STILL, "replaced": register.REPLACED, "withdrawn": register.WITHDRAWN}[entry.state]
    reason = plain_text(entry.reason.rstrip("."))
    return ByList(entry.state, template.format(day=day, by=plain_text(entry.replaced_by), reason=reason), entry)


def check_file(path: Path, known: dict[bytes, KnownKey]) -> Checked:
    """Read and judge one file. InputError with one sentence when it cannot be read."""
    return check_data(_read(path), known)


def check_data(data: bytes, known: dict[bytes, KnownKey]) -> Checked:
    """The same of what was read of it."""
    whole = is_whole(data)
    try:
        found = unpack(data, text=not whole)
        checked = check(data, found, known)
        if (
            whole and checked.verdict is Verdict.ALTERED
        ):  # an attachment does not fit: then it is told what else differs
            checked = check(data, unpack(data), known)
    except InputError:
        if (torn := check_torn(data, known)) is None:
            raise
        return torn
    return checked


def _read(path: Path) -> bytes:
    try:
        data = read_regular(path, MOST_BYTES + 1)
    except OSError as error:
        raise InputError(words.CANNOT_READ.format(path=path, reason=error.strerror)) from error
    if len(data) > MOST_BYTES:
        raise InputError(words.TOO_LARGE.format(path=path, most=MOST_BYTES // 1_000_000))
    if b"%PDF-" not in data[:1024] and not is_register(data):
        raise InputError(words.NO_PDF.format(path=path))
    return data


def as_json(path: Path, checked: Checked, listed: ByList | None = None) -> str:
    """One object: the verdict with its reasons, the key, what the certificate says it is, and what a list says."""
    told = {} if listed is None else {"list": {"state": listed.state} | (asdict(listed.entry) if listed.entry else {})}
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
        }
        | told,
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
            if checked.says.get("simulated"):
                lines.append(_where_known(path))
        case _:
            lines += [words.REASON.format(reason=reason) for reason in checked.reasons]
            lines.append(words.NOT_TO_BE_RELIED_ON)
    if said := _said(checked):
        lines.append(said)
    return "\n".join(lines)


def _where_known(path: Path) -> str:
    """Of a demo's certificate: that the demo's own records know its key, and how to ask them. Nothing real rests on
    it."""
    folder = path.absolute().parent.parent
    here = folder if (folder / FILE_NAME).exists() else Path(words.DEMO_FOLDER_NAME)
    return words.KNOWN_TO_THE_DEMO.format(folder=shell_word(here), path=shell_word(path))


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
