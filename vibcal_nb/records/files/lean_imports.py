"""nbformat without what most of its import takes: grammars of addresses, which no notebook asks for.

jsonschema, by which nbformat knows a notebook, compiles 39 grammars of RFC 3987 while it is imported, for the formats
``iri`` and ``iri-reference``, where a package of them is installed, as JupyterLab has it: 0.9 s of processor time in
every process that makes records. The schema of notebooks names neither format. Where the package cannot be imported
jsonschema leaves these two checks out.
"""

from __future__ import annotations

import sys
from typing import Any

_GRAMMARS = "rfc3987_syntax"


def import_nbformat() -> Any:
    """Import and return nbformat, without the grammars where nothing else has imported them."""
    spared = _GRAMMARS not in sys.modules and "jsonschema" not in sys.modules
    if spared:
        sys.modules[_GRAMMARS] = None  # type: ignore[assignment]  # so that its import fails
    try:
        import nbformat
    finally:
        if spared:
            del sys.modules[_GRAMMARS]
    return nbformat


def import_papermill() -> Any:
    """Import and return papermill, nbformat first."""
    import_nbformat()
    import papermill

    return papermill
