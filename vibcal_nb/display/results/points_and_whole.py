"""What the verdicts on single readings promise, and what can be said of all readings together."""

from __future__ import annotations

from vibcal_nb.analysis.readings.judged_point import JudgedPoint, conformity_of_all
from vibcal_nb.analysis.result import Result
from vibcal_nb.display.views import view_of
from vibcal_nb.display.writing.numbers import chance, number
from vibcal_nb.metrology.conformity.decision import PASS, most_risk_of_a_pass
from vibcal_nb.metrology.conformity.joint_conformity import JointConformity


def word_points_and_whole(result: Result) -> tuple[str, ...]:
    """Say what the verdict on each reading promises and what the verdict on the whole does not.

    Readings are taken together as far as they share their common uncertainty: a linearity frequency by
    frequency, a response over all frequencies. Nothing is said where no reading was judged.
    """
    groups = [(where, points, conformity_of_all(points)) for where, points in view_of(result).together(result)]
    judged = [(where, points, joint) for where, points, joint in groups if joint is not None]
    if not judged:
        return ()
    return (
        _of_each([point for _, points, _ in judged for point in points]),
        "The verdict on the whole is that of its worst part; that everything conforms at once is not what it promises",
        *(_of_all(where, joint) for where, _, joint in judged),
    )


def _of_each(points: list[JudgedPoint]) -> str:
    judged = [p.decision for p in points if p.decision is not None]
    risks = [risk for risk in map(most_risk_of_a_pass, judged) if risk is not None]
    if not risks:
        return "Each reading is judged by itself: the guard bands leave no value that would pass"
    highest = 100.0 * max(risks)
    text = (
        "Each reading is judged by itself: under this rule one that passes lies outside its limits with a "
        f"probability of at most {number(highest, digits=2)} %"
    )
    passed = [(p.decision.specific_risk, p) for p in points if p.decision is not None and p.verdict == PASS]
    if not passed:
        return text
    risk, point = max(passed, key=lambda pair: pair[0])
    return f"{text}; the greatest of those that passed is {chance(risk)} (row {point.reading.row})"


def _of_all(where: str, joint: JointConformity) -> str:
    count, all_at_once = len(joint.points), chance(joint.joint)
    if count == 1:
        return f"The one reading judged{where} conforms with a probability of {all_at_once}"
    text = f"That all {count} readings judged{where} conform at once has a probability of {all_at_once}"
    if chance(joint.lower_bound) == chance(joint.upper_bound):
        return text
    return f"{text}, and from {joint.lower_bound:.3f} to {joint.upper_bound:.3f} whatever they have in common"
