"""Tags, names and serial numbers with letters that a reader takes for others."""

from __future__ import annotations

from collections.abc import Iterator

from vibcal_nb.analysis.questions.question import Question
from vibcal_nb.model.equipment import Readout, Reference
from vibcal_nb.model.visit_folder import VisitFolder
from vibcal_nb.problems import looks, odd_letters, shown


def letter_questions(folder: VisitFolder) -> Iterator[Question]:
    """Yield a question for each name with an odd letter, and for names of one kind that look alike."""
    for file, kinds in (("asset.toml", _of_asset(folder)), ("equipment.toml", _of_equipment(folder))):
        for kind, names in kinds.items():
            for name in dict.fromkeys(names):
                odd = odd_letters(name)
                if odd:
                    text = f"the {kind} {shown(name)} holds {', '.join(odd[:3])}. Was it typed so on purpose?"
                    yield Question(file=file, text=text)
            yield from _alike(file, kind, names)


def _of_asset(folder: VisitFolder) -> dict[str, list[str]]:
    channels = folder.asset.channels.values()
    serials = [item.serial for channel in channels for item in channel.items if item.serial]
    return {"tag": [folder.asset.tag, *folder.asset.channels], "serial number": serials}


def _of_equipment(folder: VisitFolder) -> dict[str, list[str]]:
    used: tuple[Reference | Readout, ...] = (*folder.references, *folder.readouts)
    return {"id": [item.id for item in used], "serial number": [item.serial for item in used]}


def _alike(file: str, kind: str, names: list[str]) -> Iterator[Question]:
    seen: dict[str, str] = {}
    for name in names:
        twin = seen.setdefault(looks(name), name)
        if twin != name:
            text = f"the {kind}s {shown(twin)} and {shown(name)} look alike and are two. Is one meant for the other?"
            yield Question(file=file, text=text)
