"""visit.toml: who, when, with what, under which decision rule."""

from __future__ import annotations

import math
from pathlib import Path

from vibcal_nb.inputs.files.toml_table import TomlTable, load_toml
from vibcal_nb.inputs.layout.visit_layout import read_columns, read_visit_layout
from vibcal_nb.inputs.relay.read_safety_trail import read_safety_trail
from vibcal_nb.model.keys.visit_keys import VISIT_FILE
from vibcal_nb.model.visit import Contribution, Decision, Visit
from vibcal_nb.problems import Problem, shown

DIVISORS = {"rectangular": math.sqrt(3.0), "triangular": math.sqrt(6.0), "arcsine": math.sqrt(2.0)}  # JCGM 100, 4.3
OLDEST_YEAR = 1900


def read_visit(path: Path, problems: list[Problem]) -> Visit | None:
    """Read a visit file, noting every problem."""
    values = load_toml(path, problems)
    if values is None:
        return None
    before = len(problems)
    root = TomlTable.of_file(VISIT_FILE, path.name, values, problems)
    day = root.day("date")
    if day is not None and day.year < OLDEST_YEAR:
        root.note("date", shown(day), "give the date of the visit")
    performed_by = root.text("performed_by")
    names = ("outage", "reviewed_by", "laboratory", "customer", "notes")
    optional = {name: root.optional_text(name) for name in names}
    ambient_c = root.number("ambient_c")
    equipment = root.texts("equipment")
    decision = _read_decision(root)
    mapped = read_columns(root)
    layout = read_visit_layout(root, path.parent, mapped)
    contributions = _read_contributions(root)
    trail = read_safety_trail(root)
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
        layout=layout,
        contributions=contributions,
        trail=trail,
        **optional,
    )


def _read_decision(root: TomlTable) -> Decision:
    table = root.table("decision")
    if table is None:
        return Decision()
    fields = table.read("rule", "r", "coverage_probability", "largest_u_share", "grace_days")
    table.finish()
    return Decision(**fields)


def _read_contributions(root: TomlTable) -> tuple[Contribution, ...]:
    read = [_read_contribution(root, table, name) for name, table in root.tables_by_name("contributions")]
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
    fields = table.read("value_pct", "distribution", "kind", "degrees_of_freedom", "divisor")
    source = table.optional_text("source")
    _check_divisor(table, fields["distribution"], fields["divisor"])
    table.finish()
    return None if len(table.problems) > before else Contribution(name=name, source=source, **fields)
