"""Make the sample units again: model sheets, captures and the table of true faults. The same files every time.

python sample_units/make.py [FOLDER]
"""

from __future__ import annotations

import sys
from pathlib import Path
from typing import cast

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from station.capture.file import save_capture
from station.sheets.drawup import by_bits
from station.sheets.model import ACCEL, GYRO, Ask, Control, Part, Place, Sheet, Zone
from station.sheets.write import save_sheet
from station.sources.simulated.design import Kit, PadControl, PadDesign
from station.sources.simulated.naming import told
from station.sources.simulated.recording import make_capture
from station.sources.simulated.samples import HELD, LIGHT_PRESSED, SAMPLES, SampleUnit, sample_hand, sample_plan

HERE = Path(__file__).resolve().parent
KITS: tuple[Kit, ...] = ("8bit", "16bit", "packed")
SHEET_FILES: dict[Kit, str] = {
    "8bit": "plover_t2.toml",
    "16bit": "plover_t2_wide.toml",
    "packed": "plover_t2_compact.toml",
}
ASKS = (
    Ask("charge", "Charge light on, and the meter's reading", ("V", "A")),
    Ask("look", "Shell whole, no crack, no liquid; label readable"),
    Ask("rumble", "Both motors run, none rattles"),
)


def sheet_of(design: PadDesign) -> Sheet:
    """The model sheet of a design."""
    return Sheet(
        name=design.name,
        match=(design.ids,),
        controls=tuple(_control(c, design) for c in design.controls),
        asks=ASKS,
        parts=_parts(design),
    )


def _control(c: PadControl, design: PadDesign) -> Control:
    zone = cast("Zone", c.zone)
    if c.kind == "stick":
        x, y = c.usages
        places = {"x": Place(usage=x), "y": Place(usage=y, up=c.up)}
        return Control(c.id, "stick", c.name, zone, c.twin, design.gate_shape, **places)
    if c.kind == "motion":
        axes = tuple((name, Place(usage=usage)) for name, usage in zip((*ACCEL, *GYRO), c.usages, strict=True))
        return Control(c.id, c.kind, c.name, zone, axes=axes)
    if c.kind == "touch":
        by_usage = {f.usage: f for f in design.touch_report.fields}
        at, x, y = (by_bits(by_usage[usage]) for usage in c.usages)
        return Control(c.id, c.kind, c.name, zone, at=at, x=x, y=y)
    return Control(c.id, c.kind, c.name, zone, c.twin, at=Place(usage=c.usages[0]))


def _parts(design: PadDesign) -> tuple[Part, ...]:
    parts = []
    for c in design.controls:
        if c.kind == "stick":
            parts += [
                Part(f"{c.id}_module", f"{c.name} module", (c.id,)),
                Part(f"{c.id}_x_sensor", f"{c.name} sensor, horizontal", (f"{c.id}.x",)),
                Part(f"{c.id}_y_sensor", f"{c.name} sensor, vertical", (f"{c.id}.y",)),
            ]
        elif c.kind == "trigger":
            parts.append(Part(f"{c.id}_sensor", f"{c.name} sensor", (c.id,)))
    buttons = {c.id for c in design.controls if c.kind == "button"}
    groups = (
        ("shoulder_switch", "Shoulder switch", ("left_shoulder", "right_shoulder")),
        ("face_membrane", "Membrane of the face buttons", ("south", "east", "west", "north")),
        ("hat_membrane", "Membrane of the hat", ("hat",)),
        ("paddle_switch", "Paddle switch", ("left_paddle", "right_paddle")),
        ("main_board", "Main board", tuple(sorted(buttons))),
    )
    return (*parts, *(Part(*group) for group in groups), Part("cable", "Cable with connector"))


def readme(sizes: dict[str, tuple[float, int]]) -> str:
    """What the folder holds, with the true faults; `sizes`: tag → seconds and reports."""
    lines = [
        "# Sample units",
        "",
        'Captures of twelve invented "Plover T2" pads: lot SM-07 of the invented Saltmarsh Reuse Workshop.',
        "They are computed by `station.sources.simulated`, a physical model of sticks, contacts, link and hand, so the"
        " true fault of each is known.",
        "`python sample_units/make.py` makes every file here again, always the same.",
        "",
        "| capture | what is wrong | seller's claim | layout | reports a second | seconds | reports |",
        "| --- | --- | --- | --- | --- | --- | --- |",
    ]
    for one in SAMPLES:
        seconds, reports = sizes[one.tag]
        design = one.spec.design
        rate = f"{design.rate_hz}{', on change' if design.on_change else ''}"
        claim = one.claim or "none"
        lines.append(f"| {one.tag}.npz | {one.title} | {claim} | {design.kit} | {rate} | {seconds:.0f} | {reports} |")
    lines += ["", "## True faults", ""]
    lines += ["| unit | kind | control | axis, direction or bearing | magnitude |", "| --- | --- | --- | --- | --- |"]
    lines += [row for one in SAMPLES for row in _fault_rows(one)]
    lines += [
        "",
        "## What was recorded",
        "",
        "Every check that a capture can hold, for every control.",
        f"To keep the files small, the light press stands only for {', '.join(LIGHT_PRESSED)},"
        f" the steady hold only for {', '.join(HELD)}.",
        "The hand is careful (skill 0.9), yet it trembles, drifts, presses early and late, and may forget a beat.",
        "",
        "## Sheets",
        "",
    ]
    lines += [f"- `{SHEET_FILES[kit]}`: {PadDesign(kit).name}, layout {kit}" for kit in KITS]
    return "\n".join(lines) + "\n"


def _fault_rows(one: SampleUnit) -> list[str]:
    rows = []
    for f in one.spec.faults:
        bearing = f"{f.direction:g}°" if isinstance(f.direction, float) else f.direction
        rows.append(f"| {one.tag} | {f.kind} | {f.control or 'link'} | {bearing or f.axis or ''} | {told(f)} |")
    return rows or [f"| {one.tag} | none | | | |"]


def make(folder: Path) -> None:
    """Write everything into `folder`."""
    for kit in KITS:
        save_sheet(folder / SHEET_FILES[kit], sheet_of(PadDesign(kit)))
    sizes = {}
    for one in SAMPLES:
        sheet = sheet_of(one.spec.design)
        capture = make_capture(one.spec, sample_hand(one), sample_plan(one), sheet=sheet.name)
        save_capture(folder / f"{one.tag}.npz", capture)
        sizes[one.tag] = (float(capture.block.t_ns[-1]) / 1e9, len(capture.block))
        print(f"{one.tag}: {one.title}, {sizes[one.tag][0]:.0f} s, {sizes[one.tag][1]} reports")
    (folder / "README.md").write_text(readme(sizes), encoding="utf-8")


if __name__ == "__main__":
    make(Path(sys.argv[1]) if len(sys.argv) > 1 else HERE)
