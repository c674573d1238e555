"""The Python of the project's environment, as far as the emulated PC has to have it too."""

from __future__ import annotations

import json
import re
import subprocess
from dataclasses import dataclass
from pathlib import Path

_ASK = """
import importlib.metadata as metadata, json, re, sys, sysconfig
from pathlib import Path

wanted, modules = ["commission"], set()
for name in wanted:
    try:
        package = metadata.distribution(name)
    except metadata.PackageNotFoundError:
        continue  # of another system, or of an extra
    for need in package.requires or ():
        plain = re.match(r"[A-Za-z0-9._-]+", need)[0]
        if "extra ==" not in need and plain not in wanted:
            wanted.append(plain)
    modules |= {str(package.locate_file(file)) for file in package.files or () if ".so" in Path(file).suffixes}
print(json.dumps({
    "version": "python%d.%d" % sys.version_info[:2],
    "program": getattr(sys, "_base_executable", sys.executable),
    "library": sysconfig.get_path("stdlib"),
    "packages": sysconfig.get_path("purelib"),
    "modules": sorted(modules),
}))
"""
"""Asked of the environment's Python: where its parts are, and the compiled modules of the packages that are needed."""


_LOADED_LATE = ("libgcc_s.so.1",)
"""What the C library loads by itself when a thread ends, and which no file names."""


@dataclass(frozen=True)
class PythonHere:
    """Where its parts are.

    Attributes:
        version: `python3.11` and the like.
        program: the interpreter itself, not the environment's link to it.
        library: the folder of the standard library.
        packages: the folder of the environment's packages.
        libraries: the system libraries that the interpreter and the compiled modules load, by the name they ask for.
        loader: the program that loads them, at the path where it has to be.
    """

    version: str
    program: Path
    library: Path
    packages: Path
    libraries: dict[str, Path]
    loader: Path


def python_here(environment: Path) -> PythonHere:
    """What stands behind the interpreter of an environment."""
    told = json.loads(_said([str(environment), "-c", _ASK]))
    program, library = Path(told["program"]).resolve(), Path(told["library"])
    compiled = [*library.glob("lib-dynload/*.so"), *map(Path, told["modules"])]
    libraries, loader = _libraries([program, *compiled])
    for name in _LOADED_LATE:
        beside = libraries["libc.so.6"].with_name(name)
        if beside.exists():
            libraries[name] = beside
    return PythonHere(told["version"], program, library, Path(told["packages"]), libraries, loader)


def _libraries(files: list[Path]) -> tuple[dict[str, Path], Path]:
    listed = _said(["ldd", *map(str, files)])
    libraries = {name: Path(path) for name, path in re.findall(r"^\s+(\S+) => (/\S+)", listed, re.MULTILINE)}
    loaders = re.findall(r"^\s+(/\S+) \(0x", listed, re.MULTILINE)
    return libraries, Path(loaders[0])


def _said(command: list[str]) -> str:
    return subprocess.run(command, capture_output=True, text=True, check=True, timeout=60).stdout
