"""Fitting: exact on small stores, equal to plain assignment without side rules, and S7."""

from __future__ import annotations

import itertools
import random
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import linear_sum_assignment

from roster.equipment.core.assignment import Arcs, assign
from roster.equipment.core.fitting import (
    Alteration,
    Figure,
    FittingProblem,
    Level,
    Piece,
    Wearer,
    Window,
    fit_all,
    fit_of,
    who_fits,
)
from roster.equipment.core.moving import Move, choices, moves_for
from tests.examples import examples

many = examples(150, long=4000)
CHEST = Figure("chest", step=2)


def wants(*sizes: int) -> dict[str, Window]:
    """A window of sizes, the smallest of them ideal."""
    return {"chest": Window(min(sizes), max(sizes), min(sizes))}


def jackets(*sizes: int) -> tuple[Piece, ...]:
    """Pieces A, B … of these sizes."""
    return tuple(
        Piece(letter, {"chest": size}, str(size))
        for letter, size in zip("ABCDEFG", sizes, strict=False)
    )


FIVE = FittingProblem(
    (CHEST,),
    (
        Wearer("P1", wants(38, 40)),
        Wearer("P2", wants(38, 40)),
        Wearer("P3", wants(40, 42)),
        Wearer("P4", wants(40, 42)),
        Wearer("P5", wants(42)),
    ),
    jackets(38, 40, 40, 42, 42),
)


def complete(problem: FittingProblem) -> set[tuple[int, ...]]:
    """Every way to dress all, as the sizes they get in the order of the wearers."""
    fits = who_fits(problem)
    sizes = {p.key: p.figures["chest"] for p in problem.pieces}
    ways = itertools.product(*(fits[w.key] for w in problem.wearers))
    return {tuple(sizes[p] for p in way) for way in ways if len(set(way)) == len(problem.wearers)}


def test_five_jackets_have_four_complete_solutions_and_one_is_found() -> None:
    ways = complete(FIVE)
    assert ways == {
        (38, 40, 40, 42, 42),
        (40, 38, 40, 42, 42),
        (38, 40, 42, 40, 42),
        (40, 38, 42, 40, 42),
    }
    found = fit_all(FIVE)
    assert not found.unfitted
    sizes = {p.key: p.figures["chest"] for p in FIVE.pieces}
    assert tuple(sizes[found.by_wearer[w.key]] for w in FIVE.wearers) in ways


def test_s7_the_one_move_that_frees_a_jacket() -> None:
    """P4 and P3 took 40, P2 took 38: move P3 to 42, then P1 fits 40."""
    given_out = {"P4": "B", "P3": "C", "P2": "A", "P5": "D"}
    moves = moves_for(FIVE, given_out, "P1")
    assert moves == (Move("P3", "C", "E"), Move("P1", None, "C"))


def test_where_no_move_helps_there_is_none() -> None:
    problem = replace(FIVE, pieces=jackets(38, 40, 40, 42))
    given_out = {"P5": "D", "P4": "B", "P3": "C", "P2": "A"}
    assert moves_for(problem, given_out, "P1") is None


def test_a_longer_chain_is_found_where_one_move_is_not_enough() -> None:
    problem = FittingProblem(
        (CHEST,),
        (Wearer("a", wants(38)), Wearer("b", wants(38, 40)), Wearer("c", wants(40, 42))),
        jackets(38, 40, 42),
    )
    assert moves_for(problem, {"b": "A", "c": "B"}, "a") == (
        Move("c", "B", "C"),
        Move("b", "A", "B"),
        Move("a", None, "A"),
    )


def test_the_not_fitted_get_a_size_to_buy_and_the_nearest_piece() -> None:
    problem = FittingProblem((CHEST,), (Wearer("tall", wants(46, 48)),), jackets(38, 44))
    (left,) = fit_all(problem).unfitted
    assert left.buy == (("chest", 46),)
    assert left.nearest is not None and left.nearest.piece == "B"
    assert left.nearest.misses == (Alteration("chest", 2),)


def test_who_is_not_measured_is_told_apart_from_whom_nothing_fits() -> None:
    problem = FittingProblem((CHEST,), (Wearer("new", {}),), jackets(38))
    (left,) = fit_all(problem).unfitted
    assert left.unmeasured == ("chest",) and not left.buy


def test_alterations_within_the_allowance_dress_and_cost() -> None:
    tailor = replace(CHEST, let_out=2, take_in=1, cost=25)
    problem = FittingProblem((tailor,), (Wearer("w", wants(42)),), jackets(40, 44))
    (got,) = fit_all(problem).given
    assert got.piece == "A" and got.fit.cost == 25
    assert got.fit.alterations == (Alteration("chest", 2),)
    assert fit_of(problem, problem.wearers[0], problem.pieces[1]) is None


def test_the_same_piece_as_last_year_before_a_closer_one() -> None:
    again = Wearer("w", wants(38, 40), had=frozenset("B"))
    problem = FittingProblem((CHEST,), (again,), jackets(38, 40))
    assert fit_all(problem).by_wearer == {"w": "B"}


def test_spares_are_left_in_every_size_where_all_are_dressed_anyway() -> None:
    problem = FittingProblem(
        (CHEST,),
        (Wearer("w", wants(38, 40)),),
        jackets(38, 40, 40),
        spares=1,
    )
    assert fit_all(problem).by_wearer["w"] in "BC", "the one 38 stays"
    crowded = replace(problem, wearers=tuple(Wearer(k, wants(38, 40)) for k in "uvw"))
    assert not fit_all(crowded).unfitted, "dressing goes before spares"


def test_a_scarce_size_is_kept_for_whoever_needs_it() -> None:
    problem = FittingProblem((CHEST,), (Wearer("w", wants(38, 40)),), jackets(38, 40, 40, 40))
    assert fit_all(problem).by_wearer["w"] != "A"


def test_left_handed_pieces_go_to_the_left_handed() -> None:
    gloves = (Piece("l", {"chest": 1}, left_handed=True), Piece("r", {"chest": 1}))
    wearers = (Wearer("lefty", wants(1), left_handed=True), Wearer("righty", wants(1)))
    found = fit_all(FittingProblem((CHEST,), wearers, gloves, handed=True))
    assert found.by_wearer == {"lefty": "l", "righty": "r"}


def test_the_next_best_piece_says_whether_it_costs_somebody_theirs() -> None:
    problem = FittingProblem(
        (CHEST,), (Wearer("a", wants(38, 40)), Wearer("b", wants(40))), jackets(38, 40)
    )
    offered = choices(problem, fit_all(problem), "a")
    assert [(c.piece, c.costs_another) for c in offered] == [("A", False), ("B", True)]


@st.composite
def small(draw: st.DrawFn, *, plain: bool = False) -> FittingProblem:
    """Up to five members and six pieces of one or two figures."""
    figures = tuple(
        Figure(
            name,
            draw(st.integers(0, 2)),
            draw(st.integers(0, 2)),
            draw(st.sampled_from((0, 10, 25))),
        )
        for name in ("chest", "sleeve")[: draw(st.integers(1, 2))]
    )
    pieces = tuple(
        Piece(
            f"p{n}",
            {f.key: draw(st.integers(1, 6)) for f in figures},
            draw(st.sampled_from(("s", "m", "l"))),
            draw(st.integers(0, 3)),
            draw(st.booleans()),
        )
        for n in range(draw(st.integers(0, 6)))
    )
    keys = [p.key for p in pieces]

    def window() -> Window:
        low = draw(st.integers(1, 5))
        high = low + draw(st.integers(0, 2))
        return Window(low, high, draw(st.integers(low, high)))

    wearers = tuple(
        Wearer(
            f"w{n}",
            {f.key: window() for f in figures if draw(st.integers(0, 9)) > 0},
            frozenset(draw(st.sets(st.sampled_from(keys), max_size=2))) if keys else frozenset(),
            draw(st.booleans()),
        )
        for n in range(draw(st.integers(0, 5)))
    )
    spares = 0 if plain else draw(st.integers(0, 2))
    return FittingProblem(figures, wearers, pieces, spares, draw(st.booleans()))


def best_by_trying(problem: FittingProblem) -> tuple[int, ...]:
    """The levels of the best of all fittings, ties apart, by looking at every one."""
    fits = {
        (w.key, p.key): fit
        for w in problem.wearers
        for p in problem.pieces
        if (fit := fit_of(problem, w, p)) is not None
    }
    here = {p.key for p in problem.pieces}
    in_band: dict[str, int] = {}
    for piece in problem.pieces:
        in_band[piece.band] = in_band.get(piece.band, 0) + 1
    best: list[tuple[int, ...]] = []

    def go(n: int, taken: dict[str, str]) -> None:
        if n == len(problem.wearers):
            best.append(value(taken))
            return
        go(n + 1, taken)
        wearer = problem.wearers[n].key
        for piece in problem.pieces:
            if (wearer, piece.key) in fits and piece.key not in taken.values():
                go(n + 1, {**taken, wearer: piece.key})

    def value(taken: dict[str, str]) -> tuple[int, ...]:
        left = dict(in_band)
        for piece in taken.values():
            left[problem.of_piece[piece].band] -= 1
        short = sum(
            max(0, min(problem.spares, in_band[band]) - count) for band, count in left.items()
        )
        pairs = [(problem.of_wearer[w], problem.of_piece[p]) for w, p in taken.items()]
        other = sum(bool(w.had & here) and p.key not in w.had for w, p in pairs)
        cost = sum(fits[w.key, p.key].cost for w, p in pairs)
        scarce = sum(63 - min(63, in_band[p.band]) for _, p in pairs)
        off = sum(min(63, fits[w.key, p.key].off) for w, p in pairs)
        worn = sum(p.wear for _, p in pairs)
        return (len(problem.wearers) - len(taken), short, other, cost, scarce, off, worn)

    go(0, {})
    return min(best)


@many
@given(small())
def test_every_level_equals_the_best_of_all_fittings(problem: FittingProblem) -> None:
    assert fit_all(problem).levels[: Level.TIE] == best_by_trying(problem)


@many
@given(small(), st.randoms(use_true_random=False))
def test_the_order_of_rows_changes_nothing(problem: FittingProblem, rng: Any) -> None:
    other = replace(
        problem,
        wearers=tuple(rng.sample(problem.wearers, len(problem.wearers))),
        pieces=tuple(rng.sample(problem.pieces, len(problem.pieces))),
    )
    assert fit_all(other).by_wearer == fit_all(problem).by_wearer


@many
@given(small(), st.data())
def test_moves_dress_one_more_and_take_from_nobody(
    problem: FittingProblem, data: st.DataObject
) -> None:
    found = dict(fit_all(problem).by_wearer)
    if not problem.wearers:
        return
    who = data.draw(st.sampled_from([w.key for w in problem.wearers]))
    given_out = {w: p for w, p in found.items() if w != who}
    moves = moves_for(problem, given_out, who)
    if who in found:
        assert moves is not None
    if moves is None:
        return
    after = dict(given_out)
    for move in moves:
        assert after.get(move.wearer) == move.source
        assert move.piece not in after.values()
        assert move.piece in who_fits(problem)[move.wearer]
        after[move.wearer] = move.piece
    assert after.keys() == {*given_out, who}


@many
@given(small())
def test_pairs_and_single_fits_agree(problem: FittingProblem) -> None:
    fits = who_fits(problem)
    for wearer in problem.wearers:
        single = {p.key for p in problem.pieces if fit_of(problem, wearer, p) is not None}
        assert set(fits[wearer.key]) == single


@pytest.mark.source("SciPy, linear_sum_assignment (and min_weight_full_bipartite_matching)")
@pytest.mark.parametrize("seed", range(20))
def test_without_side_rules_it_is_scipys_assignment(seed: int) -> None:
    """Costs of one level alone: the plain assignment of a dense matrix."""
    rng = random.Random(seed)
    rows, columns = rng.randint(2, 12), rng.randint(12, 16)
    matrix = np.array([[rng.randint(0, 40) for _ in range(columns)] for _ in range(rows)])
    row, column = (a.ravel() for a in np.indices(matrix.shape))
    arcs = Arcs(rows, columns, row.astype(np.int64), column.astype(np.int64))
    chosen, (value,) = assign(arcs, [matrix.ravel().astype(np.int64)])
    best = matrix[linear_sum_assignment(matrix)].sum()
    assert value == best == matrix[row[chosen], column[chosen]].sum()


@pytest.mark.parametrize("seed", range(30))
def test_levels_that_need_several_packs_are_still_strictly_in_order(seed: int) -> None:
    """Levels too large for one number, against trying every assignment."""
    rng = random.Random(seed)
    rows, columns = 4, 6
    levels = [
        np.array([rng.choice((0, 1, 10**6, 10**12)) for _ in range(rows * columns)], np.int64)
        for _ in range(4)
    ]
    row, column = (a.ravel().astype(np.int64) for a in np.indices((rows, columns)))
    _, values = assign(Arcs(rows, columns, row, column), levels)
    tables = [level.reshape(rows, columns) for level in levels]
    best = min(
        tuple(int(sum(t[r, c] for r, c in enumerate(way))) for t in tables)
        for way in itertools.permutations(range(columns), rows)
    )
    assert values == best
