"""`restpoint learn` on a made-up pad: the prompts, the sheet, what is kept, and what is said when it cannot go on."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from station.app import paths
from station.app.commands import learn as learn_command
from station.app.commands.learn import TICK_S, confirmed, summary, walk_through
from station.app.main import main
from station.app.shelf_of_sheets import SheetShelf, carried_over
from station.app.walks import WalkShelf, keep_walk, kept_steps
from station.bench.teaching import Teaching
from station.capture.file import read_capture, save_capture
from station.capture.types import Capture, CaptureMeta, Mark
from station.errors import DeviceLost
from station.hid.descriptor import parse_descriptor
from station.hid.types import ReportBlock
from station.sheets.learn import learn, walk
from station.sheets.learn.captured import joined, steps_in
from station.sheets.load import load_sheet
from station.sheets.model import Ask, Control, Part, Sheet
from station.sources.conversation import plain
from station.sources.port import DeviceInfo, SourceStatus
from tests.rig import claimed, pad
from tests.rig.fakehid import Rig
from tests.rig.fakeusb import UsbPad
from tests.sheets.learn_hand import NO_SLIPS, walked
from tests.sheets.learn_pads import Pad, random_pad
from tests.sheets.learn_truth import judged

PAD = random_pad(9001)
INFO = DeviceInfo("made-up", 0x1209, 0x0009, "Made-up pad", "", "usb", PAD.descriptor)
LAYOUT = parse_descriptor(PAD.descriptor) if PAD.descriptor else None


class Bench:
    """A source whose pad does the walk by the clock that `wait` moves, and goes away after `last` steps of it."""

    def __init__(self, pad: Pad = PAD, last: int = 1000) -> None:
        steps = walked(pad, walk(pad.controls), slips=NO_SLIPS)
        self.block = joined([o.block for o in steps])
        self.lost_ns = steps[min(last, len(steps) - 1)].end_ns - 1_000_000_000 if last < 1000 else 1 << 62
        self.now = 0
        self.said: list[str] = []
        self.info = INFO
        self.kept_from = 0
        """reports before this one have been written over"""
        self.lost_already = 0
        self.lesson = Teaching(self, walk(pad.controls), layout=LAYOUT, later=lambda job: job())

    def wait(self, seconds: float) -> None:
        assert seconds == TICK_S
        self.now += round(seconds * 1e9)

    def now_ns(self) -> int:
        return self.now

    def take(self, cursor: int, limit: int = 0) -> tuple[ReportBlock, int]:
        due = int(np.searchsorted(self.block.t_ns, self.now, "right"))
        cursor = min(max(cursor, self.kept_from), due)
        rows = slice(cursor, due)
        part = ReportBlock(
            cursor, self.block.t_ns[rows], self.block.size[rows], self.block.raw[rows], self.lost_already
        )
        return part, due

    def status(self) -> SourceStatus:
        lost = self.now > self.lost_ns
        state, message = ("lost", "It was unplugged.") if lost else ("live", "")
        return SourceStatus(state, self.lost_already, "simulated", None, message)  # type: ignore[arg-type]

    def send(self, report: bytes, *, feature: bool = False) -> None:
        raise AssertionError("learning sends nothing")

    def close(self) -> None:
        pass


def test_a_walk_without_slips_ends_in_a_sheet_without_questions() -> None:
    bench = Bench()
    learned = walk_through(bench.lesson, say=bench.said.append, wait=bench.wait)
    assert not learned.questions
    assert set(judged(PAD, learned).values()) == {"right"}
    assert learned.sheet.match == ((0x1209, 0x0009),)
    assert learned.sheet.name == "Made-up pad"
    assert len(bench.said) == 1 + len(walk(PAD.controls))
    assert any("% sure" in line for line in summary(learned))


def test_a_step_that_was_read_too_late_is_asked_again() -> None:
    bench = Bench()
    bench.lost_ns = 5_000_000_000

    def wait(seconds: float) -> None:
        if bench.now == 1_000_000_000:
            bench.now += 500_000_000
            bench.kept_from = int(np.searchsorted(bench.block.t_ns, bench.now - 100_000_000))
        bench.wait(seconds)

    with pytest.raises(DeviceLost):
        walk_through(bench.lesson, say=bench.said.append, wait=wait)
    late = "This computer was held up and reports were read too late. The step that was interrupted is asked again."
    assert bench.said.count(late) == 1
    after = bench.said.index(late)
    assert bench.said[after + 1] == bench.said[after - 1], "the prompt is said again"


def test_the_kept_walk_holds_no_losses_from_before_it(tmp_path: Path) -> None:
    bench = Bench(last=5)
    bench.lost_already = 50
    bench.lesson = Teaching(bench, walk(PAD.controls), layout=LAYOUT, later=lambda job: job())
    with pytest.raises(DeviceLost):
        walk_through(bench.lesson, say=bench.said.append, wait=bench.wait)
    keep_walk(tmp_path / "walk.npz", bench.lesson.seen, INFO, PAD.descriptor)
    kept = read_capture(tmp_path / "walk.npz")
    assert (len(bench.lesson.seen), kept.meta.lost) == (5, 0)


def test_a_device_that_goes_away_ends_the_walk_and_what_was_seen_stays() -> None:
    bench = Bench(last=5)
    with pytest.raises(DeviceLost, match="It was unplugged"):
        walk_through(bench.lesson, say=bench.said.append, wait=bench.wait)
    assert len(bench.lesson.seen) == 5


def test_walks_are_kept_beside_the_records_until_a_sheet_came_of_them(tmp_path: Path) -> None:
    shelf, seen = WalkShelf(tmp_path / "walks"), walked(PAD, walk(PAD.controls)[:3], slips=NO_SLIPS)
    assert shelf.open_walk(INFO) is None
    path = shelf.new(INFO)
    shelf.keep(path, seen, INFO, PAD.descriptor)
    assert shelf.open_walk(INFO) == path
    assert [o.step.id for o in kept_steps(path)] == [o.step.id for o in seen]
    shelf.close(INFO.vendor_id, INFO.product_id)
    assert shelf.open_walk(INFO) is None
    assert len(list(path.parent.glob("*.npz"))) == 1, "it is not thrown away"


def test_a_kept_walk_is_learned_again_from_its_capture(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    seen = walked(PAD, walk(PAD.controls), slips=NO_SLIPS)
    kept, out = tmp_path / "walk.npz", tmp_path / "sheet.toml"
    keep_walk(kept, seen, INFO, PAD.descriptor)
    again = steps_in(read_capture(kept))
    assert [(s.step.id, s.begin_ns, s.end_ns, len(s.block)) for s in again] == [
        (s.step.id, s.begin_ns, s.end_ns, len(s.block)) for s in seen
    ]
    assert main(["learn", "--capture", str(kept), "--out", str(out)]) == 0
    assert f"sheet: {out}" in capsys.readouterr().out
    assert load_sheet(out).controls == learn(seen, layout=LAYOUT).sheet.controls


def test_what_is_learned_again_from_a_walk_says_what_the_pad_wants_to_hear(tmp_path: Path) -> None:
    seen = walked(PAD, walk(PAD.controls), slips=NO_SLIPS)
    kept, out = tmp_path / "walk.npz", tmp_path / "sheet.toml"
    order = ["learn", "--capture", str(kept), "--out", str(out)]
    keep_walk(kept, seen, INFO, PAD.descriptor, "Pad of interface class FF 47 D0")
    main(order)
    assert load_sheet(out).talk.steps[0].send[:2] == claimed.START, "by the sheet that was in force"
    assert (load_sheet(out).name, load_sheet(out).interfaces) == ("Made-up pad", ())
    own = replace(Sheet("Mine", ((0x1209, 0x0009),), controls=load_sheet(out).controls), talk=plain(b"\x01\x02"))
    SheetShelf(paths.sheets_folder()).save(own)
    main(order)
    assert load_sheet(out).talk == own.talk, "by the sheet that names its ids"


def test_a_sheet_that_is_learned_once_more_puts_the_one_before_aside(tmp_path: Path) -> None:
    keep_walk(tmp_path / "walk.npz", walked(PAD, walk(PAD.controls), slips=NO_SLIPS), INFO, PAD.descriptor)
    for _ in range(2):
        main(["learn", "--capture", str(tmp_path / "walk.npz")])
    assert len(list(paths.sheets_folder().glob("*.old"))) == 1


def test_what_is_in_doubt_is_left_out_until_it_is_accepted(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    pad = random_pad(9002, odd_range=True, descriptor="none", copying="none")
    seen = walked(pad, walk(pad.controls), slips=NO_SLIPS)
    kept, out = tmp_path / "walk.npz", tmp_path / "sheet.toml"
    keep_walk(kept, seen, INFO, b"")
    order = ["learn", "--capture", str(kept), "--out", str(out)]
    assert main(order) == 1
    assert "confirm that this is its full travel" in capsys.readouterr().out
    assert "left_stick" not in {c.id for c in load_sheet(out).controls}
    assert main([*order, "--accept", "left_stick"]) == 1
    assert load_sheet(out).control("left_stick").twin is None, "the other one stays in doubt"
    assert main([*order, "--accept", "left_stick", "right_stick"]) == 0
    assert "left_stick" in {c.id for c in load_sheet(out).controls}
    assert main([*order, "--accept", "left_eye"]) == 2
    assert "There is no guess for 'left_eye'" in capsys.readouterr().err


def test_a_person_confirms_guess_by_guess() -> None:
    pad = random_pad(9002, odd_range=True, descriptor="none", copying="none")
    learned = learn(walked(pad, walk(pad.controls), slips=NO_SLIPS))
    asked: list[str] = []

    def only_the_left_one(question: str) -> bool:
        asked.append(question)
        return question.startswith("Left stick")

    sheet = confirmed(learned, only_the_left_one).sheet
    assert len(asked) == 2
    assert {"left_stick", "right_stick"} & {c.id for c in sheet.controls} == {"left_stick"}


@pytest.mark.parametrize(
    ("marks", "said"),
    [
        ((), "The capture holds no guided walk"),
        ((Mark(0, "begin", "learn", "left_stick.wave"), Mark(5, "end", "learn", "left_stick.wave")), "has no step"),
        ((Mark(0, "begin", "learn", "left_stick.press"), Mark(5, "end", "learn", "left_stick.press")), "no step of a"),
    ],
    ids=["no walk in it", "a step that is unknown", "a step of another kind"],
)
def test_a_capture_without_a_walk_is_refused_in_one_sentence(
    marks: tuple[Mark, ...], said: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "other.npz"
    block = ReportBlock(0, np.zeros(1, np.int64), np.ones(1, np.uint16), np.zeros((1, 1), np.uint8))
    save_capture(path, Capture(b"", block, CaptureMeta(0x1209, 1), marks))
    assert main(["learn", "--capture", str(path)]) == 2
    assert said in capsys.readouterr().err


def test_without_a_device_it_says_what_to_do(rig: Rig, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["learn"]) == 2
    assert "plug it in" in capsys.readouterr().err


def test_a_device_that_does_not_say_what_it_is_is_learned_when_it_is_named(
    rig: Rig, capsys: pytest.CaptureFixture[str]
) -> None:
    silent = rig.plug(pad.VENDOR_ONLY, pad.VENDOR, 9, "Odd pad", "S")
    assert main(["learn"]) == 2
    assert "These do not say what they are: Odd pad; name the pad with --device." in capsys.readouterr().err
    assert silent.opens == 0
    for word in ("odd", "1209:0009"):
        info = learn_command._device(word)
        assert (info.product, info.problem, info.descriptor) == ("Odd pad", "", pad.VENDOR_ONLY)


def test_a_sheet_that_is_learned_anew_keeps_what_no_walk_can_show() -> None:
    before = Sheet(
        "Pad", ((1, 2),), (b"\x01\x02",), asks=(Ask("charge", "Charge light on?", ("V",)),),
        parts=(Part("a", "Left stick sensor", ("left_stick.x",)), Part("b", "Tail", ("tail",))),
        limits={"rest": {"offset": (3.0, 9.0)}}, rumble={"off": b"\x03"},
    )  # fmt: skip
    learned = Sheet("Pad", ((3, 4),), controls=(Control("left_stick", "stick", "Left stick"),))
    made = carried_over(learned, before)
    assert made.match == ((3, 4), (1, 2))
    assert (made.talk, made.asks, made.limits, made.rumble) == (before.talk, before.asks, before.limits, before.rumble)
    assert [p.id for p in made.parts] == ["a"], "a part of a control that is gone goes with it"
    assert made.controls == learned.controls
    assert carried_over(learned, replace(before, drawn_up=True)) == replace(learned, asks=before.asks)


def test_what_is_taught_of_one_pad_leaves_the_others_of_its_class_their_sheet(tmp_path: Path) -> None:
    shelf, other = SheetShelf(tmp_path), DeviceInfo("3-1:1.0", 1, 2, "Other", "", "usb", b"", interface="ff5d01")
    of_class = shelf.know(other).sheet
    learned = Sheet(of_class.name, ((3, 4),), controls=of_class.controls)
    shelf.save(carried_over(learned, of_class))
    assert shelf.know(other).sheet.match == ((3, 4),), "under the name of the class it is the sheet of the class"
    assert carried_over(replace(learned, name="Mine"), of_class).interfaces == ()


@pytest.fixture
def live(monkeypatch: pytest.MonkeyPatch) -> Callable[[Bench], list[str]]:
    """`restpoint learn` with a made-up pad plugged in; the command's arguments say how many controls it has."""

    def plug_in(bench: Bench) -> list[str]:
        bench.wait_open, bench.descriptor = lambda: None, PAD.descriptor  # type: ignore[attr-defined]
        monkeypatch.setattr(learn_command, "list_devices", lambda **_: (INFO,))
        monkeypatch.setattr(learn_command, "UsbSource", lambda info, talk, allow_private: bench)
        monkeypatch.setattr(learn_command.time, "sleep", bench.wait)
        ids = [c.id for c in PAD.controls]
        face, centre = sum("_face" in i for i in ids), sum(i.startswith("centre_") for i in ids)
        paddles, sticks = sum("paddle" in i for i in ids), sum(i.endswith("_stick") for i in ids)
        counts = {"sticks": sticks, "face": face, "centre": centre, "paddles": paddles}
        return ["learn", *(word for k, n in counts.items() for word in (f"--{k}", str(n)))]

    return plug_in


def test_the_command_walks_with_a_device_and_its_walk_is_closed_by_the_sheet(
    live: Callable[[Bench], list[str]], capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(live(Bench())) == 0
    said = capsys.readouterr().out
    assert f"1/{len(walk(PAD.controls))}  Put the device down" in said
    assert {c.id for c in load_sheet(paths.sheets_folder() / "made_up_pad.toml").controls} >= {"left_stick"}
    assert len(list(paths.walks_folder().glob("*.npz"))) == 1
    assert WalkShelf(paths.walks_folder()).open_walk(INFO) is None


def test_a_walk_that_the_command_could_not_finish_is_kept_and_said_where(
    live: Callable[[Bench], list[str]], capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(live(Bench(last=5))) == 2
    out, err = capsys.readouterr()
    assert "It was unplugged" in err
    path = WalkShelf(paths.walks_folder()).open_walk(INFO)
    assert path is not None
    assert f"walk: {path}" in out
    assert len(kept_steps(path)) == 5


def test_a_pad_that_has_to_be_started_is_started_before_the_walk(rig: Rig, monkeypatch: pytest.MonkeyPatch) -> None:
    device = UsbPad(rig, claimed.STARTED)

    def walk_it(lesson: Teaching, **_: object) -> None:
        end = time.monotonic() + 20
        while not device.written and time.monotonic() < end:
            time.sleep(0.005)
        raise DeviceLost("enough")

    monkeypatch.setattr(learn_command, "walk_through", walk_it)
    assert main(["learn"]) == 2
    assert device.written[0][:2] == claimed.START
