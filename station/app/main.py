"""The command `restpoint`: one subcommand a module, imported only when asked for (a cold start must be short)."""

from __future__ import annotations

import argparse
import contextlib
import os
import sys
from collections.abc import Sequence
from importlib import import_module
from pathlib import Path
from typing import Any

from station import __version__
from station.app import terminal
from station.sources import apart
from station.words import command_line as words
from station.words import figures, language
from station.words import plan as plan_words
from station.words import system as system_words

BUG, NO_MEMORY, NOT_WRITTEN = 70, 71, 74
"""exit statuses"""


class _Parser(argparse.ArgumentParser):
    """One whose help says it when it cannot be written."""

    def _print_message(self, message: str, file: Any = None) -> None:
        if file is None or file is sys.stderr:
            super()._print_message(message, file)  # nobody listens: the exit status has to do
        else:
            file.write(message)
            file.flush()


def parser(argv: Sequence[str] = ()) -> argparse.ArgumentParser:
    """The command line. Subcommands set `run`, the name of the module under station.app.commands."""
    top = _Parser(prog="restpoint", description=words.PROGRAM, allow_abbrev=False)
    top.add_argument("--version", action="version", version=f"restpoint {__version__}")
    top.add_argument("--records", type=_records_folder, metavar=words.FOLDER_NAME, help=words.RECORDS)
    top.set_defaults(run="window", simulate=None, theme="auto")
    sub = top.add_subparsers(metavar=words.COMMAND_NAME)

    window = sub.add_parser("window", help=words.WINDOW)
    window.add_argument("--theme", choices=("auto", "light", "dark"), default="auto")
    window.set_defaults(run="window")

    demo = sub.add_parser("demo", help=words.DEMO)
    demo.add_argument("--auto", action="store_true", help=words.DEMO_AUTO)
    demo.add_argument("--unit", default="SM-07-06", metavar=words.TAG_NAME, help=words.DEMO_UNIT)
    demo.add_argument("--folder", type=Path, help=words.DEMO_FOLDER)
    demo.add_argument("--theme", choices=("auto", "light", "dark"), default="auto")
    demo.set_defaults(run="demo")

    assess = sub.add_parser("assess", help=words.ASSESS)
    assess.add_argument("captures", nargs="+", type=Path, metavar=words.CAPTURE_NAME)
    assess.add_argument("--sheet", type=Path, help=words.ASSESS_SHEET)
    assess.add_argument("--json", action="store_true", help=words.ASSESS_JSON)
    assess.set_defaults(run="assess")

    devices = sub.add_parser("devices", help=words.DEVICES)
    devices.add_argument("--all", action="store_true", help=words.DEVICES_ALL)
    devices.add_argument("--allow", metavar=words.SHEET_NAME, help=words.DEVICES_ALLOW)
    devices.set_defaults(run="devices")

    alone = sub.add_parser("alone", help=words.ALONE)
    alone.add_argument("--minutes", type=float, default=10.0, metavar=words.MINUTES_NAME, help=words.ALONE_MINUTES)
    alone.add_argument("--folder", type=Path, default=Path(), help=words.ALONE_FOLDER)
    alone.set_defaults(run="alone")

    learn = sub.add_parser("learn", help=words.LEARN)
    learn.set_defaults(run="learn")
    if "learn" in argv:  # wherever it stands: --records and its folder may come first
        from station.app.commands.learn import add_arguments

        add_arguments(learn)

    verify = sub.add_parser("verify", help=words.VERIFY)
    verify.add_argument("file", type=Path, metavar=words.CERTIFICATE_NAME)
    verify.add_argument("--json", action="store_true", help=words.VERIFY_JSON)
    verify.add_argument("--list", type=Path, metavar=words.LIST_NAME, help=words.VERIFY_LIST)
    verify.set_defaults(run="verify")

    certificates = sub.add_parser("certificates", help=words.CERTIFICATES)
    certificates.add_argument("--to", type=Path, metavar=words.FILE_NAME, help=words.CERTIFICATES_TO)
    certificates.set_defaults(run="certificates")

    key = sub.add_parser("key", help=words.KEY)
    what = key.add_mutually_exclusive_group()
    what.add_argument("--write", type=Path, metavar=words.FILE_NAME, help=words.KEY_WRITE)
    what.add_argument("--trust", type=Path, metavar=words.FILE_NAME, help=words.KEY_TRUST)
    what.add_argument("--forget", metavar=words.FINGERPRINT_NAME, help=words.KEY_FORGET)
    what.add_argument("--new", action="store_true", help=words.KEY_NEW)
    key.add_argument("--name", help=words.KEY_NAME)
    key.add_argument("--fingerprint", help=words.KEY_FINGERPRINT)
    key.set_defaults(run="key")

    log = sub.add_parser("log", help=words.LOG)
    log.add_argument("action", choices=("verify",))
    log.add_argument("--against", nargs="+", type=Path, default=[], metavar=words.FILE_NAME, help=words.LOG_AGAINST)
    log.set_defaults(run="log")

    restore = sub.add_parser("restore", help=words.RESTORE)
    restore.add_argument("backup", nargs="?", metavar=words.BACK_UP_NAME, help=words.RESTORE_BACK_UP)
    restore.set_defaults(run="restore")

    export = sub.add_parser("export", help=words.EXPORT)
    export.add_argument("folder", type=Path)
    export.set_defaults(run="export")

    listing = sub.add_parser("listing", help=words.LISTING)
    listing.add_argument("file", type=Path, metavar=words.CERTIFICATE_NAME)
    listing.set_defaults(run="listing")

    accounts = sub.add_parser("accounts", help=words.ACCOUNTS)
    accounts.add_argument("file", type=Path, metavar=words.FILE_NAME, help=words.ACCOUNTS_FILE)
    accounts.add_argument("--lot", metavar=words.LOT_NAME, help=words.ACCOUNTS_LOT)
    accounts.add_argument("--list", action="store_true", help=words.ACCOUNTS_LIST)
    accounts.set_defaults(run="accounts")

    come_in = sub.add_parser("import", help=words.IMPORT)
    come_in.add_argument("file", type=Path, metavar=words.FILE_NAME, help=words.IMPORT_FILE)
    come_in.add_argument("--lot", required=True, metavar=words.LOT_NAME, help=words.IMPORT_LOT)
    come_in.add_argument("--dry-run", action="store_true", help=words.IMPORT_DRY)
    come_in.set_defaults(run="import_lot")

    plan = sub.add_parser("plan", help=plan_words.PLAN)
    plan.add_argument("lot", metavar=words.LOT_NAME, help=plan_words.PLAN_LOT)
    plan.add_argument("--hours", default="", metavar=plan_words.HOURS_NAME, help=plan_words.PLAN_HOURS)
    plan.set_defaults(run="plan")

    picture = sub.add_parser("picture", help=words.PICTURE)
    picture.add_argument("result", metavar=words.RESULT_NAME, help=words.PICTURE_RESULT)
    picture.add_argument("--to", type=Path, metavar=words.FOLDER_NAME, help=words.PICTURE_TO)
    picture.set_defaults(run="picture")

    labels = sub.add_parser("labels", help=words.LABELS_OF_LOT)
    labels.add_argument("lot", nargs="?", metavar=words.LOT_NAME, help=words.LABELS_LOT)
    labels.add_argument("--size", default="", metavar=words.SIZE_NAME, help=words.LABELS_SIZE)
    labels.add_argument("--start", type=int, default=1, metavar=words.PLACE_NAME, help=words.LABELS_START)
    labels.add_argument("--to", type=Path, metavar=words.FILE_NAME, help=words.LABELS_TO)
    labels.set_defaults(run="labels")

    merge = sub.add_parser("merge", help=words.MERGE)
    merge.add_argument("other", type=Path, metavar=words.OTHER_NAME, help=words.MERGE_OTHER)
    merge.add_argument("--yes", action="store_true", help=words.MERGE_YES)
    merge.set_defaults(run="merge")

    sync = sub.add_parser("sync", help=words.SYNC)
    sync.add_argument("folder", type=Path, metavar=words.FOLDER_NAME, help=words.SYNC_FOLDER)
    sync.add_argument("--yes", action="store_true", help=words.MERGE_YES)
    sync.set_defaults(run="sync")

    settings = sub.add_parser("set", help=words.SET)
    settings.add_argument("name", nargs="?", metavar=words.SETTING_NAME, help=words.SET_NAME)
    settings.add_argument("value", nargs="?", metavar=words.VALUE_NAME, help=words.SET_VALUE)
    settings.set_defaults(run="set")

    notices = sub.add_parser("notices", help=words.NOTICES)
    notices.set_defaults(run="notices")

    system = sub.add_parser("setup-system", help=system_words.SETUP_SYSTEM)
    system.add_argument("--remove", action="store_true", help=system_words.SETUP_SYSTEM_REMOVE)
    system.add_argument("--yes", action="store_true", help=system_words.SETUP_SYSTEM_YES)
    system.set_defaults(run="setup_system")

    completion = sub.add_parser("completion", help=system_words.COMPLETION)
    completion.add_argument("shell", choices=("bash", "zsh", "tcsh"))
    completion.set_defaults(run="completion")
    return top


def _records_folder(given: str) -> Path:
    """What --records names: the current folder is not taken for one without a name, nor a file for a folder."""
    path = Path(given)
    if not given.strip():
        raise argparse.ArgumentTypeError(words.RECORDS_NO_NAME)
    if path.exists() and not path.is_dir():
        raise argparse.ArgumentTypeError(words.RECORDS_A_FILE.format(path=path, folder=path.absolute().parent))
    return path


def main(argv: Sequence[str] | None = None) -> int:
    """Run the command and return its exit status.

    0: done; 1: a check that did not hold; 2: it failed, with one clear line on standard error; 70: a bug of ours
    stopped it (BSD sysexits.h, EX_SOFTWARE), with one line and the report beside the log; 71: no memory was left
    (EX_OSERR); 74: what there was to say could not be written (EX_IOERR).
    """
    given = list(sys.argv[1:] if argv is None else argv)
    if given[:1] == [apart.MARK]:
        apart.run(given[1:])
        return 0
    with terminal.shown(exact="--json" in given):
        language.speak(language.chosen(os.environ))
        try:
            status = _run(given)
            sys.stdout.flush()
        except BrokenPipeError:
            terminal.give_up_output()
            return 141  # the reader of our output went away: not an error of ours
        except OSError as error:
            terminal.give_up_output()
            _say(words.NOT_WRITTEN.format(reason=error.strerror or error))
            return NOT_WRITTEN
        except MemoryError:
            _say(words.NO_MEMORY)
            return NO_MEMORY
        except KeyboardInterrupt:
            return 130
        return status


def _run(given: list[str]) -> int:
    # whatever may take words over when it is imported comes after the language is chosen
    from station.app import crash, paths, style
    from station.errors import StationError

    args = parser(given).parse_args(given)
    # JSON is for programs
    figures.set_screen_style(style.of_command_line() if not getattr(args, "json", False) else figures.PAPER)
    if args.records:
        os.environ["RESTPOINT_DATA"] = str(args.records)
    crash.install(paths.log_folder())
    try:
        return int(import_module(f"station.app.commands.{args.run}").run(args))
    except StationError as error:
        sys.stdout.flush()
        _say(str(error))
        return 2
    except (KeyboardInterrupt, MemoryError, BrokenPipeError):
        raise
    except OSError as error:
        if error.filename is None:  # no file of ours: it is what we write to
            raise
        _say(words.FILE_FAILED.format(path=error.filename, reason=error.strerror or error))
        return 2
    except Exception:  # noqa: BLE001 - a bug of ours, whatever it is
        sys.excepthook(*sys.exc_info())  # the crash hook, while it is there
        return BUG
    finally:
        crash.uninstall()


def _say(sentence: str) -> None:
    with contextlib.suppress(OSError):  # nobody listens: the exit status has to do
        sys.stderr.write(f"restpoint: {terminal.one_line(sentence)}\n")


if __name__ == "__main__":
    sys.exit(main())
