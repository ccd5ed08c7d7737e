"""DEVELOPERS.md says which test shows which scenario; each of them must be there."""

import re
from pathlib import Path

ROOT = Path(__file__).resolve().parent
TABLE = (ROOT.parent / "DEVELOPERS.md").read_text().split("## Acceptance scenarios")[1]
NAMED = re.findall(r"`(test_\w+)::(test_\w+)`", TABLE)


def test_every_test_of_a_scenario_exists() -> None:
    modules = {path.stem: path.read_text() for path in ROOT.rglob("test_*.py")}
    missing = [
        f"{module}::{name}"
        for module, name in NAMED
        if f"def {name}(" not in modules.get(module, "")
    ]
    assert len(NAMED) > 40
    assert missing == []


def test_every_test_named_after_a_scenario_is_in_the_table() -> None:
    written = {
        name
        for path in ROOT.rglob("test_*.py")
        for name in re.findall(r"def (test_scenario_\d+_\w+)\(", path.read_text())
    }
    assert written - {name for _, name in NAMED} == set()
