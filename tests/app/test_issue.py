"""A certificate's number and its file: both or neither, whatever breaks off in between."""

from __future__ import annotations

import os
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from station.app import issue as issuing
from station.app.issue import finish_waiting, issue
from station.certificate.types import Certificate
from station.errors import RecordFull
from station.records.store import Store
from station.records.types import Unit
from tests.certificate.signed import KEY
from tests.certificate.test_content import certificate as made_up
from tests.records.records_kit import a_unit, open_store


class PowerCutError(BaseException):
    """The program ends here and now."""


def make(number: str) -> Certificate:
    return replace(made_up(), number=number)


def render(content: Certificate) -> bytes:
    return f"a certificate with the number {content.number}".encode()


def write(store: Store, unit: Unit) -> Path:
    return issue(store, unit.id, store.folder / "certificates", KEY, make, render)


def cut_at(monkeypatch: pytest.MonkeyPatch, owner: object, name: str, *, after: bool = False) -> None:
    """The next call of this function is the last thing that happens (or does not happen any more)."""
    right: Callable[..., object] = getattr(owner, name)

    def cut(*args: object, **more: object) -> object:
        monkeypatch.setattr(owner, name, right)
        if after:
            right(*args, **more)
        raise PowerCutError

    monkeypatch.setattr(owner, name, cut)


@pytest.fixture
def store(tmp_path: Path):
    with open_store(tmp_path) as found:
        yield found


@pytest.fixture
def unit(store: Store) -> Unit:
    return store.add_unit(a_unit())


def files(store: Store) -> list[str]:
    return sorted(path.name for path in (store.folder / "certificates").glob("*.pdf"))


def test_each_certificate_has_the_next_number(store: Store, unit: Unit) -> None:
    paths = [write(store, unit) for _ in range(3)]
    assert [one.number for one in store.certificates()] == [1, 2, 3]
    for path, one in zip(paths, store.certificates(), strict=True):
        assert path.read_bytes() == render(make(one.name))
        assert path.name == f"SM-07-04-{one.name}.pdf"


@pytest.mark.parametrize(
    ("owner", "name", "after", "issued"),
    [
        pytest.param(issuing, "_write", False, 1, id="before the file is written"),
        pytest.param(issuing, "_write", True, 1, id="before the number is taken"),
        pytest.param(Store, "add_certificate", True, 2, id="before the file has its name"),
        pytest.param(issuing, "_named", True, 2, id="when all is done"),
    ],
)
def test_a_power_cut_leaves_no_gap_no_double_and_no_number_without_its_file(
    store: Store, unit: Unit, monkeypatch: pytest.MonkeyPatch, owner: object, name: str, after: bool, issued: int
) -> None:
    write(store, unit)
    cut_at(monkeypatch, owner, name, after=after)
    with pytest.raises(PowerCutError):
        write(store, unit)
    write(store, unit)
    assert [one.number for one in store.certificates()] == list(range(1, issued + 2))
    found = {path.read_bytes() for path in (store.folder / "certificates").glob("SM-*.pdf")}
    assert found == {render(make(one.name)) for one in store.certificates()}


def test_what_was_never_issued_is_cleared_away_once_it_is_old(
    store: Store, unit: Unit, monkeypatch: pytest.MonkeyPatch
) -> None:
    cut_at(monkeypatch, issuing, "_write", after=True)
    with pytest.raises(PowerCutError):
        write(store, unit)
    finish_waiting(store, store.folder / "certificates")
    (left,) = files(store)
    assert left.startswith(".")
    os.utime(store.folder / "certificates" / left, (0, 0))
    finish_waiting(store, store.folder / "certificates")
    assert files(store) == []


def test_a_full_disk_takes_no_number(store: Store, unit: Unit, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(path: Path, data: bytes) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(issuing, "write_whole", full)
    with pytest.raises(RecordFull, match="No space left"):
        write(store, unit)
    assert store.certificates() == ()


def test_another_window_that_was_quicker_costs_a_second_try_and_no_number(
    store: Store, unit: Unit, monkeypatch: pytest.MonkeyPatch
) -> None:
    others = [1, 2]

    def slow(content: Certificate) -> bytes:
        if others:
            others.pop()
            write(store, unit)
        return render(content)

    path = issue(store, unit.id, store.folder / "certificates", KEY, make, slow)
    assert [one.number for one in store.certificates()] == [1, 2, 3]
    assert path.read_bytes() == render(make(store.certificates()[-1].name))
    assert len(files(store)) == 3
