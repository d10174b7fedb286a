"""The architecture, as DEVELOPERS.md tells it."""

import ast
import re
import subprocess
import sys
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]

HOMES = {
    # outside library: the modules that may import it
    "mido": {"engine.midi", "quiz.playing.midi_input"},
    "fluidsynth": {"engine.synthesizer"},
    "sqlite3": {"quiz.history.database"},
    "sounddevice": {"quiz.sound.device"},
    "fsrs": {"quiz.learning.memory"},
    "tomlkit": {"quiz.settings.file"},
    "platformdirs": {"quiz.locations"},
    "textual_plot": {"quiz.widgets.chart_plot"},
    "textual_hires_canvas": {"quiz.widgets.chart_plot"},
    "soundfile": {"engine.recording"},
    "verovio": {"quiz.exports.engraving"},
    "svglib": {"quiz.exports.engraving"},
    "reportlab": {"quiz.exports.engraving"},
}


def modules(package: str) -> dict[str, Path]:
    return {
        ".".join(path.relative_to(ROOT).with_suffix("").parts): path
        for path in sorted((ROOT / package).rglob("*.py"))
        if path.name != "__init__.py"
    }


@cache
def imports(path: Path) -> frozenset[str]:
    """Every module that a file imports, anywhere in it."""
    return frozenset(_imports(path))


def _imports(path: Path) -> Iterator[str]:
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module and node.level == 0:
            folder = ROOT.joinpath(*node.module.split("."))
            for alias in node.names:
                inside = (folder / f"{alias.name}.py").exists()
                yield f"{node.module}.{alias.name}" if inside else node.module


def reading_order(package: str) -> list[str]:
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    section = text.split(f"### {package}:")[1].split("\n## ")[0].split("###")[0]
    return re.findall(r"^\d+\. `([\w/]+)`", section, re.MULTILINE)


def entry(module: str, order: list[str]) -> str:
    """Where a module stands: a folder may stand as a whole or module by module."""
    inside = module.split(".")[1:]
    return "/".join(inside) if "/".join(inside) in order else inside[0]


def place(module: str, order: list[str]) -> int:
    return order.index(entry(module, order))


@pytest.mark.parametrize("package", ["engine", "quiz", "sounds"])
def test_every_module_stands_in_the_reading_order_and_nothing_else_does(package: str) -> None:
    order = reading_order(package)
    assert set(order) == {entry(module, order) for module in modules(package)}
    assert len(order) == len(set(order))


@pytest.mark.parametrize("package", ["engine", "quiz", "sounds"])
def test_a_module_imports_only_what_stands_before_it(package: str) -> None:
    order = reading_order(package)
    wrong = [
        f"{module} imports {imported}"
        for module, path in modules(package).items()
        for imported in imports(path)
        if imported.startswith(f"{package}.") and place(imported, order) > place(module, order)
    ]
    assert [] == wrong


@pytest.mark.parametrize("library", HOMES)
def test_an_outside_library_has_one_home(library: str) -> None:
    users = {
        module
        for package in ("engine", "quiz", "sounds")
        for module, path in modules(package).items()
        if any(imported.split(".")[0] == library for imported in imports(path))
    }
    assert HOMES[library] == users


def test_textual_is_imported_by_the_app_its_screens_and_its_widgets_alone() -> None:
    users = {
        module
        for module, path in modules("quiz").items()
        if any(imported.split(".")[0] == "textual" for imported in imports(path))
    }
    assert users
    assert all(
        module == "quiz.app" or module.startswith(("quiz.screens.", "quiz.widgets."))
        for module in users
    )


def test_only_the_commands_print() -> None:
    printing = {
        module
        for package in ("engine", "quiz")
        for module, path in modules(package).items()
        if re.search(r"\bprint\(|stdout\.write|stderr\.write", path.read_text(encoding="utf-8"))
    }
    assert printing
    assert all(
        module == "quiz.arguments" or module.startswith("quiz.commands.") for module in printing
    )


@pytest.mark.parametrize(
    ("imported", "heavy"),
    [
        ("engine.sound", "numpy"),
        ("engine.sound", "fluidsynth"),
        ("engine.midi", "mido"),
        ("engine.listening.naming", "numpy"),
        ("quiz.playing.audio_input", "numpy"),
        ("quiz.playing.instrument", "numpy"),
        ("quiz.playing.instrument", "mido"),
        ("quiz.grading.playing", "numpy"),
        ("quiz.playing.recordings", "soundfile"),
        ("quiz.coach", "textual"),
        ("quiz.cli", "textual"),
        ("quiz.ask", "textual"),
        ("quiz.workbench", "fsrs"),
        ("quiz.workbench", "numpy"),
        ("quiz.app", "textual_plot"),
        ("quiz.progress.svg", "numpy"),
        ("quiz.exports.paper_files", "verovio"),
        ("quiz.exports.paper_files", "reportlab"),
    ],
)
def test_a_light_import_stays_light(imported: str, heavy: str) -> None:
    code = f"import sys, {imported}; sys.exit({heavy!r} in sys.modules)"
    result = subprocess.run([sys.executable, "-c", code], cwd=ROOT, check=False)
    assert 0 == result.returncode, f"import {imported} loads {heavy}"
