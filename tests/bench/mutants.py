"""Mutation testing: one sign, comparison or operator turned round at a time; does a test notice?

By hand, with the extra ``mutation`` installed:

    python -m tests.bench.mutants --sample 200 --seed 1 [core/steps/speed ...]

Works on a copy of this tree. Each mutant meets the tests of what a person is told, then those that
mirror its own folder; one that nobody notices is shown as a difference, to be given a test or a
reason. A sample is drawn with the seed, so that the same one can be looked at again.
"""

from __future__ import annotations

import argparse
import os
import random
import re
import shutil
import sys
import tempfile
import time
from pathlib import Path

from cosmic_ray.commands import init
from cosmic_ray.mutating import mutate_and_test
from cosmic_ray.work_db import use_db
from cosmic_ray.work_item import TestOutcome, WorkItem

ROOT = Path(__file__).parents[2]
WHERE = ("core/steps", "core/physics", "core/estimation", "core/workflow", "core/swap")

FLIPS = re.compile(
    r"core/(ReplaceBinaryOperator_(Add_Sub|Sub_Add|Mul_Div|Div_Mul)"
    r"|ReplaceUnaryOperator_(USub_UAdd|Delete_Not)"
    r"|ReplaceComparisonOperator_(Lt_Gt|Gt_Lt|LtE_GtE|GtE_LtE|Eq_NotEq|NotEq_Eq|Is_IsNot|IsNot_Is)"
    r"|ReplaceAndWithOr|ReplaceOrWithAnd|AddNot)"
)
"""Turned round, not shifted by one: a mutant that only moves a limit is mostly no fault at all."""

TOLD = ("tests/outside/test_told_*.py", "tests/outside/test_fitting_on_paper.py")
BESIDE = {
    "swap.py": ("tests/core/swap", "tests/outside/test_swap_statics.py"),
    "effects.py": (
        "tests/outside/test_disturbance.py",
        "tests/outside/test_disturbance_by_vectors.py",
        "tests/core/workflow",
    ),
    "controls.py": ("tests/core/workflow",),
}
"""What else looks at a file of a step, by the file's name."""
FORMULAS = {("core", "physics"), ("core", "estimation")}
"""Rooms whose formulas are held to the world by all of tests/outside."""
LONGEST_S = 180.0


def mutants_of(paths: list[str]) -> list[WorkItem]:
    """Return every flip in these folders of the current one."""
    files = sorted(file for path in paths for file in Path(path).rglob("*.py"))
    with use_db(":memory:") as found:
        init(files, found, {})
        items = list(found.work_items)
    return [item for item in items if FLIPS.fullmatch(item.mutations[0].operator_name)]


def tests_for(module: Path, *, only_told: bool) -> list[str]:
    """Return which tests a mutant of a module meets, those that are likeliest to notice first."""
    told = [str(file) for pattern in TOLD for file in sorted(Path().glob(pattern))]
    own = module.parent.name.rsplit("_", 1)[-1]  # speed; downforce, for rough and final
    near = [test for test in told if own in test]
    told = [*near, "tests/outside/test_told_sides.py"] if near else told
    if only_told:
        return told
    mirror = next(
        (folder for parent in module.parents if (folder := Path("tests") / parent).is_dir()),
        Path("tests/core"),
    )
    if module.parent == Path("core/steps/downforce"):  # shared by two steps, tested there
        beside = ("tests/core/steps/rough_downforce", "tests/core/steps/final_downforce")
        return [*told, str(mirror), *beside]
    outside = ["tests/outside"] if module.parts[:2] in FORMULAS else []
    return [*told, str(mirror), *BESIDE.get(module.name, ()), *outside]


def look(items: list[WorkItem], until: float, *, only_told: bool) -> list[str]:
    """Run the tests against each mutant, and return what nobody noticed."""
    unnoticed: list[str] = []
    for place, item in enumerate(items, start=1):
        if time.monotonic() > until:
            print(f"Time is up after {place - 1} of {len(items)}.")
            break
        mutation = item.mutations[0]
        tests = " ".join(tests_for(mutation.module_path, only_told=only_told))
        command = f"{sys.executable} -m pytest -x -q -n 0 -p no:cacheprovider {tests}"
        result = mutate_and_test(item.mutations, command, LONGEST_S)
        noticed = result.test_outcome is not TestOutcome.SURVIVED
        line = mutation.start_pos[0]
        where = f"{mutation.module_path}:{line} {mutation.operator_name.removeprefix('core/')}"
        print(f"{place:4} {'noticed  ' if noticed else 'UNNOTICED'} {where}", flush=True)
        if not noticed:
            unnoticed.append(f"{where}\n{result.diff}")
    return unnoticed


def main() -> int:
    asked = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    asked.add_argument("paths", nargs="*", default=list(WHERE), help="folders or files of core/")
    asked.add_argument("--only-told", action="store_true", help="leave the other tests out")
    asked.add_argument("--sample", type=int, default=100)
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("--minutes", type=float, default=60.0)
    told = asked.parse_args()
    until = time.monotonic() + 60.0 * told.minutes
    with tempfile.TemporaryDirectory(prefix="mutants-") as place:
        copy = Path(place) / "tree"
        leave = shutil.ignore_patterns(".git", ".venv", "__pycache__", ".*_cache")
        shutil.copytree(ROOT, copy, ignore=leave, symlinks=True)
        os.chdir(copy)
        os.environ |= {"PYTHONDONTWRITEBYTECODE": "1", "QT_QPA_PLATFORM": "offscreen"}
        items = mutants_of(told.paths)
        drawn = random.Random(told.seed).sample(items, min(told.sample, len(items)))
        print(f"{len(drawn)} of {len(items)} mutants.", flush=True)
        unnoticed = look(drawn, until, only_told=told.only_told)
        os.chdir(ROOT)
    print(f"\n{len(unnoticed)} unnoticed.\n", *unnoticed, sep="\n")
    return 1 if unnoticed else 0


if __name__ == "__main__":
    raise SystemExit(main())
