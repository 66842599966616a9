"""Who issues certificates: the shop and the person. Asked on empty records, where it can be put off, and before the
first certificate. The settings have the rest."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtWidgets import QLineEdit, QWidget

from station.errors import InputError
from station.ui.painting.look import Look
from station.ui.painting.widgets import plain_label
from station.ui.panels.panel import Panel
from station.ui.ports import OptionsPort
from station.words import options as words

ASKED = ("shop", "person")
"""the first of them must be said"""


class ShopPanel(Panel):
    """`then`: what waited for it; None: nothing, so that nothing has to be said."""

    def __init__(self, options: OptionsPort, then: Callable[[], None] | None, look: Look, parent: QWidget) -> None:
        self.keys = words.FIRST_KEYS if then is not None else words.WELCOME_KEYS
        super().__init__(words.FIRST if then is not None else words.WELCOME, look, parent)
        self._options, self._then = options, then
        views = {view.name: view for view in options.views()}
        self._views = [views[name] for name in ASKED]
        self.fields = {view.name: QLineEdit(view.typed) for view in self._views}
        for view in self._views:
            self.fields[view.name].setPlaceholderText(view.hint)
            self.add(self.fields[view.name], view.title, focus=True)
        self.add(plain_label(words.FIRST_MORE if then is not None else words.WELCOME_MORE, "dim", wrap=True))
        self.finish(self.fields["shop"])

    def commit(self) -> None:
        name = self.fields["shop"]
        if not name.text().strip() and self._then is not None:
            raise self.wrong(name, words.NEEDS_NAME)
        for view in self._views:
            field = self.fields[view.name]
            if self._then is None and not field.text().strip():
                continue
            try:
                self._options.put(view.name, field.text(), view.stored)
            except InputError as error:
                raise self.wrong(field, str(error)) from error
        if self._then is not None:
            self._then()
