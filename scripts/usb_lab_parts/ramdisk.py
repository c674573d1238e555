"""The ramdisk that the emulated PC starts from: busybox, drivers, the interpreter and its system libraries."""

from __future__ import annotations

import gzip
import shutil
import subprocess
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from scripts.usb_lab_parts.needs import MODULES, Missing, Needs
from scripts.usb_lab_parts.python_here import PythonHere

GUEST = Path(__file__).with_name("guest")
_FOLDERS = ("bin", "dev", "drivers", "lib/python", "proc", "sys", "tmp", "usr/bin", "lab")


@dataclass(frozen=True)
class Share:
    """A folder of this machine that the emulated PC sees.

    Attributes:
        tag: the name it is asked for by.
        folder: where it is here.
        place: where it is there.
        writable: whether anything may be written to it from there.
    """

    tag: str
    folder: Path
    place: str
    writable: bool = False


def make_ramdisk(needs: Needs, python: PythonHere, shares: Sequence[Share], folder: Path) -> Path:
    """Build the ramdisk in a folder and return its file."""
    root = folder / "ramdisk"
    for name in _FOLDERS:
        (root / name).mkdir(parents=True)
    _programs(root, needs, python)
    for number, module in enumerate(_modules(needs)):
        shutil.copy(module, root / "drivers" / f"{number:03}-{module.name}")
    lines = (f"{share.tag} {share.place} {'rw' if share.writable else 'ro'}\n" for share in shares)
    (root / "shares").write_text("".join(lines))
    packed = folder / "ramdisk.gz"
    packed.write_bytes(gzip.compress(_archive(needs, root), compresslevel=1))
    shutil.rmtree(root)
    return packed


def _programs(root: Path, needs: Needs, python: PythonHere) -> None:
    shutil.copy(needs.busybox, root / "bin/busybox")
    shutil.copy(GUEST / "init.sh", root / "init")
    shutil.copy(GUEST / "hands.sh", root / "bin/hands")
    shutil.copy(python.program, root / "usr/bin/python3")
    for name, library in python.libraries.items():
        shutil.copy(library, root / "lib/python" / name)
    loader = root / python.loader.relative_to("/")
    loader.parent.mkdir(parents=True, exist_ok=True)
    shutil.copy(python.loader, loader)
    for program in (root / "init", root / "bin/hands", loader):
        program.chmod(0o755)


def _modules(needs: Needs) -> list[Path]:
    """The drivers' files in the order in which they are loaded."""
    files: dict[Path, None] = {}
    for module in MODULES:
        command = [needs.modprobe, "--set-version", needs.release, "--show-depends", module]
        done = subprocess.run(command, capture_output=True, text=True, check=False, timeout=60)
        if done.returncode:
            raise Missing(f"The kernel {needs.release} has no driver {module}: {done.stderr.strip()}")
        files |= {Path(line.split()[1]): None for line in done.stdout.splitlines() if line.startswith("insmod")}
    return list(files)


def _archive(needs: Needs, root: Path) -> bytes:
    names = "\0".join(str(path.relative_to(root)) for path in sorted(root.rglob("*")))
    command = [needs.cpio, "--create", "--format=newc", "--null", "--quiet"]
    done = subprocess.run(command, input=names.encode(), cwd=root, capture_output=True, check=True, timeout=60)
    return done.stdout
