"""`run --register`: what the register beside the records holds, entered into one for teams."""

from __future__ import annotations

import argparse
from collections.abc import Sequence

from vibcal_nb.model.visit_folder import VisitFolder
from vibcal_nb.problems import in_words
from vibcal_nb.running.commands.terminal import say


def enter_into_team_register(arguments: argparse.Namespace, visits: Sequence[VisitFolder]) -> list[str]:
    """Enter all rows that are new; return in sentences what could not be done. The next run makes up for it."""
    from vibcal_nb.display.writing.names import plural
    from vibcal_nb.records.register.register import RegisterUnusable, has_register, register_path
    from vibcal_nb.records.register.team_register import TeamRegister, enter_all

    path = register_path(arguments.out)
    if arguments.register is None or not has_register(path):
        return []
    site = arguments.register_site or next((visit.path.absolute().parents[1].name for visit in visits), "")
    try:
        register = TeamRegister(address=arguments.register, site=site or "site")
        new = enter_all(path, register)
        problems = [f"Register for teams, site {register.site}: {item.sentence}" for item in register.check_chain()]
    except (RegisterUnusable, OSError) as error:
        return [in_words(error)]
    say(f"Register for teams, site {register.site}: {plural(new, 'row')} entered, the chain is checked.")
    return problems
