"""The command `restpoint`: one subcommand a module, imported only when asked for (a cold start must be short)."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from pathlib import Path

from station import __version__
from station.app import crash, paths
from station.errors import StationError


def parser(argv: Sequence[str] = ()) -> argparse.ArgumentParser:
    """The command line. Subcommands set `run`, the name of the module under station.app.commands."""
    top = argparse.ArgumentParser(
        prog="restpoint", description="Bench station for refurbishing game controllers.", allow_abbrev=False
    )
    top.add_argument("--version", action="version", version=f"restpoint {__version__}")
    top.add_argument("--records", type=Path, metavar="FOLDER", help="use the records in this folder")
    top.set_defaults(run="window", simulate=None, theme="auto")
    sub = top.add_subparsers(metavar="COMMAND")

    window = sub.add_parser("window", help="open the window (the same as no command)")
    window.add_argument("--theme", choices=("auto", "light", "dark"), default="auto")
    window.set_defaults(run="window")

    demo = sub.add_parser("demo", help="try it on a sample unit, with records of its own")
    demo.add_argument("--auto", action="store_true", help="work through the whole unit without a person or a display")
    demo.add_argument("--unit", default="SM-07-06", metavar="TAG", help="which sample unit (default: %(default)s)")
    demo.add_argument("--folder", type=Path, help="where to keep the demo's records (default: a new folder)")
    demo.add_argument("--theme", choices=("auto", "light", "dark"), default="auto")
    demo.set_defaults(run="demo")

    assess = sub.add_parser("assess", help="measure captures again")
    assess.add_argument("captures", nargs="+", type=Path, metavar="CAPTURE.npz")
    assess.add_argument("--sheet", type=Path, help="use this model sheet")
    assess.add_argument("--json", action="store_true", help="one JSON object a line for each capture")
    assess.set_defaults(run="assess")

    devices = sub.add_parser("devices", help="list what is plugged in")
    devices.add_argument("--all", action="store_true", help="also name devices that are not opened unasked")
    devices.set_defaults(run="devices")

    learn = sub.add_parser("learn", help="make a model sheet for a device nobody described, by a guided walk")
    learn.set_defaults(run="learn")
    if argv[:1] == ["learn"]:
        from station.app.commands.learn import add_arguments

        add_arguments(learn)

    verify = sub.add_parser("verify", help="say whether a certificate is genuine")
    verify.add_argument("file", type=Path, metavar="FILE.pdf")
    verify.add_argument("--json", action="store_true", help="one JSON object")
    verify.set_defaults(run="verify")

    key = sub.add_parser("key", help="this bench's signing key, and the keys of other benches")
    what = key.add_mutually_exclusive_group()
    what.add_argument("--write", type=Path, metavar="FILE", help="write this bench's public key for a buyer")
    what.add_argument(
        "--trust", type=Path, metavar="FILE", help="know another bench's key: its key file or certificate"
    )
    what.add_argument("--forget", metavar="FINGERPRINT", help="no longer know a key")
    what.add_argument("--new", action="store_true", help="make a new key for this bench; the old one is set aside")
    key.add_argument("--name", help="whose key it is (with --trust), or what buyers call this bench")
    key.add_argument("--fingerprint", help="with --trust: what the other bench told you by another way")
    key.set_defaults(run="key")

    log = sub.add_parser("log", help="the records' log")
    log.add_argument("action", choices=("verify",))
    log.set_defaults(run="log")

    restore = sub.add_parser("restore", help="list the back-ups, or put one in the place of the records")
    restore.add_argument("backup", nargs="?", metavar="BACKUP")
    restore.set_defaults(run="restore")

    export = sub.add_parser("export", help="write the records as CSV, JSON and captures")
    export.add_argument("folder", type=Path)
    export.set_defaults(run="export")

    merge = sub.add_parser("merge", help="join the records of another bench into these")
    merge.add_argument("other", type=Path, metavar="OTHER", help="the other bench's records folder or database file")
    merge.set_defaults(run="merge")
    return top


def main(argv: Sequence[str] | None = None) -> int:
    """Run the command; 0 done, 1 a check that did not hold, 2 with one clear line on standard error if it failed."""
    given = list(sys.argv[1:] if argv is None else argv)
    args = parser(given).parse_args(given)
    if args.records:
        import os

        os.environ["RESTPOINT_DATA"] = str(args.records)
    crash.install(paths.log_folder())
    from importlib import import_module

    try:
        return int(import_module(f"station.app.commands.{args.run}").run(args))
    except StationError as error:
        sys.stderr.write(f"restpoint: {error}\n")
        return 2
    except BrokenPipeError:
        return 141  # the reader of our output went away: not an error of ours
    except KeyboardInterrupt:
        return 130
    finally:
        crash.uninstall()


if __name__ == "__main__":
    sys.exit(main())
