"""`restpoint setup-system`: let this machine know the program, or forget it again. Says what it does, and asks."""

from __future__ import annotations

import argparse
import os
import platform
import shlex
import shutil
import subprocess
import sys
from collections.abc import Sequence

from station.app import paths, system
from station.app.commands.completion import completion
from station.app.system import Piece
from station.app.whole_file import write_whole
from station.words import system as words


def run(args: argparse.Namespace) -> int:
    """0: done, or there was nothing to do; 1: it was not done, or not all of it."""
    if platform.system() != "Linux":
        print(words.ONLY_LINUX)
        return 0
    own = system.pieces(system.data_home(), system.program(), {name: completion(name) for name in ("bash", "zsh")})
    if args.remove:
        own = [piece for piece in own if piece.path.exists()]
        shared = [piece for piece in system.rules() if piece.path.exists()]
    else:
        shared = [piece for piece in system.rules() if not piece.in_place()]
    if not own and not shared:
        print(words.NOTHING_THERE)
        return 0
    print(words.WILL_REMOVE if args.remove else words.WILL_WRITE)
    for piece in own:
        print(words.FILE_LINE.format(path=piece.path, what=words.WHAT[piece.what]))
    for piece in shared:
        line = words.FILE_LINE if _is_administrator() else words.AS_ROOT
        print(line.format(path=piece.path, what=words.WHAT[piece.what]))
    if not (args.yes or _agreed()):
        return 1
    for piece in own:
        if args.remove:
            piece.path.unlink(missing_ok=True)
        else:
            piece.path.parent.mkdir(parents=True, exist_ok=True)
            write_whole(piece.path, piece.content)
    whole = not shared or _as_administrator(shared, remove=args.remove)
    if whole:
        print(words.REMOVED.format(folder=paths.records_folder()) if args.remove else words.WRITTEN)
    return 0 if whole else 1


def _agreed() -> bool:
    if not sys.stdin.isatty():
        print(words.NOT_ASKED)
        return False
    try:
        agreed = input(words.ASK).strip().casefold() in words.YES
    except EOFError:
        agreed = False
    if not agreed:
        print(words.NOTHING_DONE)
    return agreed


def _is_administrator() -> bool:
    return hasattr(os, "geteuid") and os.geteuid() == 0


def _as_administrator(shared: Sequence[Piece], *, remove: bool) -> bool:
    """Put the rules in place or take them away; says what to do where that was not allowed."""
    command = system.remove_rules(shared) if remove else system.put_rules(shared)
    administrator = _is_administrator()
    if not administrator and shutil.which("sudo") is None:
        said = words.NO_SUDO
    else:
        sys.stdout.flush()  # what was said comes before what sudo asks
        if subprocess.run([*([] if administrator else ["sudo"]), *command], check=False).returncode == 0:
            return True
        said = words.RULE_FAILED if administrator else words.RULE_STAYS if remove else words.RULE_REFUSED
    print(said.format(path=shared[0].path, command=shlex.join(command)))
    return False
