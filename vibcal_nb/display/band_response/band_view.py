"""How a band response is shown."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from vibcal_nb.analysis.band_response.band_response import BandResponseResult, analyse_band_response
from vibcal_nb.analysis.readings.judged_point import JudgedPoint
from vibcal_nb.display.band_response.band_card import band_quantities, band_sentence
from vibcal_nb.display.band_response.band_plots import SHOWS, band_axes, band_height, draw_band
from vibcal_nb.display.band_response.band_statements import word_band_response
from vibcal_nb.display.band_response.band_tables import band_points, band_summary
from vibcal_nb.display.phase.phase_tables import phase_columns
from vibcal_nb.display.readings.point_columns import point_columns
from vibcal_nb.display.results.view import Control, Drawing, Grip, View, WhatIf, either_side, rule_in_short
from vibcal_nb.display.writing.numbers import frequency, true_minus
from vibcal_nb.metrology.uncertainty.budget import Budget
from vibcal_nb.model.case import Case


def _together(result: BandResponseResult) -> Iterator[tuple[str, Sequence[JudgedPoint]]]:
    yield "", result.points


ONE_ERROR_OVER_A_BAND = (
    "which part of the certificate's error frequencies within an octave share: the scatter of the readings gives "
    "a probability, by which corners and the fitted response are stated (the octave is judgement, no source)"
)


def _not_shown(result: BandResponseResult) -> tuple[str, ...]:
    used = [p.reading.frequency_hz for p in result.points if p.used]
    ends = (f"the response below {min(used):g} Hz and above {max(used):g} Hz",) if used else ()
    own = any((error := result.uncertainty.reference_error(hz)) and error.own_pct for hz in used)
    return (*ends, ONE_ERROR_OVER_A_BAND) if own and result.fit is not None else ends


def _budgets(result: BandResponseResult) -> tuple[tuple[str, Budget], ...]:
    budget = result.reference_budget
    return () if budget is None else ((frequency(result.specification.reference_hz), budget),)


def _limits(result: BandResponseResult) -> str:
    band = result.specification
    flat = f"flat part ± {band.flat_pct:g} %; " if band.flat_pct else ""
    low, high = band.corner_db
    rule = rule_in_short(result.rule).lower().replace("rule: ", "")
    return true_minus(f"{flat}corners {low:g} to {high:g} dB re {frequency(band.reference_hz)}; {rule}")


def _controls(result: BandResponseResult) -> tuple[Control, ...]:
    band = result.specification
    flat = Control(name="flat_pct", label="flat part, ± %", kind="share", value=band.flat_pct, most=20.0)
    return (
        *((flat,) if band.flat_pct is not None else ()),
        Control(name="corner_db", label="corners, dB", kind="range", value=band.corner_db),
        Control(name="reference_hz", label="reference", kind="frequency", value=band.reference_hz),
    )


def _change(case: Case, values: Mapping[str, Any]) -> Case:
    flat = values.get("flat_pct", case.channel.band.flat_pct if case.channel.band else None)
    return case.with_band(flat_pct=flat, corner_db=values["corner_db"], reference_hz=values["reference_hz"])


def _grips(result: BandResponseResult) -> Iterator[Grip]:
    """The flat part's limits and the reference below, what is allowed at the corners above, in dB."""
    for part in (0, 1):
        yield Grip(control="corner_db", pane=0, along="y", part=part)
    if result.specification.flat_pct is not None:
        yield from either_side("flat_pct", 1)
    yield Grip(control="reference_hz", pane=1, along="x")


VIEW = View(
    words=word_band_response,
    sentence=band_sentence,
    quantities=band_quantities,
    summary=band_summary,
    columns=lambda result: (
        point_columns(result.points, result.case, value="response") | phase_columns(result.phase, result.points)
    ),
    points=band_points,
    together=_together,
    not_shown=_not_shown,
    budgets=_budgets,
    drawing=Drawing(
        axes=band_axes,
        draw=draw_band,
        shows=SHOWS,
        height=band_height,
    ),
    what_if=WhatIf(
        limits=_limits,
        controls=_controls,
        change=_change,
        analyse=analyse_band_response,
        grips=lambda result: tuple(_grips(result)),
        ratios=lambda _: (1,),
    ),
)
