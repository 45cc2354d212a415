"""A notebook's parameters, checked from inside it: papermill passes over names that the notebook does not have."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import Any

from vibcal_nb.display.panels import is_interactive
from vibcal_nb.inputs.problems import nearest
from vibcal_nb.records.plain_errors import ParameterError

_LITERALS = (str, int, float, bool, list, tuple, dict, type(None))
_SHELL_NAMES = {"In", "Out"}


def check_parameters(namespace: Mapping[str, Any], known: Collection[str]) -> None:
    """Refuse a literal in the notebook's ``globals()`` that is none of its ``known`` parameters.

    Where a person is at the notebook, who may keep variables of their own and run cells again, only a name
    that looks like a misspelt parameter is refused. Raises ``ParameterError``.
    """
    for name, value in namespace.items():
        if name.startswith("_") or name in _SHELL_NAMES or name in known or not isinstance(value, _LITERALS):
            continue
        if is_interactive() and nearest(name, known) is None:
            continue
        raise ParameterError(f"The notebook has no parameter '{name}'; its parameters are {', '.join(known)}.")
