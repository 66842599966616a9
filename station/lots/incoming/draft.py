"""Rows of a spreadsheet as units that could come in, and what is wrong with them, by row. Pure: what it has to know of
the records is handed in. All units come in or none, so one row with something wrong is enough to keep all out.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

from station.capture.text import visible_line
from station.errors import InputError
from station.judgement.claimed import understood
from station.lots.incoming.amounts import currency_in, read_amount
from station.lots.incoming.tables import FORMULA, MOST_COLUMNS, Cell, Table, letters_of
from station.records.entered import check_texts
from station.records.rows import plain
from station.records.types import Lot, Unit
from station.sheets.model import Sheet
from station.words import figures, grammar
from station.words import incoming as words

HEAD_ROWS = 20
"""in so many rows with something in them the headings are looked for"""
ROUNDED = 10**15
"""a number of more digits than that was rounded by the spreadsheet (IEEE 754 binary64 holds fifteen for certain)"""
MOST_TOLD = 6
_NAMES = ("tag", "model", "serial")
"""of which a spreadsheet makes a date where they look like one"""
_NOUGHTS = re.compile(r"0+")
"""a number format that fills a number up with noughts in front"""


@dataclass(frozen=True, slots=True)
class Column:
    """A column with a heading. `number`: from 1; `field`: what it is taken as, one of words.FIELDS, "": it is not."""

    number: int
    heading: str
    field: str


@dataclass(frozen=True, slots=True)
class Problem:
    """What is wrong with a row of the spreadsheet (0: with all of it)."""

    row: int
    what: str

    def sentence(self) -> str:
        return words.ROW.format(row=self.row, what=self.what) if self.row else self.what


@dataclass(frozen=True, slots=True)
class Draft:
    """What would come in. `lot`: with an empty id it is new; `units`: one for each row of `rows`."""

    lot: Lot
    units: tuple[Unit, ...] = ()
    rows: tuple[int, ...] = ()
    columns: tuple[Column, ...] = ()
    problems: tuple[Problem, ...] = ()
    notes: tuple[str, ...] = ()

    @property
    def sound(self) -> bool:
        return bool(self.units) and not self.problems

    def columns_told(self) -> str:
        """Which column is taken as what."""
        taken = (
            words.COLUMN_AS.format(heading=column.heading, field=words.FIELDS[column.field])
            for column in self.columns
            if column.field
        )
        return words.COLUMNS_TAKEN.format(columns=grammar.COMMA.join(taken))

    def wrong_told(self) -> str:
        """How many rows have something wrong, and what to do."""
        count = len({problem.row for problem in self.problems})
        return grammar.plural(count, words.WRONG_ROWS).format(count=count)


@dataclass(frozen=True, slots=True)
class Here:
    """What the records have already. `tags`: of the units that are here; `of_lot`: those of the lot, oldest first;
    `sheets`: the model sheets."""

    tags: Collection[str] = ()
    of_lot: Sequence[str] = ()
    sheets: Sequence[Sheet] = field(default=())


def drafted(table: Table, lot: Lot, here: Here) -> Draft:
    """What the table would bring into the lot. InputError where there are no headings."""
    head, columns = _headings(table)
    problems = [*_merged_problems(table, head, columns), *_priced_elsewhere(head, columns, lot)]
    below, of_rows = _below(table, head)
    wide = next(len(cells) for number, cells in table.rows if number == head) if table.parted else MOST_COLUMNS
    if not below:
        problems.append(Problem(0, words.NO_UNIT))
    by_field = {column.field: column.number for column in columns if column.field}
    sheets = {sheet.name.casefold(): sheet for sheet in here.sheets}
    units, rows = [], []
    for number, cells in below:
        unit, wrong = _unit(cells, by_field, lot, sheets)
        units.append(unit)
        rows.append(number)
        problems += [Problem(number, what) for what in (*wrong, *_too_many(cells, wide))]
    problems += _double_tags(units, rows, here.tags)
    units, given = _with_tags(units, lot, here)
    notes = (*table.notes, *of_rows, *_notes(units, columns, given, sheets), *_unheaded(below, columns))
    lot, priced = _priced(lot, units) if not problems else (lot, ())
    problems.sort(key=lambda problem: problem.row)
    return Draft(lot, tuple(units), tuple(rows), columns, tuple(problems), (*notes, *priced))


# --- headings -------------------------------------------------------------------------------------------------


def _headings(table: Table) -> tuple[int, tuple[Column, ...]]:
    """The row of which most cells are the very word for a field, else hold one, and its columns: of two the upper one.
    InputError if none does, or two columns read alike."""
    best: tuple[tuple[int, int], int, tuple[Column, ...]] = ((0, 0), 0, ())
    for number, cells in table.rows[:HEAD_ROWS]:
        columns = _columns(cells)
        known = sum(1 for column in columns if column.field)
        exact = sum(1 for column in columns if _field_of(column.heading, whole=True))
        # the cells of a unit hold words of headings too (“stick error, no box”), seldom as the whole of them
        score = (exact, 0) if exact else (0, known)
        if score > best[0] and (exact or known > 1 or len(columns) == 1):
            best = score, number, columns
    score, number, columns = best
    if not any(score):
        raise InputError(words.NO_HEADINGS.format(file=table.name))
    twice = Counter(column.field for column in columns if column.field)
    for column in columns:
        if twice[column.field] > 1:
            first, second = (letters_of(c.number) for c in columns if c.field == column.field)
            told = words.TWO_COLUMNS.format(field=words.FIELDS[column.field], first=first, second=second)
            raise InputError(told)
    return number, columns


def _columns(cells: Sequence[Cell]) -> tuple[Column, ...]:
    """The columns with a text in this row. Where a heading is the very word for a field, those that only hold such a
    word are not taken for it."""
    texts = {k: cell.value for k, cell in enumerate(cells, 1) if isinstance(cell.value, str) and cell.value.strip()}
    exact = {k: _field_of(text, whole=True) for k, text in texts.items()}
    found = {}
    for k, text in texts.items():
        loose = exact[k] or _field_of(text, whole=False)
        found[k] = exact[k] or (loose if loose not in exact.values() else "")
    # of two that only hold the word, the first is taken: “item”, “item text”
    named: set[str] = set()
    for k, name in found.items():
        if name and not exact[k] and name in named:
            found[k] = ""
        named.add(name)
    return tuple(Column(k, visible_line(text.strip(), 40), found[k]) for k, text in texts.items())


def _field_of(heading: str, *, whole: bool) -> str:
    said = " ".join(re.sub(r"[^\w]+|_", " ", heading.casefold()).split())
    for name, called in words.HEADINGS.items():
        if said in called or (not whole and any(f" {word} " in f" {said} " for word in called if len(word) > 2)):
            return name
    if not whole:
        for name, called in words.HEADINGS_FOR_WANT_OF_BETTER.items():
            if said in called:
                return name
    return ""


def _below(table: Table, head: int) -> tuple[list[tuple[int, tuple[Cell, ...]]], list[str]]:
    """The rows of units, and what is told of the others. A title has one cell, which nobody misses."""
    headings = next(_texts(cells) for number, cells in table.rows if number == head)
    above = [number for number, cells in table.rows if number < head and len(_texts(cells)) > 1]
    again = [number for number, cells in table.rows if number > head and _texts(cells) == headings]
    below = [(number, cells) for number, cells in table.rows if number > head and number not in set(again)]
    notes = []
    if above:
        notes.append(words.ROWS_ABOVE.format(row=head, rows=_some(list(map(str, above)))))
    if again:
        notes.append(words.HEADINGS_AGAIN.format(rows=_some(list(map(str, again)))))
    return below, notes


def _texts(cells: Sequence[Cell]) -> dict[int, str]:
    return {k: str(cell.value).strip().casefold() for k, cell in enumerate(cells, 1) if not cell.empty}


def _priced_elsewhere(head: int, columns: Sequence[Column], lot: Lot) -> Iterator[Problem]:
    """A heading that says another currency than the lot's."""
    for column in columns:
        found = currency_in(column.heading) if column.field == "price" else ""
        if found and found != lot.currency:
            told = words.OTHER_CURRENCY_HEADING.format(heading=column.heading, found=found, currency=lot.currency)
            yield Problem(head, told)


def _too_many(cells: Sequence[Cell], wide: int) -> Iterator[str]:
    """A cell more than the row of headings has, where signs part them: 8,50 may have been one price."""
    over = next((cell for cell in cells[wide:] if not cell.empty), None)
    if over is not None:
        yield words.CELLS_TOO_MANY.format(text=visible_line(str(over.value), 24))


def _unheaded(below: Sequence[tuple[int, Sequence[Cell]]], columns: Sequence[Column]) -> Iterator[str]:
    """Which cells have no heading above them."""
    headed = {column.number for column in columns}
    cells = [
        f"{letters_of(k)}{number}"
        for number, row in below
        for k, cell in enumerate(row, 1)
        if k not in headed and not cell.empty
    ]
    if cells:
        yield words.NO_HEADING.format(cells=_some(cells))


def _merged_problems(table: Table, head: int, columns: Sequence[Column]) -> Iterator[Problem]:
    """Cells that are one where each row or column has to have its own."""
    fields = {column.number: column for column in columns if column.field}
    for merged in table.merged:
        inside = [k for k in range(merged.first_column, min(merged.last_column, 60) + 1) if k in fields]
        if merged.first_row <= head <= merged.last_row:
            if merged.last_column > merged.first_column and inside:
                first, last = letters_of(merged.first_column), letters_of(merged.last_column)
                heading = fields[inside[0]].heading
                yield Problem(head, words.MERGED_HEADING.format(heading=heading, first=first, last=last))
        elif merged.first_row > head and inside and merged.last_row > merged.first_row:
            told = words.FIELDS[fields[inside[0]].field]
            cell = words.MERGED_CELL.format(field=told, first=merged.first_row, last=merged.last_row)
            yield Problem(merged.first_row, cell)


# --- one row ------------------------------------------------------------------------------------------------------


def _unit(
    cells: Sequence[Cell], columns: Mapping[str, int], lot: Lot, sheets: Mapping[str, Sheet]
) -> tuple[Unit, list[str]]:
    """The unit of a row, and what is wrong with the row."""
    wrong: list[str] = []
    texts: dict[str, str] = {}
    for name in ("tag", "model", "claim", "serial", "condition", "accessories"):
        try:
            texts[name] = plain(_text(_at(cells, columns, name), words.FIELDS[name], name in _NAMES))
            check_texts(**{name: texts[name]})
        except InputError as fault:
            wrong.append(str(fault))
            texts[name] = ""
    box, cost = "", 0
    try:
        cell = _sound(_at(cells, columns, "price"), words.FIELDS["price"])
        cost = read_amount(cell.value, lot.currency, cell.number_format)
    except InputError as fault:
        wrong.append(str(fault))
    try:
        box = _box(_text(_at(cells, columns, "box"), words.FIELDS["box"]))
        _one_unit(_text(_at(cells, columns, "count"), words.FIELDS["count"]))
    except InputError as fault:
        wrong.append(str(fault))
    said = [texts[name] for name in ("tag", "model", "claim") if texts[name]]
    if not wrong and not said:
        wrong.append(words.NEITHER_MODEL)
    if len(said) == 1 and re.split(r"\W", said[0].casefold(), maxsplit=1)[0] in words.TOTALS:
        wrong.append(words.TOTAL.format(text=visible_line(said[0], 24)))
    sheet = sheets.get(texts["model"].casefold())
    model = sheet.name if sheet is not None else texts["model"]
    unit = Unit(
        "",
        texts["tag"],
        model,
        serial=texts["serial"],
        sheet=model if sheet is not None else "",
        claim=texts["claim"],
        condition=texts["condition"],
        accessories=texts["accessories"],
        box=box,
        cost_minor=cost,
    )
    return unit, wrong


def _at(cells: Sequence[Cell], columns: Mapping[str, int], name: str) -> Cell:
    number = columns.get(name, 0)
    return cells[number - 1] if 0 < number <= len(cells) else Cell()


def _sound(cell: Cell, called: str) -> Cell:
    """The cell. InputError for a formula without a result and for an error."""
    if cell.wrong == FORMULA:
        raise InputError(words.FORMULA.format(field=called))
    if cell.wrong:
        raise InputError(words.ERROR_CELL.format(field=called, error=cell.wrong))
    return cell


def _text(cell: Cell, called: str, is_name: bool = False) -> str:
    """What a cell says: a number without the decimals that it does not have, with the noughts in front that its format
    shows. InputError for a name (a tag, a model, a serial number) of which the spreadsheet made a date."""
    value = _sound(cell, called).value
    if is_name and cell.is_date:
        raise InputError(words.MADE_DATE.format(field=called, text=value))
    if value is None:
        return ""
    if isinstance(value, float):
        if abs(value) >= ROUNDED:
            raise InputError(words.ROUNDED.format(field=called, text=f"{value:g}"))
        if not value.is_integer():
            return f"{value:.15g}"
        value = int(value)
    if isinstance(value, int) and not isinstance(value, bool) and abs(value) >= ROUNDED:
        raise InputError(words.ROUNDED.format(field=called, text=str(value)))
    return str(value).zfill(len(cell.number_format)) if _NOUGHTS.fullmatch(cell.number_format) else str(value)


def _box(text: str) -> str:
    said = text.strip().casefold()
    if not said:
        return ""
    if said in words.NO:
        return "no box"
    if said in words.YES:
        return "box"
    raise InputError(words.NO_BOX.format(text=visible_line(text, 24)))


def _one_unit(text: str) -> None:
    if not text:
        return
    if not text.isdecimal() or len(text) > 6:
        raise InputError(words.NO_COUNT.format(text=visible_line(text, 24)))
    if int(text) != 1:
        raise InputError(words.MANY.format(count=text))


# --- all rows -----------------------------------------------------------------------------------------------------


def _double_tags(units: Sequence[Unit], rows: Sequence[int], here: Collection[str]) -> Iterator[Problem]:
    known = {tag.casefold() for tag in here}
    first: dict[str, int] = {}
    for unit, row in zip(units, rows, strict=True):
        tag = unit.tag.casefold()
        if not tag:
            continue
        if tag in first:
            yield Problem(row, words.TAG_TWICE.format(tag=unit.tag, other=first[tag]))
        elif tag in known:
            yield Problem(row, words.TAG_HERE.format(tag=unit.tag))
        first.setdefault(tag, row)


def _with_tags(units: Sequence[Unit], lot: Lot, here: Here) -> tuple[list[Unit], list[str]]:
    """The units, those without a tag with the next ones of the lot; and which tags were given."""
    mine = [unit.tag for unit in units if unit.tag]
    taken = {tag.casefold() for tag in (*here.tags, *mine)}
    stem, number, wide = series((*here.of_lot, *mine), lot.name)
    found, given = [], []
    for unit in units:
        if not unit.tag:
            while (tag := f"{stem}{number:0{wide}d}").casefold() in taken:
                number += 1
            taken.add(tag.casefold())
            given.append(tag)
            unit = replace(unit, tag=tag)
        found.append(unit)
    return found, given


def series(tags: Sequence[str], lot: str) -> tuple[str, int, int]:
    """Stem, next number and digits of the tags of a lot: those of the newest series there is, else the lot's name."""
    for tag in reversed(tags):
        if match := re.fullmatch(r"(.*?)(\d{1,9})", tag):
            stem, wide = match[1], len(match[2])
            rest = (other[len(stem) :] for other in tags if other.startswith(stem))
            return stem, max(int(r) for r in rest if r.isdecimal()) + 1, wide
    return f"{lot}-", 1, 2


def _priced(lot: Lot, units: Sequence[Unit]) -> tuple[Lot, tuple[str, ...]]:
    """A new lot without a price costs what its units do; and what is told of that."""
    total = sum(unit.cost_minor for unit in units)
    if lot.id or lot.cost_minor or not total:
        return lot, ()
    amount = figures.money(total, lot.currency)
    notes = [words.PRICE_SUM.format(amount=amount)]
    if without := [unit.tag for unit in units if not unit.cost_minor]:
        notes.append(grammar.plural(len(without), words.NO_PRICE).format(tags=_some(without)))
    return replace(lot, cost_minor=total), tuple(notes)


def _notes(
    units: Sequence[Unit], columns: Sequence[Column], given: Sequence[str], sheets: Mapping[str, Sheet]
) -> Iterator[str]:
    if left := [column.heading for column in columns if not column.field]:
        yield words.NOT_TAKEN.format(columns=_some(left))
    if given:
        told = grammar.plural(len(given), words.TAGS_GIVEN)
        yield told.format(count=len(given), first=given[0], last=given[-1])
    if unknown := sorted({unit.model for unit in units if unit.model and not unit.sheet}):
        yield words.NO_SHEET_OF_MODEL.format(models=_some([visible_line(model, 40) for model in unknown]))
    claims = [(unit.claim, unit.model) for unit in units if unit.claim]
    if claims:
        none = Sheet("")
        known = {claim: understood(claim[0], sheets.get(claim[1].casefold(), none)) for claim in dict.fromkeys(claims)}
        bound = sum(1 for claim in claims if known[claim].controls)
        yield words.BOUND.format(bound=figures.number(bound, 0), claims=figures.number(len(claims), 0))


def _some(texts: Sequence[str]) -> str:
    more = len(texts) - MOST_TOLD
    return grammar.COMMA.join(texts[:MOST_TOLD]) + ("…" if more > 0 else "")
