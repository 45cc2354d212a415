"""What the cells of the channel verdict call to show something: one call, one display."""

from __future__ import annotations

from html import escape

from vibcal_nb.analysis.channel.channel_verdict import ChannelVerdict
from vibcal_nb.display.channel.channel_statements import (
    attribution_sentence,
    consequence_sentences,
)
from vibcal_nb.display.channel.channel_tables import (
    attribution_table,
    changes_table,
    reach_table,
    tests_html,
    tests_table,
)
from vibcal_nb.display.channel.part_plots import parts_picture
from vibcal_nb.display.channel.tests_plots import pictured_tests
from vibcal_nb.display.readings.input_tables import specifications_table
from vibcal_nb.notebook.show import show


def set_points(result: ChannelVerdict) -> None:
    """Show where each set point is indicated, and the same as a table."""
    if not result.reach:
        reason = result.undetermined["reach"]
        show.sentence(f"No set points: {reason}.")
        return
    show.figure(result)
    show.folded_tables("The same in numbers", reach_table(result))


def tests(result: ChannelVerdict) -> None:
    """Show the tests side by side, small, and where their records are."""
    picture = pictured_tests(result)
    if picture is not None:
        show.picture(picture)
    show.html(tests_html(result), tests_table(result).to_text())


def attribution(result: ChannelVerdict) -> None:
    """Show which part the deviation belongs to, by frequency; or why that cannot be told."""
    show.picture(parts_picture(result))
    if result.attribution is None:
        reason = result.undetermined["attribution"]
        show.sentence(f"Not attributed: {reason}.")
        return
    contradictions = result.attribution.contradictions
    text = f"{attribution_sentence(result)}."
    html = f"<p>{escape(text)}</p>" + (
        show.list_html("The tests contradict each other", contradictions) if contradictions else ""
    )
    show.html(html, " ".join([text, *(f"{item}." for item in contradictions)]))
    show.folded_tables("At every frequency", attribution_table(result))


def conditions(result: ChannelVerdict) -> None:
    """Show as-found against as-left, and what a failed as-found meant; or why there is nothing to compare."""
    if result.changes is None:
        reason = result.undetermined["as_found_as_left"]
        show.sentence(f"Nothing to compare: {reason}.")
    else:
        show.table(changes_table(result))
    sentences = consequence_sentences(result)
    if sentences:
        html = show.list_html("Consequence of the failed as-found", sentences)
    else:
        sentences = (f"No consequence to state: {result.undetermined['consequence']}",)
        html = f"<p>{escape(sentences[0])}.</p>"
    show.html(html, " ".join(f"{sentence}." for sentence in sentences))


def specifications(result: ChannelVerdict) -> None:
    """Show what the channel should do, and who measured with what, folded: the tests' records have it too."""
    show.folded_tables(
        "What the channel should do, and who measured with what", specifications_table(result.case.tests.values())
    )
