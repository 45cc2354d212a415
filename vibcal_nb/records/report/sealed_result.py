"""A result as its report takes it: with its entry, the seal of its record, and what the record shows."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from vibcal_nb.analysis.channel.module_alone import ModuleAloneResult


@dataclass(frozen=True, kw_only=True)
class SealedResult:
    """A result with its entry of ``results.json``, the seal of its record, and the pictures that the record holds.

    ``pictures`` are SVG by what they say in words: one that says what the result's would say is the result's.
    ``result`` is None where it is of more than one test of this visit (channel verdict, drift); ``module`` is what a
    channel verdict found of the module alone, which has no record of its own.
    """

    result: Any
    entry: Mapping[str, Any]
    seal: Mapping[str, Any]
    pictures: Mapping[str, str] = field(default_factory=dict)
    module: ModuleAloneResult | None = None

    @property
    def analysis(self) -> str:
        """The name of the analysis."""
        return str(self.entry["analysis"])

    @property
    def condition(self) -> str:
        """As found or as left."""
        return str(self.entry["condition"])

    @property
    def verdict(self) -> str:
        """The word of the verdict."""
        return str(self.entry["verdict"])
