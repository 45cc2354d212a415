"""Whose keys count: the list of allowed signers of OpenSSH (ssh-keygen(1), section ALLOWED SIGNERS), line by line.

A line ties a key to the names of one person: ``PRINCIPALS [OPTIONS] KEYTYPE KEY``. A line that allows any name ties
none, and counts for nothing, unless it is of an authority whose certificates name their holders.
"""

from __future__ import annotations

import base64
import binascii
import re
import struct
import unicodedata
from dataclasses import dataclass
from pathlib import Path

from vibcal_nb.problems import Refused, in_words
from vibcal_nb.records.files.plain_files import read_plain

_FORM = 'a line is "NAME,ADDRESS" KEYTYPE KEY, the last two as the file KEY.pub has them'
_OPTIONS = re.compile(
    r'(cert-authority|namespaces="[^"]*"|valid-(?:after|before)="?\d{8}(?:\d{4}(?:\d\d)?)?Z?"?)', re.I
)
_TYPE = re.compile(r"(ssh|ecdsa|sk-ssh|sk-ecdsa|rsa)[-\w.@]*")


@dataclass(frozen=True, kw_only=True)
class AllowedSigners:
    """A list of allowed signers: the ``principals`` by which keys are tied, the lines that count as ``text``.

    ``problems`` holds a sentence for each line that does not count.
    """

    principals: tuple[str, ...]
    text: str
    problems: tuple[str, ...]

    def named(self, name: str) -> list[str]:
        """Return the principals that are this name: spelled the same, or an address whose first part spells it."""
        return [item for item in self.principals if spelled(name) in (spelled(item), spelled(item.split("@")[0]))]


class SignersUnusable(Refused):
    """The list of allowed signers cannot be read; the text is one sentence."""


def read_allowed_signers(path: Path) -> AllowedSigners:
    """Read a list of allowed signers. Raises ``SignersUnusable``."""
    try:
        lines = read_plain(path).decode("utf-8-sig").splitlines()
    except OSError as error:
        raise SignersUnusable(in_words(error)) from None
    except UnicodeDecodeError:
        raise SignersUnusable(f"{path.name}: the list of allowed signers is no text in UTF-8.") from None
    principals: list[str] = []
    problems: list[str] = []
    kept: list[str] = []
    for number, line in enumerate(lines, start=1):
        found = _read_line(line.strip())
        if isinstance(found, str):
            problems.append(f"{path.name}, line {number}: {found}")
        else:
            principals += found
        kept.append("#" if isinstance(found, str) else line)  # so that lines keep their numbers
    text = "\n".join(kept) + "\n"
    return AllowedSigners(principals=tuple(dict.fromkeys(principals)), text=text, problems=tuple(problems))


def _read_line(line: str) -> list[str] | str:
    """Return the principals of a line, none of an empty one, or in a clause what is wrong with it."""
    if not line or line.startswith("#"):
        return []
    named = re.match(r'"([^"]*)"\s+|(\S+)\s+', line)
    if named is None:
        return f"it holds one word; {_FORM}."
    principals = [item.strip() for item in (named[1] or named[2]).split(",") if item.strip()]
    if not principals or (named[1] is None and _TYPE.fullmatch(named[2])):
        return f"it begins with a key; {_FORM}."
    options, rest = _split_options(line[named.end() :])
    problem = _key_problem(rest)
    if problem is not None:
        return problem
    wild = next((item for item in principals if set(item) & set("*?!")), None)
    if wild is not None and "cert-authority" not in options.casefold():
        return f"'{wild}' is no name of one person, so that it ties the key to nobody; name the person."
    return [item for item in principals if not set(item) & set("*?!")]


def _split_options(text: str) -> tuple[str, str]:
    """Part the options, which a comma or a space separates, from the key."""
    end = 0
    while found := _OPTIONS.match(text, end):
        end = found.end()
        end += len(text[end:]) - len(text[end:].lstrip(", \t"))
    return text[:end], text[end:]


def _key_problem(text: str) -> str | None:
    kind, _, rest = text.partition(" ")
    if not _TYPE.fullmatch(kind):
        return f"'{kind[:40]}' is neither an option nor a type of key; {_FORM}."
    key = rest.split()[0] if rest.split() else ""
    try:
        data = base64.b64decode(key, validate=True)
        (size,) = struct.unpack(">I", data[:4])
        inside = data[4 : 4 + size].decode("ascii")
    except (binascii.Error, struct.error, UnicodeDecodeError):
        return f"its key is cut off or changed; {_FORM}."
    return None if inside == kind and len(data) > 4 + size else f"its key is no {kind}; {_FORM}."


def spelled(name: str) -> str:
    """Letters and digits of a name alone, without case and accents: "Engineer D" as engineer.d@... spells it."""
    plain = unicodedata.normalize("NFKD", name).casefold()
    return "".join(character for character in plain if character.isalnum())
