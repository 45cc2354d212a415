"""How a verdict on a whole channel is shown."""

from __future__ import annotations

from vibcal_nb.analysis.channel.channel_verdict import ChannelVerdict
from vibcal_nb.display.channel.channel_card import channel_quantities, channel_sentence
from vibcal_nb.display.channel.channel_statements import next_steps, not_shown, word_channel
from vibcal_nb.display.channel.channel_tables import reach_table, tests_table
from vibcal_nb.display.channel.set_point_plots import SHOWS, draw_set_points, set_point_axes, set_point_height
from vibcal_nb.display.readings.point_columns import Columns
from vibcal_nb.display.results.view import Drawing, View
from vibcal_nb.display.writing.table import Table


def _points(result: ChannelVerdict) -> tuple[Table, ...]:
    return (reach_table(result),) if result.reach else ()


def _columns(result: ChannelVerdict) -> Columns:
    unit = result.case.input_unit.shown
    return {
        "rotor": [None if point.rotor is None else point.rotor.name for point in result.reach],
        "frequency, Hz": [point.frequency_hz for point in result.reach],
        "set point": [point.set_point for point in result.reach],
        f"set at, {unit}": [point.set_level for point in result.reach],
        f"indicated at, {unit}": [point.true_level for point in result.reach],
        f"U, {unit}": [None if point.expanded is None else point.expanded.U for point in result.reach],
        "status": [point.status for point in result.reach],
    }


VIEW = View(
    words=word_channel,
    sentence=channel_sentence,
    quantities=channel_quantities,
    next_steps=next_steps,
    summary=tests_table,
    columns=_columns,
    points=_points,
    not_shown=not_shown,
    shows_relays=lambda result: result.tests.set_points is not None,
    drawing=Drawing(axes=set_point_axes, draw=draw_set_points, shows=SHOWS, height=set_point_height),
)
