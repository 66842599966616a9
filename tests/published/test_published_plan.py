"""The plan for a lot against published optima: assignment problems and knapsacks are lots of a special kind.

A unit for each row, a single piece on the shelf for each column, and a way for each of them: an assignment problem.
A unit for each item, which is sold as it is or repaired in so many minutes: a knapsack, its capacity the hours.

[read]: seen in a public copy of the source named.
"""

from __future__ import annotations

import pytest

from station.diagnosis.courses import Piece
from station.diagnosis.guide import Values
from station.lots.plan import Batch, Candidate, Problem, Way, solve

OULU = ((90, 76, 75, 80), (35, 85, 55, 65), (125, 95, 90, 105), (45, 110, 95, 115))
TEN_FIRST = (
    (19, 95, 9, 43, 62, 90, 10, 77, 71, 27),
    (26, 30, 88, 78, 87, 2, 14, 71, 78, 11),
    (48, 70, 26, 82, 32, 16, 36, 26, 42, 79),
    (47, 46, 93, 66, 38, 20, 73, 39, 55, 51),
    (1, 81, 31, 49, 20, 24, 95, 80, 82, 11),
    (81, 48, 35, 54, 35, 55, 27, 87, 96, 7),
    (42, 17, 60, 73, 37, 36, 79, 3, 60, 82),
    (14, 57, 23, 69, 93, 78, 56, 49, 83, 36),
    (11, 37, 24, 70, 62, 35, 64, 18, 99, 20),
    (73, 11, 98, 50, 19, 96, 61, 73, 98, 14),
)
TEN_SECOND = (
    (95, 60, 89, 38, 36, 38, 58, 94, 66, 23),
    (37, 0, 40, 58, 97, 85, 18, 54, 86, 21),
    (9, 74, 11, 45, 65, 64, 27, 88, 24, 26),
    (58, 90, 6, 36, 17, 21, 2, 12, 80, 90),
    (33, 0, 74, 75, 11, 84, 34, 7, 39, 0),
    (17, 61, 94, 68, 27, 41, 33, 86, 59, 2),
    (61, 94, 36, 53, 66, 33, 15, 87, 97, 11),
    (22, 20, 57, 69, 15, 9, 15, 8, 82, 68),
    (40, 0, 13, 61, 67, 40, 29, 25, 72, 44),
    (13, 97, 97, 54, 5, 30, 44, 75, 16, 0),
)
TEN_CLOSE = (
    (4, 5, 5, 6, 8, 4, 7, 4, 7, 8),
    (5, 6, 6, 6, 7, 6, 6, 5, 6, 7),
    (4, 4, 5, 7, 7, 4, 8, 4, 7, 7),
    (6, 7, 6, 6, 7, 6, 6, 6, 6, 6),
    (4, 4, 4, 6, 6, 4, 7, 4, 7, 7),
    (4, 5, 5, 6, 8, 4, 7, 4, 7, 8),
    (5, 7, 5, 5, 5, 6, 4, 5, 4, 6),
    (8, 9, 8, 4, 5, 9, 4, 8, 4, 4),
    (5, 6, 6, 6, 7, 6, 6, 5, 6, 7),
    (5, 6, 6, 6, 7, 6, 6, 5, 6, 7),
)
REWARD = 10_000
"""so much for every row that is served: no plan leaves one out"""


def assignment(costs: tuple[tuple[int, ...], ...]) -> Problem:
    shelf = tuple(Batch(f"p{c}", 1, 0, frozenset({("M", f"p{c}")})) for c in range(len(costs[0])))
    units = tuple(
        Candidate(
            f"u{r}", f"T-{r}", "M", Values(REWARD, 0, 0),
            (Way("sell"), *(Way("repair", ready=1.0, materials_minor=cost, pieces=(Piece(f"p{c}", 1.0, None),))
                            for c, cost in enumerate(row))),
        )
        for r, row in enumerate(costs)
    )  # fmt: skip
    return Problem(units, shelf)


@pytest.mark.parametrize(
    ("costs", "optimum"),
    [
        pytest.param(OULU, 275, id="4 by 4, example of the lectures at Oulu [read: OR-Tools, linear_assignment tests]"),
        pytest.param(TEN_FIRST, 194, id="10 by 10, first [read: pymatgen, tests of its Jonker-Volgenant]"),
        pytest.param(TEN_SECOND, 125, id="10 by 10, second [read: the same]"),
        pytest.param(TEN_CLOSE, 48, id="10 by 10, small range of costs [read: the same]"),
    ],
)
def test_assignment_problems_come_to_their_published_optimum(costs: tuple[tuple[int, ...], ...], optimum: int) -> None:
    found = solve(assignment(costs), None, seconds=60)
    assert found.is_best
    assert len(costs) * REWARD - found.value == pytest.approx(optimum, abs=1e-6)
    assert len({source.batch for source in found.sources}) == len(costs), "each piece serves one unit"


P07 = (
    (70, 73, 77, 80, 82, 87, 90, 94, 98, 106, 110, 113, 115, 118, 120),
    (135, 139, 149, 150, 156, 163, 173, 184, 192, 201, 210, 214, 221, 229, 240),
    (1, 0, 1, 0, 1, 0, 1, 1, 1, 0, 0, 0, 0, 1, 1),
)
P08 = (
    (
        *(382745, 799601, 909247, 729069, 467902, 44328, 34610, 698150, 823460, 903959, 853665, 551830),
        *(610856, 670702, 488960, 951111, 323046, 446298, 931161, 31385, 496951, 264724, 224916, 169684),
    ),
    (
        *(825594, 1677009, 1676628, 1523970, 943972, 97426, 69666, 1296457, 1679693, 1902996, 1844992, 1049289),
        *(1252836, 1319836, 953277, 2067538, 675367, 853655, 1826027, 65731, 901489, 577243, 466257, 369261),
    ),
    (1, 1, 0, 1, 1, 1, 0, 0, 0, 1, 1, 0, 1, 0, 0, 1, 0, 0, 0, 0, 0, 1, 1, 1),
)


@pytest.mark.parametrize(
    ("weights", "profits", "taken", "capacity", "optimum"),
    [
        pytest.param(*P07, 750, 1458, id="P07 of Burkardt's knapsack_01 [read: several public copies]"),
        pytest.param(*P08, 6_404_180, 13_549_094, id="P08 of the same [read: the same]"),
    ],
)
def test_knapsacks_come_to_their_published_optimum(
    weights: tuple[int, ...], profits: tuple[int, ...], taken: tuple[int, ...], capacity: int, optimum: int
) -> None:
    units = tuple(
        Candidate(f"u{n}", f"T-{n}", "M", Values(profit, 0, 0), (Way("sell"), Way("repair", weight, ready=1.0)))
        for n, (weight, profit) in enumerate(zip(weights, profits, strict=True))
    )
    found = solve(Problem(units), capacity / 60, seconds=60)
    assert found.is_best
    assert found.value == pytest.approx(optimum, abs=1e-6)
    assert found.ways == taken
