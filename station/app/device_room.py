"""Which devices are plugged in, and which one is in use: the state of one thread, that of the window.

Each time a device is plugged in is a `Plug` of its own. Whatever takes time (opening it, asking whose unit it is) is
asked for in an errand and belongs to the plug it was asked for: when that is over by the time the answer comes, the
answer is dropped, and a device that was opened for it is closed again.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Generator, Iterable
from dataclasses import dataclass, replace
from functools import partial
from typing import Any

from station.app.active import ActiveUnit, PutByFile
from station.app.devices import Hardware
from station.app.errands import Ask, Errand, Errands
from station.app.shelf_of_sheets import Known, SheetShelf
from station.errors import DeviceBusy, DeviceError, DeviceLost, DeviceUnknown, InputError, StationError
from station.records.types import Unit
from station.sheets.library import is_of_class
from station.sheets.model import Sheet
from station.sources.devices import Gone, same_device
from station.sources.port import DeviceInfo, Source
from station.ui.ports import DeskEvent, DeviceAppeared, DeviceGone, Said, TroubleOver
from station.words import desk as words
from station.words import devices


@dataclass(frozen=True, slots=True)
class Opened:
    """A device that can be read; `plug` None: it is the one in use already."""

    source: Source
    known: Known
    plug: Plug | None


@dataclass(frozen=True, slots=True)
class Plug:
    """One time that a device is plugged in. No two have the same number."""

    info: DeviceInfo
    number: int


Taker = Callable[[DeviceInfo], object]
"""opens a device that came back, for whoever left it alone; in the worker"""


class DeviceRoom:
    """See above. `whose` asks the records for the unit with a device's serial number, `instead` for one to go on with
    while that one cannot be read and that is not among these ids (both in the worker); `busy` says that a lesson is
    under way, which no new device may take the place of; `later` runs what nobody waits for in the worker."""

    def __init__(
        self,
        hardware: Hardware,
        errands: Errands,
        sheets: SheetShelf,
        *,
        whose: Callable[[DeviceInfo], Unit | None],
        instead: Callable[[Unit | None, Collection[str]], Unit | None],
        busy: Callable[[], bool],
        later: Callable[[Callable[[], None]], object],
        tell: Callable[[DeskEvent], None],
        put_by: PutByFile,
    ) -> None:
        self._hardware, self._errands, self._sheets = hardware, errands, sheets
        self._instead = instead
        self._whose, self._busy, self._later, self._tell = whose, busy, later, tell
        self._put_by = put_by
        self._plugs: dict[str, Plug] = {}
        self._alike: list[DeviceInfo] = []
        """devices that were there twice at once, with one serial number or none: nobody can tell which is which"""
        self._plugged = 0
        self._owners: dict[str, Unit] = {}
        """key → the unit that each device is: by its serial number, or by what was begun or said since it was put in"""
        self._troubled = ""
        """key of the device of which it was said last that it cannot be opened"""
        self._lent: set[str] = set()
        """keys of the devices that are left alone: somebody else reads them"""
        self._comes_back: Callable[[DeviceInfo], Taker | None] = lambda info: None
        self._known_yet: Callable[[], bool] = lambda: True
        self._opens: Callable[[str], None] = lambda key: None
        self._active: ActiveUnit | None = None
        self._in_use: Plug | None = None

    @property
    def active(self) -> ActiveUnit | None:
        """The device in use; it stays when it is unplugged, so that its visit can go on."""
        return self._active

    def devices(self) -> tuple[DeviceInfo, ...]:
        """What is plugged in now and not left alone."""
        return tuple(plug.info for key, plug in self._plugs.items() if key not in self._lent)

    # --- whose they are ----------------------------------------------------------------------------------

    def owner(self, device: DeviceInfo) -> Unit | None:
        """The unit that this device is, as it was told or decided last; None where nobody knows."""
        return self._owners.get(device.key)

    def belongs(self, device: DeviceInfo, unit: Unit) -> None:
        """Until it is unplugged the device is that unit: its visit begins on it, or a person said so."""
        self._owners[device.key] = unit

    # --- devices beside the one in use -------------------------------------------------------------------

    def at_the_side(self) -> list[Plug]:
        """What is plugged in beside the device in use and could be opened; none while there is only one."""
        plugs = [p for key, p in self._plugs.items() if key not in self._lent and not p.info.problem]
        if len(plugs) < 2:
            return []
        return [p for p in plugs if p != self._in_use and p.info.bus != "simulated"]

    def before_opening(self, told: Callable[[str], None]) -> None:
        """`told` hears the key of each device that is about to be opened for the front."""
        self._opens = told

    def listening(self, plug: Plug) -> Ask:
        """Open it beside the one in use: without a journal, and only as long as it is plugged in."""

        def work() -> tuple[Source, Known]:
            known = self._sheets.know(plug.info)
            return self._hardware.follow(plug.info, known.sheet), known

        return self._ask(plug, work, _put_away)

    def to_front(self, device: DeviceInfo) -> Errand:
        """Make this device the one in use; the visit of the one before stops and can go on later."""
        self.nothing_waits()
        opened = yield from self.opening(device)
        if opened.plug is None:
            return (yield from self._announce(self._in_use)) if self._in_use is not None else ()
        before = self._active
        if before is not None:
            yield Ask(before.halt)
            try:
                self.nothing_waits()
            except StationError:
                self.let_go(opened)
                before.go_on()
                raise
        yield from self.use(opened)
        return ()

    def look(self) -> None:
        """Take what the watcher saw, in order."""
        for event in self._hardware.take_events():
            if isinstance(event, Gone):
                self._pull(event.info)
            else:
                self._errands.begin(self._appeared(self._plug(event.info)))

    # --- plugs --------------------------------------------------------------------------------------

    def _plug(self, info: DeviceInfo) -> Plug:
        """It is plugged in, or something about it changed: what was asked about it before is over."""
        self._plugged += 1
        before, plug = self._plugs.get(info.key), Plug(info, self._plugged)
        others = (p.info for key, p in self._plugs.items() if key != info.key)
        if self._one_of_a_kind(info) and any(same_device(o, info) and o.bus == info.bus for o in others):
            self._alike.append(info)
        self._plugs[info.key] = plug
        if before is not None and not same_device(before.info, info):
            self._owners.pop(info.key, None)
        if before is not None and before == self._in_use:
            self._in_use = plug
        return plug

    def _pull(self, info: DeviceInfo) -> None:
        self._trouble_over(info)
        self._plugs.pop(info.key, None)
        self._owners.pop(info.key, None)  # what is in that socket next may be another
        if info.key in self._lent:
            self._lent.discard(info.key)
        else:
            self._tell(DeviceGone(info))

    def _trouble(self, info: DeviceInfo, said: str) -> Iterable[DeskEvent]:
        """It cannot be opened, and why; the message goes when that is over."""
        self._troubled = info.key
        return (Said(said, bad=True, about="opening"),)

    def _trouble_over(self, info: DeviceInfo) -> None:
        if info.key == self._troubled:
            self._troubled = ""
            self._tell(TroubleOver())

    def _one_of_a_kind(self, info: DeviceInfo) -> bool:
        return not any(same_device(known, info) for known in self._alike)

    def _plug_of(self, device: DeviceInfo) -> Plug:
        """DeviceLost when it is not plugged in."""
        plug = self._plugs.get(device.key)
        if plug is None or not same_device(plug.info, device):
            raise DeviceLost(words.NOT_PLUGGED_IN.format(device=device.called or devices.THIS_DEVICE))
        return plug

    def _holds(self, plug: Plug) -> bool:
        return self._plugs.get(plug.info.key) == plug

    def _ask(
        self, plug: Plug, work: Callable[[], Any], undo: Callable[[Any], None] | None = None, regret: str = ""
    ) -> Ask:
        """Work whose answer belongs to this plug."""
        holds = partial(self._holds, plug)
        return Ask(work, holds, regret=regret) if undo is None else Ask(work, holds, undo, regret)

    # --- errands ------------------------------------------------------------------------------------

    def _appeared(self, plug: Plug) -> Errand:
        """A device to go on with, to use, or only to tell of."""
        info, active = plug.info, self._active
        if not self._holds(plug):
            return ()
        if info.key in self._lent:
            return ()
        if info.problem:
            said = (yield self._ask(plug, partial(self._held, info, info.problem))) if info.held else info.problem
            return self._trouble(info, said)
        self._trouble_over(info)
        if not self._known_yet():
            yield self._ask(plug, _nothing)  # the worker is about to read it
        if (take := self._comes_back(info)) is not None:
            self._lent.add(info.key)
            try:
                yield self._ask(plug, partial(take, info))
            except StationError:
                self._lent.discard(info.key)
                raise
            return ()
        if active is not None and self._away() and same_device(active.info, info):
            reopen = getattr(active.source, "reopen", None)
            view = active.view()
            under_way = view is not None and not view.finished
            if reopen is not None and (self._one_of_a_kind(info) or not under_way):
                yield self._ask(plug, partial(reopen, info))
                self._in_use = plug
                if view is not None and under_way:
                    self._owners[info.key] = view.unit
                if under_way or self._busy():
                    return ()
                return (yield from self._announce(plug))
        if self._idle() and plug != self._in_use:
            try:
                source, known = yield self._ask(plug, partial(self._open_known, info), _put_away)
            except DeviceUnknown:
                pass
            except DeviceError as error:
                return self._trouble(info, str(error))
            else:
                self._use(source, known, plug)
        return (yield from self._announce(plug))

    def plug_in(self, make: Callable[[], Source]) -> Errand:
        """A source that no watcher sees (a simulated unit) is made, plugged in and used."""
        self.nothing_waits()
        source, known = yield Ask(partial(self._made, make), undo=_put_away)
        plug = self._use(source, known, None)
        return (yield from self._announce(plug))

    def nothing_waits(self) -> None:
        """InputError while the visit on the bench has a result that could not be stored: nothing may take its place."""
        if self._active is not None and self._active.left() and (view := self._active.view()) is not None:
            raise InputError(words.RESULT_WAITS.format(tag=view.unit.tag))

    def reading(self, device: DeviceInfo, *, blank: bool = False) -> Generator[Ask, Any, ActiveUnit]:
        """The part of an errand that wants this device in use; see `opening` and `use`."""
        self.nothing_waits()
        opened = yield from self.opening(device, blank=blank)
        return (yield from self.use(opened, announce=not blank))

    def opening(self, device: DeviceInfo, *, blank: bool = False) -> Generator[Ask, Any, Opened]:
        """The part of an errand that opens a device; the one in use stays in use. `blank`: by a sheet without controls
        if none is known.

        Raises:
            DeviceLost: it is not plugged in.
            DeviceUnknown: nothing is known of its controls (not with `blank`).
        """
        active = self._active
        if device.key in self._lent:
            raise InputError(words.IS_LEFT_ALONE)
        if active is not None and active.reads(device) and not self._away():
            return Opened(active.source, active.known, None)
        plug = self._plug_of(device)
        self._opens(device.key)
        regret = words.UNPLUGGED_BEFORE.format(device=device.called or devices.NAMED_DEVICE)
        work = partial(self._open_blank if blank else self._open_known, plug.info)
        source, known = yield self._ask(plug, work, _put_away, regret)
        return Opened(source, known, plug)

    def use(self, opened: Opened, *, announce: bool = True) -> Generator[Ask, Any, ActiveUnit]:
        """The part of an errand that puts what was opened in the place of what is in use."""
        if opened.plug is not None:
            self._use(opened.source, opened.known, opened.plug)
            if announce:
                for event in (yield from self._announce(opened.plug)):
                    self._tell(event)
        assert self._active is not None
        return self._active

    # --- devices that are left alone ---------------------------------------------------------------------

    def on_return(self, comes_back: Callable[[DeviceInfo], Taker | None], known_yet: Callable[[], bool]) -> None:
        """`comes_back`: who takes a device that was just plugged in, because it is one that is left alone. `known_yet`:
        whether it is known already which were left alone when the program ended."""
        self._comes_back, self._known_yet = comes_back, known_yet

    def lends(self, info: DeviceInfo) -> bool:
        """Whether this device is plugged in and left alone."""
        return info.key in self._lent

    def lend(self, opened: Opened) -> DeviceInfo:
        """Somebody else reads this device from now on; if it was the one in use, nothing is in use any more."""
        info = opened.source.info
        if opened.plug is None:
            info = self._in_use.info if self._in_use is not None else info
            self._active = self._in_use = None
        self._lent.add(info.key)
        self._tell(DeviceGone(info))
        return info

    def hold(self, info: DeviceInfo) -> None:
        """Somebody else reads this device, which no watcher sees, from the start on."""
        self._lent.add(info.key)

    def give_back(self, info: DeviceInfo, source: Source, known: Known, whose: Callable[[], Unit]) -> Errand:
        """It is not left alone any more: at the front of the bench if that is free, else it is asked about."""
        self._lent.discard(info.key)
        plug = self._plugs.get(info.key)
        if plug is not None and info.bus == "simulated" and self._idle():
            self._use(source, known, plug)
            events: Iterable[DeskEvent] = yield from self._announce(plug)
        else:
            yield Ask(source.close)  # one that is read for a night has no journal: it is opened anew
            if plug is None:
                return ()
            if info.bus == "simulated":
                self._pull(info)  # nobody but us could pull it
                return ()
            events = yield from self._appeared(plug)
        unit = yield Ask(whose)
        if plug is not None and self._holds(plug):
            self._owners[info.key] = unit
        return [replace(e, unit=unit) if isinstance(e, DeviceAppeared) else e for e in events]

    def let_go(self, opened: Opened) -> None:
        """What was opened is not used after all."""
        if opened.plug is not None:
            self._later(opened.source.close)

    def announce_active(self) -> Generator[Ask, Any, Iterable[DeviceAppeared]]:
        """Tell of the device in use anew: another sheet fits it now."""
        return (yield from self._announce(self._in_use)) if self._in_use is not None else ()

    def _announce(self, plug: Plug) -> Generator[Ask, Any, tuple[DeviceAppeared]]:
        event: DeviceAppeared = yield self._ask(plug, partial(self._who, plug.info, self._one_of_a_kind(plug.info)))
        if event.unit is not None:
            self._owners.setdefault(plug.info.key, event.unit)
        return (event,)

    def _use(self, source: Source, known: Known, plug: Plug | None) -> Plug:
        """Make this source the one in use; without a plug it gets one. The one before is put away by the worker."""
        old, was = self._active, self._in_use
        if was is not None and self._holds(was) and was.info.bus == "simulated":
            self._pull(was.info)  # nobody but us could pull it
        plug = plug or self._plug(source.info)
        self._trouble_over(plug.info)
        self._active, self._in_use = ActiveUnit(source.info, known, source, self._put_by), plug
        if old is not None:
            self._later(old.close)
        if known.remark:
            self._tell(Said(known.remark, bad=True))
        return plug

    def _idle(self) -> bool:
        return not self._busy() and (self._active is None or self._active.view() is None)

    def _away(self) -> bool:
        """Whether the device in use is unplugged; its reader may not have noticed yet."""
        active, plug = self._active, self._in_use
        return active is not None and (active.status().state == "lost" or (plug is not None and not self._holds(plug)))

    # --- what the worker does ------------------------------------------------------------------------

    def _open_known(self, info: DeviceInfo) -> tuple[Source, Known]:
        known = self._sheets.know(info)
        return self._open(info, known.sheet), known

    def _open_blank(self, info: DeviceInfo) -> tuple[Source, Known]:
        known = self._sheets.blank(info)
        return self._open(info, known.sheet), known

    def _open(self, info: DeviceInfo, sheet: Sheet) -> Source:
        try:
            return self._hardware.open(info, sheet)
        except DeviceBusy as error:
            raise DeviceBusy(self._held(info, str(error))) from error

    def _held(self, info: DeviceInfo, said: str) -> str:
        """What is said of a device that another program has: which unit to plug in meanwhile, where one waits."""
        view = self._active.view() if self._active is not None else None
        unit = self._instead(self._whose(info), () if view is None else (view.unit.id,))
        if unit is None:
            return said
        return words.HELD_SO_INSTEAD.format(device=info.called or devices.NAMELESS, tag=unit.tag)

    def _made(self, make: Callable[[], Source]) -> tuple[Source, Known]:
        source = make()
        return source, self._sheets.blank(source.info)

    def _who(self, info: DeviceInfo, one_of_a_kind: bool) -> DeviceAppeared:
        unit = self._whose(info) if info.serial and one_of_a_kind else None
        try:
            sheet = self._sheets.know(info).sheet
        except DeviceUnknown:
            return DeviceAppeared(info, unit, "", "nothing")
        if is_of_class(sheet, info.vendor_id, info.product_id, info.interface):
            return DeviceAppeared(info, unit, sheet.name, "class")
        return DeviceAppeared(info, unit, sheet.name, "descriptor" if sheet.drawn_up else "sheet")

    # --- the end --------------------------------------------------------------------------------------

    def close(self) -> None:
        """Stop the visit and let go of the device; waits for both."""
        active, self._active, self._in_use = self._active, None, None
        if active is not None:
            active.close()


def _nothing() -> None:
    """Asked for to come after what was asked for before."""


def _put_away(opened: tuple[Source, Known]) -> None:
    opened[0].close()
