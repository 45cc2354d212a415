"""All kinds of input that are fuzzed, and one way to try a case of any of them."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from tests.fuzzing import inputs, records, registers, sheets, waveforms
from tests.fuzzing.watch import watched

TRY: dict[str, Callable[[str, int, Path], str]] = {
    **dict.fromkeys(inputs.MUTATE, inputs.try_case),
    **dict.fromkeys(sheets.KINDS, sheets.try_sheet),
    **dict.fromkeys(waveforms.KINDS, waveforms.try_waveform),
    **dict.fromkeys(records.KINDS, records.try_record),
    **dict.fromkeys(registers.KINDS, registers.try_register),
}


def try_kind(kind: str, seed: int, folder: Path) -> str:
    """Try a case of a kind in a folder of its own; return 'accepted' or 'refused'.

    Raises ``AssertionError`` or whatever the package let out, where it is neither with right numbers nor in sentences.
    """
    folder.mkdir(parents=True, exist_ok=True)
    if kind in (*records.KINDS, *registers.KINDS):
        records.good_folder()  # made once, before anything is watched
    elif kind in sheets.KINDS:
        sheets.prepare()
    with watched(folder):
        return TRY[kind](kind, seed, folder)
