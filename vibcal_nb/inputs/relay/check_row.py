"""A row of set-point, voting or electrical: it holds no output, and each of its cells is checked."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from typing import Any

from vibcal_nb.inputs.reading_row import VIBRATION, RowReader
from vibcal_nb.inputs.tags import find_tag
from vibcal_nb.model.asset import Channel
from vibcal_nb.model.names import ACTED, ELECTRICAL, SET_POINT, VOTING
from vibcal_nb.model.readings import PendingRow
from vibcal_nb.model.relay.check_rows import ROW_OF, CheckRow
from vibcal_nb.model.relay.electrical import UNITS, parse_electrical_unit
from vibcal_nb.problems import one_of, shown

_TAGS_APART = re.compile(r"[,;+\s]+")


class CheckRowReader(RowReader):
    """One row of a test that reads no output."""

    @property
    def is_pending(self) -> bool:
        """Whether the row is not yet read."""
        return not self._cell("value" if self._test == ELECTRICAL else "acted")

    @property
    def _test(self) -> str:
        return self._plain_word("test")

    def read_cells(self) -> CheckRow | PendingRow | None:
        """Return the row, or one that is not yet read; None where there is a problem, which is noted."""
        before, test = len(self.problems), self._test
        tag, channel = self._group() if test == VOTING else self._channel()
        of_test: Mapping[str, Callable[[Channel | None], dict[str, Any]]] = {
            SET_POINT: self._set_point,
            VOTING: self._vote,
            ELECTRICAL: self._electrical,
        }
        what: dict[str, Any] = {
            "row": self.number,
            "channel": tag,
            "test": test,
            "condition": self._choice("condition"),
        }
        fields = of_test[test](channel)
        self.check_blank(test)
        for column in () if test == SET_POINT else ("applied", "output"):
            if self._cell(column):
                self._note(column, shown(self._cell(column)), f"rows of {test} leave it blank: write it into note")
        exclude, note = self._text("exclude"), self._text("note")
        if len(self.problems) > before:
            return None
        if self.is_pending:
            names = ("frequency_hz", "applied_unit", "direction", "repeat")
            what |= {name: fields[name] for name in names if name in fields}
            return PendingRow(**what, exclude=exclude, level=fields.get("applied") or self._planned_level())
        return ROW_OF[test](**what, **fields, exclude=exclude, note=note)

    def _set_point(self, channel: Channel | None) -> dict[str, Any]:
        expected = None if channel is None else channel.input_unit
        fields: dict[str, Any] = {"frequency_hz": self._frequency(SET_POINT)}
        if not self.is_pending or self._cell("applied"):
            fields["applied"], fields["applied_decimals"] = self._number("applied")
        fields["applied_unit"] = self._unit("applied_unit", expected, kind=VIBRATION)
        fields["set_point"] = self._name_of_set_point(channel)
        fields["acted"] = self._acted()
        if self._cell("delay_s"):
            fields["delay_s"], fields["delay_decimals"] = self._number("delay_s")
            if fields["acted"] is False:
                self._note("delay_s", shown(self._cell("delay_s")), "leave it blank where the relay did not act")
        if self._cell("output"):
            fields["output"] = self._number("output")[0]
            fields["output_unit"] = self._unit(
                "output_unit", None if channel is None else channel.output_unit, kind=ELECTRICAL
            )
        return fields | {"direction": self._choice("direction"), "repeat": self._repeat()}

    def _name_of_set_point(self, channel: Channel | None) -> str:
        text = self._cell("set_point")
        if channel is None and text:
            return text
        known = [] if channel is None else [name for name, _ in channel.set_points]
        plain = next((name for name in known if name.lower() == text.lower()), None)
        if plain is None:
            self._note("set_point", shown(text), one_of(text, known) if known else "state its set points in asset.toml")
        return plain or text

    def _acted(self) -> bool | None:
        text = self._cell("acted")
        if text.lower() in ACTED:
            return text.lower() == ACTED[0]
        if text:
            self._note("acted", shown(text), "give yes or no")
        return None

    def _vote(self, group: Channel | None) -> dict[str, Any]:
        text = self._cell("in_trip")
        known = () if group is None or group.group is None else group.group.channels
        tags = (text,) if text in known else tuple(part for part in _TAGS_APART.split(text) if part)
        found = []
        for tag in dict.fromkeys(tags):
            own = find_tag(tag, known) if known else tag
            if own is None:
                self._note("in_trip", shown(tag), f"{one_of(tag, known)}, blanks between several")
            else:
                found.append(own)
        return {
            "in_trip": tuple(sorted(found, key=lambda tag: known.index(tag) if known else 0)),
            "acted": self._acted(),
        }

    def _group(self) -> tuple[str, Channel | None]:
        tag = self._cell("channel")
        if self.asset is None:
            return tag, None
        known = find_tag(tag, self.asset.groups)
        if known is None:
            remedy = one_of(tag, self.asset.groups) if self.asset.groups else "state the group in asset.toml [groups]"
            self._note("channel", f"{shown(tag)}, which is no group that votes", remedy)
            return tag, None
        return known, self.asset.groups[known]

    def _electrical(self, channel: Channel | None) -> dict[str, Any]:
        item, text = self._text("item"), self._cell("unit")
        if not item:
            self._note("item", "nothing", "give what was measured: bias, gap, supply, insulation, capacitance")
        fields: dict[str, Any] = {"item": item}
        if not self.is_pending:
            fields["value"], fields["value_decimals"] = self._number("value")
        unit = parse_electrical_unit(text)
        limit = None if channel is None else next((x for x in channel.electrical if x.item == item), None)
        wanted = None if limit is None else parse_electrical_unit(limit.unit)
        if unit is None or (wanted is not None and wanted.quantity != unit.quantity):
            among = UNITS if wanted is None else f"units of {wanted.quantity}, such as {wanted.text}"
            self._note("unit", shown(text), f"give one of {among}")
        return fields | {"unit": "" if unit is None else unit.text}
