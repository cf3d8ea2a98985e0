"""Other ways to answer the two questions: which rules meet, and which cases no rule answers.

All are given the same compiled boxes, so that none pays for the reading of conditions. What each makes of them to work
on (arrays, formulas, stretches) is counted.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from itertools import product
from math import prod
from typing import Any

from liningbook.space.boxes import Box, bits, meets, runs
from tests.bench.sweep import Row, missing_rules, overlapping_pairs

Progress = Callable[[float], None]
"""Told now and then which share of the work is done, so that the whole time can be estimated."""

MOST_CELLS = 20_000_000
"""Looking at every cell is left out beyond so many."""


class TooBig(Exception):
    """Why a way is not tried at all."""


# --- which rules meet: all give the number of pairs -------------------------------------------------------------------


def pairs_by_loop(boxes: Sequence[Box], progress: Progress) -> int:
    """Every pair in turn, in plain Python."""
    found = 0
    axes = range(len(boxes[0]))
    for number, one in enumerate(boxes):
        for other in boxes[:number]:
            for axis in axes:
                if not one[axis] & other[axis]:
                    break
            else:
                found += 1
        progress(((number + 1) / len(boxes)) ** 2)
    return found


def pairs_by_numpy(boxes: Sequence[Box], progress: Progress) -> int:
    """Every pair, a block of rules against all rules at once. Quantities by their ends, choices by their bits."""
    import numpy

    count = len(boxes)
    tests: list[Callable[[slice], Any]] = []
    for masks in zip(*boxes, strict=True):
        if all(mask.bit_count() == mask.bit_length() - _low(mask) for mask in masks):
            low = numpy.array([_low(mask) for mask in masks], dtype=numpy.int32)
            high = numpy.array([mask.bit_length() - 1 for mask in masks], dtype=numpy.int32)
            tests.append(lambda part, a=low, b=high: (a[part, None] <= b[None, :]) & (a[None, :] <= b[part, None]))
        else:
            values = numpy.array(masks, dtype=numpy.uint64)
            tests.append(lambda part, v=values: (v[part, None] & v[None, :]) != 0)
    meeting = 0
    for start in range(0, count, 256):
        part = slice(start, min(count, start + 256))
        common = tests[0](part)
        for test in tests[1:]:
            common &= test(part)
        meeting += int(common.sum())
        progress(part.stop / count)
    return (meeting - count) // 2


def _low(mask: int) -> int:
    return (mask & -mask).bit_length() - 1


def pairs_by_sweep(boxes: Sequence[Box], progress: Progress) -> int:
    """The published sweep; its groups taken apart into pairs."""
    del progress
    return len(overlapping_pairs(_rows(boxes)))


def _rows(boxes: Sequence[Box]) -> list[Row]:
    return [[list(runs(mask)) for mask in box] for box in boxes]


def pairs_by_z3(boxes: Sequence[Box], progress: Progress) -> int:
    """Z3 asked of every pair whether both rules can hold."""
    import z3

    variables = _variables(len(boxes[0]))
    whole = [0] * len(boxes[0])
    for box in boxes:
        whole = [mask | other for mask, other in zip(whole, box, strict=True)]
    formulas = [_formula(variables, box, whole) for box in boxes]
    solver = z3.SolverFor("QF_LIA")
    found, done, every = 0, 0, len(boxes) * (len(boxes) - 1) // 2
    for number, one in enumerate(formulas):
        solver.push()
        solver.add(one)
        for other in formulas[:number]:
            solver.push()
            solver.add(other)
            found += solver.check() == z3.sat
            solver.pop()
            done += 1
            if done % 256 == 0:
                progress(done / every)
        solver.pop()
    return found


# --- which cases no rule answers --------------------------------------------------------------------------------------


def gaps_by_subtraction(full: Box, boxes: Sequence[Box], progress: Progress) -> int:
    """One rule after the other cut out of what is left; gives the number of boxes left."""
    left = [full]
    for number, box in enumerate(boxes):
        rest: list[Box] = []
        for piece in left:
            if meets(piece, box):
                rest += _slabs(piece, box)
            else:
                rest.append(piece)
        left = rest
        progress((number + 1) / len(boxes))
    return len(left)


def _slabs(box: Box, hole: Box) -> list[Box]:
    """The box less another that meets it, as at most one disjoint box an axis."""
    left: list[Box] = []
    rest = list(box)
    for axis, (mask, cut) in enumerate(zip(box, hole, strict=True)):
        if outside := mask & ~cut:
            left.append((*rest[:axis], outside, *rest[axis + 1 :]))
            rest[axis] = mask & cut
    return left


def gaps_by_cells(full: Box, boxes: Sequence[Box], progress: Progress) -> int:
    """Every cell looked at with numpy; gives the number of cells."""
    import numpy

    sizes = [mask.bit_count() for mask in full]
    if prod(sizes) > MOST_CELLS:
        raise TooBig(f"{prod(sizes):.0e} cells".replace("e+0", "e").replace("e+", "e"))
    open_ = numpy.ones(sizes, dtype=bool)
    for number, box in enumerate(boxes):
        open_[numpy.ix_(*[list(bits(mask)) for mask in box])] = False
        progress((number + 1) / len(boxes))
    return int(open_.sum())


def gaps_by_sweep(full: Box, boxes: Sequence[Box], progress: Progress) -> int:
    """The published sweep; gives the number of missing rules."""
    del progress
    return len(missing_rules(_rows(boxes), [mask.bit_length() for mask in full]))


def any_gap_by_z3(full: Box, boxes: Sequence[Box], progress: Progress) -> int:
    """Z3 asked for one case without a rule: a smaller question. Gives 1 if there is one."""
    del progress
    import z3

    return int(_open_cases(full, boxes)[0].check() == z3.sat)


def gaps_by_z3(full: Box, boxes: Sequence[Box], progress: Progress) -> int:
    """Z3 asked for case after case without a rule, each ruled out when found; gives the number of cells."""
    del progress
    import z3

    solver, variables = _open_cases(full, boxes)
    found = 0
    while solver.check() == z3.sat:
        model = solver.model()
        case = [model.eval(variable, model_completion=True).as_long() for variable in variables]
        found += 1
        solver.add(z3.Or([variable != value for variable, value in zip(variables, case, strict=True)]))
    return found


def _open_cases(full: Box, boxes: Sequence[Box]) -> tuple[Any, list[Any]]:
    import z3

    variables = _variables(len(full))
    solver = z3.SolverFor("QF_LIA")
    for variable, mask in zip(variables, full, strict=True):
        solver.add(variable >= 0, variable < mask.bit_length())
    for box in boxes:
        solver.add(z3.Not(_formula(variables, box, full)))
    return solver, variables


def _variables(count: int) -> list[Any]:
    import z3

    return [z3.Int(f"axis-{number}") for number in range(count)]


def _formula(variables: Sequence[Any], box: Box, full: Sequence[int]) -> Any:
    """That a case, as the numbers of its cells, lies in a box."""
    import z3

    parts = []
    for variable, mask, whole in zip(variables, box, full, strict=True):
        if mask != whole:
            stretches = [z3.And(variable >= first, variable <= last) for first, last in runs(mask)]
            parts.append(z3.Or(stretches) if len(stretches) > 1 else stretches[0])
    return z3.And(parts) if parts else z3.BoolVal(True)


PAIRS: dict[str, Callable[[Sequence[Box], Progress], int]] = {
    "pairs in a plain loop": pairs_by_loop,
    "pairs by numpy": pairs_by_numpy,
    "published sweep": pairs_by_sweep,
    "Z3, pair by pair": pairs_by_z3,
}
"""All give the same number."""

GAPS: dict[str, Callable[[Box, Sequence[Box], Progress], int]] = {
    "subtracting rule by rule": gaps_by_subtraction,
    "every cell by numpy": gaps_by_cells,
    "published sweep": gaps_by_sweep,
    "Z3, any gap at all?": any_gap_by_z3,
    "Z3, cell by cell": gaps_by_z3,
}
"""All say whether there is a gap; how many pieces each gives is its own."""


def all_cells(full: Box) -> Iterator[tuple[int, ...]]:
    """Every combination of cells, for the tests."""
    return product(*(list(bits(mask)) for mask in full))
