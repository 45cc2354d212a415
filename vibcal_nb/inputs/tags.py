"""Tags become names of files and folders: those that could not, or would collide, are refused."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Collection, Iterable

from vibcal_nb.problems import Problem, shown

MOST_BYTES = 200  # of UTF-8; a file system takes 255, and names of files are longer than the tag in them
TAKEN = "superseded"
"""The folder in which earlier revisions of records lie."""
_SAFE = re.compile(r"[^\x00-\x1f\x7f<>:\"/\\|?*%]{1,64}")
_RESERVED = re.compile(r"(?i)(con|conin\$|conout\$|prn|aux|nul|(com|lpt)[\d¹²³]) *(\..*)?")  # devices on Windows
_NO_BEGINNING = (".", " ", "=", "+", "-", "@")  # hidden, or in a spreadsheet a formula, or on a command line an option


def is_safe_tag(tag: str) -> bool:
    """Whether a tag can name a file on Linux, macOS and Windows without leaving its folder."""
    plain = _SAFE.fullmatch(tag) and tag.isprintable() and len(tag.encode("utf-8")) <= MOST_BYTES
    inside = not tag.startswith(_NO_BEGINNING) and not tag.endswith((".", " "))
    return bool(plain) and inside and not _RESERVED.fullmatch(tag)


def fold_tag(tag: str) -> str:
    """Return what some file systems take a tag for: they tell neither case nor the form of an accent apart."""
    return unicodedata.normalize("NFC", unicodedata.normalize("NFC", tag).casefold())


def find_tag(tag: str, known: Iterable[str]) -> str | None:
    """Return the known tag that is this one, in whatever form its accents are typed; None where there is none."""
    known = tuple(known)
    if tag in known:
        return tag
    plain = unicodedata.normalize("NFC", tag)
    return next((other for other in known if unicodedata.normalize("NFC", other) == plain), None)


def check_tags(tags: Collection[str], *, file: str, key: str, problems: list[Problem]) -> None:
    """Note tags that cannot name a file, and tags that differ only by case or by the form of an accent."""
    for tag in (tag for tag in tags if fold_tag(tag) == TAKEN):
        found, remedy = f"the tag {shown(tag)}", "the folder of earlier revisions has that name: give another"
        problems.append(Problem(file=file, column=key, found=found, remedy=remedy))
    seen: dict[str, str] = {}
    for tag in tags:
        column = key if key.endswith("tag") else f"{key}.{tag}"
        if not is_safe_tag(tag):
            problems.append(
                Problem(
                    file=file,
                    column=key,
                    found=f"the tag {shown(tag)}",
                    remedy="tags name files: give 1 to 64 letters, digits, '-' or '_', a letter or digit first, "
                    "with no path separators",
                )
            )
        twin = seen.setdefault(fold_tag(tag), tag)
        if twin != tag:
            problems.append(
                Problem(
                    file=file,
                    column=column,
                    found=f"the tag {shown(tag)} beside {shown(twin)}",
                    remedy="tags name files, which some systems do not tell apart by case or accent: give another",
                )
            )
