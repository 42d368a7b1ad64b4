// Real Python for the browser, here under Node.js: what the kit imports, and what its files need.
// Called with the address of the folder of the runtime; writes one line of JSON.

const place = new URL(`${process.argv[2]}/`);
const { loadPyodide } = await import(new URL("pyodide.mjs", place).href);
const python = await loadPyodide({ indexURL: place.pathname, stdout: () => {} });
await python.loadPackage("fuelkit", { messageCallback: () => {} });
console.log(await python.runPythonAsync(`
import ast, importlib, json, os, pkgutil, sys
from pathlib import Path
import fuelkit
from fuelkit.assess.answer_file import answers_folder, keeps_files
from fuelkit.assess.sheet import write_atomically

names = [m.name for m in pkgutil.walk_packages(fuelkit.__path__, "fuelkit.")]
missing = {}


class Known:
    """What is missing once is missing for all that ask for it: said at once, which saves time."""

    def find_spec(self, name, path=None, target=None):
        if name in missing:
            raise ModuleNotFoundError(name, name=missing[name])


sys.meta_path.insert(0, Known())
for name in names:
    try:
        importlib.import_module(name)
    except ModuleNotFoundError as fault:
        missing[name] = fault.name

# An import that stands after numpy's is not reached above, so each is tried by itself too.
libraries = {}
for file in Path(fuelkit.__file__).parent.rglob("*.py"):
    for node in ast.walk(ast.parse(file.read_text())):
        asked = [a.name for a in node.names] if isinstance(node, ast.Import) else []
        if isinstance(node, ast.ImportFrom):
            asked = [node.module]
        for name in asked:
            if name.split(".")[0] != "fuelkit" and name not in libraries:
                try:
                    importlib.import_module(name)
                    libraries[name] = True
                except ImportError:
                    libraries[name] = False

folder = Path("/tmp/answers")
folder.mkdir()
for text in ("one", "two"):
    write_atomically(folder / "x.json", text)
json.dumps({
    "platform": sys.platform,
    "modules": len(names),
    "missing": sorted(missing.items()),
    "libraries": sorted({n.split(".")[0] for n, found in libraries.items() if not found}),
    "cores": os.cpu_count(),
    "written": [(folder / "x.json").read_text(), os.listdir(folder)],
    "kept": keeps_files(answers_folder()),
})
`));
