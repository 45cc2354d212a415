"""What every kind of result answers, so that whoever compares or lists results needs to know no kind.

A kind overrides what it has. How a result looks is the display's: the package's public face, which stands above
both, says where a result finds its look (``Result.presented``).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, ClassVar, TypeAlias

if TYPE_CHECKING:
    from vibcal_nb.analysis.gates.gate import Gate
    from vibcal_nb.analysis.gates.left_out import LeftOut
    from vibcal_nb.analysis.readings.errors.hidden_by_display import HiddenByDisplay
    from vibcal_nb.analysis.readings.errors.setup_drift import SetUpDrift
    from vibcal_nb.metrology.conformity.decision import Decision, Verdict
    from vibcal_nb.metrology.uncertainty.budget import Budget


Judged: TypeAlias = "tuple[str, Decision] | tuple[str, Decision, str]"
"""A judged value by its name, and the unit of its value and limits where that is not %."""


@dataclass(frozen=True, kw_only=True)
class StatedSensitivity:
    """A sensitivity that a result states, as a deviation from nominal, fit to be followed over the years.

    ``deviation_pct`` is in % of nominal, ``budget`` its uncertainty in %, ``tolerance_pct`` its limit on either side
    in % (None where it has none). ``nominal`` is what it deviates from, None where that is the nominal sensitivity.
    """

    quantity: str
    frequency_hz: float
    deviation_pct: float
    budget: Budget
    tolerance_pct: float | None
    nominal: str | None = None


@dataclass(frozen=True, kw_only=True)
class DrivenSetPoint:
    """A set point at a running speed, and how far it was driven there; levels in the channel's input unit.

    ``rotor`` is empty where the channel names none; ``highest`` is the highest level driven there, None where none
    was; ``status`` is that of the channel's reach, None of a test that does not judge it.
    """

    rotor: str
    frequency_hz: float
    set_point: str
    level: float
    highest: float | None
    status: str | None = None


class Result:
    """The base of every result of an analysis."""

    presented: ClassVar[Callable[[Any], Any]]
    """Given a result, what shows it: an object with ``html()``, ``table()`` and ``plot(ax)``."""

    case: Any
    verdict: Verdict
    gates: tuple[Gate, ...] = ()
    """What kept a pass from being said."""
    left_out: tuple[LeftOut, ...] = ()
    """What the verdict leaves out, test by test."""

    def judged(self) -> Iterator[Judged]:
        """Yield each value that was judged against limits, by its name; with its unit where that is not %."""
        return iter(())

    def sensitivities(self) -> Iterator[StatedSensitivity]:
        """Yield each sensitivity that the result states."""
        return iter(())

    def hidden_by_display(self) -> HiddenByDisplay | None:
        """What displays hide of the readings; None where it does not matter."""
        return None

    def set_up_drift(self) -> SetUpDrift | None:
        """How the set-up drifted during the test; None where no two readings show it."""
        return None

    def driven(self) -> Iterator[DrivenSetPoint]:
        """Yield each set point at each rotor's speed, as far as the result tells of it."""
        return iter(())

    @property
    def missing(self) -> tuple[str, ...]:
        """The tests that the channel is asked for and was not given, as far as the result tells of it."""
        return ()

    def __repr__(self) -> str:
        case = self.case
        return f"<{type(self).__name__}: {case.channel.tag} {case.condition}, visit {case.visit_name}: {self.verdict}>"

    def _repr_html_(self) -> str:
        return str(type(self).presented(self).html())

    def table(self) -> Any:
        """Return what was made of each reading as a pandas frame, units in the headings."""
        return type(self).presented(self).table()

    def plot(self, ax: Any = None) -> Any:
        """Draw the result with matplotlib, into ``ax`` where it is given; return the figure, or ``ax``."""
        return type(self).presented(self).plot(ax)
