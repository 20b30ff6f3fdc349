"""Which module may know of what: the core stays free of the interface and light to load."""

import ast
from graphlib import TopologicalSorter
from pathlib import Path

import pytest
from support import in_fresh_interpreter

import tuimatch

PACKAGE = Path(tuimatch.__file__).parent
# Everything but the interface, the command line and the way into them.
CORE = sorted(
    ".".join(path.relative_to(PACKAGE).with_suffix("").parts)
    for path in PACKAGE.rglob("*.py")
    if not path.stem.startswith("__") and path.relative_to(PACKAGE).parts[0] not in ("cli", "tui")
)
LIGHT = (
    "errors",
    "text",
    "palette.model",
    "palette.file",
    "colour.difference_words",
    "colour.css_text",
    "files.in_file",
    "picture.decoding",
)
INTERFACE = PACKAGE / "tui"


def imported(path: Path) -> set[str]:
    """The first part of everything a file imports, wherever in the file it does so."""
    found = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found |= {alias.name.split(".")[0] for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
            found.add(node.module.split(".")[0])
    return found


def modules() -> list[Path]:
    return sorted(PACKAGE.rglob("*.py"))


def test_the_reader_of_imports_sees_them() -> None:
    assert "textual" not in imported(PACKAGE / "palette" / "model.py")
    assert {"colour", "numpy", "sys"} <= imported(PACKAGE / "colour" / "colorimetry.py")
    assert {"errors", "palette.file", "colour.colorimetry", "match.ranking"} <= set(CORE)


def test_only_the_interface_imports_textual() -> None:
    outside = [path for path in modules() if INTERFACE not in path.parents]
    assert [path.name for path in outside if "textual" in imported(path)] == []
    # The command line's tables measure cells as the interface does.
    assert [path.name for path in outside if "rich" in imported(path)] == ["tables.py"]


@pytest.mark.parametrize(
    ("library", "door"), [("colour", "colorimetry.py"), ("highspy", "integer_programme.py")]
)
def test_only_one_module_imports_a_large_library(library: str, door: str) -> None:
    assert [path.name for path in modules() if library in imported(path)] == [door]


def loaded_by(module: str) -> set[str]:
    """The first parts of all modules loaded once a module of ours is imported alone."""
    run = in_fresh_interpreter(
        f"import sys, tuimatch.{module}\nprint(*{{n.split('.')[0] for n in sys.modules}})"
    )
    assert run.returncode == 0, run.stderr
    assert run.stderr == ""
    return set(run.stdout.split())


def test_the_core_never_loads_the_interface() -> None:
    run = in_fresh_interpreter(
        "import sys\n"
        + "".join(f"import tuimatch.{name}\n" for name in CORE)
        + "print(*{n.split('.')[0] for n in sys.modules}, *sys.modules)"
    )
    assert run.returncode == 0, run.stderr
    found = set(run.stdout.split())
    assert not found & {"textual", "rich", "scipy", "matplotlib", "pandas", "tuimatch.tui"}
    assert {f"tuimatch.{name}" for name in CORE} <= found


@pytest.mark.parametrize("module", LIGHT)
def test_light_modules_load_no_arrays_and_no_colour_science(module: str) -> None:
    found = loaded_by(module)
    assert "tuimatch" in found
    assert not found & {"numpy", "colour", "textual", "rich"}


def test_what_is_large_comes_after_the_command_is_read_and_the_first_frame_is_drawn() -> None:
    """Every command's own module and the interface's app load without what answers need."""
    commands = sorted(path.stem for path in (PACKAGE / "cli").glob("*.py"))
    assert {"match", "guide", "economy"} <= set(commands)
    run = in_fresh_interpreter(
        "import sys\n"
        + "".join(f"import tuimatch.cli.{name}\n" for name in commands if name != "__init__")
        + "print(*sys.modules)\nimport tuimatch.tui.app\nprint(*sys.modules)"
    )
    assert run.returncode == 0, run.stderr
    command_line, interface = (set(line.split()) for line in run.stdout.splitlines())
    answers = {
        "numpy",
        "colour",
        "highspy",
        "PIL",
        "tuimatch.colour.colorimetry",
        "tuimatch.recipe.recipes",
    }
    assert not command_line & {*answers, "textual", "rich"}
    assert "textual" in interface
    assert not interface & answers


def test_the_package_itself_loads_nothing() -> None:
    run = in_fresh_interpreter(
        "import sys; before = set(sys.modules); import tuimatch\n"
        "print(*sorted(set(sys.modules) - before))"
    )
    assert run.stdout.split() == ["tuimatch"]


def test_reading_a_palette_loads_no_arrays_either() -> None:
    run = in_fresh_interpreter(
        "import sys\nfrom tuimatch.palette import file as p\n"
        "[p.load(name) for name in p.shipped_names()]\n"
        "print('numpy' in sys.modules, 'colour' in sys.modules)"
    )
    assert run.stdout.split() == ["False", "False"]


def imports_of_ours(path: Path) -> set[str]:
    """The modules of ours that a file imports anywhere in it, for types too."""
    names = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("tuimatch"):
            names |= {f"{node.module}.{alias.name}" for alias in node.names} | {str(node.module)}
    return {name.removeprefix("tuimatch.") for name in names} & set(CORE)


def test_no_module_of_the_core_imports_one_that_imports_it() -> None:
    graph = {name: imports_of_ours(PACKAGE / f"{name.replace('.', '/')}.py") for name in CORE}
    assert "log.rows" in graph["log.log"]
    TopologicalSorter(graph).prepare()  # raises CycleError, which names them
