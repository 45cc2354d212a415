"""Logic m out of n: it acts where at least m of its n inputs are true."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from itertools import combinations
from typing import TypeVar

T = TypeVar("T")


def acts(in_trip: int, *, needed: int) -> bool:
    """Whether logic that needs ``needed`` inputs acts with ``in_trip`` of them."""
    return in_trip >= needed


def states_of(inputs: Collection[T]) -> Iterator[tuple[T, ...]]:
    """Yield every state of some inputs as those that are true, the fewest first: 2 ** n states.

    >>> list(states_of("AB"))
    [(), ('A',), ('B',), ('A', 'B')]
    """
    for count in range(len(inputs) + 1):
        yield from combinations(inputs, count)


def deciding_states(inputs: Collection[T], *, needed: int) -> Iterator[tuple[T, ...]]:
    """Yield the states in which one input decides: one short of acting, and just enough to act, the fewest first.

    These tell the logic from every other one that only counts, and each input from one that is not connected.
    """
    for state in states_of(inputs):
        if len(state) in (needed - 1, needed):
            yield state
