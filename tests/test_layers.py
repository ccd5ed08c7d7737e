"""Imports point one way: repairs reads properties and materials, nothing reads back."""

import ast
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
APPS = {"materials", "properties", "repairs", "config", "tests"}
FROM_CONFIG = {
    "config.constraints",
    "config.day_field",
    "config.figures",
    "config.measured_words",
    "config.quantities",
    "config.quantity_fields",
}
MAY_IMPORT = {
    "materials": FROM_CONFIG,
    "properties": FROM_CONFIG,
    "repairs": {"materials", "properties", *FROM_CONFIG},
    "config": set(),
}


def pure_modules() -> list[str]:
    """The calculations, named once: where mypy is told to be strict."""
    overrides = tomllib.loads((ROOT / "pyproject.toml").read_text())["tool"]["mypy"]["overrides"]
    return next(each["module"] for each in overrides if "config.quantities" in each["module"])


def imports(path: Path) -> Iterator[str]:
    """Every module that a file imports, also inside a function, by its full name."""
    package = path.relative_to(ROOT).with_suffix("").parts[:-1]
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            above = package[: len(package) - node.level + 1] if node.level else ()
            module = ".".join([*above, *([node.module] if node.module else [])])
            yield from (f"{module}.{alias.name}" for alias in node.names)


def is_within(name: str, allowed: set[str]) -> bool:
    return any(f"{name}.".startswith(f"{each}.") for each in allowed)


@pytest.mark.parametrize("app", MAY_IMPORT)
def test_an_app_imports_only_what_lies_below_it(app: str) -> None:
    upward = [
        f"{path.relative_to(ROOT)} imports {name}"
        for path in (ROOT / app).rglob("*.py")
        for name in imports(path)
        if is_within(name, APPS) and not is_within(name, {app, *MAY_IMPORT[app]})
    ]
    assert upward == []


def files(module: str) -> list[Path]:
    path = ROOT / module.removesuffix(".*").replace(".", "/")
    return sorted(path.rglob("*.py")) if module.endswith(".*") else [path.with_suffix(".py")]


@pytest.mark.parametrize("module", pure_modules())
def test_a_calculation_knows_no_django_and_no_model(module: str) -> None:
    pure = {each.removesuffix(".*") for each in pure_modules()}
    assert files(module), f"{module} has no files"
    impure = [
        f"{path.relative_to(ROOT)} imports {name}"
        for path in files(module)
        for name in imports(path)
        if is_within(name, {"django"}) or (is_within(name, APPS) and not is_within(name, pure))
    ]
    assert impure == []
