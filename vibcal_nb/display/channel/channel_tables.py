"""Tables of a verdict on a whole channel: reach, attribution, and what the visit changed."""

from __future__ import annotations

from html import escape

from vibcal_nb.analysis.channel.as_found_as_left import ConditionChange
from vibcal_nb.analysis.channel.channel_verdict import ChannelVerdict
from vibcal_nb.analysis.channel.reach_point import ReachPoint
from vibcal_nb.display.writing.chip import chip_html
from vibcal_nb.display.writing.names import spoken
from vibcal_nb.display.writing.numbers import NONE, frequency, number, percent, with_uncertainty
from vibcal_nb.display.writing.table import Row, Table
from vibcal_nb.model.names import AS_FOUND, AS_LEFT, MODULE_ALONE, SET_POINT, SET_POINTS


def reach_table(result: ChannelVerdict) -> Table:
    """Every set point at every speed: where it is indicated, and how far that was shown."""
    unit = result.case.input_unit.shown
    return Table(
        caption="The true vibration at which each set point is indicated",
        headings=(
            "at",
            "set point",
            f"set level, {unit}",
            f"true level, {unit}",
            "reading error there",
            f"highest level, {unit}",
            "indicated at most",
            f"extrapolation adds to U, {unit}",
            "status",
            "from",
        ),
        rows=tuple(_reach_row(point) for point in result.reach),
        text_columns=(0, 1, 8, 9),
        note="Uncertainties are expanded. Demonstrated: levels were driven on both sides of it at that speed, and the "
        "output came to it. Inferred: the readings are straight and came to at least two thirds of it, or the band "
        "response carries a line to that speed, or sensor and module were tested one by one up to it. Does not act: "
        "driven beyond it, farther than tolerance and uncertainty explain, without its being indicated. Set points are "
        "taken as exact.",
    )


def _reach_row(point: ReachPoint) -> Row:
    known = point.true_level is not None and point.expanded is not None
    at = frequency(point.frequency_hz) + (f", {point.rotor.name}" if point.rotor else "")
    return Row(
        cells=(
            at,
            point.set_point,
            f"{point.set_level:g}",
            with_uncertainty(point.true_level, point.expanded) if known else NONE,  # type: ignore[arg-type]
            NONE if point.reading_error_pct is None else percent(point.reading_error_pct, decimals=1),
            NONE if point.highest_level is None else number(point.highest_level, digits=3),
            NONE if point.reached_pct is None else f"{point.reached_pct:.0f} % of it",
            NONE if point.extrapolation_adds is None else number(point.extrapolation_adds, digits=2),
            point.status,
            point.reason or point.basis,
        )
    )


def tests_table(result: ChannelVerdict) -> Table:
    """The verdict of each test that the channel is asked for or was given."""
    rows = [Row(cells=(spoken(test),), verdict=verdict) for test, verdict in result.tests.verdicts.items()]
    return Table(caption="The tests", headings=("test", "verdict"), rows=tuple(rows), text_columns=(0, 1))


def tests_html(result: ChannelVerdict) -> str:
    """Return the verdict of each test with a link to the page of its record, which lies beside that of the channel."""
    return f"<p>{' &nbsp; '.join(_test_link(result, *item) for item in result.tests.verdicts.items())}</p>"


def _test_link(result: ChannelVerdict, test: str, verdict: str) -> str:
    case = result.case.tests.get(SET_POINT if test == SET_POINTS else test)
    name = escape(spoken(test))
    if case is not None and test != MODULE_ALONE:  # what is injected into the module has no record of its own
        name = f'<a href="{test}.{case.condition}.html">{name}</a>'
    return f"{name} {chip_html(verdict)}"


def attribution_table(result: ChannelVerdict) -> Table:
    """The channel's deviation from nominal attributed to the sensor and to the rest, by frequency."""
    attribution = result.attribution
    points = () if attribution is None else attribution.points
    rows = tuple(
        Row(
            cells=(
                frequency(point.frequency_hz),
                spoken(point.test),
                with_uncertainty(point.channel_pct, point.channel, signed=True),
                with_uncertainty(point.sensor_pct, point.sensor, signed=True),
                with_uncertainty(point.rest_pct, point.rest, signed=True),
            )
        )
        for point in points
    )
    return Table(
        caption="Deviation from nominal, and whose it is",
        headings=("frequency", "channel's test", "channel, %", "sensor alone, %", "what follows it, %"),
        rows=rows,
        text_columns=(1,),
        note="(1 + channel) = (1 + sensor)(1 + rest). The reference and the readout are common to both tests and have "
        "cancelled in the rest, which includes what the band filter takes at that frequency.",
    )


def changes_table(result: ChannelVerdict) -> Table:
    """What was determined as found and as left, and whether the change is more than its uncertainty."""
    found, left = (spoken(name) for name in (AS_FOUND, AS_LEFT))
    at = result.case.found_at
    return Table(
        caption=f"{found.capitalize()}{f' at the visit {at}' if at else ''} against {left}",
        headings=("quantity", found, left, "change", "U of the change", "significant", "limit"),
        rows=tuple(_change_row(change) for change in result.changes or ()),
        text_columns=(0, 5),
        note="Sensitivities as deviations from nominal; the change is in % of the value as found. Significant: the "
        "change exceeds its expanded uncertainty; what reference and readout both conditions have in common has "
        "cancelled in it.",
    )


def _change_row(change: ConditionChange) -> Row:
    if change.unit == "%":
        found, left = percent(change.as_found), percent(change.as_left)
    else:
        found, left = (f"{number(value)} {change.unit}" for value in (change.as_found, change.as_left))
    limit = NONE if change.tolerance_pct is None else f"± {change.tolerance_pct:g} %"
    expanded = percent(change.expanded.U, signed=False)
    answer = "yes" if change.significant else "no"
    return Row(cells=(change.quantity, found, left, percent(change.change_pct), expanded, answer, limit))
