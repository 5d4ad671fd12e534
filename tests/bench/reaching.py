"""A pytest plugin: which tests reach which lines of core, and only those run again.

``python -m tests.bench.mutants`` loads it with ``-p tests.bench.reaching``. With ``REACHED_INTO``
it writes what every test reached into that folder; with ``REACHED_ONLY`` it keeps only the tests
named in that file, the file of tests that is quickest first.
"""

from __future__ import annotations

import functools
import gc
import importlib
import json
import os
import pkgutil
import time
from collections import defaultdict
from collections.abc import Generator
from pathlib import Path

import coverage
import pytest

ROOMS = ("core.steps", "core.physics", "core.estimation", "core.workflow", "core.swap")


def import_rooms() -> None:
    """Import every module of the rooms, so that no test is said to reach what imports run."""
    for room in ROOMS:
        package = importlib.import_module(room)
        for module in pkgutil.walk_packages(package.__path__, f"{room}."):
            importlib.import_module(module.name)


def caches_of_core() -> list[functools._lru_cache_wrapper[object]]:
    """Return what core remembers between calls: the second test would seem to reach nothing."""
    every = [each for each in gc.get_objects() if isinstance(each, functools._lru_cache_wrapper)]
    return [each for each in every if each.__module__.startswith("core.")]


class Recorder:
    """Notes the lines that each test reaches, and how long the test took."""

    def __init__(self, into: Path) -> None:
        import_rooms()
        self.into = into
        self.seconds: dict[str, float] = {}
        self.failed: set[str] = set()
        self.caches = caches_of_core()
        rooms = [str(Path(*room.split(".")).absolute() / "*") for room in ROOMS]
        self.watch = coverage.Coverage(data_file=None, config_file=False, include=rooms)
        self.watch.start()

    @pytest.hookimpl(wrapper=True)
    def pytest_make_collect_report(
        self, collector: pytest.Collector
    ) -> Generator[None, pytest.CollectReport, pytest.CollectReport]:
        """What a file of tests works out when it is read belongs to all its tests."""
        if isinstance(collector, pytest.Module):
            self.watch.switch_context(collector.nodeid)
        found = yield
        self.watch.switch_context("")
        return found

    @pytest.hookimpl(wrapper=True)
    def pytest_fixture_setup(
        self, fixturedef: pytest.FixtureDef[object], request: pytest.FixtureRequest
    ) -> Generator[None, object, object]:
        """What is made once for a file of tests belongs to all of them."""
        item = getattr(request, "_pyfuncitem", None)
        if fixturedef.scope == "function" or item is None:
            return (yield)
        self.watch.switch_context(item.nodeid.partition("::")[0])
        made = yield
        self.watch.switch_context(item.nodeid)
        return made

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_protocol(self, item: pytest.Item) -> Generator[None, object, object]:
        for cache in self.caches:
            cache.cache_clear()
        self.watch.switch_context(item.nodeid)
        began = time.process_time()  # the machine may have other work
        done = yield
        self.seconds[item.nodeid] = time.process_time() - began
        self.watch.switch_context("")
        return done

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        if not report.passed:
            self.failed.add(report.nodeid)

    def pytest_sessionfinish(self) -> None:
        self.watch.stop()
        data = self.watch.get_data()
        contexts = sorted(data.measured_contexts() - self.failed - {""})
        place = {test: number for number, test in enumerate(contexts)}  # names are long
        lines = {
            str(Path(file).relative_to(Path.cwd())): {
                line: [place[test] for test in tests if test in place]
                for line, tests in data.contexts_by_lineno(file).items()
            }
            for file in data.measured_files()
        }
        told = {
            "contexts": contexts,
            "seconds": self.seconds,
            "failed": sorted(self.failed),
            "lines": lines,
        }
        name = os.environ.get("PYTEST_XDIST_WORKER", "all")
        (self.into / f"{name}.json").write_text(json.dumps(told), encoding="utf-8")


class Chooser:
    """Keeps the tests that reach a line, and those that nobody knew of."""

    def __init__(self, only: Path) -> None:
        told = json.loads(only.read_text(encoding="utf-8"))
        self.wanted: dict[str, float] = told["wanted"]
        self.known = set(told["known"])

    def pytest_collection_modifyitems(
        self, config: pytest.Config, items: list[pytest.Item]
    ) -> None:
        """A test that is not known has changed its name with the mutant: it is kept."""
        took: dict[str, float] = defaultdict(float)
        for test, seconds in self.wanted.items():
            took[test.partition("::")[0]] += seconds
        kept: list[pytest.Item] = []
        left: list[pytest.Item] = []
        for item in items:
            wanted = item.nodeid in self.wanted or item.nodeid not in self.known
            (kept if wanted else left).append(item)
        config.hook.pytest_deselected(items=left)
        items[:] = sorted(kept, key=lambda item: took[item.nodeid.partition("::")[0]])


def pytest_configure(config: pytest.Config) -> None:
    if only := os.environ.get("REACHED_ONLY"):
        config.pluginmanager.register(Chooser(Path(only)))
        return
    into = os.environ.get("REACHED_INTO")
    works = "PYTEST_XDIST_WORKER" in os.environ or not config.getoption("numprocesses", 0)
    if into and works:
        config.pluginmanager.register(Recorder(Path(into)))
