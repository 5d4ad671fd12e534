"""What checks the values of models is built late, and all at once when there is time."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[3]

SCRIPT = """
import core.store
from core.fitting import Fitting
from core.records import Cartridge, Deck, build_models

models = Deck, Cartridge, Fitting
print(*(model.__pydantic_complete__ for model in models))
build_models()
print(*(model.__pydantic_complete__ for model in models))
"""


def test_a_list_of_decks_builds_no_models_and_preloading_builds_them_all() -> None:
    """In a process of its own: in this one they are built."""
    said = subprocess.run(
        [sys.executable, "-c", SCRIPT], cwd=ROOT, capture_output=True, text=True, check=True
    ).stdout.splitlines()
    assert said == ["False False False", "True True True"]
