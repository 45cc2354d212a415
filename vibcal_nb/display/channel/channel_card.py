"""What the card of a whole channel says: the verdict in one sentence, its tests, and where its set points stand."""

from __future__ import annotations

from vibcal_nb.analysis.channel.channel_verdict import ChannelVerdict
from vibcal_nb.analysis.channel.reach_point import ReachPoint
from vibcal_nb.display.card.card_parts import Quantity
from vibcal_nb.display.writing.names import listed, spoken
from vibcal_nb.display.writing.numbers import frequency, number, with_uncertainty
from vibcal_nb.metrology.conformity.decision import FAILING, NOT_VERIFIED


def channel_sentence(result: ChannelVerdict) -> str:
    """Say in one plain sentence what decides, and where the set point nearest to harm comes."""
    failed = [spoken(test) for test, word in result.tests.verdicts.items() if word in FAILING]
    silent = [point for point in result.reach if point.status not in (NOT_VERIFIED,) and point.true_level is None]
    if silent:
        return listed([f"{p.set_point} at {frequency(p.frequency_hz)} does not act" for p in silent])
    reasons = [f"fails {listed(failed)}"] if failed else []
    if not failed and result.verdict == NOT_VERIFIED:
        reasons = _gaps(result)
    late = _latest(result)
    comes = [] if late is None else [_comes(late, result)]
    return "; ".join([*reasons, *comes]) or "every test passes"


def _gaps(result: ChannelVerdict) -> list[str]:
    points = [f"{point.set_point} at {frequency(point.frequency_hz)}" for point in result.unverified]
    tests = [spoken(test) for test in result.tests.missing]
    said = [result.gates[0].found] if result.gates else []
    said += [f"{listed(points)} {'was' if len(points) == 1 else 'were'} not reached"] if points else []
    return said + ([f"{listed(tests)} {'was' if len(tests) == 1 else 'were'} not tested"] if tests else [])


def _latest(result: ChannelVerdict) -> ReachPoint | None:
    """The set point that comes latest in true vibration, of those that are known; trips before alerts."""
    known = [point for point in result.reach if point.true_level is not None]
    trips = [point for point in known if point.set_point == "trip"] or known
    return max(trips, key=lambda p: (p.true_level or 0.0) / p.set_level, default=None)


def _comes(point: ReachPoint, result: ChannelVerdict) -> str:
    level = f"{number(point.true_level or 0.0, digits=3)} {result.case.input_unit.shown}"
    at = frequency(point.frequency_hz)
    return f"{point.set_point}, set at {point.set_level:g}, comes at a true {level} at {at}"


def channel_quantities(result: ChannelVerdict) -> tuple[Quantity, ...]:
    """Return each test with its verdict, then each set point at each speed with how it is known."""
    tests = [
        Quantity(name=spoken(test), value="", limit="", decision=None, mark=word)
        for test, word in result.tests.verdicts.items()
    ]
    return (*tests, *(_reach(point, result) for point in result.reach))


def _reach(point: ReachPoint, result: ChannelVerdict) -> Quantity:
    unit = result.case.input_unit.shown
    value = ""
    if point.true_level is not None and point.expanded is not None:
        value = f"{with_uncertainty(point.true_level, point.expanded)} {unit}"
    rotor = f" ({point.rotor.name})" if point.rotor else ""
    return Quantity(
        name=f"{point.set_point} at {frequency(point.frequency_hz)}{rotor}",
        value=value,
        limit=f"set at {point.set_level:g}",
        decision=None,
        state=point.status,
    )
