"""What the cells of the channel verdict call to show something: one call, one display."""

from __future__ import annotations

from html import escape

from vibcal_nb.analysis.channel.channel_verdict import ChannelVerdict
from vibcal_nb.display.channel.channel_statements import (
    attribution_sentence,
    consequence_sentences,
    headline,
    next_steps,
)
from vibcal_nb.display.channel.channel_tables import attribution_table, changes_table, reach_table, tests_table
from vibcal_nb.display.channel.part_plots import parts_picture
from vibcal_nb.display.channel.tests_plots import pictured_tests
from vibcal_nb.display.results.input_tables import readings_table, specification_table
from vibcal_nb.display.results.not_shown import list_not_shown
from vibcal_nb.display.results.statements import compose_statement, word_result
from vibcal_nb.display.results.verdict_html import head_html
from vibcal_nb.metrology.conformity.decision import decision_rule_sentence
from vibcal_nb.notebook.show import show


def verdict(result: ChannelVerdict) -> None:
    """Show the verdict in one sentence, then the reasons, what was not verified, and the decision rule."""
    said = word_result(result)
    head = head_html(result.verdict, f"{headline(result)}.")
    parts = [("Not verified", said.gaps), ("Reasons", said.findings[1:]), ("Also seen", said.remarks)]
    body = "".join(show.list_html(title, items) for title, items in parts if items)
    html = f"{head}{body}<p>{escape(decision_rule_sentence(result.rule))}</p>"
    show.html(html, compose_statement(result))


def set_points(result: ChannelVerdict) -> None:
    """Show where each set point is indicated, and the same as a table."""
    if not result.reach:
        reason = result.undetermined["reach"]
        show.sentence(f"No set points: {reason}.")
        return
    show.figure(result)
    show.table(reach_table(result))


def tests(result: ChannelVerdict) -> None:
    """Show the tests side by side, small, and their verdicts."""
    picture = pictured_tests(result)
    if picture is not None:
        show.picture(picture)
    show.table(tests_table(result))


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
    show.table(attribution_table(result))


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


def gaps(result: ChannelVerdict) -> None:
    """Show what the record does not show, so that a reader does not assume it."""
    show.listed("This record does not show", list_not_shown(result))


def steps(result: ChannelVerdict) -> None:
    """Show what the record asks for next, the most urgent first."""
    show.listed("Next", next_steps(result))


def inputs(result: ChannelVerdict) -> None:
    """Show what the channel should do, and the readings of every test as they were typed."""
    for case in result.case.tests.values():
        show.table(specification_table(case), readings_table(case))
