"""Every sentence a person reads stands in station/words, and is used the way that another language can replace it."""

from __future__ import annotations

import ast
import re
import string
from collections.abc import Iterator
from functools import cache
from importlib import import_module
from pathlib import Path

import pytest

import station
from station.words import language

PACKAGE = Path(station.__file__).parent

SENTENCE = re.compile(r"[A-Za-z]{2,}[,;:.…”]? [“(]?[A-Za-z]{1,}")
SQL = re.compile(
    r"\b(SELECT|INSERT|UPDATE|DELETE|CREATE|DROP|ALTER|PRAGMA|BEGIN|WHERE|FROM|ORDER BY|GROUP BY|AND|IN|EXISTS|VACUUM|"
    r"ATTACH|DETACH|IS NOT)\b"
)
"""SQL is written in capitals here; no sentence is"""
TECHNICAL = {
    "ui/painting/look.py": "the style sheet",
    "certificate/paper.py": "the name of the typeface",
    "__init__.py": "the package",
    "records/views.py": "SQL, in pieces",
    "records/derived.py": "SQL, in pieces",
    "sources/apart.py": "a line of Python",
    "app/system.py": "what a shell runs, and XML",
}
"""modules whose strings of several words are no sentences, and what they are"""
DATA_WORDS = (
    "records/types.py", "records/chain.py", "checks/types.py", "sheets/model.py", "sheets/learn/types.py",
    "certificate/verify.py",
)  # fmt: skip
"""the words with spaces that stand in records, their log, sheets, lessons and the JSON of `verify` as data; what is
shown for them stands in station/words"""
OURS = re.compile(r"(Error|Lost|Busy|Denied|Unknown|Locked|Full|Corrupt|TooNew)$")
BUILTIN_ERRORS = frozenset(
    {"AssertionError", "AttributeError", "LookupError", "KeyError", "RuntimeError", "TypeError", "ValueError"}
)
"""a bug of ours reaches the crash hook, and those who mend it read English"""
TEXT_SETTERS = re.compile(
    "QLabel|QPushButton|QCheckBox|QRadioButton|QGroupBox|QAction|drawText|addItem|addTab|"
    "set(Text|ToolTip|WindowTitle|Title|PlaceholderText|AccessibleName|AccessibleDescription)"
)
TEXT_FIRST = frozenset({"plain_label", "key_button", "add_nothing", "say", "Section"})
"""calls of our own whose first argument is shown"""


def modules() -> list[Path]:
    """The modules of the program that are no catalogue."""
    return [p for p in sorted(PACKAGE.rglob("*.py")) if p.relative_to(PACKAGE).parts[0] != "words"]


def data_words() -> frozenset[str]:
    """Every string of several words in a constant of the modules of data."""
    found: set[str] = set()
    for name in DATA_WORDS:
        for node in ast.parse((PACKAGE / name).read_text(encoding="utf-8")).body:
            values = ast.walk(node) if isinstance(node, ast.Assign | ast.AnnAssign | ast.ClassDef) else ()
            found |= {n.value for n in values if isinstance(n, ast.Constant) and isinstance(n.value, str)}
    return frozenset(found)


def spoken(tree: ast.Module) -> Iterator[ast.Constant]:
    """The string constants of a module that a person could come to read."""
    silent: set[int] = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant):
            silent.add(id(node.value))  # a docstring
        if isinstance(node, ast.Call) and _is_silent(node.func):
            silent |= {id(inner) for inner in ast.walk(node)}
        if isinstance(node, ast.Assert) and node.msg is not None:
            silent |= {id(inner) for inner in ast.walk(node.msg)}
        if isinstance(node, ast.Subscript) and isinstance(node.value, ast.Name) and node.value.id == "Literal":
            silent |= {id(inner) for inner in ast.walk(node)}
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in silent:
            yield node


def _is_silent(func: ast.expr) -> bool:
    if isinstance(func, ast.Name):
        return func.id in BUILTIN_ERRORS or func.id in ("cast", "TypeVar")
    if isinstance(func, ast.Attribute):
        log = isinstance(func.value, ast.Name) and func.value.id.lstrip("_") in ("log", "logger", "logging")
        return log or (isinstance(func.value, ast.Name) and func.value.id == "re")
    return False


def sentences_outside(path: Path, data: frozenset[str]) -> list[str]:
    """Where a module holds sentences: "line: text"."""
    name = path.relative_to(PACKAGE).as_posix()
    if name in TECHNICAL:
        return []
    tree = ast.parse(path.read_text(encoding="utf-8"))
    found = [
        f"{name}:{node.lineno}: {node.value!r}"
        for node in spoken(tree)
        if SENTENCE.search(node.value) and not SQL.search(node.value) and node.value not in data
    ]
    calls = [n for n in ast.walk(tree) if isinstance(n, ast.Call)]
    given = [a for call in calls if TEXT_SETTERS.fullmatch(_called(call.func)) for a in call.args]
    given += [a for call in calls if _called(call.func) in TEXT_FIRST for a in call.args[:1]]
    shown = (a for a in given if isinstance(a, ast.Constant) and isinstance(a.value, str))
    found += [f"{name}:{a.lineno}: {a.value!r}" for a in shown if re.search("[A-Za-z]{2}", str(a.value))]
    return sorted(set(found))


def _called(func: ast.expr) -> str:
    return func.id if isinstance(func, ast.Name) else func.attr if isinstance(func, ast.Attribute) else ""


def test_no_sentence_stands_outside_the_catalogue():
    data = data_words()
    assert [place for path in modules() for place in sentences_outside(path, data)] == []


def test_the_search_for_sentences_finds_them(tmp_path, monkeypatch):
    monkeypatch.setitem(globals(), "PACKAGE", tmp_path)
    bad = tmp_path / "bad.py"
    bad.write_text(
        '"""Doc of it."""\nx = f"The file {1} is gone; look again."\nlabel.setText("Save")\n'
        'box.add(plain_label("Tag", "dim"))\n',
        encoding="utf-8",
    )
    assert len(sentences_outside(bad, frozenset())) == 4


def test_words_are_used_through_their_module():
    wrong = []
    for path in sorted(PACKAGE.rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("station.words."):
                wrong += [f"{path.name}: {alias.name}" for alias in node.names if alias.name.isupper()]
    assert wrong == []


@cache
def used_words() -> tuple[tuple[str, str, str, ast.Call | None], ...]:
    """(place, module of words, constant, the call of `.format` on it if there is one) of every use in the program."""
    return tuple(_used_words())


def _used_words() -> Iterator[tuple[str, str, str, ast.Call | None]]:
    for path in sorted(PACKAGE.rglob("*.py")):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        names: dict[str, str] = {}
        for node in ast.walk(tree):
            if isinstance(node, ast.ImportFrom) and node.module == "station.words":
                names |= {alias.asname or alias.name: alias.name for alias in node.names}
        formatted = {
            id(node.func.value): node
            for node in ast.walk(tree)
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute) and node.func.attr == "format"
        }
        for node in ast.walk(tree):
            if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name) and node.value.id in names:
                place = f"{path.relative_to(PACKAGE)}:{node.lineno}"
                yield place, names[node.value.id], node.attr, formatted.get(id(node))


def fields_of(template: str) -> set[str]:
    return {field for _, field, _, _ in string.Formatter().parse(template) if field}


def test_every_template_gets_just_the_fields_it_has():
    wrong = []
    for place, module, name, call in used_words():
        value = getattr(import_module(f"station.words.{module}"), name, None)
        if call is None or not isinstance(value, str) or any(k.arg is None for k in call.keywords):
            continue
        if call.args or {k.arg for k in call.keywords} != {f.partition(".")[0] for f in fields_of(value)}:
            wrong.append(f"{place}: {module}.{name}")
    assert wrong == []


@pytest.mark.parametrize("name", language.catalogue())
def test_the_words_of_a_module_are_its_own(name):
    """A text that is imported into it would be taken for a word, and translated."""
    tree = ast.parse((PACKAGE / "words" / f"{name}.py").read_text(encoding="utf-8"))
    imported = [
        alias.asname or alias.name for node in tree.body if isinstance(node, ast.ImportFrom) for alias in node.names
    ]
    assert set(imported) & set(language.constants(import_module(f"station.words.{name}"))) == set()


@pytest.mark.parametrize("name", language.catalogue())
def test_no_word_is_left_over(name):
    used = {word for _, module, word, _ in used_words() if module == name}
    source = (PACKAGE / "words" / f"{name}.py").read_text(encoding="utf-8")
    words = language.constants(import_module(f"station.words.{name}"))
    alone = [word for word in words if word not in used and len(re.findall(rf"\b{word}\b", source)) < 2]
    assert alone == []
