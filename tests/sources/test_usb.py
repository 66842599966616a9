"""Devices read by the reader process through the unmodified hidapi wheel, on the shim rig."""

from __future__ import annotations

import errno
import os
import resource
import signal
import threading
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from station.capture.journal import read_journal
from station.errors import DeviceBusy, DeviceDenied, DeviceError, DeviceLost
from station.sources import usb as usb_module
from station.sources.conversation import plain
from station.sources.devices import list_devices
from station.sources.port import Answer, DeviceInfo
from station.sources.ring import create_ring
from station.sources.usb import UsbSource
from tests.rig import pad
from tests.rig.fakehid import BLUETOOTH, USB, Device, Rig

Until = Callable[[Callable[[], object]], None]
Open = Callable[..., UsbSource]


def plug(rig: Rig, descriptor: bytes = pad.DESCRIPTOR, **more: int) -> Device:
    """The rig's pad."""
    return rig.plug(descriptor, pad.VENDOR, pad.PRODUCT, pad.NAME, pad.SERIAL, **more)


def info_of(device: Device) -> DeviceInfo:
    """What `list_devices` says of it, without asking."""
    return DeviceInfo(
        f"/dev/hidraw{device.n}", *device.ids, device.name, device.serial, "usb", device.descriptor, (0x10005,)
    )


@pytest.fixture
def opened() -> Iterator[Open]:
    """Open a device and wait until it is; closed at the end."""
    made: list[UsbSource] = []

    def open_(device: Device, *args: object, **kwargs: object) -> UsbSource:
        made.append(UsbSource(info_of(device), *args, **kwargs))  # type: ignore[arg-type]
        made[-1].wait_open()
        return made[-1]

    yield open_
    for source in made:
        source.close()
        assert source.join(), "the reader process did not end"


def numbers(source: UsbSource) -> np.ndarray:
    """The running numbers in the pad's reports so far."""
    raw = source.take(0)[0].raw.astype(np.uint32)
    return raw[:, 3] | raw[:, 4] << 8 | raw[:, 5] << 16 | raw[:, 6] << 24


@pytest.mark.parametrize(("rate_hz", "n"), [(125.0, 25), (1000.0, 300), (8000.0, 2400)])
def test_every_report_that_the_system_kept_arrives_once_and_in_order(
    rig: Rig, opened: Open, until: Until, rate_hz: float, n: int
) -> None:
    device = plug(rig)
    source = opened(device)
    fed = device.feed_at(map(pad.numbered, range(n)), rate_hz)
    until(lambda: source.written() == fed - device.dropped)  # on an idle machine nothing is dropped
    block, cursor = source.take(0)
    assert cursor == len(block) == fed - device.dropped
    assert (np.diff(numbers(source).astype(np.int64)) >= 1).all()
    assert (np.diff(block.t_ns) >= 0).all()
    assert (block.size == pad.REPORT_BYTES).all()
    if not device.dropped:
        assert np.array_equal(numbers(source), np.arange(n))


def test_stamps_lie_between_sending_and_now(rig: Rig, opened: Open, until: Until) -> None:
    device, stamps = plug(rig), []
    source = opened(device, origin_ns=0)
    device.feed_at(map(pad.numbered, range(50)), 500, stamps)
    until(lambda: source.written() == 50)
    t_ns = source.take(0)[0].t_ns
    assert (t_ns >= np.array(stamps)).all()
    assert t_ns[-1] <= source.now_ns()


def test_the_readers_own_lateness_is_known(rig: Rig, opened: Open, until: Until) -> None:
    source = opened(plug(rig))
    until(lambda: source.status().stamp_error_p99_us is not None)
    status = source.status()
    assert (status.state, status.clock, status.lost, status.message) == ("live", "process", 0, "")
    assert status.stamp_error_p99_us is not None
    assert status.stamp_error_p99_us > 0


@pytest.mark.parametrize("bus", [USB, BLUETOOTH])
def test_both_buses_are_read(rig: Rig, opened: Open, until: Until, bus: int) -> None:
    device = plug(rig, bus=bus)
    (info,) = list_devices()
    assert info.bus == ("usb" if bus == USB else "bluetooth")
    source = opened(device)
    device.feed(pad.report(buttons=5))
    until(source.written)
    assert source.take(0)[0].raw[0, :3].tolist() == [1, 5, 0x80]


@pytest.mark.parametrize(
    ("report", "kept", "says"),
    [
        pytest.param(bytes(range(12)), bytes(range(12)), "", id="without report id"),
        pytest.param(b"\x07", b"\x07", "", id="shorter than announced"),
        pytest.param(bytes(range(64)), bytes(range(64)), "", id="longer than announced"),
        pytest.param(bytes(100), bytes(64), "sends longer reports (100 bytes)", id="longer than the ring's rows"),
    ],
)
def test_reports_of_any_length_are_kept(
    rig: Rig, opened: Open, until: Until, tmp_path: Path, report: bytes, kept: bytes, says: str
) -> None:
    device = plug(rig, pad.UNNUMBERED)
    source = opened(device, journal_path=tmp_path / "a.journal")
    device.feed(report)
    until(source.written)
    block, _ = source.take(0)
    assert block.raw[0, : block.size[0]].tobytes() == kept
    until(lambda: says in source.status().message)
    source.close()
    assert source.join()
    evidence = read_journal(tmp_path / "a.journal").block
    assert evidence.raw[0].tobytes() == report, "the evidence holds the whole report"


def test_what_the_kernel_drops_while_the_reader_stalls_is_counted(rig: Rig, opened: Open, until: Until) -> None:
    device = plug(rig)
    source = opened(device)
    device.feed_at(map(pad.numbered, range(100)), 1000)
    until(lambda: source.written() == 100 - device.dropped)
    begin = 100
    while source.status().lost == 0:  # a loaded machine may take too long over the burst to recognise it
        assert begin < 2000, "no overflow was recognised"
        os.kill(source.pid, signal.SIGSTOP)
        device.feed_at(map(pad.numbered, range(begin, begin + 150)), 1000)
        os.kill(source.pid, signal.SIGCONT)
        begin += 150
        until(lambda end=begin: source.written() == end - device.dropped)
        device.feed_at(map(pad.numbered, range(begin, begin + 70)), 1000)
        begin += 70
        until(lambda end=begin: source.written() == end - device.dropped)
    assert device.dropped >= 150 - 63
    assert source.take(0)[0].lost == source.status().lost


def test_what_one_consumer_comes_too_late_for_is_its_own_affair(
    rig: Rig, opened: Open, until: Until, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(usb_module, "create_ring", lambda width: create_ring(width, 64))
    device = plug(rig)
    source = opened(device)
    device.feed_patiently(map(pad.numbered, range(200)))
    until(lambda: source.written() == 200)
    block, cursor = source.take(0)
    assert (block.seq0, len(block), cursor) == (137, 63, 200)
    assert [source.take(cursor)[0].lost, block.lost, source.status().lost] == [0, 0, 0]


def test_unplugging_shows_as_lost_and_what_came_stays(rig: Rig, opened: Open, until: Until, tmp_path: Path) -> None:
    device = plug(rig)
    source = opened(device, journal_path=tmp_path / "a.journal")
    device.feed_patiently(map(pad.numbered, range(40)))
    until(lambda: source.written() == 40)
    device.unplug()
    until(lambda: source.status().state == "lost")
    assert source.status().message == "Two-stick test pad went away; plug it in again."
    assert np.array_equal(numbers(source), np.arange(40))
    assert source.join()
    assert len(read_journal(tmp_path / "a.journal").block) == 40
    with pytest.raises(DeviceLost, match="plug it in again"):
        source.send(b"\x02\x00\x00")


def test_the_readers_last_word_is_heard_before_its_end_is_judged(
    rig: Rig, opened: Open, until: Until, monkeypatch: pytest.MonkeyPatch
) -> None:
    heard = threading.Event()
    heard.set()
    listen = usb_module.child.listen

    def slowly(process: object, on_message: Callable[[dict[str, object]], None]) -> threading.Thread:
        return listen(process, lambda message: (heard.wait(20), on_message(message))[1])  # type: ignore[arg-type]

    monkeypatch.setattr(usb_module.child, "listen", slowly)
    device = plug(rig)
    source = opened(device)
    heard.clear()
    device.unplug()
    source._process.wait(20)
    assert not source.failed(), "its reader told why it ended; nobody has listened yet"
    assert "unexpectedly" not in source.status().message
    heard.set()
    until(lambda: "went away" in source.status().message)
    assert not source.failed()


def test_output_and_feature_reports_reach_the_device(rig: Rig, opened: Open, until: Until) -> None:
    device = plug(rig)
    source = opened(device, plain(b"\x02\x10\x20", b"\x03" + bytes(8)))
    until(lambda: device.written and device.set_features)
    assert (device.written, device.set_features) == ([b"\x02\x10\x20"], [b"\x03" + bytes(8)])
    source.send(b"\x02\x40\x80")
    source.send(b"\x03" + b"\x07" * 8, feature=True)
    until(lambda: len(device.written) == 2 and len(device.set_features) == 2)
    assert (device.written[1], device.set_features[1]) == (b"\x02\x40\x80", b"\x03" + b"\x07" * 8)
    assert source.status().message == ""


def test_a_device_that_takes_no_commands_is_busy_not_blocking(rig: Rig, opened: Open, until: Until) -> None:
    source = opened(plug(rig))
    os.kill(source.pid, signal.SIGSTOP)
    try:
        for _ in range(16_384 // 64):
            source.send(bytes(64))
        with pytest.raises(DeviceBusy, match="does not take commands"):
            source.send(bytes(64))
    finally:
        os.kill(source.pid, signal.SIGCONT)


@pytest.mark.parametrize(
    ("number", "error", "says"),
    [
        (errno.EACCES, DeviceDenied, r"no permission.*70-restpoint\.rules.*sudo cp .*udevadm control --reload"),
        (errno.EBUSY, DeviceBusy, "Another program holds Two-stick test pad"),
        (errno.ENODEV, DeviceLost, "Two-stick test pad went away"),
        (errno.EIO, DeviceError, "cannot be opened"),
    ],
)
def test_why_a_device_cannot_be_opened_is_said(rig: Rig, number: int, error: type[DeviceError], says: str) -> None:
    device = plug(rig)
    device.refuse(number)
    source = UsbSource(info_of(device))
    with pytest.raises(error, match=says) as caught:
        source.wait_open()
    assert type(caught.value) is error
    assert source.status().state == "lost"
    assert source.status().message == str(caught.value)
    source.close()
    assert source.join()


def test_another_device_under_the_same_path_is_not_read(rig: Rig) -> None:
    device = plug(rig)
    info = info_of(device)
    device.unplug()
    rig.plug(pad.DESCRIPTOR, pad.VENDOR, pad.PRODUCT, pad.NAME, "ANOTHER")
    source = UsbSource(info)
    with pytest.raises(DeviceLost, match="Another device took the place"):
        source.wait_open()
    source.close()
    assert source.join()


def test_a_killed_reader_is_noticed_and_its_evidence_kept(rig: Rig, opened: Open, until: Until, tmp_path: Path) -> None:
    device, path = plug(rig), tmp_path / "a.journal"
    source = opened(device, journal_path=path)
    device.feed_patiently(map(pad.numbered, range(500)))
    until(lambda: source.written() == 500)
    until(lambda: len(read_journal(path).block) == 500)  # flushed ten times a second, without any end
    os.kill(source.pid, signal.SIGKILL)
    until(lambda: source.status().state == "lost")
    assert "ended unexpectedly" in source.status().message
    assert len(numbers(source)) == len(read_journal(path).block) == 500


def test_a_reader_that_hangs_is_noticed_and_so_is_its_return(rig: Rig, opened: Open, until: Until) -> None:
    device = plug(rig)
    source = opened(device, stuck_after_s=0.4)
    os.kill(source.pid, signal.SIGSTOP)
    until(lambda: "has stopped answering" in source.status().message)
    assert source.status().state == "lost"
    os.kill(source.pid, signal.SIGCONT)
    until(lambda: source.status().state == "live")
    device.feed(pad.report())
    until(source.written)


def test_the_reader_ends_with_its_parent(rig: Rig, opened: Open, until: Until) -> None:
    device = plug(rig)
    source = opened(device)
    assert source._process.stdin is not None
    source._process.stdin.close()  # what the system does when the parent is killed
    until(lambda: source._process.poll() is not None)
    until(lambda: not device.is_open())


def test_a_journal_that_cannot_be_made_stops_no_reading(rig: Rig, opened: Open, until: Until, tmp_path: Path) -> None:
    device, path = plug(rig), tmp_path / "a.journal"
    path.write_bytes(b"earlier evidence")
    source = opened(device, journal_path=path)
    until(lambda: "evidence cannot be saved" in source.status().message)
    device.feed(pad.report())
    until(source.written)
    assert source.status().state == "live"
    assert path.read_bytes() == b"earlier evidence"


def test_a_full_disk_stops_no_reading(rig: Rig, until: Until, tmp_path: Path) -> None:

    device = plug(rig)
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (5 << 20, hard))  # the ring fits, the journal soon does not
    try:
        source = UsbSource(info_of(device), journal_path=tmp_path / "a.journal")
        source.wait_open()
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))
    big = bytes(4000)
    device.feed_patiently((big for _ in range(2000)), 8000.0)
    until(lambda: "evidence cannot be saved" in source.status().message)
    until(lambda: source.written() == 2000)
    assert source.status().state == "live"
    source.close()
    assert source.join()
    assert 0 < len(read_journal(tmp_path / "a.journal").block) < 2000


def test_keys_on_the_same_interface_are_never_stored(rig: Rig, opened: Open, until: Until, tmp_path: Path) -> None:
    device = plug(rig, pad.PAD_WITH_KEYS)
    source = opened(device, journal_path=tmp_path / "a.journal")
    for key in range(10):
        device.feed(b"\x04" + bytes([key]) * 6)
        device.feed(pad.numbered(key))
    until(lambda: source.written() == 10)
    assert set(source.take(0)[0].raw[:, 0]) == {1}
    source.close()
    assert source.join()
    assert set(read_journal(tmp_path / "a.journal").block.raw[:, 0]) == {1}


def test_a_keyboard_is_read_only_after_confirmation(rig: Rig, opened: Open, until: Until) -> None:
    keyboard = plug(rig, pad.KEYBOARD)
    with pytest.raises(DeviceDenied, match="keyboard or mouse"):
        UsbSource(info_of(keyboard))
    assert keyboard.opens == 0
    source = opened(keyboard, allow_private=True)
    keyboard.feed(bytes(8))
    until(source.written)


def test_closing_does_not_wait_and_what_came_can_still_be_read(rig: Rig, opened: Open, until: Until) -> None:
    device = plug(rig)
    source = opened(device)
    device.feed(pad.report())
    until(source.written)
    source.close()
    assert source.status().state == "ended"
    assert len(source.take(0)[0]) == 1
    with pytest.raises(DeviceLost):
        source.send(b"\x02\x00\x00")


# --- asking -------------------------------------------------------------------------------------------


FEATURE_UNNUMBERED = pad.UNNUMBERED[:-1] + bytes.fromhex("06 00 FF 09 03 75 08 95 04 B1 02 C0")
"""the pad without report ids, with a feature report of four bytes"""


@pytest.mark.parametrize(
    ("descriptor", "report_id", "given", "answer"),
    [
        pytest.param(pad.DESCRIPTOR, 3, b"\x03ABCDEFGH", Answer(b"\x03ABCDEFGH"), id="numbered"),
        pytest.param(FEATURE_UNNUMBERED, 0, b"\x00ABCD", Answer(b"ABCD"), id="unnumbered, without the id byte"),
        pytest.param(pad.DESCRIPTOR, 3, b"\x03AB", Answer(b"\x03AB"), id="shorter than announced"),
        pytest.param(pad.DESCRIPTOR, 3, b"\x03" + b"A" * 40, Answer(b"\x03" + b"A" * 8), id="longer than announced"),
        pytest.param(pad.DESCRIPTOR, 9, b"\x09" + bytes(99), Answer(b"\x09" + bytes(99)), id="not announced at all"),
        pytest.param(pad.DESCRIPTOR, 3, b"\x05AB", Answer(problem="it gave another report"), id="another report"),
        pytest.param(pad.DESCRIPTOR, 3, None, Answer(problem="read error"), id="refused"),
    ],
)
def test_a_feature_report_is_given_when_it_is_asked_for(
    rig: Rig, opened: Open, until: Until, descriptor: bytes, report_id: int, given: bytes | None, answer: Answer
) -> None:
    device = plug(rig, descriptor)
    device.on_get = {report_id: given}.get
    source = opened(device)
    request = source.ask_feature(report_id)
    until(lambda: request.answer)
    assert request.answer == answer
    assert source.status().message == ""


@pytest.mark.parametrize(
    ("descriptor", "report_id", "given", "report"),
    [(FEATURE_UNNUMBERED, 0, b"ABCD", b"ABCD"), (pad.DESCRIPTOR, 3, b"\x03ABCDEFGH", b"\x03ABCDEFGH")],
    ids=["unnumbered: nothing stands before it", "numbered"],
)
def test_bluetooth_answers_are_handed_on_as_the_device_gives_them(
    rig: Rig, until: Until, descriptor: bytes, report_id: int, given: bytes, report: bytes
) -> None:
    # Linux net/bluetooth/hidp/core.c and drivers/hid/uhid.c copy the answer from its first byte on [read]
    device = plug(rig, descriptor, bus=BLUETOOTH)
    device.on_get = {report_id: given}.get
    source = UsbSource(replace(info_of(device), bus="bluetooth"))
    try:
        source.wait_open()
        request = source.ask_feature(report_id)
        until(lambda: request.answer)
        assert request.answer == Answer(report)
    finally:
        source.close()
        assert source.join()


def test_a_request_that_hangs_holds_up_no_report_and_loses_no_command(rig: Rig, opened: Open, until: Until) -> None:
    device = plug(rig)
    device.features[3] = b"\x03" + bytes(8)
    source = opened(device)
    device.hang()
    request = source.ask_feature(3)
    source.send(b"\x02\x40\x80")
    until(lambda: "does not answer a command; 1 more waits behind it" in source.status().message)
    assert source.status().state == "live"
    device.feed_patiently(map(pad.numbered, range(200)))
    until(lambda: source.written() == 200)
    assert np.array_equal(numbers(source), np.arange(200))
    assert request.answer is None
    assert device.written == []
    device.go_on()
    until(lambda: request.answer and device.written)
    assert request.answer == Answer(b"\x03" + bytes(8))
    assert device.written == [b"\x02\x40\x80"]
    until(lambda: source.status().message == "")


def test_closing_while_a_request_hangs_takes_no_longer_than_the_hang_is_given(
    rig: Rig, opened: Open, until: Until, caplog: pytest.LogCaptureFixture
) -> None:
    device = plug(rig)
    source = opened(device)
    device.hang()
    request = source.ask_feature(3)
    source.send(b"\x02\x40\x80")
    source.close()
    assert source.join(10.0), "the reader did not end"
    assert request.answer == Answer(problem="it went away")
    assert "2 commands were not carried out" in caplog.text
    with pytest.raises(DeviceLost):
        source.ask_feature(3)


def test_what_was_sent_before_closing_is_still_carried_out(rig: Rig, opened: Open) -> None:
    device = plug(rig)
    source = opened(device)
    for n in range(50):
        source.send(bytes((2, n, n)))
    source.close()
    assert source.join()
    assert device.written == [bytes((2, n, n)) for n in range(50)]


def test_what_is_for_the_end_is_sent_when_the_program_is_gone(rig: Rig, opened: Open, until: Until) -> None:
    device = plug(rig)
    source = opened(device)
    source.at_end([(b"\x02\x01\x01", False)])
    source.at_end([(b"\x02\x00\x00", False), (b"\x03" + bytes(8), True)])
    source.send(b"\x02\x40\x80")
    assert source._process.stdin is not None
    source._process.stdin.close()  # what the system does when the parent is killed
    until(lambda: source._process.poll() is not None)
    assert (device.written, device.set_features) == ([b"\x02\x40\x80", b"\x02\x00\x00"], [b"\x03" + bytes(8)])


def test_a_request_to_a_device_that_goes_away_is_told_so(rig: Rig, opened: Open, until: Until) -> None:
    device = plug(rig)
    source = opened(device)
    device.hang()
    request = source.ask_feature(3)
    device.unplug()
    until(lambda: request.answer)
    assert request.answer is not None
    assert request.answer.problem
    until(lambda: source.status().state == "lost")


def test_the_systems_word_on_the_battery_comes_through_the_reader(rig: Rig, opened: Open, until: Until) -> None:
    device, other = plug(rig), plug(rig)
    other.battery(capacity=11, status="Full")
    source = opened(device)
    nothing = source.ask_system()
    until(lambda: nothing.answer)
    assert nothing.answer == Answer()
    device.battery(capacity=64, status="Charging")
    told = source.ask_system()
    until(lambda: told.answer)
    assert told.answer == Answer(system={"capacity": "64", "status": "Charging"})


def test_a_device_that_was_slow_to_open_is_not_taken_for_silent(rig: Rig, opened: Open) -> None:
    source = opened(plug(rig), stuck_after_s=30.0)
    source._born_ns -= 60_000_000_000
    source._view.word = lambda number: 0  # type: ignore[method-assign]  # it has not come to its first look yet
    assert source.status().state == "live"
