"""A pytest plugin: one mutant a fork, so that nothing is imported or collected twice.

``python -m tests.bench.mutants`` loads it with ``-p tests.bench.forked``. ``FORKED_JOBS`` names a
file of lines, each a mutant: the file of core that changes, its text when changed, and the tests
that may notice, in their order; ``FORKED_INTO`` is where a line is written for each, as soon as it
is known. The tests are collected once. For each mutant the process forks, the fork exchanges the
code of the functions that changed, forgets what core remembers between calls, and runs the tests
until one fails.

A change outside functions, which imports run, can't be made this way: ``noticed`` is null then, and
the mutant needs a process of its own.
"""

from __future__ import annotations

import gc
import importlib
import json
import os
import select
import signal
import sys
import time
import traceback
from collections.abc import Iterable, Iterator
from itertools import pairwise
from pathlib import Path
from types import CodeType, FunctionType
from typing import Any

import pytest

from tests.bench.reaching import caches_of_core, import_rooms

COMPREHENSIONS = {"<genexpr>", "<listcomp>", "<setcomp>", "<dictcomp>"}


class OutsideFunctionsError(Exception):
    """A change in what a module or class does when it is imported."""


def inner(code: CodeType) -> list[CodeType]:
    """Return the code objects inside another, in their order."""
    return [each for each in code.co_consts if isinstance(each, CodeType)]


def own(code: CodeType) -> tuple[object, ...]:
    """Return what a code object does itself, whatever its inner ones do."""
    values = tuple(repr(each) for each in code.co_consts if not isinstance(each, CodeType))
    return code.co_code, values, code.co_names, code.co_varnames


def exchanged(before: CodeType, after: CodeType) -> Iterator[tuple[CodeType, CodeType]]:
    """Yield the pairs of functions' code that differ, below a module or a class."""
    if own(before) != own(after) or len(inner(before)) != len(inner(after)):
        raise OutsideFunctionsError
    for old, new in zip(inner(before), inner(after), strict=True):
        if old == new:
            continue
        if old.co_name in COMPREHENSIONS:
            raise OutsideFunctionsError
        if old.co_flags & 0x3:  # optimised, with locals of its own: a function
            yield old, new
            yield from within(old, new)
        else:
            yield from exchanged(old, new)


def within(before: CodeType, after: CodeType) -> Iterator[tuple[CodeType, CodeType]]:
    """Yield the pairs inside a function: a decorator's functions live on after it has ended."""
    for old, new in zip(inner(before), inner(after), strict=False):
        if old != new:
            yield old, new
            yield from within(old, new)


class Forks:
    """Runs the mutants of a file of jobs, one fork each."""

    def __init__(self, jobs: Path, into: Path) -> None:
        import_rooms()
        self.jobs = [json.loads(line) for line in jobs.read_text(encoding="utf-8").splitlines()]
        self.into = into

    @pytest.hookimpl(tryfirst=True)
    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        """Instead of running what was collected."""
        items = {item.nodeid: item for item in session.items}
        gc.collect()
        self.functions = [each for each in gc.get_objects() if isinstance(each, FunctionType)]
        self.caches = caches_of_core()
        gc.freeze()  # a fork's collector leaves alone what it shares
        for job in self.jobs:
            began = time.monotonic()
            chosen = [items[test] for test in job["tests"] if test in items]
            noticed = self._fork(job, chosen)
            told = {
                "job": job["job"],
                "noticed": noticed,
                "seconds": round(time.monotonic() - began, 1),
            }
            with self.into.open("a", encoding="utf-8") as end:
                end.write(json.dumps(told) + "\n")
        return True

    def _fork(self, job: dict[str, Any], items: list[pytest.Item]) -> str | None:
        try:
            swap = self._swap(job["file"], job["source"])
        except OutsideFunctionsError:
            return None
        reading, writing = os.pipe()
        child = os.fork()
        if child == 0:
            os.close(reading)
            noticed = "ended by itself"
            try:
                os.setsid()
                quiet = os.open(os.devnull, os.O_RDWR)
                for stream in (1, 2):
                    os.dup2(quiet, stream)
                for function, code in swap:
                    function.__code__ = code
                for cache in self.caches:
                    cache.cache_clear()
                noticed = first_failed(items)
            except BaseException:  # noqa: BLE001 - whatever ends a fork was noticed
                noticed = traceback.format_exc()[-300:]
            finally:
                os.write(writing, noticed.encode())
                os._exit(0)
        os.close(writing)
        heard, _, _ = select.select([reading], [], [], job["limit"])
        noticed = os.read(reading, 65536).decode() if heard else "time was up"
        os.close(reading)
        if not heard:
            os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        return noticed

    def _swap(self, file: str, source: str) -> list[tuple[FunctionType, CodeType]]:
        """Return every living function whose code the mutant changes, with its new code."""
        module = sys.modules[module_of(file)]
        path = str(module.__file__)
        before = compile(Path(file).read_text(encoding="utf-8"), path, "exec", dont_inherit=True)
        after = compile(source, path, "exec", dont_inherit=True)
        living = [each for each in self.functions if each.__code__.co_filename == path]
        swap, outer = [], False
        for old, new in exchanged(before, after):
            found = [each for each in living if each.__code__ == old]
            swap += [(each, new) for each in found]
            outer = outer or bool(found)
        if not outer:
            raise OutsideFunctionsError
        return swap


def module_of(file: str) -> str:
    """Return the name of the module in a file, imported if it is not yet."""
    parts = Path(file).with_suffix("").parts
    name = ".".join(parts[:-1] if parts[-1] == "__init__" else parts)
    importlib.import_module(name)
    return name


class Failures:
    """Notes the first test that fails."""

    def __init__(self) -> None:
        self.first = ""

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        """Called after set-up, call and tear-down."""
        if report.failed and not self.first:
            self.first = report.nodeid


def first_failed(items: Iterable[pytest.Item]) -> str:
    """Run tests until one fails; return its name, or nothing."""
    failures = Failures()
    every = [*items, None]
    if len(every) > 1 and every[0] is not None:
        every[0].config.pluginmanager.register(failures)
    for item, following in pairwise(every):
        assert item is not None
        item.config.hook.pytest_runtest_protocol(item=item, nextitem=following)
        if failures.first:
            break
    return failures.first


def pytest_configure(config: pytest.Config) -> None:
    jobs, into = os.environ.get("FORKED_JOBS"), os.environ.get("FORKED_INTO")
    if jobs and into:
        config.pluginmanager.register(Forks(Path(jobs), Path(into)))
