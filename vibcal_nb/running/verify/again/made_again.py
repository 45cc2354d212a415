"""Whether a record follows from what it states: its notebook executed again, and everything compared."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import islice
from pathlib import Path
from typing import Any

from vibcal_nb.records.inputs_used.encoding import NotEncoded
from vibcal_nb.records.perform.differences import count_numbers
from vibcal_nb.records.seal.record_content import inputs_of, result_of
from vibcal_nb.records.seal.sources import sum_of_sources
from vibcal_nb.records.seal.surroundings import surroundings
from vibcal_nb.running.fleet.own_notebooks import own_sum, was_own
from vibcal_nb.running.fleet.stamp import NOTEBOOK, PACKAGE, hash_package, is_package_changed, package_version, stamp_of
from vibcal_nb.running.verify.again.compare_cells import compare_notebooks
from vibcal_nb.running.verify.again.perform_again import (
    DoesNotFollow,
    NotPerformed,
    default_parameters,
    own_template,
    perform_again,
)
from vibcal_nb.running.verify.states import Finding, State, altered
from vibcal_nb.running.verify.verifier import Verifier

_SHOWN = 10
_STAMP = {"inputs_sha256", "like_sha256", NOTEBOOK, PACKAGE, "version", "seal"}


def made_again(notebook: Mapping[str, Any], seal: Mapping[str, Any], verifier: Verifier) -> Iterator[Finding | str]:
    """Yield what comes of performing a record again. Raises what a forged record's odd content raises."""
    stated, stamp = inputs_of(notebook), stamp_of(notebook)
    if not stated:
        return  # of schema 1: said where its inputs are asked for
    yield from (altered(f"its metadata holds '{name}', which no record has") for name in sorted(set(stamp) - _STAMP))
    own = list(_notebook_findings(notebook, stamp))
    yield from own
    if any(finding.state is State.NOT_PERFORMED for finding in own):
        return
    parameters = seal["parameters"]
    try:
        again = perform_again(analysis=seal["record"]["analysis"], parameters=parameters, inputs=stated)
    except NotPerformed as reason:
        yield Finding(state=State.NOT_PERFORMED, text=str(reason))
        return
    except (DoesNotFollow, NotEncoded) as reason:
        yield altered(str(reason))
        return
    yield from _identity_findings(notebook, seal)
    yield from _compared(notebook, again, seal, stamp, verifier)
    yield from _unusual(parameters, seal["record"]["analysis"])


def _notebook_findings(notebook: Mapping[str, Any], stamp: Mapping[str, Any]) -> Iterator[Finding]:
    """The notebook that made a record, held against the package's own of the version that it names."""
    stated = stamp[NOTEBOOK]
    executed = sum_of_sources(notebook)
    if executed != stated["sha256"]:
        yield altered(f"its cells are not those of the notebook that it names ({stated['file']})")
        return
    version, file = stamp.get("version"), stated["file"]
    named = f"{file}, SHA-256 {executed[:16]}…"
    if stated["own"] and own_sum(version, file) is not None and not was_own(version, file, executed):
        yield altered(f"it says that it was made with the package's own notebook, and was made with another ({named})")
    elif not stated["own"]:
        text = f"it was made with another notebook than the package's own ({named}), and says so"
        yield Finding(state=State.NOT_PERFORMED, text=text)
    elif version == package_version() and executed != own_sum(version, file):
        text = f"it was made with {named}, which this version had earlier; install its sources of that time"
        yield Finding(state=State.NOT_PERFORMED, text=text)
    elif executed != own_sum(package_version(), file):
        text = f"it was made with {named} of version {version}; install that version to perform it again"
        yield Finding(state=State.NOT_PERFORMED, text=text)


def _identity_findings(notebook: Mapping[str, Any], seal: Mapping[str, Any]) -> Iterator[Finding]:
    """Seal, parameters, stated inputs and result have to be of the same channel, analysis, condition and visit."""
    identity, result, parameters = seal["record"], result_of(notebook), seal["parameters"]
    own = inputs_of(notebook)["visits"][0]
    stated = {
        "channel": [result.get("channel"), parameters.get("channel"), own["channel"]["tag"]],
        "condition": [result.get("condition"), parameters.get("condition")],
        "analysis": [result.get("analysis")],
        "visit": [own["name"], Path(str(parameters.get("visit_folder"))).name],
        "asset": [own["asset"]["tag"]],
    }
    for name, values in stated.items():
        other = next((value for value in values if value != identity[name]), None)
        if other is not None:
            yield altered(f"it is sealed as {name} {identity[name]!r}, and is of {other!r}")


def _compared(
    notebook: Mapping[str, Any],
    again: Mapping[str, Any],
    seal: Mapping[str, Any],
    stamp: Mapping[str, Any],
    verifier: Verifier,
) -> Iterator[Finding | str]:
    exact = verifier.is_by_this_software(stamp, seal)
    found = compare_notebooks(notebook, again, exact=exact)
    differences = list(islice(found, _SHOWN))
    more = sum(1 for _ in found)
    state, by = _meaning_of_a_difference(seal, stamp)
    for text in differences:
        yield Finding(state=state, text=f"performed again{by}: {text}")
    if more:
        yield Finding(state=state, text=f"performed again{by}: {more} more differences")
    if not differences:
        cells, numbers = len(again["cells"]), count_numbers(result_of(notebook))
        how = "the same" if exact else f"the same{by}, but for what libraries do not promise"
        yield f"performed again: {cells} cells with every output, {numbers} numbers among them, {how}"


def _meaning_of_a_difference(seal: Mapping[str, Any], stamp: Mapping[str, Any]) -> tuple[State, str]:
    """By the same sources nothing may differ, whatever the surroundings; other sources may compute something else."""
    if stamp.get(PACKAGE) != hash_package():
        version = (
            "other sources of the same version" if stamp.get("version") == package_version() else "another version"
        )
        return State.NOT_PERFORMED, f" by {version} (the record: {stamp.get('version')})"
    if is_package_changed():
        return State.NOT_PERFORMED, " while the software was being changed (verify again)"
    environment = seal.get("environment")
    here = surroundings()
    if environment == here:
        return State.ALTERED, ""
    there = environment if isinstance(environment, Mapping) else {}
    other = [f"{name} {there.get(name)}" for name in {**here, **there} if here.get(name) != there.get(name)]
    return State.ALTERED, f" in other surroundings (the record: {', '.join(other[:5])})"


def _unusual(parameters: Mapping[str, Any], analysis: str) -> Iterator[str]:
    """Say which parameters are not those that stand in the notebook: choices are a person's, and have to be seen."""
    usual = default_parameters(own_template(analysis))
    for name, value in parameters.items():
        if name not in ("visit_folder", "channel", "condition") and usual.get(name) != value:
            yield f"made with {name} = {value!r} (the notebook: {usual.get(name)!r})"
