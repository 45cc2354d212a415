"""All small wrong changes that cosmic-ray's operators can make to a module, and a seeded draw among them."""

from __future__ import annotations

import ast
import itertools
import random
import re
import warnings
from collections import defaultdict
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from cosmic_ray import plugins
from cosmic_ray.ast import ast_nodes, get_ast
from cosmic_ray.mutating import mutate_code

NO_SLIP_OF_THE_PEN = re.compile(
    r"Shift|Bit|_Is(Not)?$|UAdd|USub_Not|Invert|Variable(Replacer|Inserter)|_Mod$|_FloorDiv$"
)
"""Operators left out: bits shifted, identity asked of numbers: nearly any test kills those, which flatters the rate."""


@dataclass(frozen=True, kw_only=True)
class Mutant:
    """One change: an operator of cosmic-ray at its nth place in a module; line from 1, column from 0."""

    path: str
    operator: str
    occurrence: int
    line: int
    column: int

    def source(self) -> str:
        original = Path(self.path).read_text(encoding="utf-8")
        return mutate_code(original, _operators()[self.operator], self.occurrence)


def draw(paths: list[Path], size: int, seed: int) -> list[Mutant]:
    """Return about `size` mutants, of each module as many as it has places for its share, at least one.

    A place is drawn first and one change of it then, so that a `-`, which can be replaced in more ways than a `not`,
    is not drawn more often.
    """
    places = {path: places_of(path) for path in paths}
    total = sum(map(len, places.values()))
    chance = random.Random(seed)
    drawn = []
    for path in paths:
        share = min(len(places[path]), max(1, round(size * len(places[path]) / total)))
        shuffled = (chance.sample(mutants, len(mutants)) for mutants in chance.sample(places[path], len(places[path])))
        real = (next(filter(_changes, mutants), None) for mutants in shuffled)
        drawn += itertools.islice(filter(None, real), share)
    chance.shuffle(drawn)  # so that a draw cut short is a sample of all modules, too
    return drawn


def places_of(path: Path) -> list[list[Mutant]]:
    """Return what cosmic-ray can do to a module, a list a place; some of it may not compile."""
    source = path.read_text(encoding="utf-8")
    nodes, silent = list(ast_nodes(get_ast(source))), _silent_spans(ast.parse(source))
    found = defaultdict(list)
    for name, operator in _operators().items():
        positions = [(node, start) for node in nodes for start, _ in operator.mutation_positions(node)]
        for occurrence, (node, place) in enumerate(positions):
            if node.parent is not None and node.parent.type == "parameters":  # the * before keyword-only parameters
                continue
            if not any(begin <= place < end for begin, end in silent):
                line, column = place
                mutant = Mutant(path=path.as_posix(), operator=name, occurrence=occurrence, line=line, column=column)
                found[place].append(mutant)
    return [found[place] for place in sorted(found)]


@cache
def _operators() -> dict[str, object]:
    names = [name for name in plugins.operator_names() if not NO_SLIP_OF_THE_PEN.search(name)]
    return {name: plugins.get_operator(name)() for name in names}


def _changes(mutant: Mutant) -> bool:
    """Tell whether a mutant is a program at all, and another one than the original."""
    mutated, original = mutant.source(), Path(mutant.path).read_text(encoding="utf-8")
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", SyntaxWarning)
        try:
            compile(mutated, mutant.path, "exec")
        except SyntaxError:
            return False
    return ast.dump(ast.parse(mutated)) != ast.dump(ast.parse(original))


def _silent_spans(tree: ast.Module) -> list[tuple[tuple[int, int], tuple[int, int]]]:
    """Return where nothing is done.

    Annotations, which `from __future__ import annotations` leaves unevaluated, and the `strict=True` of `zip`, which
    changes nothing unless two sequences of one length had become two lengths.
    """
    spans = []
    for node in ast.walk(tree):
        parts = [getattr(node, "annotation", None), getattr(node, "returns", None)]
        parts += [node.value] if isinstance(node, ast.keyword) and node.arg == "strict" else []
        spans += [((p.lineno, p.col_offset), (p.end_lineno, p.end_col_offset)) for p in parts if p is not None]
    return spans
