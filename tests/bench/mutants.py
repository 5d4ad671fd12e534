"""Mutation testing: one sign, comparison or operator turned round at a time; does a test notice?

By hand, with the extra ``mutation`` installed:

    python -m tests.bench.mutants --sample 110 --seed 1 [core/steps/speed ...]
    python -m tests.bench.mutants --directions
    python -m tests.bench.mutants --again

Works on a copy of this tree. At first it notes which tests reach which lines (``reaching``); each
mutant then meets only the tests that reach its statement, the quickest first, and one that none of
them notices meets all that is near to it, each in a fork of one process that has collected the
tests (``forked``). What was found is kept beside the copy, so a run that was cut short goes on.
``--again`` looks once more at what nobody noticed, with the tests of today; ``--directions`` turns
round each direction a person is told (``directions``).

A sample is drawn from each room in proportion to its lines. What goes unnoticed gets a test, or a
reason in DEVELOPERS.md.
"""

from __future__ import annotations

import argparse
import ast
import difflib
import json
import math
import os
import random
import re
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator
from dataclasses import asdict, dataclass, fields
from functools import partial
from pathlib import Path
from typing import Any

from cosmic_ray.ast import ast_nodes, get_ast
from cosmic_ray.mutating import mutate_code
from cosmic_ray.plugins import get_operator, operator_names

from tests.bench.directions import directions

ROOT = Path(__file__).parents[2]
WHERE = ("core/steps", "core/physics", "core/estimation", "core/workflow", "core/swap")

FLIPS = re.compile(
    r"core/(ReplaceBinaryOperator_(Add_Sub|Sub_Add|Mul_Div|Div_Mul)"
    r"|ReplaceUnaryOperator_(USub_UAdd|Delete_Not)"
    r"|ReplaceComparisonOperator_(Lt_Gt|Gt_Lt|LtE_GtE|GtE_LtE|Eq_NotEq|NotEq_Eq|Is_IsNot|IsNot_Is)"
    r"|ReplaceAndWithOr|ReplaceOrWithAnd|AddNot)"
)
"""Turned round, not shifted by one: a mutant that only moves a limit is mostly no fault at all."""

LOOKED_AT = (
    *("tests/outside", "tests/core/estimation", "tests/core/fitting", "tests/core/history"),
    *("tests/core/maintenance", "tests/core/physics", "tests/core/recordings", "tests/core/steps"),
    *("tests/core/swap", "tests/core/tones", "tests/core/workflow"),
)
"""Not the store, the papers and the words, which hold no figure of these rooms; nor whole fittings
by the hundred, which would take minutes a mutant."""
TOLD = ("tests/outside/test_told_*.py", "tests/outside/test_fitting_on_paper.py")
FORMULAS = {("core", "physics"), ("core", "estimation")}
"""Rooms whose formulas are held to the world by all of tests/outside."""
BUDGET_S = 60.0
"""How long the tests that reach a mutant may take, and those near to it: the quickest run."""

CORE = "core.json"
"""The text of core when it was noted what tests reach: a line may have moved since."""
UNDO = "undo.json"
"""What a file was before it was changed, for a run that is killed meanwhile."""


@dataclass(frozen=True)
class Mutant:
    """One change of one line: an operator's so many-th place, or some text for another."""

    file: str
    line: int
    operator: str = ""
    occurrence: int = 0
    old: str = ""
    new: str = ""

    def __str__(self) -> str:
        what = self.operator.removeprefix("core/") or f"{self.old.strip()}  →  {self.new.strip()}"
        return f"{self.file}:{self.line} {what}"

    def source(self, text: str) -> str:
        """Return the file's text with the change made."""
        if not self.operator:
            return text.replace(self.old, self.new)
        return str(mutate_code(text, get_operator(self.operator)(), self.occurrence))

    def changes(self) -> bool:
        """Return whether arithmetic changes: a ``*`` in a signature or before arguments is none."""
        text = Path(self.file).read_text(encoding="utf-8")
        try:
            after = ast.parse(self.source(text))
        except SyntaxError:
            return False
        return ast.dump(without_marks(after)) != ast.dump(without_marks(ast.parse(text)))


def without_marks(tree: ast.Module) -> ast.Module:
    """Return the tree with all parameters of one kind: by place or by name is no arithmetic."""
    for node in ast.walk(tree):
        if isinstance(node, ast.arguments):
            node.args = [*node.posonlyargs, *node.args, *node.kwonlyargs]
            node.posonlyargs, node.kwonlyargs = [], []
            node.defaults, node.kw_defaults = [], []
    return tree


def flips_of(paths: Iterable[str]) -> list[Mutant]:
    """Return every flip in these folders of the current one."""
    files = sorted(file for path in paths for file in [Path(path), *Path(path).rglob("*.py")])
    named = {name: get_operator(name)() for name in operator_names() if FLIPS.fullmatch(name)}
    flips: list[Mutant] = []
    for file in files:
        if file.suffix != ".py":
            continue
        count = dict.fromkeys(named, 0)
        for node in ast_nodes(get_ast(file.read_text(encoding="utf-8"))):
            for name, operator in named.items():
                for start, _ in operator.mutation_positions(node):
                    flips.append(Mutant(str(file), start[0], name, count[name]))
                    count[name] += 1
    return sorted(flips, key=lambda flip: (flip.file, flip.line, flip.operator, flip.occurrence))


def drawn(paths: list[str], sample: int, seed: int) -> list[Mutant]:
    """Return so many flips, from each path in proportion to its lines."""
    lines = {
        path: sum(
            len(file.read_text(encoding="utf-8").splitlines())
            for file in [Path(path), *Path(path).rglob("*.py")]
            if file.is_file()
        )
        for path in paths
    }
    dice = random.Random(seed)
    taken: list[Mutant] = []
    for path in paths:
        flips = flips_of([path])
        dice.shuffle(flips)
        wanted = round(sample * lines[path] / sum(lines.values()))
        real = (flip for flip in flips if flip.changes())
        taken += [flip for flip, _ in zip(real, range(wanted), strict=False)]
    dice.shuffle(taken)  # a run that is cut short has seen every room
    return taken


def turned_round() -> list[Mutant]:
    """Return the directions turned round, each found at exactly one place."""
    turned = []
    for file, old, new in directions():
        text = Path(file).read_text(encoding="utf-8")
        if text.count(old) != 1:
            raise SystemExit(f"{file} holds {text.count(old)} times: {old}")
        line = text[: text.index(old)].count("\n") + 1
        turned.append(Mutant(file, line, old=old, new=new))
    return turned


class Reached:
    """Which tests reach which lines, and how long each test takes."""

    def __init__(self, folder: Path, budget_s: float) -> None:
        self.budget_s = budget_s
        self.seconds: dict[str, float] = {}
        self.failed: set[str] = set()
        self.lines: dict[str, dict[int, set[str]]] = {}
        for notes in sorted(folder.iterdir()):
            core = notes / CORE
            then = json.loads(core.read_text(encoding="utf-8")) if core.is_file() else {}
            for file in sorted(set(notes.glob("*.json")) - {core}):
                self._take(json.loads(file.read_text(encoding="utf-8")), then)

    def _take(self, told: dict[str, Any], then: dict[str, str]) -> None:
        """Take what was noted, ``then`` the text of core at the time."""
        self.seconds |= told["seconds"]
        self.failed = (self.failed - told["seconds"].keys()) | set(told["failed"])
        for source, lines in told["lines"].items():
            if not Path(source).is_file():
                continue
            now = Path(source).read_text(encoding="utf-8").splitlines()
            went = lines_gone_to(then.get(source, "").splitlines() or now, now)
            of_source = self.lines.setdefault(source, {})
            for line, places in lines.items():
                tests = {told["contexts"][place] for place in places}
                for place in went.get(int(line), ()):
                    of_source.setdefault(place, set()).update(tests)

    def by(self, mutant: Mutant) -> dict[str, float]:
        """Return the tests that reach a mutant's statement, or its file when imports run it."""
        lines = self.lines.get(mutant.file, {})
        statement = lines_of_statement(Path(mutant.file).read_text(encoding="utf-8"), mutant.line)
        reached = set().union(*(lines.get(line, set()) for line in statement))
        reached = reached or set().union(*lines.values())
        near = {test for test in reached if "::" in test}
        whole = {file for file in reached if "::" not in file}
        near |= {test for test in self.seconds if test.partition("::")[0] in whole}
        return self._in_time(near, mirror_of(Path(mutant.file)))

    def when_read(self, mutant: Mutant) -> set[str]:
        """Return the files of tests that reach a mutant's statement while they are collected."""
        lines = self.lines.get(mutant.file, {})
        statement = lines_of_statement(Path(mutant.file).read_text(encoding="utf-8"), mutant.line)
        reached = set().union(*(lines.get(line, set()) for line in statement))
        return {test for test in reached if "::" not in test}

    def for_one(self, mutant: Mutant) -> tuple[dict[str, float], dict[str, float]]:
        """Return the tests that reach a mutant, and those that are only near to it."""
        near = self.by(mutant)
        beside = self.of(near_to(Path(mutant.file)))
        return near, {test: t for test, t in beside.items() if test not in near}

    def of(self, files: Iterable[str]) -> dict[str, float]:
        """Return the tests in these files and folders."""
        folders = tuple(files)
        return self._in_time(test for test in self.seconds if test.startswith(folders))

    def _in_time(self, tests: Iterable[str], first: str = "") -> dict[str, float]:
        """Return the quickest of these tests, those of a folder before all others."""

        def order(test: str) -> tuple[bool, float, str]:
            return not test.startswith(first), self.seconds.get(test, 0.0), test

        taken: dict[str, float] = {}
        left = self.budget_s
        for test in sorted(tests, key=order):
            takes = self.seconds.get(test, math.inf)
            if test not in self.failed and takes <= left:
                taken[test] = takes
                left -= takes
        return taken


def lines_gone_to(before: list[str], now: list[str]) -> dict[int, range]:
    """Return where each line of an older text stands; of lines that changed, all in their place."""
    same = difflib.SequenceMatcher(a=before, b=now, autojunk=False).get_opcodes()
    found: dict[int, range] = {}
    for tag, a0, a1, b0, b1 in same:
        for line in range(a0, a1):
            there = range(b0 + line - a0, b0 + line - a0 + 1) if tag == "equal" else range(b0, b1)
            found[line + 1] = range(there.start + 1, there.stop + 1)
    return found


def lines_of_statement(source: str, line: int) -> range:
    """Return the lines of the simple statement, or of the head of the compound one, at a line."""
    best = range(line, line + 1)
    for node in ast.walk(ast.parse(source)):  # outer statements come first
        if isinstance(node, ast.stmt) and node.lineno <= line <= (node.end_lineno or node.lineno):
            body = getattr(node, "body", None)
            end = max(node.lineno, body[0].lineno - 1) if body else node.end_lineno
            best = range(node.lineno, (end or node.lineno) + 1)
    return best if line in best else range(line, line + 1)


def mirror_of(module: Path) -> str:
    """Return the folder of tests that mirrors a module's own."""
    folders = (Path("tests") / parent for parent in module.parents)
    return str(next((folder for folder in folders if folder.is_dir()), Path("tests/core")))


def near_to(module: Path) -> list[str]:
    """Return where the tests of a module stand: what a person is told, and its own folder's."""
    told = [str(file) for pattern in TOLD for file in sorted(Path().glob(pattern))]
    outside = ["tests/outside"] if module.parts[:2] in FORMULAS else []
    return [*told, mirror_of(module), *outside]


def pytest(*words: str, limit: float | None = None, **said: str) -> tuple[int | None, str]:
    """Run pytest in the copy; return how it ended, None when time was up, and what it said."""
    command = [sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider"]
    environment = os.environ | {"PYTHONPATH": str(Path.cwd()), "QT_QPA_PLATFORM": "offscreen"}
    with subprocess.Popen(
        [*command, "-p", "tests.bench.reaching", *words],
        env=environment | said,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        start_new_session=True,
    ) as running:
        try:
            out, _ = running.communicate(timeout=limit)
        except subprocess.TimeoutExpired:
            os.killpg(running.pid, signal.SIGKILL)
            return None, "time was up"
    return running.returncode, out


def who_notices(tests: dict[str, float], known: set[str], folder: Path) -> str:
    """Run these tests on the copy as it stands, and return what failed first, or nothing."""
    only = folder / "only.json"
    only.write_text(json.dumps({"wanted": tests, "known": sorted(known)}), encoding="utf-8")
    files = sorted({test.partition("::")[0] for test in tests})
    if not files:
        return ""
    limit = 120.0 + 5.0 * sum(tests.values())
    # A mutant's byte code must not outlive it; that of all else is read, and saves seconds.
    alone = {"REACHED_ONLY": str(only), "PYTHONDONTWRITEBYTECODE": "1"}
    code, out = pytest("-x", "-n", "0", *files, limit=limit, **alone)
    if code in (0, 5):
        return ""
    if code not in (None, 1, 2):
        raise SystemExit(f"pytest failed itself:\n{out}")
    named = re.search(r"^(?:FAILED|ERROR) (.+?)(?: - |$)", out, re.MULTILINE)
    return named[1] if named else out.strip().splitlines()[-1]


def look_at(
    mutant: Mutant, reached: Reached, folder: Path, *, first: str = ""
) -> dict[str, object]:
    """Make one change, run the tests that may notice, and put the file back.

    ``first`` is a file of tests that is likely to notice.
    """
    began = time.monotonic()
    file = Path(mutant.file)
    before = file.read_text(encoding="utf-8")
    near, further = reached.for_one(mutant)
    after = mutant.source(before)
    when, undo = file.stat(), folder / UNDO
    undo.write_text(json.dumps([mutant.file, before]), encoding="utf-8")
    file.write_text(after, encoding="utf-8")
    known = reached.seconds.keys() | reached.failed
    try:
        every = near | further
        likely = {test: every[test] for test in every if first and test.startswith(first)}
        noticed = who_notices(likely, known, folder)
        noticed = noticed or who_notices(near, known, folder) or who_notices(further, known, folder)
    finally:
        file.write_text(before, encoding="utf-8")
        os.utime(file, ns=(when.st_atime_ns, when.st_mtime_ns))
        undo.unlink()
    return told_of(mutant, noticed, len(near), time.monotonic() - began)


def told_of(mutant: Mutant, noticed: str, tests: int, seconds: float) -> dict[str, object]:
    """Return what is kept of a mutant that was looked at; its file stands as it was."""
    before = Path(mutant.file).read_text(encoding="utf-8")
    after = mutant.source(before)
    change = difflib.unified_diff(before.splitlines(), after.splitlines(), n=2, lineterm="")
    return {
        **asdict(mutant),
        "noticed": noticed,
        "tests": tests,
        "seconds": round(seconds, 1),
        "change": "\n".join(change),
    }


def job(place: int, mutant: Mutant, reached: Reached) -> dict[str, object]:
    """Return what a fork needs to make one change and look for who notices."""
    near, further = reached.for_one(mutant)
    return {
        "job": place,
        "file": mutant.file,
        "source": mutant.source(Path(mutant.file).read_text(encoding="utf-8")),
        "tests": [*by_file(near), *by_file(further)],
        "limit": 120.0 + 5.0 * sum((near | further).values()),
    }


def by_file(tests: dict[str, float]) -> list[str]:
    """Return the tests file by file, the quickest file first."""
    took: dict[str, float] = defaultdict(float)
    for test, seconds in tests.items():
        took[test.partition("::")[0]] += seconds
    return sorted(tests, key=lambda test: (took[test.partition("::")[0]], test))


def look_in_forks(
    mutants: list[Mutant], reached: Reached, folder: Path
) -> Iterator[dict[str, object]]:
    """Yield what is found of each mutant, one fork each, or in a process of its own if need be."""
    jobs, into = folder / "jobs.jsonl", folder / "forks.jsonl"
    asked = [json.dumps(job(place, mutant, reached)) for place, mutant in enumerate(mutants)]
    jobs.write_text("\n".join(asked), encoding="utf-8")
    into.write_text("", encoding="utf-8")
    files = sorted({test.partition("::")[0] for test in reached.seconds})
    command = [sys.executable, "-m", "pytest", "-q", "-n", "0", "-p", "no:cacheprovider"]
    said = {"PYTHONPATH": str(Path.cwd()), "OPENBLAS_NUM_THREADS": "1"}
    said |= {"FORKED_JOBS": str(jobs), "FORKED_INTO": str(into)}
    with (folder / "forks.txt").open("w", encoding="utf-8") as out:
        running = subprocess.Popen(
            [*command, "-p", "tests.bench.forked", *files],
            env=os.environ | said,
            stdout=out,
            stderr=subprocess.STDOUT,
        )
    unsure: dict[Mutant, str] = {}
    try:
        seen = 0
        while seen < len(mutants):
            ended = running.poll() is not None
            lines = into.read_text(encoding="utf-8").splitlines(keepends=True)
            for line in lines[seen:]:
                if not line.endswith("\n"):
                    break
                seen += 1
                told = json.loads(line)
                mutant = mutants[told["job"]]
                if needs_its_own_process(mutant, told["noticed"], reached):
                    unsure[mutant] = (told["noticed"] or "").partition("::")[0]
                    continue
                tests = len(reached.by(mutant))
                yield told_of(mutant, told["noticed"], tests, told["seconds"])
            if ended and len(lines) == seen < len(mutants):
                raise SystemExit((folder / "forks.txt").read_text(encoding="utf-8"))
            time.sleep(0.2)
    finally:
        running.terminate()
        running.wait()
    for mutant, likely in unsure.items():
        yield look_at(mutant, reached, folder, first=likely)


def needs_its_own_process(mutant: Mutant, noticed: str | None, reached: Reached) -> bool:
    """Return whether a fork can't tell: what is worked out while tests are read was before it."""
    read = reached.when_read(mutant)
    return noticed is None or bool(read and (not noticed or noticed.partition("::")[0] in read))


def make_copy(folder: Path) -> None:
    """Copy the tree, or bring an earlier copy up to date."""
    tree, undo = folder / "tree", folder / UNDO
    if undo.is_file():
        file, before = json.loads(undo.read_text(encoding="utf-8"))
        (tree / file).write_text(before, encoding="utf-8")
        undo.unlink()
    leave = shutil.ignore_patterns(".*", "__pycache__")
    if not tree.is_dir():
        shutil.copytree(ROOT, tree, ignore=leave)
    for room in ("core", "resources", "tests"):
        for file in (tree / room).rglob("*.py"):
            if not (ROOT / file.relative_to(tree)).is_file():
                file.unlink()
        for file in (ROOT / room).rglob("*"):
            there = tree / file.relative_to(ROOT)
            if file.is_dir() or "__pycache__" in file.parts:
                continue
            if not there.is_file() or there.read_bytes() != file.read_bytes():
                there.parent.mkdir(parents=True, exist_ok=True)
                shutil.copy2(file, there)
    (folder / "reached").mkdir(exist_ok=True)


def note_what_is_reached(folder: Path, workers: int, budget_s: float) -> Reached:
    """Run every test once, or those that are new since the last time, noting what they reach."""
    noted = folder / "noted.json"
    before = json.loads(noted.read_text(encoding="utf-8")) if noted.is_file() else {}
    now = {
        str(file): file.read_text(encoding="utf-8")
        for place in LOOKED_AT
        for file in sorted(Path(place).rglob("test_*.py"))
    }
    new = [file for file, text in now.items() if before.get(file) != text]
    if new:
        print(f"Noting what the tests of {len(new)} files reach.", flush=True)
        into = folder / "reached" / f"{time.time():.0f}"
        into.mkdir()
        core = {str(file): file.read_text(encoding="utf-8") for file in Path("core").rglob("*.py")}
        (into / CORE).write_text(json.dumps(core), encoding="utf-8")
        code, out = pytest("-n", str(workers), *new, REACHED_INTO=str(into))
        if code not in (0, 1):
            raise SystemExit(out)
        print(out.strip().splitlines()[-1], flush=True)
        noted.write_text(json.dumps(now), encoding="utf-8")
    return Reached(folder / "reached", budget_s)


def remembered(file: Path, key: str, mutants: Callable[[], list[Mutant]]) -> list[Mutant]:
    """Return what was drawn before; to find all that can be turned round takes a minute."""
    drawn_before = json.loads(file.read_text(encoding="utf-8")) if file.is_file() else {}
    if key not in drawn_before:
        drawn_before[key] = [asdict(mutant) for mutant in mutants()]
        file.write_text(json.dumps(drawn_before), encoding="utf-8")
    return [Mutant(**mutant) for mutant in drawn_before[key]]


def looked_at_in(found: Path) -> dict[Mutant, list[str]]:
    """Return who noticed each mutant, the first time and each later one."""
    seen: dict[Mutant, list[str]] = {}
    for line in found.read_text(encoding="utf-8").splitlines() if found.is_file() else []:
        told = json.loads(line)
        mutant = Mutant(**{field.name: told[field.name] for field in fields(Mutant)})
        seen.setdefault(mutant, []).append(told["noticed"])
    return seen


def main() -> int:
    asked = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    asked.add_argument("paths", nargs="*", default=list(WHERE), help="folders or files of core/")
    asked.add_argument("--sample", type=int, default=110)
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("--directions", action="store_true", help="instead of a sample")
    asked.add_argument("--again", action="store_true", help="what nobody noticed, with new tests")
    asked.add_argument("--workers", type=int, default=1, help="to note what the tests reach")
    asked.add_argument(
        "--budget", type=float, default=BUDGET_S, help="seconds of tests for one mutant"
    )
    asked.add_argument("--folder", type=Path, default=Path(tempfile.gettempdir()) / "mutants")
    told = asked.parse_args()
    os.nice(10)
    folder = told.folder.resolve()
    folder.mkdir(exist_ok=True)
    make_copy(folder)
    os.chdir(folder / "tree")
    reached = note_what_is_reached(folder, told.workers, told.budget)
    if told.directions:
        mutants = turned_round()
    else:
        key = f"{told.paths} {told.sample} {told.seed}"
        draw = partial(drawn, told.paths, told.sample, told.seed)
        mutants = remembered(folder / "drawn.json", key, draw)

    found = folder / "found.jsonl"
    seen = looked_at_in(found)
    waiting = [
        mutant for mutant in mutants if mutant not in seen or (told.again and not seen[mutant][-1])
    ]
    for place, looked in enumerate(look_in_forks(waiting, reached, folder), start=1):
        with found.open("a", encoding="utf-8") as end:
            end.write(json.dumps(looked) + "\n")
        mutant = Mutant(**{field.name: looked[field.name] for field in fields(Mutant)})
        print(f"{place:4} of {len(waiting)}  {mutant}\n       {looked['noticed'] or 'UNNOTICED'}")
        if not looked["noticed"]:
            print(looked["change"])
        sys.stdout.flush()
    seen = looked_at_in(found)
    print(f"\n{len(mutants)} turned round.")
    print(f"Noticed when first looked at: {sum(bool(seen[each][0]) for each in mutants)}.")
    print(f"Noticed now: {sum(bool(seen[each][-1]) for each in mutants)}. All but these:")
    print(*(each for each in mutants if not seen[each][-1]), sep="\n")
    return 0 if all(seen[each][-1] for each in mutants) else 1


if __name__ == "__main__":
    raise SystemExit(main())
