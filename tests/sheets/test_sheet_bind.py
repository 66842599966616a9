"""From reports to signals: normalisation, turning, nulls, arrays, explicit fields, and what the device lacks."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest

from station.errors import SheetError
from station.hid.descriptor import parse_descriptor
from station.hid.types import Field, Layout, ReportBlock, ReportLayout
from station.sheets.bind import bind, join_signals
from station.sheets.model import Control, ExplicitField, Place, Sheet
from station.sheets.normalise import hat_directions
from station.sheets.signals import ButtonSignal, HatSignal, StickSignal, TriggerSignal

X, Y, Z, HAT = 0x10030, 0x10031, 0x10032, 0x10039
STICK = Control("s", "stick", "S", x=Place(X), y=Place(Y))

# Head of the joystick example of USB-IF's PID 1.0 (bytes read from a public copy): throttle, X, Y, a hat of four
# directions with physical extents 0…270°, four buttons; report id 1, 5 bytes.
PID_JOYSTICK = bytes.fromhex(
    "05 01 15 00 09 04 A1 01 85 01 05 02 09 BB 15 81 25 7F 75 08 95 01 81 02 05 01 09 01 A1 00 09 30 09 31 95 02 81 02"
    "C0 09 39 15 00 25 03 35 00 46 0E 01 66 14 00 75 04 95 01 81 02 45 00 66 00 00 05 09 19 01 29 04 25 01 95 04 75 01"
    "35 00 81 02 C0"
)


def block(rows: Sequence[Sequence[int]], step_ns: int = 1_000_000) -> ReportBlock:
    """Reports `step_ns` apart; shorter rows are shorter reports."""
    width = max(map(len, rows))
    raw = np.array([[*row, *[0] * (width - len(row))] for row in rows], np.uint8)
    size = np.array([len(row) for row in rows], np.uint16)
    return ReportBlock(0, np.arange(len(rows), dtype=np.int64) * step_ns, size, raw)


def layout_of(*fields: Field, width: int = 8, numbered: bool = False) -> Layout:
    reports = [
        ReportLayout("input", report, width, tuple(f for f in fields if f.report_id == report))
        for report in sorted({f.report_id for f in fields})
    ]
    return Layout(tuple(reports), (0x10005,), numbered)


def axis(usage: int, bit: int, bits: int = 8, low: int = 0, high: int = 255, **more: object) -> Field:
    return Field("input", 0, usage, bit, bits, low < 0, low, high, **more)  # type: ignore[arg-type]


def stick(layout: Layout, rows: Sequence[Sequence[int]], control: Control = STICK) -> StickSignal:
    signal = bind(Sheet("t", controls=(control,)), layout).signals(block(rows))[control.id]
    assert isinstance(signal, StickSignal)
    return signal


def test_an_8_bit_axis_spans_minus_100_to_100_and_y_is_turned() -> None:
    signal = stick(layout_of(axis(X, 0), axis(Y, 8)), [(0, 0), (255, 255), (128, 128)])
    assert signal.x_pct == pytest.approx([-100, 100, 100 / 255])
    assert signal.y_pct == pytest.approx([100, -100, -100 / 255])
    assert signal.x_code.tolist() == [0, 255, 128]
    assert signal.y_code.tolist() == [255, 0, 127]
    assert signal.x_step_pct == signal.y_step_pct == 200 / 255
    assert signal.t_ns.tolist() == [0, 1_000_000, 2_000_000]


def test_a_16_bit_signed_axis_spans_minus_100_to_100() -> None:
    layout = layout_of(axis(X, 0, 16, -32768, 32767), axis(Y, 16, 16, -32768, 32767))
    signal = stick(layout, [(0x00, 0x80, 0xFF, 0x7F), (0xFF, 0x7F, 0x00, 0x80)])
    assert signal.x_pct == pytest.approx([-100, 100])
    assert signal.y_pct == pytest.approx([-100, 100])


def test_up_high_leaves_y_as_it_is() -> None:
    control = Control("s", "stick", "S", x=Place(X), y=Place(Y, up="high"))
    assert stick(layout_of(axis(X, 0), axis(Y, 8)), [(0, 255)], control).y_pct == pytest.approx([100])


def test_right_low_turns_x() -> None:
    control = Control("s", "stick", "S", x=Place(X, right="low"), y=Place(Y))
    signal = stick(layout_of(axis(X, 0), axis(Y, 8)), [(0, 0), (255, 0)], control)
    assert signal.x_pct == pytest.approx([100, -100])
    assert signal.x_code.tolist() == [255, 0]


def test_a_big_endian_field_is_read_with_its_first_byte_as_the_high_one() -> None:
    wide = ExplicitField(0, 0, 16, True, -2048, 2047, big_endian=True)
    narrow = ExplicitField(0, 16, 8, False, 0, 255)
    control = Control("s", "stick", "S", x=Place(field=wide), y=Place(field=narrow, up="high"))
    signal = stick(layout_of(), [(0xF8, 0x00, 0), (0x07, 0xFF, 255), (0x01, 0x02, 0)], control)
    assert signal.x_code.tolist() == [-2048, 2047, 0x102]
    assert signal.x_pct[:2] == pytest.approx([-100, 100])
    assert signal.y_pct[:2] == pytest.approx([-100, 100])


def test_a_button_released_high_closes_at_the_low_end() -> None:
    bit = Control("b", "button", "B", at=Place(field=ExplicitField(0, 3, 1), up="high"))
    byte = Control("p", "button", "P", at=Place(field=ExplicitField(0, 8, 8, False, 0, 128), up="high"))
    signals = bind(Sheet("t", controls=(bit, byte)), layout_of()).signals(block([(0x08, 128), (0, 128), (8, 0)]))
    assert isinstance(signals["b"], ButtonSignal)
    assert signals["b"].closed.tolist() == [False, True, False]
    assert isinstance(signals["p"], ButtonSignal)
    assert signals["p"].closed.tolist() == [False, False, True]


def test_packed_12_bit_axes_are_read() -> None:
    layout = layout_of(axis(X, 0, 12, 0, 4095), axis(Y, 12, 12, 0, 4095))
    packed = (0xABC << 12 | 0x123).to_bytes(3, "little")
    assert stick(layout, [tuple(packed)]).x_code.tolist() == [0x123]
    assert stick(layout, [tuple(packed)]).y_code.tolist() == [4095 - 0xABC]


def test_a_null_value_leaves_the_axis_as_it_was() -> None:
    layout = layout_of(axis(X, 0, 8, 1, 255, has_null=True), axis(Y, 8, 8, 1, 255, has_null=True))
    signal = stick(layout, [(1, 1), (0, 255), (255, 255)])  # in the second report X is out of range
    assert signal.t_ns.tolist() == [0, 1_000_000, 2_000_000]
    assert signal.x_pct == pytest.approx([-100, -100, 100])
    assert signal.y_pct == pytest.approx([100, -100, -100])


def test_without_a_null_state_a_value_out_of_range_is_the_nearest_limit() -> None:
    layout = layout_of(axis(X, 0, 8, 10, 250), axis(Y, 8, 8, 10, 250))
    assert stick(layout, [(255, 0)]).x_pct == pytest.approx([100])


def test_axes_in_different_reports_are_held_until_the_next() -> None:
    fields = (Field("input", 1, X, 8, 8, False, 0, 200), Field("input", 2, Y, 8, 8, False, 0, 200))
    signal = stick(layout_of(*fields, width=2, numbered=True), [(1, 0), (2, 200), (1, 200), (2, 0)])
    assert signal.t_ns.tolist() == [1_000_000, 2_000_000, 3_000_000]
    assert signal.x_pct == pytest.approx([-100, 100, 100])
    assert signal.y_pct == pytest.approx([-100, -100, 100])


@pytest.mark.parametrize(("up", "expected"), [("low", [0, 100, 20]), ("high", [100, 0, 80])])
def test_a_trigger_is_in_percent_of_travel_from_its_released_end(up: str, expected: list[float]) -> None:
    control = Control("t", "trigger", "T", at=Place(Z, up=up))  # type: ignore[arg-type]
    signal = bind(Sheet("t", controls=(control,)), layout_of(axis(Z, 0))).signals(block([(0,), (255,), (51,)]))["t"]
    assert isinstance(signal, TriggerSignal)
    assert signal.pct == pytest.approx(expected)
    assert signal.step_pct == 100 / 255


@pytest.mark.parametrize(
    ("low", "high", "expected"),
    [
        (0, 7, [0, 1, 2, 3, 4, 5, 6, 7]),
        (1, 8, [0, 1, 2, 3, 4, 5, 6, 7]),
        (0, 3, [0, 2, 4, 6]),
        (0, 8, [0, 1, 2, 3, 4, 5, 6, 7, -1]),
        (0, 15, [0, 1, 2, 3, 4, 5, 6, 7, *[-1] * 8]),
    ],
    ids=["eight from 0", "eight from 1", "four", "eight and a null code", "eight and null codes to 15"],
)
def test_the_codes_of_a_hat_share_the_circle(low: int, high: int, expected: list[int]) -> None:
    assert hat_directions(axis(HAT, 0, 4, low, high)).tolist() == expected


def test_a_hat_in_degrees_is_rounded_to_eighths() -> None:
    table = hat_directions(axis(HAT, 0, 16, 0, 359))
    assert [table[d] for d in (0, 22, 23, 45, 180, 315, 337, 338, 359)] == [0, 0, 1, 1, 4, 7, 7, 0, 0]


def test_a_published_joystick_is_bound_by_its_usages() -> None:
    """USB-IF PID 1.0 example: 3/270 counts per degree, so 0, 90, 180, 270°; 4…15 is no direction."""
    layout = parse_descriptor(PID_JOYSTICK)
    sheet = Sheet(
        "j",
        controls=(
            STICK,
            Control("throttle", "trigger", "Throttle", at=Place(0x200BB)),
            Control("hat", "hat", "Hat", at=Place(HAT)),
            Control("b1", "button", "Button 1", at=Place(0x90001)),
            Control("b4", "button", "Button 4", at=Place(0x90004)),
        ),
    )
    rows = [(1, 0x81, 0x81, 0x7F, 0x10), (1, 0x7F, 0x7F, 0x81, 0x83), (1, 0, 0, 0, 0x0F)]
    signals = bind(sheet, layout).signals(block(rows))
    hat, b1, b4, throttle, s = (signals[name] for name in ("hat", "b1", "b4", "throttle", "s"))
    assert isinstance(hat, HatSignal)
    assert hat.direction.tolist() == [0, 6, -1]
    assert isinstance(b1, ButtonSignal)
    assert b1.closed.tolist() == [True, False, False]
    assert isinstance(b4, ButtonSignal)
    assert b4.closed.tolist() == [False, True, False]
    assert isinstance(throttle, TriggerSignal)
    assert throttle.pct == pytest.approx([0, 100, 50])
    assert isinstance(s, StickSignal)
    assert s.x_pct == pytest.approx([-100, 100, 0])
    assert s.y_pct == pytest.approx([-100, 100, 0])


def test_a_button_of_an_array_is_closed_while_a_slot_selects_it() -> None:
    usages = (0x90001, 0x90002, 0x90003)
    slots = [Field("input", 0, 0, 8 * i, 8, False, 1, 3, is_array=True, usages=usages) for i in range(2)]
    controls = tuple(Control(f"b{i}", "button", "B", at=Place(0x90000 + i)) for i in (1, 2, 3))
    signals = bind(Sheet("t", controls=controls), layout_of(*slots)).signals(block([(0, 0), (2, 0), (3, 2)]))
    closed = {name: s.closed.tolist() for name, s in signals.items() if isinstance(s, ButtonSignal)}
    assert closed == {"b1": [False] * 3, "b2": [False, True, True], "b3": [False, False, True]}


def test_a_report_too_short_for_the_array_is_left_out() -> None:
    usages = (0x90001, 0x90002)
    slots = [Field("input", 0, 0, 8 * i, 8, False, 1, 2, is_array=True, usages=usages) for i in range(2)]
    binding = bind(Sheet("t", controls=(Control("b", "button", "B", at=Place(0x90002)),)), layout_of(*slots))
    signal = binding.signals(block([(0, 2), (2,), (0, 0)]))["b"]
    assert isinstance(signal, ButtonSignal)
    assert (signal.t_ns.tolist(), signal.closed.tolist()) == ([0, 2_000_000], [True, False])
    assert binding.signals(block([(2,)])) == {}


def test_a_pressure_button_is_closed_above_the_middle() -> None:
    signals = bind(Sheet("t", controls=(Control("b", "button", "B", at=Place(Z)),)), layout_of(axis(Z, 0)))
    signal = signals.signals(block([(0,), (127,), (128,), (255,)]))["b"]
    assert isinstance(signal, ButtonSignal)
    assert signal.closed.tolist() == [False, False, True, True]


def test_explicit_fields_work_without_any_descriptor() -> None:
    controls = (
        Control("s", "stick", "S", x=Place(field=ExplicitField(3, 8, 8, True, -100, 100)),
                y=Place(field=ExplicitField(3, 16, 8, True, -100, 100), up="high")),
        Control("b", "button", "B", at=Place(field=ExplicitField(3, 26, 1))),
    )  # fmt: skip
    signals = bind(Sheet("t", controls=controls), Layout((), (), False)).signals(block([(3, 156, 50, 4), (9, 1, 1, 0)]))
    s, b = signals["s"], signals["b"]
    assert isinstance(s, StickSignal)
    assert s.x_pct == pytest.approx([-100])
    assert s.y_pct == pytest.approx([50])
    assert isinstance(b, ButtonSignal)
    assert b.closed.tolist() == [True]


def test_a_control_without_a_report_is_absent_and_a_short_report_carries_what_it_holds() -> None:
    buttons = tuple(Control(f"b{bit}", "button", "B", at=Place(field=ExplicitField(0, bit, 1))) for bit in (0, 9))
    binding = bind(Sheet("t", controls=buttons), Layout((), (), False))
    assert set(binding.signals(block([(1,), (0,)]))) == {"b0"}
    assert set(binding.signals(block([(1, 2)]))) == {"b0", "b9"}
    assert binding.signals(block([(1, 2)] * 2)).keys() == {"b0", "b9"}
    empty = ReportBlock(0, np.zeros(0, np.int64), np.zeros(0, np.uint16), np.zeros((0, 2), np.uint8))
    assert binding.signals(empty) == {}


def test_a_control_that_only_repeats_another_shows_that_one() -> None:
    controls = (
        Control("a", "button", "A", at=Place(field=ExplicitField(0, 0, 1))),
        Control("paddle", "button", "P", seen_as="a"),
    )
    signals = bind(Sheet("t", controls=controls), Layout((), (), False)).signals(block([(1,)]))
    assert signals["paddle"] is signals["a"]


@pytest.mark.parametrize(
    ("controls", "layout", "said"),
    [
        ((STICK,), layout_of(axis(X, 0), axis(Z, 8)), r"control s, y\.usage: this device has no input 'Y'.*has X, Z"),
        ((STICK,), Layout((), (), False), r"x\.usage: .*describes no inputs at all: give the places with field"),
        ((STICK,), layout_of(axis(X, 0, 8, 5, 5), axis(Y, 8)), r"the device gives X no range \(5 to 5\); give it"),
        (
            (Control("t", "trigger", "T", at=Place(0x90001)),),
            layout_of(Field("input", 0, 0, 0, 8, False, 1, 2, is_array=True, usages=(0x90001, 0x90002))),
            r"control t, at\.usage: Button 1 is one choice of a list on this device and cannot be a trigger",
        ),
    ],
    ids=["no such usage", "no descriptor", "no range", "a choice as a trigger"],
)  # fmt: skip
def test_what_the_device_lacks_is_said_with_the_control(
    controls: tuple[Control, ...], layout: Layout, said: str
) -> None:
    with pytest.raises(SheetError, match=said):
        bind(Sheet("t", controls=controls), layout)


def test_signals_in_pieces_are_the_signals_of_the_whole() -> None:
    rng = np.random.default_rng(7)
    rows = rng.integers(0, 256, (50, 4)).tolist()
    layout = layout_of(axis(X, 0), axis(Y, 8), axis(HAT, 16, 4, 0, 7), axis(0x90001, 20, 1, 0, 1), axis(Z, 24), width=4)
    controls = (STICK, *(Control(k, k, k, at=Place(u)) for k, u in (("hat", HAT), ("button", 0x90001), ("trigger", Z))))  # type: ignore[arg-type]
    binding = bind(Sheet("t", controls=controls), layout)
    whole = block(rows)
    pieces = [
        ReportBlock(i, whole.t_ns[i:j], whole.size[i:j], whole.raw[i:j])
        for i, j in ((0, 1), (1, 30), (30, 30), (30, 50))
    ]
    joined = join_signals(binding.signals(piece) for piece in pieces)
    expected = binding.signals(whole)
    assert joined.keys() == expected.keys() == {"s", "hat", "button", "trigger"}
    for control, signal in expected.items():
        for name in type(signal).__slots__:
            np.testing.assert_array_equal(getattr(joined[control], name), getattr(signal, name))
    assert join_signals([]) == {}
