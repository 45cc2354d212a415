"""equipment.toml, kinds.toml, asset.toml and visit.toml to fill in."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from vibcal_nb.model.common_kinds.common_kind import CommonKind, Open
from vibcal_nb.model.common_kinds.kinds import COMMON_KINDS
from vibcal_nb.model.keys.asset_keys import ASSET_FILE
from vibcal_nb.model.keys.channel_keys import CHANNEL, KIND
from vibcal_nb.model.keys.equipment_keys import READOUT, SHAKER
from vibcal_nb.model.keys.key import KeyTable
from vibcal_nb.model.keys.parts.reference_keys import REFERENCE
from vibcal_nb.model.keys.visit_keys import VISIT_FILE
from vibcal_nb.records.new_files.explained import Explainer, commented, header, inner_explanations
from vibcal_nb.records.new_files.schemas import schema_line

EQUIPMENT, KINDS, ASSET, VISIT = "equipment.toml", "kinds.toml", "asset.toml", "visit.toml"
_FILL_IN = (
    'Fill in what stands open as "" (text keeps its quotes, numbers and dates stand without them). Keys behind a mark '
    "of comment are optional: take the mark away to use one. `check` names what is still open."
)
_OVERRIDES = "Any key of its kind may stand at a channel as well, and counts there."
_OF_KIND = frozenset(KIND.names)
_HISTORY = frozenset({"from", "items", "formerly", "retired"})


@dataclass(frozen=True, kw_only=True)
class NewChannel:
    """A channel that is new: its tag, the name of its kind, and the rotors that it watches."""

    tag: str
    kind: str | None = None
    rotors: tuple[str, ...] = ()


def equipment_text() -> str:
    """Return an equipment.toml with one reference and one readout to fill in."""
    writer = Explainer()
    reference: Mapping[str, object] = {
        "id": "REF-1",
        "serial": Open(example="R-0417"),
        "uncertainty": Open(example=None),
    }
    readout: Mapping[str, object] = {"id": "DVM-1", "serial": Open(example="M-0932")}
    lines = _head(EQUIPMENT, 0, "What levels are known by, read with and made with; one table a certificate.")
    for name, keys, values in (("reference", REFERENCE, reference), ("readout", READOUT, readout)):
        lines += ["", *commented(keys.says), *writer.table(keys, values, path=(name,), array=True)]
    lines += ["", *commented(SHAKER.says), *writer.optional(SHAKER, path=("shaker",), array=True)]
    return _text(lines)


def kinds_text(kinds: Iterable[CommonKind] = ()) -> str:
    """Return a kinds.toml with some of the common kinds; all of them are named on top."""
    lines = _head(KINDS, 0, "What several channels share, each kind a table under its own name.")
    lines += ["", "# Kinds to start from: `new SITE --kind NAME` puts one below."]
    for kind in COMMON_KINDS.values():
        lines += commented(f"{kind.name}: {kind.about}", indent="    ")
    writer = Explainer()
    for kind in kinds:
        lines += ["", *_kind_lines(kind, writer)]
    return _text(lines)


def kind_text(kind: CommonKind) -> str:
    """Return one common kind to stand in a kinds.toml."""
    return _text(_kind_lines(kind, Explainer()))


def _kind_lines(kind: CommonKind, writer: Explainer) -> list[str]:
    said = [line for sentence in (kind.about, *kind.advice) for line in commented(sentence)]
    return [*said, *writer.table(KIND, kind.values, path=(kind.name,))]


def asset_text(tag: str, *, rotors: Sequence[str], channels: Sequence[NewChannel]) -> str:
    """Return an asset.toml; without channels it shows one behind comment marks."""
    writer = Explainer()
    lines = _head(ASSET, 1, ASSET_FILE.says)
    lines += ["", *commented(ASSET_FILE["asset"].says)]
    lines += [*writer.table(_table_of("asset"), {"tag": tag}, path=("asset",)), ""]
    lines += [*commented(ASSET_FILE["rotors"].says), *inner_explanations(_table_of("rotors")), "[rotors]"]
    needed = "needed, such as 2980 or [2700, 3300]; or speed_hz"
    lines += [f'{header((name,))[1:-1]} = {{ speed_rpm = "" }}  # {needed}' for name in rotors]
    lines += ["", *commented(ASSET_FILE["kinds"].says), "# [kinds.NAME]"]
    if channels:
        lines += ["", *commented(f"{CHANNEL.says} {_OVERRIDES}")]
        for channel in channels:
            lines += ["", *_channel_lines(channel, writer)]
    else:
        lines += ["", *commented(f"{CHANNEL.says} One table a channel; `new FOLDER --channel TAG=KIND` writes it.")]
        lines += writer.optional(CHANNEL, path=("channels", "TAG"))
    further = ASSET_FILE.without("asset", "rotors", "kinds", "channels", heading=ASSET_FILE.heading, says="")
    return _text([*lines, *writer.table(further, {})])


def channel_text(channel: NewChannel) -> str:
    """Return one channel to stand in an asset.toml, its history's keys unexplained."""
    writer = Explainer()
    writer.told |= {(CHANNEL.heading, name) for name in CHANNEL.names}
    return _text(_channel_lines(channel, writer))


def _channel_lines(channel: NewChannel, writer: Explainer) -> list[str]:
    values: dict[str, object] = {}
    if channel.kind is not None:
        values["kind"] = channel.kind
    if channel.rotors:
        values["rotors"] = list(channel.rotors)
    path = ("channels", channel.tag)
    of_kind = _OF_KIND - {"location", "rotors", "alert", "trip"} - _HISTORY if channel.kind else frozenset()
    table = CHANNEL if channel.kind is None else _merged(CHANNEL)
    return writer.table(table, values, path=path, without=of_kind)


def _merged(table: KeyTable) -> KeyTable:
    """The same table, which requires nothing: what a channel lacks its kind states."""
    return table.without(heading=table.heading, says=table.says)


def _table_of(name: str) -> KeyTable:
    table = ASSET_FILE[name].table
    assert table is not None
    return table


def visit_text(day: date, *, equipment: Sequence[str]) -> str:
    """Return a visit.toml for a planned day; ``equipment`` are ids that would be valid on it."""
    lines = _head(
        VISIT, 2, "A planned visit: it is counted, and stops nothing, until its reading table holds an output."
    )
    lines += commented(
        "The reading table stands beside this file; `sheet` writes it, planned to what a shaker reaches."
    )
    values = {"date": day, "performed_by": "", "equipment": list(equipment)}
    lines += ["", *Explainer().table(VISIT_FILE, values, without=frozenset({"table"}))]
    lines += ["", *commented(f"{VISIT_FILE['table'].says} `import --propose` writes it."), "# [table]"]
    return _text(lines)


def _head(file: str, depth: int, says: str) -> list[str]:
    return [schema_line(file, depth=depth), *commented(says), *commented(_FILL_IN)]


def _text(lines: Iterable[str]) -> str:
    return "\n".join(lines).rstrip("\n") + "\n"
