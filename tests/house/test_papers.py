"""The papers are true: links resolve, citations name what is there, and what they list is what the code has."""

from __future__ import annotations

import json
import re
import tomllib
from dataclasses import fields
from pathlib import Path

import pytest

from station import SAMPLE_UNITS
from station.app.labels import SIZES
from station.app.main import parser
from station.capture import file as capture_file
from station.capture.types import MARK_EVENTS, CaptureMeta
from station.certificate.labels import sizes
from station.checks.house import load_house
from station.checks.light import ON_REQUEST
from station.checks.registry import CHECKS, codes_of, described
from station.checks.types import Outcome
from station.diagnosis.guide import load_guide
from station.judgement.limits import standard
from station.records.types import CLAIM_STATES, VISIT_KINDS
from station.sheets.load import parse_sheet
from station.sheets.model import KINDS, Ask, Control, Place, Sheet
from station.ui.own_keys import read_own_keys
from tests.house.papers import CODE, PAPERS, ROOT, anchor, blocks, headings, links, table, without_code

DOCS = ROOT / "docs"


def _named(path: Path) -> str:
    return path.relative_to(ROOT).as_posix()


@pytest.mark.parametrize("paper", PAPERS, ids=_named)
def test_every_link_leads_to_a_file_and_a_heading(paper: Path) -> None:
    broken = []
    for link in links(paper):
        if link.startswith("https://"):
            continue
        target, _, wanted = link.partition("#")
        found = (paper.parent / target).resolve() if target else paper
        if not found.exists() or (wanted and wanted not in map(anchor, headings(found))):
            broken.append(link)
    assert not broken


@pytest.mark.parametrize("paper", PAPERS, ids=_named)
def test_every_file_that_a_paper_names_is_there(paper: Path) -> None:
    text = paper.read_text("utf-8")
    named = re.findall(r"(?<![\w/.])((?:station|tests|resources|sample_units|docs)/[\w./-]*\w)", text)
    missing = {name for name in named if "NAME" not in name and "CODE" not in name and not (ROOT / name).exists()}
    assert not missing


def test_every_paper_that_code_cites_is_there_and_has_what_is_cited() -> None:
    cited = re.compile(r"docs/([\w./-]+\.md)(?: §(\d+)|,\s\"([^\"]+)\")?")
    wrong = []
    for path in CODE:
        for paper, number, heading in cited.findall(path.read_text("utf-8")):
            found = headings(DOCS / paper) if (DOCS / paper).is_file() else []
            known = [h for h in found if (number and h.startswith(f"{number}. ")) or (heading and h == heading)]
            if not found or ((number or heading) and not known):
                wrong.append(f"{_named(path)}: {paper} {number}{heading}")
    assert not wrong


def test_a_paragraph_is_cited_with_the_paper_it_stands_in() -> None:
    """“§7” alone, in a file that names no standard with paragraphs, leads nowhere."""
    standard = re.compile(r"HID 1\.11|USB 2\.0|ISO|JCGM|IEEE|NIST|ILAC|RFC|docs/[\w-]+\.md|W3C|USB-IF")
    assert not [_named(path) for path in CODE if "§" in (text := path.read_text("utf-8")) and not standard.search(text)]


def test_nothing_that_a_person_reads_rests_on_memory() -> None:
    """What was not looked up may stand beside a check value in tests, else nowhere; DEVELOPERS.md tells so."""
    read = [*PAPERS, *(path for path in CODE if not _named(path).startswith("tests/"))]
    assert not [
        _named(path)
        for path in read
        if re.search(r"from memory[.,;:)]", path.read_text("utf-8")) and path.name != "DEVELOPERS.md"
    ]


def test_the_picture_of_the_layers_is_the_contract() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))
    (contract,) = [c for c in project["tool"]["importlinter"]["contracts"] if c.get("containers") == ["station"]]
    picture = blocks(DOCS / "architecture.md", "text")[0].splitlines()
    assert [line[:24].strip() for line in picture] == contract["layers"], "mend docs/architecture.md"
    assert contract["exhaustive"]


def test_developers_lists_every_package() -> None:
    listed = {
        row[0].strip("`").removeprefix("station/").rstrip("/")
        for row in table(ROOT / "DEVELOPERS.md", "Where things are")
    }
    packages = {path.name for path in (ROOT / "station").iterdir() if path.is_dir() and path.name != "__pycache__"}
    assert packages <= listed, "add a row to DEVELOPERS.md, “Where things are”"


def test_the_words_for_checks_are_those_of_the_code() -> None:
    rows = table(DOCS / "METHOD.md", "Checks")
    paper = {
        word: title
        for row in rows
        for word, title in zip(re.findall(r"`(\w+)`", row[0]), row[1].split(", "), strict=True)
    }
    assert paper == {check.name: check.title for check in (*CHECKS.values(), *ON_REQUEST.values())}


@pytest.mark.parametrize("row", table(DOCS / "METHOD.md", "Checks"), ids=lambda row: row[1])
def test_each_check_is_of_the_kind_of_control_that_stands_there(row: list[str]) -> None:
    of = row[2].split(",")[0]
    there = (Control("stick", "stick", "Stick"), Control("a", "button", "A"), Control("b", "button", "B"))
    axes = (("accel_x", Place(usage=0x20_0453)),)
    for word in re.findall(r"`(\w+)`", row[0]):
        sheet = Sheet("S", controls=there, asks=(Ask(word, "?"),))
        check = CHECKS.get(word) or ON_REQUEST[word]
        kinds = [k for k in KINDS if check.applies(Control("c", k, "C", axes=axes), sheet)]
        assert kinds == ([] if of == "the whole unit" else of.split(" and "))
        assert check.applies(None, sheet) == (of == "the whole unit")


def test_the_codes_of_findings_are_those_of_the_code() -> None:
    listed = {row[0].strip("`") for row in table(DOCS / "METHOD.md", "Findings")}
    made = {code for name, about in described().items() if not about.person_answers for code in codes_of(name)}
    shown = {code for suspect in load_guide().suspects for code in suspect.shows}
    assert listed == made
    asked = {"battery", "charge", "look", "look_stop", "rumble"}
    assert shown - listed == asked | {"firm_misses"}, "words of asks, and what tells a contact from what lies behind it"


@pytest.mark.parametrize(
    ("word", "values"),
    [
        ("outcome", [outcome.value for outcome in Outcome]),
        ("visit", list(VISIT_KINDS)),
        ("claim", [state for state in CLAIM_STATES if state != "open"]),
    ],
)
def test_data_words_are_those_of_the_code(word: str, values: list[str]) -> None:
    (row,) = [row for row in table(DOCS / "words.md", "Things") if row[0] == word]
    assert re.findall(r"\*([\w ]+)\*", row[1]) == values


def test_the_arrays_marks_and_fields_of_a_capture_are_those_of_the_code() -> None:
    paper = DOCS / "formats.md"
    arrays = [row[0].strip("`") for row in table(paper, "Captures")]
    assert arrays == list(capture_file._WANTED)
    text = without_code(paper.read_text("utf-8")).split("## Captures")[1].split("## ")[0]
    words = set(re.findall(r"`(\w+)`", text))
    assert {field.name for field in fields(CaptureMeta)} | {
        *MARK_EVENTS,
        "format",
        "version",
        "marks",
        "witness",
        "mass_g",
    } <= words


def test_the_lines_that_read_a_capture_read_one(capsys: pytest.CaptureFixture[str]) -> None:
    text = (ROOT / "docs" / "formats.md").read_text("utf-8")
    (lines,) = (block for block in re.findall(r"```python\n(.*?)```", text, re.DOTALL) if "numpy.load" in block)
    exec(compile(lines.replace('"SM-', f'"{SAMPLE_UNITS.as_posix()}/SM-'), "formats.md", "exec"), {})
    said = capsys.readouterr().out
    read = capture_file.read_capture(SAMPLE_UNITS / "SM-07-02.npz")
    assert f"{read.meta.product} {len(read.block.t_ns)} reports" in said
    assert "begin" in said


def test_the_sheet_in_the_papers_is_a_sheet() -> None:
    text, *_ = blocks(DOCS / "formats.md", "toml")
    sheet = parse_sheet(text, "docs/formats.md")
    assert {control.kind for control in sheet.controls} == {"stick", "trigger", "button"}
    assert sheet.limits
    assert sheet.rumble


def test_what_the_papers_say_to_a_device_can_be_said() -> None:
    sheet, text, *_ = blocks(DOCS / "formats.md", "toml")
    head = sheet[: sheet.index("open =")]
    talk = parse_sheet(head + text, "docs/formats.md").talk
    assert (len(talk.steps), len(talk.replies), talk.counter) == (3, 1, 2)
    assert talk.keep_alive is not None


def test_the_limits_and_grades_in_the_papers_can_be_used(tmp_path: Path) -> None:
    _, _, text, *_ = blocks(DOCS / "formats.md", "toml")
    (tmp_path / "limits.toml").write_text(text, "utf-8")
    house = load_house(tmp_path / "limits.toml", standard())
    assert [grade.name for grade in house.grades] == ["as new", "good", "sold with faults"]


def test_the_size_of_label_in_the_papers_can_be_used(tmp_path: Path) -> None:
    *_, text = blocks(DOCS / "formats.md", "toml")
    (tmp_path / SIZES).write_text(text, "utf-8")
    assert sizes(tmp_path / SIZES)[0].name == "drawer"


def test_the_keys_in_the_papers_can_be_added() -> None:
    _, _, _, text, *_ = blocks(DOCS / "formats.md", "toml")
    own = read_own_keys(text)
    assert not own.problem
    assert [line.key for line in own.lines] == ["Insert", "K", "M", "S", "F7"]
    assert [line.key for line in own.gone] == ["M", "S", "R"]


def test_the_answer_of_assess_in_the_papers_has_the_fields_that_it_gives(capsys: pytest.CaptureFixture[str]) -> None:
    from station import SAMPLE_UNITS
    from station.app.main import main

    (text,) = blocks(DOCS / "formats.md", "json")
    assert main(["assess", str(SAMPLE_UNITS / "SM-07-02.npz"), "--json"]) == 0
    assert _shape(json.loads(text)) == _shape(json.loads(capsys.readouterr().out))


def _shape(value: object) -> object:
    """The keys at every depth; of a list those of its fullest entry. Parameters differ from finding to finding."""
    if isinstance(value, dict):
        return {key: None if key == "params" else _shape(inner) for key, inner in value.items()}
    if isinstance(value, list):
        return max((_shape(inner) for inner in value), key=lambda shape: len(str(shape)), default=None)
    return None


def test_readme_names_every_command() -> None:
    (commands,) = [
        action.choices
        for action in parser()._actions
        if hasattr(action, "choices") and isinstance(action.choices, dict)
    ]
    text = (ROOT / "README.md").read_text("utf-8")
    assert not [name for name in commands if name != "window" and f"`restpoint {name}" not in text]


def test_the_paper_on_safety_has_every_hazard_of_the_guide_and_every_step_that_can_hurt() -> None:
    guide = load_guide()
    rows = [line for line in (DOCS / "safety.md").read_text("utf-8").splitlines() if line.startswith("| `")]
    assert {row.split("`")[1] for row in rows} == {*guide.hazards, *guide.steps}
    for step, hazards in guide.steps.items():
        (row,) = (row for row in rows if row.startswith(f"| `{step}`"))
        assert set(re.findall("`([a-z]+)`", row)) == {step, *hazards}
