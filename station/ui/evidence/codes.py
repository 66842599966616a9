"""The codes that were seen over the travel: how often each, where some are missing, where spikes and reversals lie."""

from __future__ import annotations

import numpy as np
from PySide6.QtWidgets import QVBoxLayout, QWidget

from station.checks.looked import Looked
from station.evidence.drawing import Codes
from station.ui.evidence.overlay import Band, Mark
from station.ui.evidence.plot import Plot
from station.ui.painting.look import Look
from station.words import evidence_room as words

MOST_TRACKS = 2
LEAST_SPAN_PCT = 0.5
TONES = ("accent", "borderline")


class CodesPicture(QWidget):
    """A plot for each track, one below the other. `show_codes`."""

    def __init__(self, look: Look) -> None:
        super().__init__()
        self._tracks = [Plot(look) for _ in range(MOST_TRACKS)]
        self._stems = [p.line(getattr(look, tone)) for p, tone in zip(self._tracks, TONES, strict=True)]
        self._codes: tuple[Codes, ...] = ()
        box = QVBoxLayout(self)
        box.setContentsMargins(0, 0, 0, 0)
        box.setSpacing(0)
        for k, plot in enumerate(self._tracks):
            box.addWidget(plot, 1)
            plot.item.vb.sigXRangeChanged.connect(self._draw)
            plot.item.vb.sigResized.connect(self._draw)
            plot.item.vb.setLimits(minXRange=LEAST_SPAN_PCT)
            if k:
                plot.item.setXLink(self._tracks[0].item)

    def plots(self) -> tuple[Plot, ...]:
        return tuple(self._tracks)

    def set_look(self, look: Look) -> None:
        for plot, stems, tone in zip(self._tracks, self._stems, TONES, strict=True):
            plot.set_look(look)
            stems.setPen(plot.pen(getattr(look, tone)))

    def show_codes(self, codes: tuple[Codes, ...], looked: Looked) -> None:
        self._codes = codes[:MOST_TRACKS]
        for k, plot in enumerate(self._tracks):
            plot.setVisible(k < len(self._codes))
            if k >= len(self._codes):
                continue
            one = self._codes[k]
            here = [s for s in looked.spots if s.at_pct is not None and (s.axis or "") == one.axis]
            top = np.log10(1.0 + float(one.count.max(initial=1)))
            wide = [s for s in here if s.width_pct]
            plot.overlay.bands = tuple(
                Band(s.at_pct - s.width_pct / 2, s.at_pct + s.width_pct / 2, False) for s in wide[:1] if s.at_pct
            )
            plot.overlay.marks = tuple(Mark(s.at_pct, s.at_pct, None, s.faulty) for s in here if s.at_pct is not None)
            low, high = one.span
            plot.item.setLabel("bottom", words.OVER_TRAVEL.format(track=one.name))
            plot.item.setLabel("left", words.HOW_OFTEN)
            plot.item.setYRange(0.0, 1.12 * top, padding=0)
            plot.item.setXRange(low, high, padding=0.02)
            ticks = [(np.log10(1.0 + n), f"{n}") for n in (0, 1, 10, 100, 1000, 10_000, 100_000, 1_000_000)]
            plot.item.getAxis("left").setTicks([ticks])
        self._draw()

    def _draw(self) -> None:
        for plot, stems, one in zip(self._tracks, self._stems, self._codes, strict=False):
            low, high = plot.item.vb.viewRange()[0]
            first, stop = np.searchsorted(one.seen, (low, high)).tolist()
            seen, count = one.seen[first:stop], one.count[first:stop]
            if len(seen) > 2 * plot.columns():
                # of the codes of a pixel column the one seen most; a column without a code stays empty
                column = ((seen - low) / (high - low) * plot.columns()).astype(np.int64)
                starts = np.flatnonzero(np.diff(column, prepend=-1))
                seen, count = seen[starts], np.maximum.reduceat(count, starts)
            height = np.log10(1.0 + count)
            x, y = np.repeat(seen, 2), np.column_stack((np.zeros(len(seen)), height)).ravel()
            joined = np.ones(len(x), dtype=np.int32)
            joined[1::2] = 0
            stems.setData(x, y, connect=joined)
