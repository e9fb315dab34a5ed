"""The house: imports go down or stay inside their own package, heavy libraries live in one room each."""

from __future__ import annotations

import ast
import subprocess
import sys
from pathlib import Path

import pytest

HOME = Path(__file__).parent.parent / "enclosure"

FLOORS = {
    "errors": 0, "units": 0, "money": 0, "language": 0, "sources": 0, "templates_home": 0, "files": 0,
    "tables": 1,
    "audit": 1,
    "brief": 2, "site": 2, "stock": 2,
    "shape": 3,
    "checks": 4, "nesting": 4, "reuse": 4,
    "choose": 5,
    "outputs": 6,
    "pipeline": 7,
    "cli": 8, "workbench": 8,
}  # fmt: skip

NEIGHBOURS_THAT_MAY_IMPORT = {("brief", "site"), ("brief", "stock"), ("cli", "workbench")}
"""`brief.read_all` reads the two files that a brief names; `cli.serve` starts the page."""

ROOM_OF = {
    "cadquery": ("outputs/solid.py",),
    "ezdxf": ("outputs/dxf",),
    "reportlab": ("outputs/paper/",),
    "matplotlib": ("outputs/plots.py",),
    "starlette": ("workbench/",),
    "fastapi": ("workbench/",),
    "uvicorn": ("workbench/",),
}

MOST_LINES = 500
MOST_FUNCTION_LINES = 60


def modules() -> list[Path]:
    found = sorted(p for p in HOME.rglob("*.py") if "__pycache__" not in p.parts)
    assert len(found) > 60, "the modules were not found"
    return found


def room_of(path: Path) -> str:
    first = path.relative_to(HOME).parts[0]
    return first.removesuffix(".py")


def imports(tree: ast.AST) -> list[tuple[str, ast.stmt, bool]]:
    """Return (name, node, at module level) of every import."""
    top = {id(node) for node in ast.iter_child_nodes(tree)}
    rows: list[tuple[str, ast.stmt, bool]] = []
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            rows += [(alias.name, node, id(node) in top) for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            rows.append(("." * node.level + (node.module or ""), node, id(node) in top))
    return rows


@pytest.mark.parametrize("path", modules(), ids=lambda p: str(p.relative_to(HOME)))
def test_imports_go_down(path: Path) -> None:
    here = room_of(path)
    if here == "__init__":
        return
    assert here in FLOORS, f"{here} is not a room of the house"
    for name, node, _ in imports(ast.parse(path.read_text(encoding="utf-8"))):
        assert not name.startswith("."), f"{path.name}:{node.lineno} imports relatively"
        if not name.startswith("enclosure."):
            continue
        there = name.split(".")[1]
        if there in (here, "__version__"):
            continue
        allowed = FLOORS[there] < FLOORS[here] or (here, there) in NEIGHBOURS_THAT_MAY_IMPORT
        both_ground = FLOORS[there] == FLOORS[here] == 0
        assert allowed or both_ground, f"{path.relative_to(HOME)}:{node.lineno} on {here} imports {there}"


@pytest.mark.parametrize("path", modules(), ids=lambda p: str(p.relative_to(HOME)))
def test_heavy_libraries_keep_to_their_rooms(path: Path) -> None:
    place = path.relative_to(HOME).as_posix()
    for name, node, at_top in imports(ast.parse(path.read_text(encoding="utf-8"))):
        rooms = ROOM_OF.get(name.split(".")[0])
        if rooms is None:
            continue
        assert any(place.startswith(room) for room in rooms), f"{place}:{node.lineno} imports {name}"
        if name.split(".")[0] == "cadquery":
            assert not at_top, f"{place}:{node.lineno} imports {name} at the top"


@pytest.mark.parametrize("path", modules(), ids=lambda p: str(p.relative_to(HOME)))
def test_modules_and_functions_stay_short(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    assert text.count("\n") <= MOST_LINES, f"{path.name} has {text.count(chr(10))} lines"
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            assert node.end_lineno is not None
            length = node.end_lineno - node.lineno + 1
            assert length <= MOST_FUNCTION_LINES, f"{path.name}:{node.lineno} {node.name} has {length} lines"


def test_no_import_cycle() -> None:
    """Module-level imports inside the package form no circle."""
    graph: dict[str, set[str]] = {}
    names = {
        ".".join(("enclosure", *p.relative_to(HOME).with_suffix("").parts)).removesuffix(".__init__"): p
        for p in modules()
    }
    for name, path in names.items():
        tree = ast.parse(path.read_text(encoding="utf-8"))
        graph[name] = set()
        for node in tree.body:
            if isinstance(node, ast.ImportFrom) and node.module and node.module in names:
                graph[name].add(node.module)
                graph[name] |= {f"{node.module}.{a.name}" for a in node.names if f"{node.module}.{a.name}" in names}
        graph[name].discard(name)
    from graphlib import TopologicalSorter

    assert len(tuple(TopologicalSorter(graph).static_order())) >= len(names)


@pytest.mark.parametrize("path", modules(), ids=lambda p: str(p.relative_to(HOME)))
def test_every_module_says_what_it_answers(path: Path) -> None:
    assert ast.get_docstring(ast.parse(path.read_text(encoding="utf-8"))), f"{path.name} has no header"


def test_the_command_line_starts_without_heavy_libraries() -> None:
    code = (
        "import sys, enclosure.cli.main as main; [main.cli.get_command(None, name) for name in main.COMMANDS]; "
        "heavy = {'cadquery', 'OCP', 'ezdxf', 'reportlab', 'numpy', 'scipy', 'highspy', 'pydantic', 'rich',"
        " 'matplotlib', 'xlsxwriter', 'tomlkit'}; print(sorted(heavy & set(sys.modules)))"
    )
    said = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert said.stdout.strip() == "[]"


def test_checking_never_pays_for_the_cad_kernel() -> None:
    code = (
        "import sys, enclosure.pipeline.walk, enclosure.pipeline.check, enclosure.nesting.cutting; "
        "print(sorted({'cadquery', 'OCP', 'ezdxf', 'reportlab', 'matplotlib'} & set(sys.modules)))"
    )
    said = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert said.stdout.strip() == "[]"


def test_a_whole_check_loads_no_array_library_and_nothing_that_it_does_not_use() -> None:
    code = (
        "import sys, enclosure.cli.main as main; code = main.run(['check', 'tree-fern', '--quiet']); "
        "unused = {'numpy', 'scipy', 'highspy', 'rich', 'tomlkit', 'difflib', 'enclosure.cli.make',"
        " 'enclosure.files.lines', 'enclosure.checks.season', 'enclosure.checks.weather'}; "
        "print(code, sorted(unused & set(sys.modules)))"
    )
    said = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert said.stdout.strip() == "0 []"
