"""Who issues the certificates: asked once, before the first one, and to be changed at any time."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence

from PySide6.QtWidgets import QLineEdit, QWidget

from station.capture.text import looks
from station.ui.painting.look import Look
from station.ui.painting.widgets import ChoiceList
from station.ui.panels.panel import Panel
from station.ui.panels.photo_field import PhotoField
from station.ui.ports import SettingsPort
from station.words import panels as words

MOST_LETTERS = 64
"""of a name: what fits into the certificate that PDF readers show it by (RFC 5280, ub-common-name)"""

_ADDRESS = re.compile(r"https://[^\s/?#]+(?:[/?][^\s#]*)?", re.IGNORECASE)
"""https: elsewhere browsers check no signature (W3C Web Cryptography API, secure contexts). No “#”: what follows it is
the fingerprint, which the offer adds"""

PAPERS = ("", "A4", "Letter")
"""as the setting names them, in the order of the choices"""


class ShopPanel(Panel):
    """`then`: what waited for it; `pictures`: paths of the newest ones, to choose its mark from."""

    def __init__(
        self,
        settings: SettingsPort,
        pictures: Sequence[str],
        then: Callable[[], None] | None,
        look: Look,
        parent: QWidget,
    ) -> None:
        super().__init__(words.SHOP, look, parent)
        self._settings, self._then = settings, then
        self.name, self.contact, self.person = (QLineEdit(settings.get(key)) for key in ("bench", "contact", "person"))
        self.name.setMaxLength(MOST_LETTERS)
        self.contact.setPlaceholderText(words.SHOP_CONTACT_HINT)
        self.page = QLineEdit(settings.get("check_page"))
        self.page.setPlaceholderText(words.SHOP_PAGE_HINT)
        self.costs = ChoiceList(words.SHOP_COSTS_CHOICES, look, 1 if settings.get("costs") == "on" else 0)
        at = PAPERS.index(settings.get("paper")) if settings.get("paper") in PAPERS else 0
        self.paper = ChoiceList(words.SHOP_PAPER_CHOICES, look, at)
        self.add(self.name, words.SHOP_NAME, focus=True)
        self.add(self.contact, words.SHOP_CONTACT, focus=True)
        self.add(self.person, words.SHOP_PERSON, focus=True)
        self.add(self.page, words.SHOP_PAGE, focus=True)
        self.mark = PhotoField(pictures, look)
        self.mark.line.setText(settings.get("mark"))
        self.mark.line.textChanged.connect(self.place)
        self.add(self.mark, words.SHOP_MARK, focus=True)
        self.add(self.mark.below)
        self.add(self.costs, words.SHOP_COSTS, focus=True)
        self.add(self.paper, words.SHOP_PAPER, focus=True)
        self.finish(self.name)

    def commit(self) -> None:
        name = self.name.text().strip()
        if not looks(name):
            raise self.wrong(self.name, words.SHOP_NEEDS_NAME)
        mark = self.mark.line.text().strip()
        if mark and self.mark.preview.pixmap().isNull():
            raise self.wrong(self.mark.line, words.SHOP_MARK_NOT_SHOWN)
        page = self.page.text().strip()
        if page and not _ADDRESS.fullmatch(page):
            raise self.wrong(self.page, words.SHOP_PAGE_NO_ADDRESS)
        told = {
            "mark": mark,
            "bench": name,
            "contact": self.contact.text().strip(),
            "person": self.person.text().strip(),
            "check_page": page,
        }
        chosen = {"costs": "on" if self.costs.chosen == 1 else "", "paper": PAPERS[self.paper.chosen]}
        for key, value in (told | chosen).items():
            self._settings.put(key, value)
        if self._then is not None:
            self._then()
