"""Two faults at once: which pairs are tried where no single fault fits, and how their variants join."""

from __future__ import annotations

from collections.abc import Sequence

from vibcal_nb.analysis.faults.explanation import Explanation
from vibcal_nb.analysis.faults.fault_families import HEALTHY, NONE_OF_THESE, Family, Variant


def pairs_of(ranked: Sequence[Explanation], families: Sequence[Family]) -> list[Family]:
    """Pairs of the two likeliest single faults with every other: their variants joined."""
    apart = (HEALTHY, NONE_OF_THESE, "cable strain")
    by_name = {family.name: family for family in families if family.name not in apart}
    leading = [item.name for item in ranked if item.name in by_name][:2]
    names = {frozenset((a, b)) for a in leading for b in by_name if a != b}
    return [_join(by_name[a], by_name[b]) for a, b in sorted(tuple(sorted(pair)) for pair in names)]


def _join(one: Family, two: Family) -> Family:
    variants = [
        Variant(
            expected=dict(a.expected) | dict(b.expected),
            fixed=dict(a.fixed) | dict(b.fixed),
            starts=tuple({**a.starts[i % len(a.starts)], **b.starts[i % len(b.starts)]} for i in range(2)),
            unsteady=max(a.unsteady, b.unsteady),
            share=a.share * b.share,
        )
        for a in one.variants
        for b in two.variants
    ]
    kept = tuple(sorted(variants, key=lambda v: -v.share)[:4])
    return Family(name=f"{one.name} and {two.name}", part=f"{one.part}, {two.part}", variants=kept)
