"""A part of a pane that is made anew only when it says something else."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterator

from PySide6.QtWidgets import QGridLayout, QLayout, QVBoxLayout, QWidget

from station.ui.painting.look import Look

Build = Callable[[QVBoxLayout], None]


class Section(QWidget):
    """`say` with what it says and how that is drawn; widgets are made when the first differs from before."""

    def __init__(self, look: Look) -> None:
        super().__init__()
        self._look = look
        self._says: Hashable = None
        self._inner: QWidget | None = None
        self._box = QVBoxLayout(self)
        self._box.setContentsMargins(0, 0, 0, 0)
        self.hide()

    def say(self, what: Hashable, build: Build | None) -> None:
        """`what` None: nothing, and it takes no room."""
        if what == self._says:
            return
        self._says = what
        if self._inner is not None:
            drop(self._box, self._inner)
            self._inner = None
        if what is not None and build is not None:
            self._inner = QWidget()
            box = QVBoxLayout(self._inner)
            box.setContentsMargins(0, 0, 0, 0)
            box.setSpacing(self._look.px(5))
            build(box)
            self._box.addWidget(self._inner)
        self.setVisible(self._inner is not None)


def drop(layout: QLayout, *parts: QWidget) -> None:
    """Take widgets out for good."""
    for part in parts:
        layout.removeWidget(part)
        part.hide()
        part.deleteLater()


def inside(layout: QLayout | None) -> Iterator[QWidget]:
    """All widgets that stand in a layout and in those below it, in reading order."""
    if layout is None:
        return
    for k in _in_order(layout):
        item = layout.itemAt(k)
        widget = item.widget() if item is not None else None
        if widget is not None:
            yield widget
            yield from inside(widget.layout())
        elif item is not None:
            yield from inside(item.layout())


def _in_order(layout: QLayout) -> list[int]:
    """The places of a layout; of a grid by row and column, whatever was put in first."""
    places = list(range(layout.count()))
    if isinstance(layout, QGridLayout):
        places.sort(key=lambda k: layout.getItemPosition(k)[:2])  # type: ignore[index]
    return places
