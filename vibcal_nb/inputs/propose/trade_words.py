"""What people call columns, tests and conditions. Common practice, no source."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Mapping

from vibcal_nb.model.names import (
    AS_FOUND,
    AS_LEFT,
    BAND_RESPONSE,
    DIRECTIONS,
    LINEARITY,
    MODULE_ALONE,
    SENSOR_ALONE,
)

COLUMN_WORDS: Mapping[str, tuple[str, ...]] = {
    "frequency_hz": ("frequency", "freq", "f", "frequenz", "prüffrequenz", "messfrequenz", "fréquence"),
    "frequency_rpm": ("speed", "rpm", "cpm", "drehzahl", "vitesse de rotation", "running speed"),
    "applied": (
        "level",
        "applied",
        "applied level",
        "input",
        "input level",
        "excitation",
        "shaker",
        "reference",
        "reference level",
        "vibration",
        "velocity",
        "acceleration",
        "displacement",
        "step",
        "pegel",
        "anregung",
        "sollpegel",
        "eingang",
        "schwinggeschwindigkeit",
        "beschleunigung",
        "niveau",
        "entrée",
    ),
    "output": (
        "output",
        "out",
        "signal",
        "reading",
        "measured",
        "measured output",
        "channel output",
        "ausgang",
        "messwert",
        "ausgangssignal",
        "anzeige",
        "sortie",
        "mesure",
    ),
    "channel": ("channel", "tag", "point", "loop", "kanal", "messstelle", "kks", "voie", "repère"),
    "test": ("test", "prüfung", "prüfart", "essai"),
    "condition": ("condition", "state", "zustand", "état"),
    "direction": ("direction", "up/down", "richtung", "sens"),
    "repeat": ("repeat", "run", "cycle", "wiederholung", "durchgang", "lauf"),
    "note": ("note", "notes", "remark", "remarks", "comment", "comments", "bemerkung", "bemerkungen", "remarque"),
    "exclude": ("exclude", "excluded", "rejected", "verworfen"),
    "applied_unit": ("applied unit", "level unit", "input unit"),
    "output_unit": ("output unit",),
}
STATED_WORDS = (
    "dev",
    "dev.",
    "deviation",
    "error",
    "abw",
    "abw.",
    "abweichung",
    "fehler",
    "écart",
    "deviation from nominal",
)
WORKED_OUT_WORDS = (
    "expected",
    "nominal",
    "target",
    "theoretical",
    "limit",
    "min",
    "max",
    "lower limit",
    "upper limit",
    "lowest",
    "highest",
    "soll",
    "sollwert",
    "grenze",
    "attendu",
    "sensitivity",
    "empfindlichkeit",
    "sensibilité",
    "ratio",
    "gain",
    "db",
    "planned",
)
NUMBER_WORDS = ("nr", "nr.", "no", "no.", "#", "item", "lfd. nr.", "lfd.", "pos", "pos.", "n°")

TEST_WORDS: Mapping[str, tuple[str, ...]] = {
    LINEARITY: ("linearity test", "linear", "linearität", "linéarité", "amplitude linearity"),
    BAND_RESPONSE: (
        "frequency response",
        "band response",
        "response",
        "frequenzgang",
        "réponse en fréquence",
        "bandpass",
        "filter",
    ),
    SENSOR_ALONE: ("sensor alone", "sensor only", "sensor check", "transducer", "aufnehmer allein", "sensor allein"),
    MODULE_ALONE: ("module alone", "electrical injection", "injection", "charge amplifier", "modul allein"),
}
"""Beside the tests' own names."""
CONDITION_WORDS: Mapping[str, tuple[str, ...]] = {
    AS_FOUND: ("as found", "as received", "before", "found", "vorgefunden", "vor justage", "avant", "incoming"),
    AS_LEFT: ("as left", "after", "left", "hinterlassen", "nach justage", "après", "outgoing"),
}
DIRECTION_WORDS: Mapping[str, tuple[str, ...]] = {
    DIRECTIONS[0]: ("up", "increasing", "steigend", "auf", "montant", "↑"),
    DIRECTIONS[1]: ("down", "decreasing", "fallend", "ab", "descendant", "↓"),
}
DAY_WORDS = ("date", "datum", "day", "tag", "date of test", "prüfdatum", "messdatum")
CONDITION_LABELS = COLUMN_WORDS["condition"]


def plain(text: str) -> str:
    """Return a text for comparison: compatible characters, one case, single blanks."""
    return re.sub(r"\s+", " ", unicodedata.normalize("NFKC", text)).strip().strip(":").casefold()


def said_in(text: str, words: Mapping[str, tuple[str, ...]]) -> list[str]:
    """Return the meanings of which a word stands whole in a text, those of the longest words first."""
    low = plain(text)
    found: dict[str, int] = {}
    for meaning, names in words.items():
        for name in (meaning, *names):
            if re.search(rf"(?<!\w){re.escape(name)}(?!\w)", low):
                found[meaning] = max(found.get(meaning, 0), len(name))
    return sorted(found, key=lambda meaning: -found[meaning])


def is_one_of(text: str, words: Iterable[str]) -> bool:
    """Whether a text is one of the words."""
    return plain(text) in words
