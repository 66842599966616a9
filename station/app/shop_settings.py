"""What the panel of settings shows and changes: the options of `restpoint set`, and the shop's own files."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import TYPE_CHECKING

from station.app.changes import Changes
from station.app.undo import Undo
from station.app.work import Worker
from station.checks.house import House
from station.errors import InputError
from station.records.money import CURRENCY
from station.records.store import Store
from station.ui.ports import DeskEvent, RecordChanged, SettingChanged, SettingView, ShopFileReady
from station.words import common, figures, grammar
from station.words import options as words

if TYPE_CHECKING:
    from station.app.options import Held, Option
    from station.app.shop_files import ShopFile  # these bring the certificate with them: the window starts without
    from station.diagnosis.guide import Guide

_TURNED = ("money",)
"""groups on which the advice for every unit depends"""


class ShopSettings:
    """The `OptionsPort`."""

    def __init__(
        self,
        store: Store,
        worker: Worker,
        changes: Changes,
        undo: Undo,
        house: Callable[[], House],
        tell: Callable[[DeskEvent], None],
    ) -> None:
        self._store, self._worker, self._changes, self._undo = store, worker, changes, undo
        self._house, self._tell = house, tell

    def views(self) -> Sequence[SettingView]:
        from station.app.shop_files import FILES

        views = [*map(self._view, self._options()), *map(self._file_view, FILES)]
        order = list(words.GROUPS)
        return sorted(views, key=lambda view: order.index(view.group))

    def put(self, name: str, text: str, seen: str) -> int:
        from station.app.options import held, put

        option = self._option(name)
        stored = ""

        def keep(_key: str, value: str) -> None:
            nonlocal stored
            stored = value

        put(option, text, keep)  # what it may not be is said at once

        def change() -> str:
            now = self._store.get_setting(option.key)
            if now not in (seen, stored):
                shown = _told(option, held(option, self._store.get_setting))
                raise InputError(words.CHANGED_MEANWHILE.format(title=option.title, value=shown))
            if now != stored:
                self._store.set_setting(option.key, stored)
                self._undo.offer(_said(option, self._store), (), lambda: self._back(option, now, stored))
                self._tell(SettingChanged(option.key))
            return ""

        return self._changes.make(change, shelf=option.group in _TURNED)

    def open_file(self, name: str) -> int:
        from station.app.shop_files import make

        file = _file(name)

        def job() -> Iterable[DeskEvent]:
            folder = self._store.folder
            made = make(folder, file)
            if made is not None:
                self._undo.offer(words.FILE_MADE.format(file=file.name), (), lambda: self._aside(file))
            return (ShopFileReady(str(folder / file.name)), RecordChanged(""))

        return self._worker.submit(job)

    def set_aside(self, name: str) -> int:
        from station.app.shop_files import put_back, set_aside

        file = _file(name)

        def job() -> Iterable[DeskEvent]:
            aside = set_aside(self._store.folder, file)
            said = words.FILE_ASIDE.format(file=file.name)
            self._undo.offer(said, (), lambda: put_back(aside, file))
            return (RecordChanged(""),)

        return self._worker.submit(job)

    # --- what is shown -----------------------------------------------------------------------------------

    def _options(self) -> Sequence[Option]:
        from station.app.options import options
        from station.app.prices import grade_names

        return options(self._guide(), self._store.get_setting, grade_names(self._house()))

    def _guide(self) -> Guide:
        """The shop's own where it can be read."""
        from station.diagnosis.guide import guide_for, load_guide

        try:
            return guide_for(self._store.folder)
        except InputError:
            return load_guide()

    def _option(self, name: str) -> Option:
        from station.app.options import named

        return named(name, self._options())

    def _view(self, option: Option) -> SettingView:
        from station.app.options import held

        now = held(option, self._store.get_setting)
        shipped = _with_unit(option, option.show(option.default)) if option.default else ""
        choices = tuple((choice, _with_unit(option, choice)) for choice in option.choices)
        if choices and not option.default:
            choices = (("", _unset(option)), *choices)
        told = _told(option, now)
        return SettingView(
            option.name,
            option.group,
            grammar.sentence_start(option.title),
            told,
            own=now.own,
            typed=now.shown,
            stored=now.stored,
            shipped=shipped,
            counts=words.COUNTS[option.counts],
            problem=now.problem,
            choices=choices,
            hint=words.HINTS.get(option.name, ""),
            picture=option.name == "mark",
        )

    def _file_view(self, file: ShopFile) -> SettingView:
        path = self._store.folder / file.name
        there = path.exists()
        return SettingView(
            file.name,
            file.group,
            grammar.sentence_start(words.FILES[file.name]),
            str(path) if there else words.FILE_NOT_THERE.format(file=file.name),
            own=there,
            counts=words.COUNTS[file.counts],
            problem=file.problem(self._store) if there else "",
            file=True,
        )

    # --- taken back --------------------------------------------------------------------------------------

    def _back(self, option: Option, before: str, stored: str) -> None:
        if self._store.get_setting(option.key) != stored:
            raise InputError(words.CHANGED_SINCE.format(title=option.title))
        self._store.set_setting(option.key, before or option.cleared)
        self._tell(SettingChanged(option.key))

    def _aside(self, file: ShopFile) -> None:
        from station.app.shop_files import set_aside

        set_aside(self._store.folder, file)


def _file(name: str) -> ShopFile:
    from station.app.shop_files import FILES

    return next(file for file in FILES if file.name == name)


def _said(option: Option, store: Store) -> str:
    from station.app.options import held

    said = words.CHANGED.format(title=option.title, value=_told(option, held(option, store.get_setting)))
    if option.key == CURRENCY and (loose := store.loose_with_money()):
        return words.CHANGED_TOO.format(changed=said, units=grammar.count_of(loose, common.UNITS))
    return said


def _told(option: Option, now: Held) -> str:
    """What it is in words; what cannot be used (“three” days) as it stands."""
    if now.problem:
        return now.shown
    return _with_unit(option, now.shown) if now.shown else _unset(option)


def _unset(option: Option) -> str:
    return words.UNSET.get(option.name, words.NOT_SET)


def _with_unit(option: Option, shown: str) -> str:
    if option.choices:
        shown = words.VALUES.get(shown, shown)
    if option.unit == "days":
        return figures.with_unit(shown, grammar.plural(int(shown), words.DAYS) if shown != "0" else words.DAYS[1])
    return figures.with_unit(shown, option.unit)
