"""Readings of one level over frequency as a fit takes them: one a frequency, with the errors that they share.

Readings within 1 % are at one frequency: what varies with frequency (mounting, transverse motion) is one error of all
of them, and does not average out. An error that is the same at all frequencies moves no shape and is left out.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from vibcal_nb.analysis.readings.errors.certificate_error import alike_nearby
from vibcal_nb.analysis.readings.grouping import SAME_FREQUENCY_PCT, group_close
from vibcal_nb.analysis.readings.relative_response import RelativeReadings
from vibcal_nb.arrays import FloatArray, frozen
from vibcal_nb.metrology.numerics.correlated_errors import CorrelatedErrors

LEAST = 1e-7  # relative; a reading without any uncertainty would decide alone


@dataclass(frozen=True, kw_only=True, eq=False)
class OverFrequency:
    """One sensitivity a frequency, ascending (n,), and the relative errors of them.

    ``errors_nu`` are the degrees of freedom with which the errors are known. ``rows`` says which readings of the case
    each is made of.
    """

    frequency_hz: FloatArray
    sensitivity: FloatArray
    errors: CorrelatedErrors
    errors_nu: float
    rows: tuple[NDArray[np.intp], ...]


def over_frequency(relative: RelativeReadings) -> OverFrequency:
    """Merge the usable readings with an output above 0, see ``OverFrequency``."""
    chosen = np.flatnonzero(relative.usable & (np.nan_to_num(relative.sensitivity) > 0.0))
    found = group_close(relative.readings.frequency_hz[chosen], within_pct=SAME_FREQUENCY_PCT)
    groups = tuple(chosen[group] for group in found)
    ln_s = np.log(np.where(relative.sensitivity > 0.0, relative.sensitivity, 1.0))
    frequency_hz = np.exp(_means(np.log(relative.readings.frequency_hz), groups))
    own = np.array([math.sqrt(float((relative.own_pct[g] ** 2).sum())) / g.size for g in groups])
    shared = _shared(relative, frequency_hz, _means(relative.uncertainty.zero_leverage, groups))
    alone = (shared != 0.0).sum(axis=1) == 1  # of one frequency alone
    mounting = np.array([relative.uncertainty.u_frequency_pct(float(hz)) for hz in frequency_hz])
    by_frequency = np.sqrt((shared[alone] ** 2).sum(axis=0) + mounting**2 + relative.u_drift_pct**2)
    return OverFrequency(
        frequency_hz=frozen(frequency_hz),
        sensitivity=frozen(np.exp(_means(ln_s, groups))),
        errors=CorrelatedErrors(
            own=frozen(np.maximum(np.hypot(own, by_frequency) / 100.0, LEAST)),
            shared=_moving(shared[~alone]),
            otherwise=_otherwise(relative, frequency_hz),
        ),
        errors_nu=_degrees_of_freedom(own, by_frequency, relative.uncertainty.degrees_of_freedom),
        rows=groups,
    )


def _means(values: FloatArray, groups: tuple[NDArray[np.intp], ...]) -> FloatArray:
    return np.array([float(values[group].mean()) for group in groups])


def _shared(relative: RelativeReadings, frequency_hz: FloatArray, leverage: FloatArray) -> FloatArray:
    """Sizes in % of the errors that readings share, one row an error, one column a frequency."""
    uncertainty = relative.uncertainty
    sources = [uncertainty.shared_pct(float(hz)) for hz in frequency_hz]
    names = dict.fromkeys(name for of_frequency in sources for name in of_frequency)
    rows = [[of_frequency.get(name, 0.0) for of_frequency in sources] for name in names]
    return np.array([*rows, uncertainty.u_readout_pct * leverage])


def _moving(shared: FloatArray) -> FloatArray:
    """The errors as fractions, one column an error, less what is alike at all frequencies; those that move a shape."""
    rows = shared - shared.mean(axis=1, keepdims=True) if shared.size else shared
    return frozen(rows[np.ptp(rows, axis=1) > 0.0].T / 100.0 if shared.size else np.zeros((0, 0)))


def _otherwise(relative: RelativeReadings, frequency_hz: FloatArray) -> FloatArray:
    """What the covariance gains where neighbours share the certificate's error, as fractions."""
    errors = [relative.uncertainty.reference_error(float(hz)) for hz in frequency_hz]
    return frozen(alike_nearby(errors) / 1e4)


def _degrees_of_freedom(own: FloatArray, by_frequency: FloatArray, nu: float) -> float:
    """Of the errors in all (JCGM 100:2008, G.4.1), where those of single readings are known with ``nu``."""
    u, rest = (math.sqrt(float(np.mean(part**2))) if part.size else 0.0 for part in (own, by_frequency))
    return math.inf if math.isinf(nu) or u == 0.0 else nu * (math.hypot(u, rest) / u) ** 4
