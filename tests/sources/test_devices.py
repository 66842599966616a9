"""Which devices show, which are opened, and what is said of the others; on the shim rig."""

from __future__ import annotations

import errno
import os
import signal
from collections.abc import Callable, Iterator
from dataclasses import replace

import pytest

from station.sources.devices import (
    Appeared,
    DeviceWatcher,
    Gone,
    is_silent,
    list_devices,
    plain_text,
    same_device,
)
from station.sources.port import DeviceInfo
from tests.rig import pad
from tests.rig.fakehid import Device, Rig

Until = Callable[[Callable[[], object]], None]
Watch = Callable[..., DeviceWatcher]


def plug(rig: Rig, descriptor: bytes, product: int = pad.PRODUCT, serial: str = pad.SERIAL, **more: int) -> Device:
    """A device of the rig with some descriptor."""
    return rig.plug(descriptor, pad.VENDOR, product, pad.NAME, serial, **more)


@pytest.fixture
def watch() -> Iterator[Watch]:
    """A watcher that has looked once; closed at the end."""
    made: list[DeviceWatcher] = []

    def start(**options: object) -> DeviceWatcher:
        made.append(DeviceWatcher(interval_s=0.05, **options))  # type: ignore[arg-type]
        assert made[-1].wait_first(20)
        return made[-1]

    yield start
    for watcher in made:
        watcher.close()


def test_a_pad_is_listed_with_its_descriptor(rig: Rig) -> None:
    plug(rig, pad.DESCRIPTOR)
    (info,) = list_devices()
    assert info == DeviceInfo(
        "/dev/hidraw0", pad.VENDOR, pad.PRODUCT, pad.NAME, pad.SERIAL, "usb", pad.DESCRIPTOR, (0x10005,)
    )


def test_without_devices_the_list_is_empty(rig: Rig) -> None:
    assert list_devices() == ()


def test_keyboard_and_mouse_of_a_composite_device_are_not_opened(rig: Rig) -> None:
    keyboard = plug(rig, pad.KEYBOARD, interface=0)
    mouse = plug(rig, pad.MOUSE, interface=1)
    game = plug(rig, pad.DESCRIPTOR, interface=2)
    assert [d.key for d in list_devices()] == ["/dev/hidraw2"]
    everything = list_devices(include_private=True)
    assert sorted(d.key for d in everything) == ["/dev/hidraw0", "/dev/hidraw1", "/dev/hidraw2"]
    assert [d.problem != "" for d in sorted(everything, key=lambda d: d.key)] == [True, True, False]
    assert list_devices(also={game.ids})[0].key == "/dev/hidraw2"
    assert (keyboard.opens, mouse.opens, game.opens) == (0, 0, 3)


def test_a_sheet_can_name_a_device_that_does_not_say_what_it_is(rig: Rig) -> None:
    device = plug(rig, pad.VENDOR_ONLY, product=9)
    assert list_devices() == ()
    assert device.opens == 0
    (info,) = list_devices(also={(pad.VENDOR, 9)})
    assert info.descriptor == pad.VENDOR_ONLY


def test_devices_that_do_not_say_what_they_are_are_listed_unopened_on_request(rig: Rig) -> None:
    silent = plug(rig, pad.VENDOR_ONLY, product=9)
    keyboard = plug(rig, pad.KEYBOARD, product=8)
    game = plug(rig, pad.DESCRIPTOR)
    found = {d.product_id: d for d in list_devices(include_others=True)}
    assert sorted(found) == [game.ids[1], 9]
    assert "teach it" in found[9].problem
    assert is_silent(found[9])
    assert not is_silent(found[game.ids[1]])
    assert (silent.opens, keyboard.opens) == (0, 0)
    assert list_devices(also={(pad.VENDOR, 9)}, include_others=True)[-1].problem == ""
    assert not any(map(is_silent, list_devices(include_private=True)))


def test_a_sheet_that_names_a_keyboard_does_not_open_it(rig: Rig) -> None:
    keyboard = plug(rig, pad.KEYBOARD, product=9)
    assert list_devices(also={(pad.VENDOR, 9)}) == ()
    assert keyboard.opens == 0


@pytest.mark.parametrize(
    ("number", "says"),
    [
        (errno.EACCES, "70-restpoint.rules"),
        (errno.EBUSY, "close that program"),
        (errno.ENODEV, "went away"),
        (errno.EIO, "cannot be opened"),
    ],
)
def test_a_device_that_cannot_be_opened_is_listed_with_the_reason(rig: Rig, number: int, says: str) -> None:
    plug(rig, pad.DESCRIPTOR).refuse(number)
    (info,) = list_devices()
    assert says in info.problem
    assert info.descriptor == b""
    assert "\n" not in info.problem


def test_strings_of_a_device_are_made_harmless(rig: Rig) -> None:
    evil = "<b>Pad</b>\x1b[31m\u202e" + "x" * 200
    rig.plug(pad.DESCRIPTOR, pad.VENDOR, pad.PRODUCT, evil, "../../SER\tIAL")
    (info,) = list_devices()
    assert info.product.startswith("<b>Pad</b>[31mxxx")
    assert len(info.product) == 64
    assert info.serial == "../../SER IAL"  # plain text: whoever makes a file name of it must not use it as it is


def test_plugging_in_and_out_is_seen(rig: Rig, watch: Watch, until: Until) -> None:
    watcher = watch()
    seen: list[Appeared | Gone] = []
    device = plug(rig, pad.DESCRIPTOR)
    until(lambda: seen.extend(watcher.take_events()) or len(seen) == 1)
    assert isinstance(seen[0], Appeared)
    assert watcher.devices() == (seen[0].info,)
    device.unplug()
    until(lambda: seen.extend(watcher.take_events()) or len(seen) == 2)
    assert seen[1] == Gone(seen[0].info)
    assert watcher.devices() == ()


def test_another_unit_under_the_same_path_is_another_unit(rig: Rig, watch: Watch, until: Until) -> None:
    first = plug(rig, pad.DESCRIPTOR, serial="A")
    watcher = watch()
    until(lambda: len(watcher.take_events()) == 1)
    first.unplug()
    plug(rig, pad.DESCRIPTOR, serial="B")
    seen: list[Appeared | Gone] = []
    until(lambda: seen.extend(watcher.take_events()) or len(seen) == 2)
    assert [(type(e), e.info.serial, e.info.key) for e in seen] == [
        (Gone, "A", "/dev/hidraw0"),
        (Appeared, "B", "/dev/hidraw0"),
    ]


def test_a_quick_replug_under_the_same_path_is_seen(rig: Rig, watch: Watch, until: Until) -> None:
    first = plug(rig, pad.DESCRIPTOR)
    watcher = watch()
    until(lambda: len(watcher.take_events()) == 1)
    first.unplug()
    os.utime(plug(rig, pad.DESCRIPTOR).node, (1, 1))  # no hand is quicker than a file system's clock; a test is
    seen: list[Appeared | Gone] = []
    until(lambda: seen.extend(watcher.take_events()) or len(seen) == 2)
    assert [type(e) for e in seen] == [Gone, Appeared]


def test_a_device_is_opened_once_however_long_it_is_watched(rig: Rig, watch: Watch, until: Until) -> None:
    device = plug(rig, pad.DESCRIPTOR)
    watcher = watch()
    second = plug(rig, pad.DESCRIPTOR, serial="B")
    until(lambda: len(watcher.devices()) == 2)
    second.unplug()
    until(lambda: len(watcher.devices()) == 1)
    assert device.opens == 1


def test_access_that_comes_a_moment_after_the_node_is_no_trouble(rig: Rig, watch: Watch, until: Until) -> None:
    watcher = watch()
    device = plug(rig, pad.DESCRIPTOR)
    device.refuse(errno.EACCES)
    seen: list[Appeared | Gone] = []
    until(lambda: seen.extend(watcher.take_events()) or seen)
    assert "no permission" in seen[0].info.problem
    device.refuse(0)
    until(lambda: seen.extend(watcher.take_events()) or len(seen) == 2)
    assert isinstance(seen[1], Appeared)
    assert (seen[1].info.problem, seen[1].info.descriptor) == ("", pad.DESCRIPTOR)


def test_a_new_sheet_makes_its_devices_show(rig: Rig, watch: Watch, until: Until) -> None:
    plug(rig, pad.VENDOR_ONLY, product=9)
    watcher = watch()
    assert watcher.devices() == ()
    watcher.name_also({(pad.VENDOR, 9)})
    until(lambda: len(watcher.devices()) == 1)


def test_a_watch_that_dies_is_started_again(
    rig: Rig, watch: Watch, until: Until, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("station.sources.devices.RESTART_AFTER_S", 0.05)
    watcher = watch()
    assert watcher._process is not None
    os.kill(watcher._process.pid, signal.SIGKILL)
    plug(rig, pad.DESCRIPTOR)
    until(lambda: len(watcher.devices()) == 1)
    assert watcher.problem == ""


BASE = DeviceInfo("/dev/hidraw0", 1, 2, "Pad", "S1", "usb", b"\x05")


@pytest.mark.parametrize(
    ("other", "same"),
    [
        pytest.param(replace(BASE, key="/dev/hidraw7"), True, id="another path, same unit"),
        pytest.param(replace(BASE, serial="S2"), False, id="another serial"),
        pytest.param(replace(BASE, product_id=3), False, id="another product"),
        pytest.param(replace(BASE, descriptor=b"\x06"), False, id="another descriptor: the other half of a composite"),
        pytest.param(replace(BASE, descriptor=b""), True, id="a descriptor that could not be read"),
    ],
)
def test_units_are_told_apart_by_identity(other: DeviceInfo, same: bool) -> None:
    assert same_device(BASE, other) is same


@pytest.mark.parametrize(
    ("text", "plain"),
    [
        ("Plover T2", "Plover T2"),
        ("  a \t\r\n b  ", "a b"),
        ("\x00\x1b]0;title\x07x", "]0;titlex"),
        ("a\u202eb\u200bc\ufeff\ue000", "abc"),
        ("e\u0301\u0301\u0301\u0301\u0301", "\u00e9\u0301\u0301"),
        ("\ud800x", "x"),
        ("手柄 Ünï", "手柄 Ünï"),
        ("x" * 65, "x" * 63 + "…"),
        ("x" * 64, "x" * 64),
        ("", ""),
    ],
)
def test_plain_text(text: str, plain: str) -> None:
    assert plain_text(text) == plain
