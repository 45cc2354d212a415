"""Change the mathematics in small wrong ways and count how many changes the tests notice.

    python -m tests.mutation measure FOLDER                   which test executes what, on the unchanged program
    python -m tests.mutation measure FOLDER --only MODULE...  the same of new or changed test modules, added to it
    python -m tests.mutation draw FOLDER --size 800 --seed 1  a draw of mutants over all modules before their tests
    python -m tests.mutation again FOLDER --seed 1            the survivors of that draw once more

A draw that was interrupted goes on where it stopped. A survivor is one that no test noticed among those that execute
its line and take 10 s together (or that no test executes), so that the rate errs on the low side. POSIX only.
"""

from __future__ import annotations

import argparse
import json
from dataclasses import asdict
from pathlib import Path

from tests.mutation import covering, mutants, tally, trial

BUDGET_S = 10.0


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("task", choices=["measure", "draw", "again"])
    parser.add_argument("folder", type=Path)
    parser.add_argument("--only", nargs="*", default=[], metavar="TEST_MODULE")
    parser.add_argument("--size", type=int, default=800)
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    asked.folder.mkdir(parents=True, exist_ok=True)
    if asked.task == "measure":
        covering.measure(asked.folder, asked.only)
        return
    results = asked.folder / f"seed_{asked.seed}.jsonl"
    if asked.task == "draw":
        drawn = mutants.draw(
            sorted([*Path("vibcal_nb/metrology").rglob("*.py"), *Path("vibcal_nb/analysis").rglob("*.py")]),
            asked.size,
            asked.seed,
        )
    else:
        drawn = [mutant for mutant, fate in _read(results) if fate == "survived"]
        results = asked.folder / f"seed_{asked.seed}_again.jsonl"
        results.unlink(missing_ok=True)
    fates = _try(drawn, asked.folder, results)
    print("\n".join(tally.change(mutant) for mutant, fate in fates if fate == "survived"))
    print(tally.table(fates))


def _try(drawn: list[mutants.Mutant], folder: Path, results: Path) -> list[tuple[mutants.Mutant, str]]:
    known, tests_of = dict(_read(results)), covering.CoveringTests(folder)
    trial.warm_up(folder.resolve() / "bytecode")
    with results.open("a", encoding="utf-8") as file:
        for mutant in drawn:
            if mutant not in known:
                tests = tests_of.of(mutant, BUDGET_S)
                known[mutant] = trial.fate(mutant, tests, folder / "log.txt") if tests else "survived"
                file.write(json.dumps(asdict(mutant) | {"fate": known[mutant], "tests": len(tests)}) + "\n")
                file.flush()
    return [(mutant, known[mutant]) for mutant in drawn]


def _read(results: Path) -> list[tuple[mutants.Mutant, str]]:
    if not results.exists():
        return []
    rows = [json.loads(line) for line in results.read_text(encoding="utf-8").splitlines()]
    return [
        (mutants.Mutant(**{key: row[key] for key in mutants.Mutant.__dataclass_fields__}), row["fate"]) for row in rows
    ]


if __name__ == "__main__":
    main()
