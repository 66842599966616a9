"""Every test under tests/published/ holds code of ours against something."""

from __future__ import annotations

import ast
from functools import cache
from pathlib import Path

import pytest

from tests.house.papers import ROOT

FOLDER = ROOT / "tests" / "published"


@cache
def _module(path: Path) -> tuple[dict[str, ast.AST], dict[str, str]]:
    """What a test module defines at its top, and where each name that it imports comes from."""
    defined: dict[str, ast.AST] = {}
    imported: dict[str, str] = {}
    for node in ast.parse(path.read_text("utf-8")).body:
        if isinstance(node, ast.FunctionDef | ast.ClassDef):
            defined[node.name] = node
        if isinstance(node, ast.Assign):
            defined |= {target.id: node for target in node.targets if isinstance(target, ast.Name)}
        if isinstance(node, ast.ImportFrom) and node.module is not None:
            imported |= {alias.asname or alias.name: node.module for alias in node.names}
    return defined, imported


def uses_ours(path: Path, node: ast.AST, seen: frozenset[str] = frozenset()) -> bool:
    """Whether a piece of a test module comes to a name of `station`, itself or by what it calls."""
    defined, imported = _module(path)
    names = {inner.id for inner in ast.walk(node) if isinstance(inner, ast.Name)} - seen
    for name in names:
        origin = imported.get(name, "")
        if origin.split(".")[0] == "station":
            return True
        if origin.startswith("tests."):
            other = ROOT / f"{origin.replace('.', '/')}.py"
            if (there := _module(other)[0].get(name)) is not None and uses_ours(other, there):
                return True
        if name in defined and uses_ours(path, defined[name], seen | names):
            return True
    return False


TESTS = [
    (path, node)
    for path in sorted(FOLDER.glob("test_*.py"))
    for node in _module(path)[0].values()
    if isinstance(node, ast.FunctionDef) and node.name.startswith("test_")
]


@pytest.mark.parametrize(("path", "test"), TESTS, ids=[f"{path.stem}: {test.name}" for path, test in TESTS])
def test_it_holds_code_of_ours(path: Path, test: ast.FunctionDef) -> None:
    assert uses_ours(path, test)


def test_a_test_of_libraries_alone_is_found(tmp_path: Path) -> None:
    imports = "from scipy import stats\nfrom station.measure import held\n"
    text = f"{imports}def test_a():\n    assert stats.norm.cdf(0) == 0.5\n"
    path = tmp_path / "test_a.py"
    path.write_text(text, "utf-8")
    (test,) = [node for node in _module(path)[0].values() if isinstance(node, ast.FunctionDef)]
    assert not uses_ours(path, test)
