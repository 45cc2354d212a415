"""`verify BUNDLE`: a bundle unpacked apart, and all in it verified as in any folder of records."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable
from pathlib import Path

from vibcal_nb.problems import Refused, in_words
from vibcal_nb.records.bundle.unpack import is_bundle
from vibcal_nb.records.signoff.allowed_signers import read_allowed_signers
from vibcal_nb.running.commands.exit_status import ExitStatus
from vibcal_nb.running.commands.terminal import say
from vibcal_nb.running.verify.states import Verified
from vibcal_nb.running.verify.verify_bundle import open_bundle, own_list, verify_manifest


def names_bundle(arguments: argparse.Namespace) -> bool:
    """Whether what is to be verified is a bundle."""
    return any(is_bundle(path) for path in arguments.paths)


def check_bundle(
    arguments: argparse.Namespace,
    verify: Callable[[argparse.Namespace], ExitStatus],
    tell: Callable[[Verified], None],
) -> ExitStatus:
    """Unpack a bundle and verify all in it by ``verify``; ``tell`` says what was found of the bundle as a whole.

    Whose keys count is what the caller's own list says; without one, the list that the bundle brings, and that is told.
    """
    if len(arguments.paths) != 1 or arguments.sign or arguments.witness is not None:
        print("A bundle is verified by itself: give it alone, and sign records where they lie.", file=sys.stderr)
        return ExitStatus.REFUSED
    (path,) = arguments.paths
    try:
        with open_bundle(path) as bundle:
            given = arguments.allowed_signers
            if given is None and bundle.signers is not None:
                say("Whose keys count is what the bundle itself says (allowed_signers): compare it with your own.")
            allowed = own_list(bundle) if given is None else read_allowed_signers(given)
            whole = verify_manifest(path, bundle, allowed)
            tell(whole)
            inner = argparse.Namespace(**vars(arguments))
            inner.paths = [bundle.records]
            inner.inputs = arguments.inputs or bundle.inputs
            inner.allowed_signers = given or bundle.signers
            inner.shown_from = (bundle.folder, path.name)
            if not bundle.records.is_dir():
                print(f"{path.name}: there is no record in it.", file=sys.stderr)
                return ExitStatus.REFUSED
            status = verify(inner)
    except (Refused, OSError) as error:
        print(in_words(error), file=sys.stderr)
        return ExitStatus.REFUSED
    return status if whole.state is None else max(status, ExitStatus.NOT_ALL_PASS)


def shown_path(path: Path, arguments: argparse.Namespace) -> str:
    """Return a path as it is told: of what was unpacked, from the bundle on."""
    shown_from = getattr(arguments, "shown_from", None)
    if shown_from is None:
        return path.as_posix()
    folder, name = shown_from
    return f"{name}/{path.relative_to(folder).as_posix()}" if path.is_relative_to(folder) else path.as_posix()
