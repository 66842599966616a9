"""What is said to a device on opening and after: steps, answers, what keeps it awake, and how each fails."""

from __future__ import annotations

import json
import threading
from collections.abc import Callable

import pytest

from station.sources.conversation import (
    NOTHING,
    Conversation,
    KeepAlive,
    Reply,
    Step,
    as_values,
    from_values,
    plain,
)
from station.sources.talking import MOST_WAITING, Failed, Talker

ASK, YES = b"\x05\x20", b"\x20\x01"
EXPECTING = Step(ASK, expect=b"\x20", within_ms=5000)


class Pad:
    """Takes what is sent, and says what it was told to say to it."""

    def __init__(self, says: Callable[[bytes], bytes | None] = lambda report: None, refuses: bytes = b"") -> None:
        self.sent: list[tuple[bytes, bool]] = []
        self.answers: list[bytes] = []
        self._says, self._refuses = says, refuses
        self.talker = Talker(NOTHING, self.send, self.answers.append)

    def told(self, *steps: Step) -> Failed | None:
        self.talker = Talker(Conversation(steps), self.send, self.answers.append)
        return self.talker.open()

    def send(self, report: bytes, feature: bool) -> str:
        self.sent.append((report, feature))
        if self._refuses and report.startswith(self._refuses):
            return "a stall"
        if (said := self._says(report)) is not None:
            self.talker.saw(said)
        return ""


def test_steps_are_sent_in_order_and_waited_for() -> None:
    pad = Pad(lambda report: YES if report == ASK else None)
    assert pad.told(Step(b"\x01", feature=True), EXPECTING, Step(b"\x02")) is None
    assert pad.sent == [(b"\x01", True), (ASK, False), (b"\x02", False)]


def test_silence_is_tried_again_and_stops_the_opening_at_its_step() -> None:
    pad = Pad()
    silent = Step(ASK, expect=b"\x20", within_ms=1, tries=3)
    assert pad.told(Step(b"\x01"), silent, Step(b"\x02")) == Failed(2)
    assert [report for report, _ in pad.sent] == [b"\x01", ASK, ASK, ASK]


def test_an_answer_to_the_last_try_is_enough() -> None:
    pad = Pad(lambda report: YES if [r for r, _ in pad.sent].count(ASK) == 3 else None)
    assert pad.told(Step(ASK, expect=b"\x20", within_ms=1, tries=3)) is None


def test_silence_that_may_be_is_passed_over() -> None:
    pad = Pad()
    assert pad.told(Step(ASK, expect=b"\x20", within_ms=1, go_on=True), Step(b"\x02")) is None
    assert pad.sent[-1] == (b"\x02", False)


def test_another_report_is_not_what_was_waited_for() -> None:
    pad = Pad(lambda report: b"\x21")
    assert pad.told(Step(ASK, expect=b"\x20", within_ms=1)) == Failed(1)


@pytest.mark.parametrize(("go_on", "sent"), [(False, 1), (True, 2)], ids=["stops", "goes on"])
def test_a_refusal_is_told_by_its_step(go_on: bool, sent: int) -> None:
    pad = Pad(refuses=b"\x01")
    assert pad.told(Step(b"\x01", go_on=go_on), Step(b"\x02")) == Failed(1, "a stall")
    assert len(pad.sent) == sent


def test_plain_reports_are_all_sent_whatever_is_refused() -> None:
    pad = Pad(refuses=b"\x01")
    assert pad.told(*plain(b"\x01", b"\x02").steps) == Failed(1, "a stall")
    assert len(pad.sent) == 2


def test_whoever_ends_it_does_not_wait_for_an_answer() -> None:
    asked = threading.Event()
    pad = Pad(lambda report: asked.set())
    ended: list[Failed | None] = []
    thread = threading.Thread(target=lambda: ended.append(pad.told(Step(ASK, expect=b"\x20", within_ms=60_000))))
    thread.start()
    assert asked.wait(20)
    pad.talker.end()
    thread.join(20)
    assert ended == [None]


def test_an_answer_bears_the_bytes_of_what_it_answers() -> None:
    answers: list[bytes] = []
    reply = Reply(b"\x07\x30", bytes(5), (2, 4))
    talker = Talker(Conversation(replies=(reply,)), lambda report, feature: "", answers.append)
    talker.saw(b"\x07\x30\xaa\xbb\xcc")
    talker.saw(b"\x07\x20\xaa\xbb\xcc")
    talker.saw(b"\x07\x30\x11")
    assert answers == [bytes((0, 0, 0xAA, 0, 0xCC)), bytes((0, 0, 0x11, 0, 0))]


def test_a_device_that_asks_without_end_gets_no_more_answers_than_it_takes() -> None:
    answers: list[bytes] = []
    talker = Talker(Conversation(replies=(Reply(b"\x07", b"\x01"),)), lambda report, feature: "", answers.append)
    for _ in range(1000):
        talker.saw(b"\x07")
    assert len(answers) == MOST_WAITING
    talker.answered()
    talker.saw(b"\x07")
    assert len(answers) == MOST_WAITING + 1


def test_a_device_that_takes_its_time_over_being_kept_awake_leaves_room_for_commands() -> None:
    slow = threading.Event()
    talker = Talker(Conversation(keep_alive=KeepAlive(b"\x11", 20)), lambda r, f: str(slow.wait(0.05)), lambda r: None)
    assert talker.pause_s() == pytest.approx(0.02, abs=0.02)
    talker.keep_alive()
    assert (talker.pause_s() or 0) > 0


def test_a_running_number_stands_where_the_device_wants_it() -> None:
    talker = Talker(Conversation(counter=2), lambda report, feature: "", lambda report: None)
    assert talker.numbered(b"\x09\x00\x00\x09", 258) == b"\x09\x00\x02\x09"
    assert talker.numbered(b"\x09\x00", 1) == b"\x09\x00"


def test_what_is_said_goes_to_the_reader_process_as_json() -> None:
    said = Conversation(
        (Step(ASK, True, b"\x20", 100, 3, True), Step(b"\x01")),
        (Reply(b"\x07", b"\x01\x02", (1,)),),
        KeepAlive(b"\x11", 500),
        2,
    )
    for one in (said, NOTHING, plain(b"\x01")):
        assert from_values(json.loads(json.dumps(as_values(one)))) == one
    assert list(said.sends()) == [ASK, b"\x01", b"\x01\x02", b"\x11"]
    assert [step.feature for step in said.settled(lambda report: False).steps] == [True, False]
