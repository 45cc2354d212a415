"""A channel's sensitivities over the visits, as its results state them: the last change, and levels to compare."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from vibcal_nb.analysis.drift.normalized_error import Change, compare
from vibcal_nb.analysis.drift.observations import Observation, without_adjustments
from vibcal_nb.analysis.site.common_shift import FEWEST_CHANNELS, CommonShift, OccasionLevel, find_common_shifts
from vibcal_nb.analysis.site.site_results import SiteResult
from vibcal_nb.model.names import AS_FOUND

_REFERENCE = "reference level, "


def histories(results: Sequence[SiteResult]) -> dict[str, list[tuple[SiteResult, Observation]]]:
    """Return a channel's observations with a tolerance by quantity, in time, each with its result."""
    found: dict[str, list[tuple[SiteResult, Observation]]] = {}
    for result in sorted(results, key=lambda r: (r.date, r.condition != AS_FOUND)):
        for item in result.observations:
            if item.tolerance_pct is not None:
                found.setdefault(item.quantity, []).append((result, item))
    return found


def last_changes(history: dict[str, list[tuple[SiteResult, Observation]]]) -> list[Change]:
    """Return for each quantity the change from the state left by the visit before to the last as-found."""
    changes = []
    for items in history.values():
        for index in range(len(items) - 1, 0, -1):
            if items[index][1].condition == AS_FOUND:
                change = compare(items[index - 1][1], items[index][1])
                changes += [change] if change.why_broken is None else []
                break
    return changes


def occasion_levels(
    channel: str, history: dict[str, list[tuple[SiteResult, Observation]]]
) -> list[tuple[SiteResult, OccasionLevel]]:
    """Return the as-found levels of the channel's first quantity with adjustments taken out, one a visit."""
    if not history:
        return []
    items = next(iter(history.values()))
    results = {id(item): result for result, item in items}
    return [
        (
            results[id(item)],
            OccasionLevel(
                channel=channel,
                occasion=f"{results[id(item)].asset}, visit {results[id(item)].visit}",
                level_pct=level,
                u_own_pct=item.u_own_pct,
                shared_pct=item.shared_pct,
            ),
        )
        for item, level in without_adjustments(item for _, item in items)
    ]


def site_shifts(levels: Iterable[tuple[SiteResult, OccasionLevel]]) -> tuple[CommonShift, ...]:
    """Return the shifts that channels share: wherever one reference was used, or on one visit of an asset."""
    pairs = list(levels)
    by_asset: dict[str, list[OccasionLevel]] = {}
    by_reference: list[OccasionLevel] = []
    for result, level in pairs:
        by_asset.setdefault(result.asset, []).append(level)
        for source in level.shared_pct:
            if source.startswith(_REFERENCE):
                by_reference.append(replace(level, occasion=occasion_of(source)))
    shifts = list(find_common_shifts(by_reference))
    for own in by_asset.values():
        if len({level.channel for level in own}) >= FEWEST_CHANNELS:
            shifts += find_common_shifts(own)
    return tuple(sorted(shifts, key=lambda shift: (-shift.channels, -abs(shift.E_n))))


def occasion_of(source: str) -> str:
    """Name the occasion of all readings that share a source, such as ``reference level, REF-1 of 2026-01-10``."""
    return f"all readings with {source.removeprefix(_REFERENCE).partition(' of ')[0]}"
