"""What the card of a sensor alone says: how it reads in one sentence, and each judged quantity."""

from __future__ import annotations

from collections.abc import Iterator

from vibcal_nb.analysis.sensor_alone.sensor_alone import SensorAloneResult
from vibcal_nb.display.card.card_parts import Quantity, off
from vibcal_nb.display.phase.phase_words import phase_failures, phase_quantities
from vibcal_nb.display.sensor_alone.sensor_statements import quantity_text, sensitivity_and_deviation
from vibcal_nb.display.writing.names import listed
from vibcal_nb.display.writing.numbers import frequency, percent_with_uncertainty, true_minus
from vibcal_nb.metrology.conformity.decision import FAILING, PASSING


def sensor_sentence(result: SensorAloneResult) -> str:
    """Say in one plain sentence how the sensor reads."""
    failures = [f"the sensor {clause}" for clause in phase_failures(result.phase)]
    failures += list(_failures(result))
    if failures:
        return listed(failures)
    if result.gates:
        return result.gates[0].found
    reference, worst = result.reference, result.worst_point
    if result.verdict not in PASSING or reference is None:
        return result.not_verified[0] if result.not_verified else "the sensor was not verified"
    text = f"reads {off(reference.deviation_pct)} at {frequency(result.specification.reference_hz)}"
    return text if worst is None or worst.value_pct is None else f"{text}, flat within {abs(worst.value_pct):.1f} %"


def _failures(result: SensorAloneResult) -> Iterator[str]:
    reference = result.reference
    if reference is not None and reference.decision is not None and reference.decision.verdict in FAILING:
        yield f"the sensor reads {off(reference.deviation_pct)} at {frequency(result.specification.reference_hz)}"
    worst = result.worst_point
    if worst is not None and worst.value_pct is not None and worst.verdict in FAILING:
        yield f"is {off(worst.value_pct)} at {frequency(worst.reading.frequency_hz)} against its reference frequency"
    for item in (*result.second_order, *(() if result.hot is None else result.hot.judged)):
        if item.decision is not None and item.decision.verdict in FAILING:
            yield f"its {item.name} is {quantity_text(item)}"


def sensor_quantities(result: SensorAloneResult) -> tuple[Quantity, ...]:
    """Return what was judged: the sensitivity against nominal, the worst of the flat part, and a second order."""
    sensor, found = result.specification, sensitivity_and_deviation(result)
    reference = Quantity(
        name=f"sensitivity at {frequency(sensor.reference_hz)} against nominal",
        value="" if found is None else found[1],
        limit=f"± {sensor.tolerance_pct:g} %",
        decision=None if result.reference is None else result.reference.decision,
        why=result.undetermined.get("reference_sensitivity", ""),
    )
    return (reference, *_flat(result), *_second_order(result), *phase_quantities(result.phase), *_hot(result))


def _second_order(result: SensorAloneResult) -> Iterator[Quantity]:
    for item in result.second_order:
        low, high = item.limits
        yield Quantity(
            name=item.name,
            value="" if item.decision is None else quantity_text(item),
            limit=f"{low:g} to {high:g} {item.unit}".rstrip(),
            decision=item.decision,
            why=item.estimate.why or "",
        )


def _hot(result: SensorAloneResult) -> Iterator[Quantity]:
    for item in () if result.hot is None else result.hot.judged:
        low, high = item.limits
        yield Quantity(
            name=item.name,
            value="" if item.decision is None else quantity_text(item),
            limit=true_minus(f"{low:g} to {high:g} %"),
            decision=item.decision,
            why=item.estimate.why or "",
        )


def _flat(result: SensorAloneResult) -> Iterator[Quantity]:
    worst, sensor = result.worst_point, result.specification
    if worst is None or worst.value_pct is None or worst.expanded is None or sensor.flat_pct is None:
        return
    yield Quantity(
        name=f"against {frequency(sensor.reference_hz)}: worst, at {frequency(worst.reading.frequency_hz)}",
        value=percent_with_uncertainty(worst.value_pct, worst.expanded),
        limit=f"± {sensor.flat_pct:g} %",
        decision=worst.decision,
    )
