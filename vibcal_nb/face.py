"""What a script or a notebook of one's own calls: a visit's folder or readings in memory, to a result.

Readings in memory are judged exactly as a folder's are: they are laid out as the files of a visit, in a folder that
is gone afterwards, and read by the readers of those files. So the same keys are known, and the same sentences refuse.
"""

from __future__ import annotations

import json
import tempfile
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date as Date  # noqa: N812  # the parameter has the name
from pathlib import Path
from typing import Any, Required, TypedDict, Unpack

from vibcal_nb.analysis.result import Result
from vibcal_nb.inputs.asset.read_kinds import KINDS
from vibcal_nb.inputs.load_visits import load_visit
from vibcal_nb.model.names import AS_FOUND, BAND_RESPONSE, LINEARITY, SENSOR_ALONE
from vibcal_nb.model.readings import Reading
from vibcal_nb.model.visit_folder import VisitFolder
from vibcal_nb.problems import ParameterError, one_of
from vibcal_nb.records.analyses import ANALYSES, analysis_named

Columns = Any
"""A pandas frame, or a mapping from column names to arrays, lists or single values."""

_TAG = "channel"


def read_visit(path: Path | str) -> VisitFolder:
    """Read the folder of one visit, with its asset and equipment.

    Raises
    ------
    InputRefused
        With every problem of its files, one sentence each.
    """
    return load_visit(path)


def perform(visit: VisitFolder, analysis: str, *, channel: str, condition: str = AS_FOUND) -> Result:
    """Perform an analysis of a visit that was read.

    Parameters
    ----------
    visit
        From `read_visit`.
    analysis
        Its name: one of `vibcal_nb.records.analyses.ANALYSES`, such as ``linearity``.
    channel
        Tag of the channel.
    condition
        ``as-found`` or ``as-left``.

    Raises
    ------
    ParameterError
        Where there is no such analysis.
    Refused
        Where the visit holds nothing to analyse, or states what cannot be used.
    """
    if analysis not in ANALYSES:
        raise ParameterError(f"There is no analysis '{analysis}'; {one_of(analysis, ANALYSES)}.")
    return analysis_named(analysis).perform(visit, channel=channel, condition=condition)


class Stated(TypedDict, total=False):
    """What the files of a visit would state of readings in memory; ``channel`` is needed."""

    channel: Required[Mapping[str, Any]]
    """The keys of a channel's table in ``asset.toml``; its ``rotors`` maps names to their speeds."""
    equipment: Mapping[str, Any] | Path | str
    """The tables of ``equipment.toml``, or the path of such a file."""
    kinds: Mapping[str, Any] | Path | str
    """The tables of ``kinds.toml``, or the path of such a file, where the channel names a ``kind``."""
    used: Sequence[str]
    """Identifiers of the equipment that was used; all of it where none is given."""
    date: Date | str
    """Day of the visit, against which certificates are held; today where none is given."""
    decision: Mapping[str, Any] | None
    """The keys of ``[decision]`` in ``visit.toml``."""
    condition: str
    """``as-found``, where none is given, or ``as-left``."""
    applied_unit: str
    """Unit of the levels with its detector, such as ``mm/s pk``, where the frame has no such column."""
    output_unit: str
    """Unit of the outputs with its detector, such as ``mV pk``, where the frame has no such column."""


def linearity(frame: Columns, **stated: Unpack[Stated]) -> Result:
    """Analyse the linearity of readings in memory.

    Parameters
    ----------
    frame
        A pandas frame, or a mapping of columns, with the columns of the reading table: at least ``frequency_hz``,
        ``applied`` and ``output``, and the units where they are not given by name.
    **stated
        What a visit's files would state: ``channel`` (keys of ``asset.toml``), ``equipment``, ``kinds``, ``used``,
        ``date``, ``decision``, ``condition``, ``applied_unit``, ``output_unit``; see `vibcal_nb.face.Stated`.

    Raises
    ------
    Refused
        As the files of a visit would be refused; rows count as a spreadsheet would, the first reading in row 2.
    """
    return _analysed(LINEARITY, frame, **stated)


def band_response(frame: Columns, **stated: Unpack[Stated]) -> Result:
    """Analyse the band response of readings in memory; parameters as in `linearity`, the channel with its ``band``."""
    return _analysed(BAND_RESPONSE, frame, **stated)


def sensor_alone(frame: Columns, **stated: Unpack[Stated]) -> Result:
    """Analyse a sensor alone of readings in memory; parameters as in `linearity`, the channel with its ``sensor``."""
    return _analysed(SENSOR_ALONE, frame, **stated)


def _analysed(
    test: str,
    frame: Columns,
    *,
    channel: Mapping[str, Any],
    equipment: Mapping[str, Any] | Path | str = "",
    kinds: Mapping[str, Any] | Path | str = "",
    used: Sequence[str] | None = None,
    date: Date | str | None = None,
    decision: Mapping[str, Any] | None = None,
    condition: str = AS_FOUND,
    applied_unit: str | None = None,
    output_unit: str | None = None,
) -> Result:
    columns = {str(name): frame[name] for name in frame}
    size = max((len(values) for values in columns.values() if _is_many(values)), default=1)
    given = {"channel": _TAG, "test": test, "condition": condition}
    given |= {"applied_unit": applied_unit} if applied_unit else {}
    given |= {"output_unit": output_unit} if output_unit else {}
    columns = given | columns
    rows = [[_text(_at(values, number)) for values in columns.values()] for number in range(size)]
    kit, shared = _tables_of("equipment", equipment), _tables_of("kinds", kinds)
    day = Date.fromisoformat(date) if isinstance(date, str) else date or Date.today()
    names = [str(item.get("id")) for kind in ("reference", "readout") for item in kit.get(kind, ())]
    visit = {"date": day, "performed_by": "not stated", "equipment": list(names if used is None else used)}
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place) / "asset" / day.isoformat()
        folder.mkdir(parents=True)
        _write_toml(Path(place) / "equipment.toml", kit)
        if shared:
            _write_toml(Path(place) / KINDS, shared)
        _write_toml(folder.parent / "asset.toml", _asset(channel))
        _write_toml(folder / "visit.toml", visit | ({"decision": decision} if decision else {}))
        _write_csv(folder / "readings.csv", [list(columns), *rows])
        read = load_visit(folder)
    exact = tuple(_without_resolution(reading, columns) for reading in read.table.readings)
    read = replace(read, table=replace(read.table, readings=exact))
    return analysis_named(test).perform(read, channel=_TAG, condition=condition)


def _asset(channel: Mapping[str, Any]) -> dict[str, Any]:
    rotors = channel.get("rotors", {})
    own = {**channel, "rotors": list(rotors)}
    asset = {"asset": {"tag": "asset", "name": "readings in memory"}, "channels": {_TAG: own}}
    return asset | ({"rotors": rotors} if isinstance(rotors, Mapping) and rotors else {})


def _tables_of(what: str, stated: Mapping[str, Any] | Path | str) -> dict[str, Any]:
    if isinstance(stated, Mapping):
        return dict(stated)
    if not str(stated):
        return {}
    import tomllib

    try:
        return tomllib.loads(Path(stated).read_text(encoding="utf-8"))
    except (OSError, ValueError) as error:
        raise ParameterError(f"The {what} cannot be read from {stated}: {error}.") from error


def _is_many(values: Any) -> bool:
    return hasattr(values, "__len__") and not isinstance(values, str)


def _at(values: Any, number: int) -> Any:
    if not _is_many(values):
        return values
    values = values.tolist() if hasattr(values, "tolist") else list(values)
    return values[number] if number < len(values) else None


def _text(value: Any) -> str:
    if value is None or value != value:  # noqa: PLR0124  # not a number is equal to nothing, and stands for no reading
        return ""
    return str(value)


def _without_resolution(reading: Reading, columns: Mapping[str, Any]) -> Reading:
    """A number in memory does not tell with how many digits it was read; a text does."""
    typed = {
        name: isinstance(_at(columns[name], 0), str) if name in columns else False
        for name in ("applied", "output", "phase_deg")
    }
    return replace(
        reading,
        applied_decimals=reading.applied_decimals if typed["applied"] else None,
        output_decimals=reading.output_decimals if typed["output"] else None,
        phase_decimals=reading.phase_decimals if typed["phase_deg"] else None,
    )


def _write_csv(path: Path, rows: Sequence[Sequence[str]]) -> None:
    import csv

    with path.open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows(rows)


def _write_toml(path: Path, values: Mapping[str, Any]) -> None:
    path.write_text("".join(_toml_lines(values)), encoding="utf-8")


def _toml_lines(values: Mapping[str, Any], *names: str) -> Iterator[str]:
    for key, value in values.items():
        if not isinstance(value, Mapping):
            yield f"{json.dumps(str(key))} = {_toml_value(value)}\n"
    for key, value in values.items():
        if isinstance(value, Mapping):
            inner = (*names, json.dumps(str(key)))
            yield f"[{'.'.join(inner)}]\n"
            yield from _toml_lines(value, *inner)


def _toml_value(value: Any) -> str:
    if isinstance(value, Mapping):
        return "{ " + ", ".join(f"{json.dumps(str(key))} = {_toml_value(item)}" for key, item in value.items()) + " }"
    if isinstance(value, list | tuple):
        return "[" + ", ".join(map(_toml_value, value)) + "]"
    if isinstance(value, Date):
        return value.isoformat()
    if hasattr(value, "item"):  # a number of NumPy's
        value = value.item()
    return json.dumps(value, ensure_ascii=False) if isinstance(value, str | bool) else repr(value)
