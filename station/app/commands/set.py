"""`restpoint set [NAME [VALUE]]`: what a shop can set."""

from __future__ import annotations

import argparse

from station.app.house import HouseFile
from station.app.opening import open_records
from station.app.options import Option, held, named, options, put
from station.app.prices import grade_names
from station.app.shop_files import FILES, ShopFile
from station.diagnosis.guide import guide_for
from station.records.store import Store
from station.words import common, grammar
from station.words import options as words


def run(args: argparse.Namespace) -> int:
    """List all settings, show one, or set one; an empty value makes it as shipped again."""
    with open_records() as store:
        there = options(guide_for(store.folder), store.get_setting, grade_names(HouseFile(store.folder).now()))
        if args.name is None:
            _list(there, store)
            return 0
        option = named(args.name, there)
        before = store.currency()
        if args.value is not None:
            put(option, args.value, store.set_setting)
        print(words.SHOWN.format(name=option.name, value=_value(option, store)))
        if store.currency() != before and (loose := store.loose_with_money()):
            print(words.COUNT_IN_IT.format(units=grammar.count_of(loose, common.UNITS)))
    return 0


def _value(option: Option, store: Store) -> str:
    now = held(option, store.get_setting)
    if now.problem:
        return words.NOT_USED.format(value=now.shown, problem=now.problem)
    if now.stored:
        return now.shown
    return words.AS_SHIPPED.format(value=now.shown) if now.shown else words.NOT_SET


def _list(there: list[Option], store: Store) -> None:
    shown = [(option, _value(option, store)) for option in there]
    width = max(len(name) for name in (*(o.name for o, _ in shown), *(f.name for f in FILES)))
    wide = max(len(value) for _, value in shown)
    for group, title in words.GROUPS.items():
        print(f"\n{title}")
        for option, value in shown:
            if option.group == group:
                _print(option.name.ljust(width), value.ljust(wide), option.title)
        for file in FILES:
            if file.group == group:
                _print(file.name.ljust(width), _state(file, store).ljust(wide), words.FILES[file.name])


def _print(name: str, value: str, meaning: str) -> None:
    print(f"  {words.LINE.format(name=name, value=value, meaning=meaning)}")


def _state(file: ShopFile, store: Store) -> str:
    return words.FILE_THERE if (store.folder / file.name).exists() else words.FILE_NONE
