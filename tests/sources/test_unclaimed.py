"""Pads that no HID driver presents: listed unopened, read through libusb, given back whatever ends the reader."""

from __future__ import annotations

import errno
import os
import signal
import subprocess
import sys
import threading
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from station.app.commands.devices import lines
from station.app.shelf_of_sheets import SheetShelf
from station.errors import DeviceBusy, DeviceDenied, DeviceError, DeviceLost
from station.sources.conversation import Conversation, KeepAlive, Reply, Step, plain
from station.sources.devices import Appeared, DeviceWatcher, Gone, list_devices
from station.sources.port import DeviceInfo
from station.sources.steady import KEEP, SteadySource
from station.sources.usb import UsbSource
from tests.rig import claimed, pad
from tests.rig.claimed import Held
from tests.rig.fakehid import Rig, paced
from tests.rig.fakeusb import KERNEL, PROGRAM, UsbPad

Until = Callable[[Callable[[], object]], None]
Open = Callable[..., UsbSource]
START = Step(claimed.START, expect=b"\x20", within_ms=5000)


@pytest.fixture
def opened() -> Iterator[Open]:
    """A source on the one device there is; closed at the end."""
    made: list[UsbSource] = []

    def start(*args: object, **kwargs: object) -> UsbSource:
        (info,) = list_devices()
        made.append(UsbSource(info, *args, **kwargs))  # type: ignore[arg-type]
        made[-1].wait_open(20)
        return made[-1]

    yield start
    for source in made:
        source.close()
        source.join(10)


def test_it_is_listed_without_being_opened_or_taken(rig: Rig) -> None:
    device = UsbPad(rig)
    (info,) = list_devices()
    assert info == DeviceInfo(
        "3-1:1.0", claimed.VENDOR, claimed.PRODUCT, claimed.NAME, claimed.SERIAL, "usb", b"", interface="ff5d01"
    )
    assert (device.opens, device.claims, device.driver) == (0, 0, KERNEL)


def test_what_is_said_of_it(rig: Rig, tmp_path_factory: pytest.TempPathFactory) -> None:
    UsbPad(rig)
    (info,) = list_devices()
    said = "\n".join(lines(info, SheetShelf(tmp_path_factory.mktemp("sheets"))))
    assert "interface of class FF 5D 01, which no HID driver presents" in said
    assert "read through: libusb" in said
    assert "Pad of interface class FF 5D 01 (fits), 19 controls" in said
    assert "by the reports in its sheet" in said
    assert "not of its model" in said


def test_one_that_a_sheet_knows_as_a_hid_device_is_read_by_the_sheet_of_its_class(rig: Rig, tmp_path: Path) -> None:
    UsbPad(rig, ids=(0x1209, 0x0001))  # those of a sample unit's sheet, which tells its controls by their usages
    (info,) = list_devices()
    assert SheetShelf(tmp_path).know(info).sheet.name == "Pad of interface class FF 5D 01"


@pytest.mark.parametrize("protocol", [(0x01, 0x01), claimed.WIRED], ids=["a keyboard", "with the numbers of a pad"])
def test_a_hid_interface_is_never_opened_this_way(rig: Rig, protocol: tuple[int, int]) -> None:
    device = UsbPad(rig, protocol, interface_class=0x03)
    assert list_devices(also={device.ids}, include_others=True, include_private=True) == ()
    source = UsbSource(DeviceInfo(device.key, *device.ids, "", "", "usb", b"", interface="ff5d01"))
    with pytest.raises(DeviceLost):
        source.wait_open(20)
    source.close()
    assert (device.opens, device.claims) == (0, 0)


def test_a_pad_that_is_hid_too_is_read_as_hid(rig: Rig) -> None:
    UsbPad(rig, ids=(pad.VENDOR, pad.PRODUCT), serial=pad.SERIAL)
    rig.plug(pad.DESCRIPTOR, pad.VENDOR, pad.PRODUCT, pad.NAME, pad.SERIAL)
    assert [info.key for info in list_devices()] == ["/dev/hidraw0"]


def test_reports_come_and_go_as_they_are(rig: Rig, opened: Open, until: Until) -> None:
    device = UsbPad(rig)
    source = opened(plain(b"\x00\x08\x00\x11", b"\x05\x20"))
    assert device.driver == PROGRAM
    for report in paced((claimed.wired(Held((), {"left_x": n})) for n in range(200)), 1000):
        assert device.feed(report)
    until(lambda: source.written() == 200)
    block, _ = source.take(0)
    assert block.raw[:, 6].tolist() == list(range(200))
    assert set(block.size.tolist()) == {20}
    assert block.lost == 0
    until(lambda: len(device.written) == 2)
    assert device.written == [b"\x00\x08\x00\x11", b"\x05\x20"]  # the leading zero is no report id here


@pytest.mark.parametrize("killed", [False, True], ids=["closed", "killed"])
def test_the_kernels_driver_has_it_back(rig: Rig, opened: Open, until: Until, killed: bool) -> None:
    device = UsbPad(rig)
    for number in range(5):
        source = opened()
        assert (device.driver, device.claims) == (PROGRAM, number + 1)
        if killed:
            os.kill(source.pid, signal.SIGKILL)
        else:
            source.close()
        until(lambda: device.driver == KERNEL)


def test_motors_stop_and_the_driver_is_back_when_the_program_is_gone(rig: Rig, opened: Open, until: Until) -> None:
    device = UsbPad(rig)
    source = opened()
    source.at_end([(b"\x00\x08\x00\x00\x00\x00\x00\x00", False)])
    source.send(b"\x00\x08\x00\x80\x80\x00\x00\x00")
    until(lambda: device.written)
    assert source._process.stdin is not None
    source._process.stdin.close()  # as the system does it for a program that was killed
    until(lambda: device.driver == KERNEL)
    assert device.written[-1] == b"\x00\x08\x00\x00\x00\x00\x00\x00"


def test_an_unplug_is_told_and_it_goes_on_when_it_is_back(rig: Rig, until: Until) -> None:
    device = UsbPad(rig)
    watcher = DeviceWatcher(interval_s=0.05)
    assert watcher.wait_first(20)
    (info,) = watcher.devices()

    def piece(info: DeviceInfo, origin_ns: int, number: int) -> UsbSource:
        source = UsbSource(info, plain(claimed.START), origin_ns=origin_ns)
        source.wait_open(20)
        return source

    steady = SteadySource(info, piece)
    try:
        watcher.take_events()
        assert device.feed(claimed.wired(Held({"south"})))
        until(lambda: steady.take(0)[1] == 1)
        device.unplug()
        until(lambda: steady.status().state == "lost")
        assert "plug it in again" in steady.status().message
        again = UsbPad(rig)
        seen: list[Appeared | Gone] = []
        until(lambda: seen.extend(watcher.take_events()) or any(isinstance(e, Appeared) for e in seen))
        steady.reopen(next(e.info for e in seen if isinstance(e, Appeared)))
        until(lambda: again.written == [claimed.START])
        assert again.feed(claimed.wired(Held({"east"})))
        until(lambda: steady.take(1)[1] == 2)
        assert [e.info.problem for e in seen if e.info.problem] == [], "our own reader is no other program"
    finally:
        steady.close()
        watcher.close()


def test_plugs_leave_nothing_behind(rig: Rig, until: Until) -> None:
    device = UsbPad(rig)
    (info,) = list_devices()

    def piece(info: DeviceInfo, origin_ns: int, number: int) -> UsbSource:
        source = UsbSource(info, plain(claimed.START), origin_ns=origin_ns)
        source.wait_open(20)
        return source

    def left() -> tuple[int, int]:
        return len(os.listdir("/proc/self/fd")), threading.active_count()

    steady = SteadySource(info, piece)
    counts: list[int] = []

    def no_more_than_at_first() -> bool:
        return all(now <= then for now, then in zip(left(), counts, strict=True))

    try:
        for number in range(3 * KEEP):
            device.unplug()
            until(lambda: steady.status().state == "lost")
            device = UsbPad(rig)
            steady.reopen(info)
            if number >= KEEP:  # from here on as many pieces are kept as ever will be
                counts[:] = counts or left()
                until(no_more_than_at_first)
    finally:
        steady.close()


def test_our_own_reader_is_no_trouble_in_the_list(rig: Rig, opened: Open) -> None:
    UsbPad(rig)
    opened()
    (info,) = list_devices()
    assert info.problem == ""


LOOKS_AT_IT = "import os, sys; os.open(sys.argv[1], os.O_RDWR); print(flush=True); sys.stdin.read()"
LEAVES_ANOTHER_TO = f"import subprocess, sys; subprocess.run([sys.executable, '-c', {LOOKS_AT_IT!r}, sys.argv[1]])"


def test_whoever_has_a_look_at_it_meanwhile_does_not_hold_it(rig: Rig, opened: Open) -> None:
    device = UsbPad(rig)
    opened()
    command = [sys.executable, "-c", LEAVES_ANOTHER_TO, device.node]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE) as other:
        assert other.stdout is not None
        other.stdout.readline()
        (info,) = list_devices()
        other.communicate()
    assert info.problem == ""


def test_what_a_reader_of_ours_could_not_take_is_anothers(rig: Rig, until: Until) -> None:
    device = UsbPad(rig)
    device.hold()
    refused(DeviceBusy, until)
    until(lambda: "Another program holds" in list_devices()[0].problem)


# --- what can go wrong -----------------------------------------------------------------------------


def refused(kind: type[DeviceError], until: Until) -> str:
    """What opening the one device says."""
    (info,) = list_devices()
    source = UsbSource(info)
    with pytest.raises(kind) as caught:
        source.wait_open(20)
    source.close()
    assert "\n" not in str(caught.value)
    return str(caught.value)


def test_another_program_holds_it(rig: Rig, until: Until) -> None:
    device = UsbPad(rig)
    device.hold()
    (info,) = list_devices()
    assert "Another program holds" in info.problem
    assert "Another program holds" in refused(DeviceBusy, until)
    device.let_go()
    assert list_devices()[0].problem == ""


def test_rights_are_missing(rig: Rig, until: Until) -> None:
    UsbPad(rig).refuse(errno.EACCES)
    (info,) = list_devices()
    assert "70-restpoint.rules" in info.problem
    assert "70-restpoint.rules" in refused(DeviceDenied, until)


def test_a_vendor_that_the_library_does_not_know(rig: Rig, until: Until) -> None:
    device = UsbPad(rig, ids=(0x1209, 0x0001))
    (info,) = list_devices(ask_library=True)
    assert "does not know its vendor number" in info.problem
    assert device.claims == 0
    assert "hidapi" in refused(DeviceError, until)
    assert device.driver == KERNEL


def test_it_is_unplugged_while_it_is_claimed(rig: Rig) -> None:
    device = UsbPad(rig)
    (info,) = list_devices()
    source = UsbSource(info)
    device.unplug()
    with pytest.raises(DeviceLost, match="went away; plug it in again"):
        source.wait_open(20)
    source.close()


def test_it_comes_back_at_once_as_after_a_reset(rig: Rig, opened: Open, until: Until) -> None:
    device = UsbPad(rig)
    source = opened()
    assert device.feed(claimed.wired(Held({"south"})))
    until(lambda: source.written() == 1)
    device.unplug()
    again = UsbPad(rig)  # under the same name, with another number
    until(lambda: source.status().state == "lost")
    assert source.status().message == f"{claimed.NAME} went away; plug it in again."
    assert source.take(0)[0].raw[0, :20].tobytes() == claimed.wired(Held({"south"}))
    source.close()
    source.join(20)
    assert (again.driver, again.claims) == (KERNEL, 0)
    assert opened().status().state == "live"


def test_another_pad_in_the_same_socket_is_not_read_for_it(rig: Rig) -> None:
    device = UsbPad(rig)
    (info,) = list_devices()
    device.unplug()
    other = UsbPad(rig, ids=(claimed.VENDOR, 0x0002))
    source = UsbSource(info)
    with pytest.raises(DeviceLost, match="Another device"):
        source.wait_open(20)
    source.close()
    assert other.claims == 0


def test_reports_of_wrong_lengths_do_no_harm(rig: Rig, opened: Open, until: Until) -> None:
    device = UsbPad(rig)
    source = opened()
    for report in (b"\x00", bytes(64), claimed.wired(Held({"south"})), b"\x01\x03\x02"):
        assert device.feed(report)
    until(lambda: source.written() == 4)
    assert source.take(0)[0].size.tolist() == [1, 64, 20, 3]
    assert source.status().state == "live"


# --- a conversation --------------------------------------------------------------------------------


def test_it_is_started_answered_and_kept_awake(rig: Rig, opened: Open, until: Until) -> None:
    device = UsbPad(rig, claimed.STARTED)
    device.heard = lambda report: report[:2] == claimed.START and device.feed(claimed.started(Held()))
    talk = Conversation(
        (START, Step(b"\x0a\x00\x00")), (Reply(b"\x07\x30", b"\x01\x20\x00", (2,)),), KeepAlive(b"\x0b\x00\x00", 30), 2
    )
    source = opened(talk)
    until(lambda: any(w[0] == 0x0B for w in device.written))
    assert device.feed(claimed.middle(True, 0x77))
    until(lambda: any(w[0] == 0x01 for w in device.written))
    assert b"\x01\x20\x77" in device.written
    said = [w for w in device.written if w[0] != 0x01]
    assert [w[0] for w in said[:2]] == [0x05, 0x0A]
    assert [w[2] for w in said if len(w) > 2] == list(range(1, len(said)))  # the start is too short for its number
    assert source.status().message == ""


def test_silence_is_told_by_its_step(rig: Rig, opened: Open, until: Until) -> None:
    device = UsbPad(rig, claimed.STARTED)
    source = opened(Conversation((Step(b"\x0a"), Step(claimed.START, expect=b"\x20", within_ms=20, tries=2))))
    until(lambda: source.status().message)
    said = source.status().message
    assert "did not answer step 2 of its opening (20 was waited for 20 ms, twice); plug it in again" in said
    assert said.count(". ") == 0
    assert source.status().state == "live"
    assert device.written == [b"\x0a", claimed.START, claimed.START]


def test_a_pad_of_a_receiver_that_is_switched_off_is_told_of_until_it_is_on(
    rig: Rig, opened: Open, until: Until
) -> None:
    device = UsbPad(rig, claimed.RECEIVED, name="Receiver")
    device.heard = lambda report: device.feed(b"\x08\x00")
    ask = Step(bytes.fromhex("0800 0fc0"), expect=b"\x08", within_ms=5000, go_on=True)
    source = opened(Conversation((ask,)))
    until(lambda: source.status().message)
    assert source.status().message.startswith("No pad answers as Receiver, pad 1; switch it on")
    assert device.feed(b"\x08\x80")
    until(lambda: not source.status().message)
    assert device.feed(b"\x08\x00")
    until(lambda: source.status().message)
    assert device.feed(claimed.received(Held()))
    until(lambda: not source.status().message)


def test_what_libusb_refuses_without_a_word_is_told_without_one(rig: Rig, opened: Open, until: Until) -> None:
    device = UsbPad(rig)
    device.stalls = lambda report: True
    source = opened(Conversation((Step(claimed.START),)))
    until(lambda: source.status().message)
    assert "refused step 1 of its opening (no reason given)" in source.status().message


def test_what_keeps_it_awake_and_what_it_asks_for_is_told_when_it_refuses_it(
    rig: Rig, opened: Open, until: Until
) -> None:
    device = UsbPad(rig, claimed.STARTED)
    refused = {0x0B}
    device.stalls = lambda report: report[0] in refused
    source = opened(Conversation((), (Reply(b"\x07", b"\x01\x20"),), KeepAlive(b"\x0b\x00", 20)))
    until(lambda: "put keep_alive right in its sheet" in source.status().message)
    assert "may fall silent; plug it in again" in source.status().message
    refused.clear()
    until(lambda: not source.status().message)
    refused.add(0x01)
    assert device.feed(claimed.middle(True))
    until(lambda: "put answers right in its sheet" in source.status().message)
    assert source.status().state == "live"


def test_a_long_opening_holds_nobody_up_who_closes(rig: Rig, opened: Open, until: Until) -> None:
    device = UsbPad(rig, claimed.STARTED)
    source = opened(Conversation((Step(claimed.START, expect=b"\x20", within_ms=60_000),)))
    until(lambda: device.written)
    source.at_end([(b"\x0c", False)])
    source.close()
    assert source.join(20)
    assert device.written[-1] == b"\x0c"
    assert device.driver == KERNEL
