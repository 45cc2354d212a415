"""Contributions to the uncertainty that no certificate states: their defaults, and a visit's edits.

The default sizes are judgement for hand-held field work with a portable shaker and are marked so wherever a
budget is shown; a visit replaces any of them, or adds others, in its ``[contributions.NAME]`` tables.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date
from typing import cast

from vibcal_nb.analysis.readings.errors.shaker_load import JUDGEMENT, USUAL_LOAD, ShakerLoad
from vibcal_nb.metrology.uncertainty.budget_line import BudgetError, BudgetLine, Distribution, Kind
from vibcal_nb.model.equipment import Readout, Reference
from vibcal_nb.model.visit import Contribution, Visit
from vibcal_nb.units import DAYS_PER_YEAR

SETTLING = "settling and reading"
DRIFT_PCT_PER_YEAR = 0.2  # judgement: a reference accelerometer's long-term stability
READOUT_DRIFT_PCT_PER_YEAR = 0.1  # judgement: a hand-held voltmeter's


@dataclass(frozen=True, kw_only=True)
class StatedContribution:
    """A budget line in % of the level; whether it differs between frequencies, and whether the visit states it.

    What varies with frequency (transverse motion, mounting) is common to all levels at one frequency, so that
    more levels do not average it, but does not cancel in a response relative to another frequency.
    """

    line: BudgetLine
    varies_with_frequency: bool
    edited: bool


DISTORTION = "distortion"
BY_FREQUENCY = ("mounting", "transverse motion", DISTORTION)
OF_THE_SHAKER = (*BY_FREQUENCY, "cable strain")


def _default(name: str, value_pct: float, *, kind: str = "common", source: str = JUDGEMENT) -> Contribution:
    return Contribution(name=name, value_pct=value_pct, distribution="rectangular", kind=kind, source=source)


def _defaults(load: ShakerLoad) -> dict[str, Contribution]:
    settling = Contribution(
        name=SETTLING,
        value_pct=0.2,
        distribution="normal",
        kind="independent",
        source=JUDGEMENT + ", or repeat readings",
    )
    return {
        "mounting": _default("mounting", load.mounting_pct, source=load.mounting_source),
        "cable strain": _default("cable strain", 0.1, kind="independent"),
        "transverse motion": _default("transverse motion", load.transverse_pct, source=load.transverse_source),
        DISTORTION: _default(DISTORTION, 0.1),
        "temperature": _default("temperature", 0.2),
        SETTLING: settling,
    }


_SHORT_NAMES = {"settling": SETTLING}


def state_contributions(
    visit: Visit, *, load: ShakerLoad = USUAL_LOAD, electrical: bool = False
) -> tuple[StatedContribution, ...]:
    """Return the default contributions with the visit's edits, then the visit's own additions.

    ``load`` is what the shaker and what it carries give. Where the input is ``electrical``, what a shaker and a mounted
    sensor contribute is left out, edited or not.

    Raises ``BudgetError`` with a sentence where an edit cannot be used.
    """
    edits = {_name(item.name): item for item in visit.contributions}
    found = [
        StatedContribution(line=_line(item, name), varies_with_frequency=name in BY_FREQUENCY, edited=name in edits)
        for name, item in (_defaults(load) | edits).items()
    ]
    return tuple(item for item in found if not (electrical and item.line.name in OF_THE_SHAKER))


def drift_line(name: str, instrument: Reference | Readout, on: date, *, usual: float) -> BudgetLine:
    """What an instrument may have drifted since its calibration, in %: a rate that it states, or the ``usual`` one."""
    years = max((on - instrument.calibrated).days, 0) / DAYS_PER_YEAR
    rate = instrument.drift_pct_per_year
    source = f"{usual:g} % a year: {JUDGEMENT}" if rate is None else f"{rate:g} % a year, equipment.toml"
    return BudgetLine(
        name=name,
        value=years * (usual if rate is None else rate),
        distribution="rectangular",
        kind="common",
        source=f"{source}; {years:.1f} years since calibration",
    )


def _name(name: str) -> str:
    plain = name.replace("_", " ").replace("-", " ").strip().lower()
    return _SHORT_NAMES.get(plain, plain)


def state_line(contribution: Contribution, *, sensitivity_coefficient: float = 1.0) -> BudgetLine:
    """Make the line, in percent, of what a visit's file states.

    A stated divisor is k for ``normal`` (1 where none is stated: the value is a standard uncertainty),
    fixes beta for ``trapezoidal``, and must agree within 1 % with the distribution's own otherwise.
    """
    stated, nu = contribution.divisor, contribution.degrees_of_freedom
    is_normal = contribution.distribution == "normal"
    line = BudgetLine(
        name=contribution.name,
        value=contribution.value_pct,
        kind=cast(Kind, contribution.kind),
        distribution=cast(Distribution, contribution.distribution),
        k=stated if is_normal and stated is not None else 1.0,
        beta=_beta_of(contribution) if contribution.distribution == "trapezoidal" else None,
        sensitivity_coefficient=sensitivity_coefficient,
        degrees_of_freedom=math.inf if nu is None else nu,
        source=contribution.source or "",
    )
    if stated is not None and abs(stated - line.divisor) > 0.01 * line.divisor:
        raise BudgetError(
            f"budget line '{line.name}': the divisor {stated} does not belong to a {line.distribution} "
            f"distribution, whose divisor is {line.divisor:.3f}; leave it out or change the distribution"
        )
    return line


def _line(contribution: Contribution, name: str) -> BudgetLine:
    try:
        line = state_line(contribution)
    except BudgetError as error:
        raise BudgetError(f"visit.toml, {error}") from error
    return BudgetLine(
        name=name,
        value=line.value,
        kind=line.kind,
        distribution=line.distribution,
        k=line.k,
        beta=line.beta,
        degrees_of_freedom=line.degrees_of_freedom,
        source=line.source or "visit.toml",
    )


def _beta_of(contribution: Contribution) -> float:
    """Return the beta of the trapezoid with the stated divisor, sqrt(6 / (1 + beta^2))."""
    divisor = contribution.divisor
    if divisor is None or not math.sqrt(3.0) * 0.99 <= divisor <= math.sqrt(6.0) * 1.01:
        raise BudgetError(
            f"budget line '{contribution.name}': the divisor of a trapezoidal distribution is {divisor}; "
            "give it, from 1.732 (a rectangle) to 2.449 (a triangle)"
        )
    return math.sqrt(min(max(6.0 / divisor**2 - 1.0, 0.0), 1.0))
