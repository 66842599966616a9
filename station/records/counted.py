"""What counts: every row but those that were withdrawn. The one rule of it, asked by every reader: the queries that the
rest of the program reads through, the SQL views and the tables of an export.

A row is withdrawn while a withdrawal that was not taken back itself names it; so is everything of a unit that was
withdrawn. A lot counts as long as one of its units does. Nothing else bears on it, no order and no time: records that
are joined come to the same whichever came first, and a withdrawal may be there before the row that it names.
"""

from __future__ import annotations

_WHAT = {
    "results": "result",
    "treatments": "treatment",
    "notes": "note",
    "overrides": "override",
    "shelf_parts": "part",
    "shelf_moves": "move",
    "units": "unit",
    "lots": "lot",
    "comebacks": "comeback",
    "certificates": "certificate",
}
"""table → what a withdrawal of one of its rows says in `what`"""


def table_of(what: str) -> str:
    """The table of what a withdrawal calls so."""
    return next(table for table, name in _WHAT.items() if name == what)


def in_force(alias: str = "withdrawals") -> str:
    """A condition on a row of `withdrawals`: it was not taken back."""
    return f"{alias}.id NOT IN (SELECT row_id FROM withdrawals WHERE what = 'withdrawal')"


def withdrawn(table: str) -> str:
    """A query for the ids of the rows of this table that were withdrawn, each by itself."""
    return f"SELECT row_id FROM withdrawals WHERE what = '{_WHAT[table]}' AND {in_force()}"


def counting(table: str, alias: str = "") -> str:
    """A condition on a row of this table (under `alias`): it counts. Tables in which nothing is ever withdrawn count
    whole."""
    row, unit = alias or table, withdrawn("units")
    asked = [f"{row}.id NOT IN ({withdrawn(table)})"] if table in _WHAT else []
    if table in ("visits", "treatments", "notes", "overrides", "comebacks", "certificates"):
        asked.append(f"{row}.unit_id NOT IN ({unit})")
    elif table == "results":
        asked.append(f"{row}.visit_id NOT IN (SELECT id FROM visits WHERE unit_id IN ({unit}))")
    elif table in ("readings", "findings"):
        asked.append(f"{row}.result_id IN (SELECT id FROM results WHERE {counting('results')})")
    elif table == "lots":
        asked = [f"({asked[0]} OR {row}.id IN (SELECT lot_id FROM units WHERE {counting('units')}))"]
    elif table == "shelf_moves":
        asked.append(f"{row}.part_id NOT IN ({withdrawn('shelf_parts')})")
    return " AND ".join(asked) or "1"
