"""What lies in a PDF that anybody may have made: attachments and the text of its pages.

A file from outside can be built to take all time and memory (streams that unfold to gigabytes, trees that bite their
tail). So it is read by a process of its own with a limit on both; whatever happens there is one sentence here.
"""

from __future__ import annotations

import base64
import contextlib
import io
import json
import subprocess
import sys
from dataclasses import asdict, dataclass
from typing import Any

from station.errors import InputError
from station.sources import apart
from station.words import verify as words

MOST_PAGES, MOST_ATTACHMENTS, MOST_BYTES = 300, 32, 16_000_000
TIMEOUT_S, MEMORY_BYTES = 30.0, 1_000_000_000
_NO_TEXT = "--no-text"


@dataclass(frozen=True, slots=True)
class Attached:
    """One attachment; `data` in base64 as it travels between the processes."""

    name: str
    data: str

    def content(self) -> bytes:
        return base64.b64decode(self.data)


@dataclass(frozen=True, slots=True)
class Unpacked:
    """Attachments in the order of the file, and the text of each page as pypdf reads it; None: it was not read."""

    attached: tuple[Attached, ...]
    pages: tuple[str, ...] | None


class _RefusedError(Exception):
    """The file is not read on; its text is one of the keys of `words.REFUSED`."""


def unpack(data: bytes, *, text: bool = True, timeout_s: float = TIMEOUT_S) -> Unpacked:
    """Read a PDF in a process of its own; without `text` much faster. InputError with one sentence where that cannot be
    done."""
    asked = () if text else (_NO_TEXT,)
    command, env = apart.command("station.certificate.unpack", *asked), apart.environment()
    try:
        done = subprocess.run(command, input=data, capture_output=True, timeout=timeout_s, check=False, env=env)
        if done.returncode != 0:
            raise InputError(words.UNREADABLE.format(problem=words.DAMAGED))
        answer: dict[str, Any] = json.loads(done.stdout)
    except subprocess.TimeoutExpired as error:
        late = words.TAKES_TOO_LONG.format(seconds=round(timeout_s))
        raise InputError(words.UNREADABLE.format(problem=late)) from error
    except (OSError, ValueError) as error:
        raise InputError(words.NOT_LOOKED_INTO.format(reason=error)) from error
    if "refused" in answer:
        raise InputError(words.UNREADABLE.format(problem=_why(answer["refused"])))
    pages = answer["pages"]
    return Unpacked(tuple(Attached(**one) for one in answer["attached"]), None if pages is None else tuple(pages))


def _why(refused: str) -> str:
    """In words why a file is not read on. The process that says so is given no language, so it names a key."""
    most = {"attachments": MOST_ATTACHMENTS, "pages": MOST_PAGES, "megabytes": MOST_BYTES // 1_000_000}
    return words.REFUSED[refused].format(**most)


def read_pdf(data: bytes, *, text: bool = True) -> Unpacked:
    """Read a PDF here and now: for the process apart, and for files of our own. Raises whatever pypdf raises."""
    import pypdf  # in the process apart only, so that checking starts fast

    reader = pypdf.PdfReader(io.BytesIO(data))
    if reader.is_encrypted:
        raise _RefusedError("encrypted")
    attached: list[Attached] = []
    size = 0
    for entry in reader.attachment_list:
        content, name = entry.content, str(entry.name)
        size += len(content) + len(name)
        if len(attached) >= MOST_ATTACHMENTS or size > MOST_BYTES:
            raise _RefusedError("attachments")
        attached.append(Attached(name, base64.b64encode(content).decode()))
    if len(reader.pages) > MOST_PAGES:
        raise _RefusedError("pages")
    if not text:
        return Unpacked(tuple(attached), None)
    pages: list[str] = []
    for page in reader.pages:
        pages.append(page.extract_text())
        size += len(pages[-1])
        if size > MOST_BYTES:
            raise _RefusedError("text")
    return Unpacked(tuple(attached), tuple(pages))


def main() -> int:
    """Standard input to standard output; any exception ends the process, which is answer enough."""
    _limit_memory()
    try:
        answer: dict[str, object] = asdict(read_pdf(sys.stdin.buffer.read(), text=_NO_TEXT not in sys.argv[1:]))
    except _RefusedError as refused:
        answer = {"refused": str(refused)}
    sys.stdout.write(json.dumps(answer))
    return 0


def _limit_memory() -> None:
    """Where the system can (POSIX; macOS takes no notice); elsewhere pypdf's own limits and the time have to do."""
    if sys.platform != "win32":
        import resource

        with contextlib.suppress(ValueError, OSError):
            resource.setrlimit(resource.RLIMIT_AS, (MEMORY_BYTES, MEMORY_BYTES))


if __name__ == "__main__":
    sys.exit(main())
