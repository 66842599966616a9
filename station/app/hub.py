"""Pads at a hub: those that are not at the front are listened to, so that the one that is picked up can be told."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

from station.app.device_room import DeviceRoom, Plug
from station.app.errands import Errand, Errands
from station.app.picked_up import PickedUp
from station.app.shelf_of_sheets import Known
from station.errors import StationError
from station.sources.follower import Follower
from station.sources.port import Source
from station.ui.ports import DeskEvent, PadMoved

EVERY = 6
"""frames between two looks: a tenth of a second"""
MOST = 8
"""pads that are listened to at once; each is read by a process of its own"""


@dataclass
class _Pad:
    source: Source
    known: Known
    reports: Follower
    held: PickedUp = field(default_factory=PickedUp)


class Hub:
    """For the window's thread. One device alone is not listened to."""

    def __init__(
        self,
        room: DeviceRoom,
        errands: Errands,
        later: Callable[[Callable[[], None]], object],
        tell: Callable[[DeskEvent], None],
    ) -> None:
        self._room, self._errands, self._later, self._tell = room, errands, later, tell
        self._pads: dict[Plug, _Pad] = {}
        self._tried: set[Plug] = set()
        """no second time: asked for, not to be opened, or about to come to the front"""
        self._looks = 0
        room.before_opening(self.release)

    def follow(self) -> None:
        """Once a frame: listen to whoever came, to nobody who left or came to the front, and tell who is moved."""
        self._looks += 1
        if self._looks % EVERY:
            return
        wanted = self._room.at_the_side()
        self._tried &= set(wanted) | set(self._pads)
        for plug in [p for p in self._pads if p not in wanted]:
            self._let_go(plug)
        for plug in wanted[:MOST]:
            if plug not in self._pads and plug not in self._tried:
                self._tried.add(plug)
                self._errands.begin(self._listen(plug))
        for plug, pad in list(self._pads.items()):
            block, _ = pad.reports.take(4096)
            if len(block) and pad.held.feed(pad.source.now_ns(), pad.known.binding.signals(block)):
                self._tell(PadMoved(plug.info))

    def release(self, key: str) -> None:
        """The device with this key is about to be opened for the front."""
        for plug in [p for p in self._pads if p.info.key == key]:
            self._let_go(plug)
            self._tried.add(plug)

    def close(self) -> None:
        for pad in self._pads.values():
            pad.source.close()
        self._pads.clear()

    def _listen(self, plug: Plug) -> Errand:
        try:
            source, known = yield self._room.listening(plug)
        except StationError:
            return ()  # whoever plugs it in alone is told why
        if plug in self._room.at_the_side():
            self._pads[plug] = _Pad(source, known, Follower(source))
        else:
            self._later(source.close)
        return ()

    def _let_go(self, plug: Plug) -> None:
        self._later(self._pads.pop(plug).source.close)
