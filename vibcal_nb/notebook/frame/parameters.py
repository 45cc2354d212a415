"""A notebook's parameters, checked from inside it: papermill passes over names that the notebook does not have."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from typing import Any

from vibcal_nb.notebook.frame.interactive import is_interactive
from vibcal_nb.problems import ParameterError, nearest

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


def require_text(name: str, value: object) -> str:
    """Return a parameter that must be a text which is not empty. Raises ``ParameterError``."""
    if not isinstance(value, str) or not value:
        raise ParameterError(f"The parameter {name} is {value!r}; give a text in quotes.")
    return value


def require_number(
    name: str, value: object, fits: Callable[[float], bool] = lambda value: 0.0 < value < 1e6, *, wanted: str = ""
) -> float:
    """Return a parameter that must be a number which ``fits``. Raises ``ParameterError``, which asks for ``wanted``."""
    if isinstance(value, bool) or not isinstance(value, int | float) or not fits(value):
        raise ParameterError(f"The parameter {name} is {value!r}; give {wanted or 'a number above 0'}.")
    return float(value)
