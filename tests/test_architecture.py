"""The rooms of the kit and which way their imports point, read with ast. Nothing is imported."""

import ast
import sys
from functools import cache
from pathlib import Path

PACKAGE = Path(__file__).resolve().parents[1] / "fuelkit"
FILES = sorted(PACKAGE.rglob("*.py"))

# What each room may import of the kit, besides itself: design, section 5.
ROOMS = {
    "physics": set(),
    "aircraft": {"physics"},
    "flight": {"physics", "aircraft"},
    "survey": {"physics", "aircraft", "flight"},
    "figures": {"physics", "aircraft"},
    "assess": {"physics", "aircraft", "flight", "survey", "figures"},
    "show": {"physics", "aircraft", "flight", "survey", "figures", "assess"},
    "classroom": {"physics", "aircraft", "flight", "survey", "figures", "assess"},
    "command": {
        "physics",
        "aircraft",
        "flight",
        "survey",
        "figures",
        "assess",
        "show",
        "classroom",
    },
    "__main__": {"command"},
    "__init__": set(),
}
# Libraries that a room may import when it is itself imported; heavier ones only inside functions.
LIBRARIES = {
    "physics": {"numpy"},
    "aircraft": {"numpy"},
    "flight": {"numpy"},
    "survey": {"numpy"},
    "figures": {"numpy"},
    "assess": {"numpy"},
    "show": {"numpy", "anywidget", "ipywidgets", "traitlets", "IPython"},
    "classroom": set(),
    "command": set(),
    "__main__": set(),
    "__init__": set(),
}
LAZY = {
    "assess": {"scipy"},  # papers are drawn by an integer programme
    "show": {"matplotlib", "IPython", "ipywidgets", "anywidget", "typst"},
    "classroom": {"jupyterhub"},  # its server for one user
    "command": {"jupyterlab", "jupyter_core", "IPython", "nbformat", "distributed"},
}
# Run by itself, as a program, in an environment that has these.
ALONE = {
    "command/probe.py": {"jupyter_client", "packaging"},
    # Parts of the hub, which runs in the classroom's own environment.
    "classroom/sign_in.py": {"jupyterhub", "tornado"},
    "classroom/spawner.py": {"jupyterhub", "tornado"},
    "classroom/desk.py": {"jupyterhub", "tornado"},
}
# Import a module by a name out of a table of the kit's own.
BY_TABLE = {"__init__.py", "command/main.py"}
_EXECUTING, _LONGEST = {"eval", "exec", "compile", "__import__"}, 420
NEVER = {"pickle", "cPickle", "dill", "shelve", "marshal", "joblib"}


def room(path):
    """Return the room that a file belongs to."""
    inner = path.relative_to(PACKAGE)
    return inner.parts[0] if len(inner.parts) > 1 else inner.stem


@cache
def tree(path):
    """Return the syntax tree of a file."""
    return ast.parse(path.read_text(encoding="utf-8"), filename=str(path))


def modules(node):
    """Return the full names of the modules that an import statement asks for."""
    if isinstance(node, ast.Import):
        return [alias.name for alias in node.names]
    assert node.level == 0, f"line {node.lineno}: a relative import"
    if node.module == "fuelkit":
        return [f"fuelkit.{alias.name}" for alias in node.names]
    return [node.module]


@cache
def imports(path):
    """Return (module, inside a function) of every import of a file."""
    whole, found = tree(path), []
    inner = {
        id(node)
        for function in ast.walk(whole)
        if isinstance(function, ast.FunctionDef | ast.AsyncFunctionDef | ast.Lambda)
        for node in ast.walk(function)
    }
    for node in ast.walk(whole):
        if isinstance(node, ast.Import | ast.ImportFrom):
            found += [(module, id(node) in inner) for module in modules(node)]
    return found


def of_the_kit(path):
    """Yield (room, inside a function) of every import of the kit in a file."""
    for module, inner in imports(path):
        parts = module.split(".")
        if parts[0] == "fuelkit" and len(parts) > 1:
            yield parts[1], inner


def test_every_room_is_known():
    """A new room must say here what it may import."""
    assert {room(path) for path in FILES} <= set(ROOMS)
    assert len(FILES) > 20


def test_the_rooms_are_in_an_order():
    """What a room may import may itself import only less: no circles."""
    for name, allowed in ROOMS.items():
        for below in allowed - {"command"}:
            assert ROOMS[below] < ROOMS[name], f"{name} -> {below}"


def test_imports_point_one_way():
    """Rooms: physics <- aircraft <- flight, figures <- assess <- show <- command <- __main__."""
    wrong = [
        f"{path}: {room(path)} may not import {other}"
        for path in FILES
        for other, _ in of_the_kit(path)
        if other != room(path) and other not in ROOMS[room(path)]
    ]
    assert not wrong


def test_nothing_of_the_kit_is_imported_inside_a_function():
    """It would hide an arrow that points both ways."""
    # Two files tell old Pythons so in a sentence, before anything of the kit is read.
    files = [path for path in FILES if room(path) not in ("__init__", "__main__")]
    assert not [(path, other) for path in files for other, inner in of_the_kit(path) if inner]


def test_no_heavy_library_is_imported_with_the_kit():
    """The way from lesson to answer sheet needs only numpy and the widget library."""
    wrong = []
    for path in FILES:
        here = room(path)
        for module, inner in imports(path):
            library = module.split(".")[0]
            allowed = LIBRARIES[here] | (LAZY.get(here, set()) if inner else set())
            allowed |= ALONE.get(path.relative_to(PACKAGE).as_posix(), set()) | {"fuelkit"}
            if library not in sys.stdlib_module_names and library not in allowed:
                wrong.append(f"{path}: {here} imports {module}")
    assert not wrong


def test_nothing_is_ever_executed_from_data():
    """No eval, exec, compile, pickle or import by a name that is handed in."""
    wrong = []
    for path in FILES:
        wrong += [(path, name) for name, _ in imports(path) if name.split(".")[0] in NEVER]
        by_table = path.relative_to(PACKAGE).as_posix() in BY_TABLE
        for node in ast.walk(tree(path)):
            if isinstance(node, ast.Name) and node.id in _EXECUTING:
                wrong.append((path, node.lineno))
            if isinstance(node, ast.Attribute) and node.attr == "import_module" and not by_table:
                wrong.append((path, node.lineno))
    assert not wrong


def test_no_module_is_a_giant():
    """At most about 400 lines, so that each can be read in one go."""
    lines = {path: len(path.read_text(encoding="utf-8").splitlines()) for path in FILES}
    assert not {path: count for path, count in lines.items() if count > _LONGEST}


def test_every_module_says_what_it_is():
    """A docstring of at least one sentence."""
    texts = {path: (ast.get_docstring(tree(path)) or "").rstrip() for path in FILES}
    assert not [path for path, text in texts.items() if not text.endswith((".", ":"))]
