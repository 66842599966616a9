"""`restpoint set [NAME [VALUE]]`: what a shop can set."""

from __future__ import annotations

import argparse

from station.app.house import HouseFile
from station.app.opening import open_records
from station.app.options import Option, named, options, put
from station.app.prices import grade_names
from station.diagnosis.guide import guide_for
from station.records.store import Store
from station.words import options as words


def run(args: argparse.Namespace) -> int:
    """List all settings, show one, or set one; an empty value makes it as shipped again."""
    with open_records() as store:
        there = options(guide_for(store.folder), store.get_setting, grade_names(HouseFile(store.folder).now()))
        if args.name is None:
            _list(there, store)
            return 0
        option = named(args.name, there)
        if args.value is not None:
            put(option, args.value, store.set_setting)
        print(words.SHOWN.format(name=option.name, value=_value(option, store)))
    return 0


def _value(option: Option, store: Store) -> str:
    stored = store.get_setting(option.key)
    if stored:
        return option.show(stored)
    return words.AS_SHIPPED.format(value=option.show(option.default)) if option.default else words.NOT_SET


def _list(there: list[Option], store: Store) -> None:
    shown = [(option, _value(option, store)) for option in there]
    width, wide = max(len(o.name) for o, _ in shown), max(len(value) for _, value in shown)
    group = ""
    for option, value in shown:
        if option.group != group:
            group = option.group
            print(f"\n{words.GROUPS[group]}")
        print(f"  {words.LINE.format(name=option.name.ljust(width), value=value.ljust(wide), meaning=option.title)}")
