"""What a reader of the source may count on: short pieces, nothing inline, no host in the lock."""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
APPS = ("config", "materials", "properties", "repairs")
MODULES = [
    path for app in APPS for path in (ROOT / app).rglob("*.py") if "migrations" not in path.parts
]
LONGEST_MODULE = 400
LONGEST_FUNCTION = 50


def functions(path: Path) -> Iterator[ast.FunctionDef | ast.AsyncFunctionDef]:
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            yield node


def length(node: ast.FunctionDef | ast.AsyncFunctionDef) -> int:
    """Lines of a function without its docstring, which may tell sources at length."""
    documented = node.body[0].end_lineno if ast.get_docstring(node) else None
    return (node.end_lineno or 0) - (documented or node.lineno - 1)


def test_a_module_is_short_enough_to_read_at_one_go() -> None:
    long = [path.name for path in MODULES if path.read_text().count("\n") > LONGEST_MODULE]
    assert long == []


def test_a_function_fits_on_a_screen() -> None:
    long = [
        f"{path.relative_to(ROOT)}: {node.name}, {length(node)} lines"
        for path in MODULES
        for node in functions(path)
        if length(node) > LONGEST_FUNCTION
    ]
    assert long == []


def test_a_template_has_no_style_or_script_of_its_own() -> None:
    inline = re.compile(r"\sstyle=|<style|\son[a-z]+=[\"']|<script(?![^>]*\ssrc=)", re.IGNORECASE)
    found = [
        f"{path.relative_to(ROOT)}: {match.group()}"
        for path in (ROOT / "templates").rglob("*.html")
        for match in inline.finditer(path.read_text())
    ]
    assert found == []


@pytest.mark.parametrize("lock", ["requirements.txt", "requirements-dev.txt"])
def test_the_lock_pins_hashes_and_names_no_host(lock: str) -> None:
    text = (ROOT / lock).read_text()
    pins = re.findall(r"^[a-z0-9-]+==\S+ .*\\$", text, re.MULTILINE)
    assert len(pins) == len(re.findall(r"^[a-z]", text, re.MULTILINE))
    assert not re.search(r"//|--(index|extra|find|trusted)|file:|@", text)
