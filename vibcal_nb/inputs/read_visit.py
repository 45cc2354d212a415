"""visit.toml: who, when, with what, under which decision rule."""

from __future__ import annotations

import math
from pathlib import Path

from vibcal_nb.inputs.files.toml_table import TomlTable, load_toml
from vibcal_nb.model.visit import Contribution, Decision, Visit
from vibcal_nb.problems import Problem, one_of, shown

DISTRIBUTIONS = ("normal", "rectangular", "triangular", "arcsine", "trapezoidal")
DIVISORS = {"rectangular": math.sqrt(3.0), "triangular": math.sqrt(6.0), "arcsine": math.sqrt(2.0)}  # JCGM 100, 4.3
OLDEST_YEAR = 1900


def read_visit(path: Path, problems: list[Problem], *, columns: tuple[str, ...]) -> Visit | None:
    """Read a visit file, noting every problem; ``columns`` are those that [columns] may map a heading to."""
    values = load_toml(path, problems)
    if values is None:
        return None
    before = len(problems)
    root = TomlTable(path.name, values, problems)
    day = root.day("date")
    if day is not None and day.year < OLDEST_YEAR:
        root.note("date", shown(day), "give the date of the visit")
    performed_by = root.text("performed_by")
    optional = {name: root.optional_text(name) for name in ("reviewed_by", "laboratory", "customer", "notes")}
    ambient_c = root.number("ambient_c", required=False, least=-90.0, most=100.0)
    equipment = _read_ids(root)
    decision = _read_decision(root)
    mapped = _read_columns(root, columns)
    contributions = _read_contributions(root)
    root.finish()
    if len(problems) > before or day is None:
        return None
    return Visit(
        date=day,
        performed_by=performed_by,
        ambient_c=ambient_c,
        equipment=equipment,
        decision=decision,
        columns=mapped,
        contributions=contributions,
        **optional,
    )


def _read_ids(root: TomlTable) -> tuple[str, ...]:
    value = root.take("equipment", required=True, expected="a list of ids from equipment.toml")
    if value is None:
        return ()
    if not isinstance(value, list) or not all(isinstance(item, str) and item for item in value):
        root.note("equipment", shown(value), "give a list of ids from equipment.toml, such as ['REF-1', 'DVM-1']")
        return ()
    return tuple(dict.fromkeys(value))


def _read_decision(root: TomlTable) -> Decision:
    table = root.table("decision")
    if table is None:
        return Decision()
    rule = table.choice("rule", ("simple", "guarded"), default="simple")
    r = table.number("r", required=False, above=0.0, most=10.0)
    probability = table.number("coverage_probability", required=False, least=0.5, most=0.9999)
    table.finish()
    return Decision(
        rule=rule, r=1.0 if r is None else r, coverage_probability=0.95 if probability is None else probability
    )


def _read_columns(root: TomlTable, columns: tuple[str, ...]) -> dict[str, str]:
    table = root.table("columns")
    mapped: dict[str, str] = {}
    if table is None:
        return mapped
    for heading, column in table.values.items():
        if column not in columns:
            table.note(heading, shown(column), one_of(str(column), columns))
        elif column in mapped.values():
            table.note(heading, f"the column {shown(column)} a second time", "map one heading to each column")
        else:
            mapped[heading.strip()] = column
    return mapped


def _read_contributions(root: TomlTable) -> tuple[Contribution, ...]:
    table = root.table("contributions")
    if table is None:
        return ()
    read = [_read_contribution(table, item, name) for name in table.values if (item := table.table(name)) is not None]
    return tuple(item for item in read if item is not None)


def _check_divisor(table: TomlTable, distribution: str, divisor: float | None) -> None:
    """A trapezoid's divisor says how wide its top is; those of the other shapes are what they are."""
    if distribution == "trapezoidal":
        low, high = DIVISORS["rectangular"], DIVISORS["triangular"]
        if divisor is None or not 0.99 * low <= divisor <= 1.01 * high:
            remedy = f"give it for a trapezoidal distribution, from {low:.3f} (a rectangle) to {high:.3f} (a triangle)"
            table.note("divisor", "nothing" if divisor is None else f"{divisor:g}", remedy)
    elif divisor is not None and distribution in DIVISORS:
        own = DIVISORS[distribution]
        if abs(divisor / own - 1.0) > 0.01:
            remedy = f"the divisor of a {distribution} distribution is {own:.3f}; leave it out"
            table.note("divisor", f"{divisor:g}", remedy)


def _read_contribution(root: TomlTable, table: TomlTable, name: str) -> Contribution | None:
    before = len(table.problems)
    root.check_name(name)
    value = table.number("value_pct", least=0.0, most=100.0)
    distribution = table.choice("distribution", DISTRIBUTIONS, default="rectangular")
    kind = table.choice("kind", ("common", "independent"), default="common")
    freedom = table.number("degrees_of_freedom", required=False, above=0.0)
    divisor = table.number("divisor", required=False, above=0.0)
    source = table.optional_text("source")
    _check_divisor(table, distribution, divisor)
    table.finish()
    if len(table.problems) > before or value is None:
        return None
    return Contribution(
        name=name,
        value_pct=value,
        distribution=distribution,
        kind=kind,
        degrees_of_freedom=freedom,
        source=source,
        divisor=divisor,
    )
