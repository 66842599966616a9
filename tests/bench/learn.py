"""How much of an unknown pad is learned from its reports alone, over random simulated pads.

    python tests/bench/learn.py [--pads 200] [--seed 1] [--vendor]

Every pad has a random layout (tests/sheets/learn_pads.py); a simulated hand with tremor and slips (learn_hand.py) goes
through the walk once, and does again what is asked again, at most three times. A control is right when the learned
sheet and the true one read the same from a recording in which everything moves; asked about when a
question is open; else wrong. `--vendor`: pads without a descriptor whose reports are of several kinds (vendor_pads.py).
Every third of those says nothing until its sheet has spoken to it, and most of them go silent again when they are not
answered or kept awake (vendor_talk.py); unspoken to, nothing may be learned of them, and the sheet that was learned has
to wake them again. Exit status 1 where a bar is missed. The last line is one JSON object.
"""

from __future__ import annotations

import argparse
import json
import sys
import time
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from station.app.shelf_of_sheets import carried_over
from station.hid.descriptor import parse_descriptor
from station.sheets.learn import Learned, Observed, again, duration_s, learn, walk
from station.sheets.load import parse_sheet, sheet_text
from station.sources.conversation import NOTHING, Conversation
from tests.sheets.learn_hand import walked
from tests.sheets.learn_pads import Pad, random_pad, sizes
from tests.sheets.learn_truth import judged
from tests.sheets.vendor_pads import vendor_pad
from tests.sheets.vendor_talk import Device, Wants, heard, wants_of

ROUNDS = 3
BAR_RIGHT = 0.98
TWENTY = 20
BAR_SECONDS = 180.0
"""for the walk and all questions with up to twenty controls, whoever is not among the clumsiest two in a hundred"""
BAR_QUICK = 0.98


@dataclass
class Tally:
    """Counts over all pads; `first` after the walk alone, `last` after the questions."""

    first: Counter[str] = field(default_factory=Counter)
    last: Counter[str] = field(default_factory=Counter)
    seconds: list[float] = field(default_factory=list)
    up_to_twenty: list[float] = field(default_factory=list)
    learn_s: list[float] = field(default_factory=list)
    talks: Counter[str] = field(default_factory=Counter)
    """of the pads that have to be spoken to: how many there were, and what went wrong with one"""
    confidence: dict[str, list[float]] = field(default_factory=lambda: {"right": [], "asked": [], "wrong": []})


def learned_from(pad: Pad, steps: list[Observed]) -> tuple[Learned, float]:
    """What is learned, and how long that took."""
    layout = parse_descriptor(pad.descriptor) if pad.descriptor else None
    begun = time.perf_counter()
    learned = learn(steps, layout=layout, name=pad.truth.name)
    return learned, time.perf_counter() - begun


def one_pad(pad: Pad, tally: Tally, verbose: bool, wants: Wants | None = None) -> None:
    """Walk, learn, and answer the questions of one pad."""
    script = walk(pad.controls)
    device = spoken_to(wants, said_by_its_sheet(pad, wants), tally) if wants else None

    def arrived(sent: tuple[Observed, ...]) -> tuple[Observed, ...]:
        return heard(sent, device) if device else sent

    steps, now_s = list(arrived(walked(pad, script))), duration_s(script)
    if wants is not None:
        says_nothing(pad, wants, tally)
    learned, spent = learned_from(pad, steps)
    tally.learn_s.append(spent)
    found = judged(pad, learned)
    tally.first.update(found.values())
    if "wrong" in found.values():
        print("after the walk alone:")
        show(pad, found, learned)
    for number in range(1, ROUNDS + 1):
        more = again(learned)
        if not more:
            break
        steps += arrived(walked(pad, more, seed=number, begin_s=now_s))
        now_s += duration_s(more)
        learned, _ = learned_from(pad, steps)
        found = judged(pad, learned)
    tally.last.update(found.values())
    tally.seconds.append(now_s)
    if len(pad.controls) <= TWENTY:
        tally.up_to_twenty.append(now_s)
    if wants is not None:
        wakes_again(pad, wants, learned, tally)
    for control, verdict in found.items():
        tally.confidence[verdict].append(learned.confidences.get(control, 0.0))
    if verbose or "wrong" in found.values():
        show(pad, found, learned)


def said_by_its_sheet(pad: Pad, wants: Wants) -> Conversation:
    """What the pad's sheet says, as it is read from the sheet's file."""
    return parse_sheet(sheet_text(replace(pad.truth, talk=wants.talk)), "bench.toml").talk


def spoken_to(wants: Wants, said: Conversation, tally: Tally) -> Device:
    """The pad, after what its sheet says on opening."""
    device = Device(wants, said)
    tally.talks["pads"] += 1
    tally.talks["did not answer"] += device.open() is not None or not device.reports
    return device


def says_nothing(pad: Pad, wants: Wants, tally: Tally) -> None:
    """Not spoken to it sends nothing, and nothing is learned of it."""
    device = Device(wants, NOTHING)
    silent = heard(walked(pad, walk(pad.controls)), device)
    learned, _ = learned_from(pad, list(silent))
    known = any(len(step.block) for step in silent) or learned.sheet.controls or not learned.questions
    tally.talks["learned of silence"] += bool(known)


def wakes_again(pad: Pad, wants: Wants, learned: Learned, tally: Tally) -> None:
    """The sheet that was learned, saved and read again, says what the pad wants to hear."""
    before = replace(pad.truth, talk=said_by_its_sheet(pad, wants))
    saved = parse_sheet(sheet_text(carried_over(learned.sheet, before)), "bench.toml")
    device = Device(wants, saved.talk)
    tally.talks["stays silent by the learned sheet"] += device.open() is not None or not device.until(20.0)


def show(pad: Pad, found: Mapping[str, str], learned: Learned) -> None:
    """What was not right on a pad, for whoever wants to know why."""
    odd = {c: v for c, v in found.items() if v != "right"}
    print(f"pad {pad.seed} ({sizes(pad)})")
    for control, verdict in odd.items():
        asked = [q.text for q in learned.questions if control.startswith(q.control)]
        print(f"    {control}: {verdict}. {' '.join(asked)}")
        for sheet in (pad.truth, learned.sheet):
            print("       ", next((c for c in sheet.controls if c.id == control), None))


def main() -> int:
    """Run; 1 where a bar is missed."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--pads", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--only", type=int, nargs="+", help="these pads, by the number that is printed")
    parser.add_argument("--vendor", action="store_true", help="pads of several kinds of reports, without a descriptor")
    parser.add_argument("--verbose", action="store_true", help="also say what was asked about")
    args = parser.parse_args()
    tally = Tally()
    numbers = args.only or [1000 * args.seed + i for i in range(args.pads)]
    for number in numbers:
        pad = vendor_pad(number) if args.vendor else random_pad(number)
        one_pad(pad, tally, args.verbose, wants_of(number) if args.vendor else None)
    total = sum(tally.last.values())
    share = {k: tally.last[k] / total for k in ("right", "asked", "wrong")}
    seconds = sorted(tally.seconds)
    print(f"{len(numbers)} pads, {total} controls")
    for name, counts in (("after the walk", tally.first), ("after the questions", tally.last)):
        print(f"  {name}: " + ", ".join(f"{counts[k]} {k}" for k in ("right", "asked", "wrong")))
    print(f"  walk and questions: {seconds[len(seconds) // 2]:.0f} s in the middle, {seconds[-1]:.0f} s at most")
    quick = sum(s < BAR_SECONDS for s in tally.up_to_twenty) / max(len(tally.up_to_twenty), 1)
    mute = sum(count for what, count in tally.talks.items() if what != "pads")
    good = share["right"] >= BAR_RIGHT and not tally.last["wrong"] and quick >= BAR_QUICK and not mute
    if args.vendor:
        print("  spoken to: " + ", ".join(f"{count} {what}" for what, count in tally.talks.items()))
    result = {
        "bench": "learn",
        "pads": len(numbers),
        "seed": args.seed,
        "vendor": args.vendor,
        "spoken_to": dict(tally.talks),
        "controls": total,
        "right": round(share["right"], 5),
        "asked": round(share["asked"], 5),
        "silently_wrong": tally.last["wrong"],
        "right_after_walk_alone": round(tally.first["right"] / max(sum(tally.first.values()), 1), 5),
        "silently_wrong_after_walk_alone": tally.first["wrong"],
        "walk_s_median": seconds[len(seconds) // 2],
        "walk_s_max": seconds[-1],
        "walk_s_max_20_controls": max(tally.up_to_twenty, default=0.0),
        "under_180_s_20_controls": round(quick, 5),
        "learn_s_max": round(max(tally.learn_s), 2),
        "bar": {"right": BAR_RIGHT, "silently_wrong": 0, "under_180_s_20_controls": BAR_QUICK},
        "ok": good,
    }
    print(json.dumps(result))
    return 0 if good else 1


if __name__ == "__main__":
    raise SystemExit(main())
