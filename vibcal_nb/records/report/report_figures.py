"""The figures of a report: those of the whole channel, on scales that its tests share, or else one a test."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from vibcal_nb.display.results.figures import alternative_text, result_picture
from vibcal_nb.display.writing.names import spoken
from vibcal_nb.model.names import CHANNEL_VERDICT
from vibcal_nb.records.report.sealed_result import SealedResult


def report_figures(items: Sequence[SealedResult]) -> list[dict[str, str]]:
    """Return figures as SVG with a title and what they say in words.

    The record of a whole channel draws all tests, as found beside as left: its pictures are taken where it is there.
    """
    whole = next((item for item in items if item.analysis == CHANNEL_VERDICT and item.pictures), None)
    if whole is not None:
        return [{"title": "", "svg": svg, "alt": text} for text, svg in whole.pictures.items()]
    return list(_of_tests(items))


def _of_tests(items: Sequence[SealedResult]) -> Iterator[dict[str, str]]:
    for item in items:
        if item.result is not None:
            text = alternative_text(item.result)
            svg = item.pictures.get(text) or result_picture(item.result).svg
            yield {"title": f"{spoken(item.analysis).capitalize()}, {spoken(item.condition)}", "svg": svg, "alt": text}
