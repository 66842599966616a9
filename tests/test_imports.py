"""No module imports itself by way of others; what is imported for types alone counts too."""

from __future__ import annotations

import ast
from collections.abc import Iterable, Mapping
from pathlib import Path

import pytest

import station

ROOT = Path(station.__file__).parent
Graph = Mapping[str, frozenset[str]]


def modules(root: Path) -> dict[str, Path]:
    """Name → file of every module of a package."""
    found = {}
    for path in root.rglob("*.py"):
        parts = path.relative_to(root.parent).with_suffix("").parts
        found[".".join(parts[:-1] if parts[-1] == "__init__" else parts)] = path
    return found


def imported(path: Path, known: Iterable[str]) -> frozenset[str]:
    """Which of these modules a file imports, wherever in it."""
    here, named = set(known), set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            named |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            inner = {f"{node.module}.{alias.name}" for alias in node.names}
            named |= (inner & here) or {node.module}
    return frozenset(named & here)


def circles(graph: Graph) -> list[frozenset[str]]:
    """The sets of modules that reach each other."""
    reached = {name: _from(name, graph) for name in graph}
    found = {frozenset(b for b in reached[a] if a in reached[b]) for a in graph if a in reached[a]}
    return sorted(found, key=sorted)


def _from(name: str, graph: Graph) -> set[str]:
    """All that is reached in one step or more."""
    seen: set[str] = set()
    waiting = list(graph[name])
    while waiting:
        at = waiting.pop()
        if at not in seen:
            seen.add(at)
            waiting += graph[at]
    return seen


def test_no_module_reaches_itself() -> None:
    known = modules(ROOT)
    graph = {name: imported(path, known) for name, path in known.items()}
    assert len(graph) > 300
    assert sum(map(len, graph.values())) > 1000
    assert circles(graph) == []


@pytest.mark.parametrize(
    ("graph", "found"),
    [
        ({"a": ("b",), "b": ("c",), "c": ()}, []),
        ({"a": ("b",), "b": ("a",), "c": ("a",)}, [{"a", "b"}]),
        ({"a": ("b",), "b": ("c",), "c": ("a", "d"), "d": ()}, [{"a", "b", "c"}]),
        ({"a": ("a",), "b": ()}, [{"a"}]),
    ],
    ids=["a chain", "two", "three", "one"],
)
def test_a_circle_is_found(graph: dict[str, tuple[str, ...]], found: list[set[str]]) -> None:
    assert circles({name: frozenset(to) for name, to in graph.items()}) == found


def test_an_import_for_types_alone_counts(tmp_path: Path) -> None:
    file = tmp_path / "x.py"
    file.write_text(
        "from typing import TYPE_CHECKING\nif TYPE_CHECKING:\n    from station.ui import window\n"
        "def f():\n    import station.errors\n"
    )
    assert imported(file, ["station.ui", "station.ui.window", "station.errors"]) == {
        *("station.ui.window", "station.errors"),
    }  # fmt: skip
