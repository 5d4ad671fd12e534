"""The import contract by which a package is entered only through what it declares."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from functools import cache
from pathlib import Path

from grimp import ImportGraph
from importlinter import Contract, ContractCheck, fields, output


class DeclaredEntry(Contract):
    """From outside, a package is imported itself, or a module that its ``__all__`` names.

    A module that is named and that nothing outside imports breaks the contract too.
    """

    type_name = "declared_entry"
    roots = fields.ListField(subfield=fields.StringField())

    def check(self, graph: ImportGraph, verbose: bool) -> ContractCheck:  # noqa: ARG002 - inherited
        """Collect what reaches behind a declaration, and what is declared in vain."""
        told, entered = [], set()
        for importer in sorted(graph.modules):
            for imported in sorted(graph.find_modules_directly_imported_by(importer)):
                if imported.partition(".")[0] not in self.roots:
                    continue
                for package, part in _entries(importer, imported):
                    entered.add(f"{package}.{part}")
                    if part not in _declared(package):
                        told.append(f"{importer} imports {imported}: {package} names no {part}")
        for module in sorted(graph.modules - entered):
            package, _, part = module.rpartition(".")
            if "." in package and part in _declared(package) - _taken(package):
                told.append(f"{package} names {part}, which nothing outside imports")
        return ContractCheck(kept=not told, metadata={"told": told})

    def render_broken_contract(self, check: ContractCheck) -> None:
        """Print a line for each."""
        for line in check.metadata["told"]:
            output.print(line)


def _entries(importer: str, imported: str) -> Iterator[tuple[str, str]]:
    """Yield each package that the import goes into from outside, and the part of it."""
    way = imported.split(".")
    for length in range(2, len(way)):
        package = ".".join(way[:length])
        if not f"{importer}.".startswith(f"{package}."):
            yield package, way[length]


@cache
def _declared(package: str) -> frozenset[str]:
    """Return what ``__all__`` of the package names."""
    for statement in _written(package):
        match statement:
            case ast.Assign(targets=[ast.Name(id="__all__")], value=value):
                return frozenset(ast.literal_eval(value))
    return frozenset()


def _taken(package: str) -> set[str]:
    """Return the names that mean something else than the module called like it."""
    return {
        name.asname or name.name
        for statement in _written(package)
        if isinstance(statement, ast.ImportFrom) and statement.module != package
        for name in statement.names
    }


def _written(package: str) -> list[ast.stmt]:
    return ast.parse(Path(*package.split("."), "__init__.py").read_text("utf-8")).body
