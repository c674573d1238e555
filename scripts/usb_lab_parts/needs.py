"""What the emulated PC is made of, as found on this machine, or which packages are missing."""

from __future__ import annotations

import platform
import shutil
from dataclasses import dataclass
from pathlib import Path

PACKAGES = ("qemu-system-x86", "linux-image-amd64", "busybox-static", "cpio", "kmod")
"""Debian's names. Busybox has to be the static one: nothing else is in the ramdisk when it starts."""

MODULES = ("virtio_pci", "9pnet_virtio", "9p", "xhci-pci", "usbserial", "ftdi_sio")
"""What the kernel loads: folders of this machine, a USB host, and the driver of the chip that the emulator has."""

_PROGRAMS = {"qemu-system-x86": "qemu-system-x86_64", "busybox-static": "busybox", "cpio": "cpio", "kmod": "modprobe"}
_SYSTEM_FOLDERS = ("/usr/local/sbin", "/usr/sbin", "/sbin")


class Missing(Exception):
    """Something that the emulated PC is made of is not on this machine; the text says what to do."""


@dataclass(frozen=True)
class Needs:
    """What was found.

    Attributes:
        qemu, busybox, cpio, modprobe: paths of the programs.
        release: the kernel's release, by which its modules are found.
        image: the kernel.
    """

    qemu: str
    busybox: str
    cpio: str
    modprobe: str
    release: str
    image: Path


def found_needs(boot: Path = Path("/boot"), modules: Path = Path("/lib/modules")) -> Needs:
    """What this machine has.

    Args:
        boot: the folder of the kernels.
        modules: the folder of their modules.

    Raises:
        Missing: a package is not installed, or this machine's programs do not run on the emulated one.
    """
    if platform.system() != "Linux" or platform.machine() != "x86_64":
        raise Missing("The emulated PC runs this machine's own Python: it needs Linux on x86-64.")
    programs = {package: _program(name) for package, name in _PROGRAMS.items()}
    kernel = _newest_kernel(boot, modules)
    absent = [package for package in PACKAGES if not programs.get(package, kernel and kernel[0])]
    if absent or kernel is None:
        raise Missing(f"Not installed: {', '.join(absent)}. {install_words()}")
    release, image = kernel
    qemu, busybox, cpio, modprobe = (programs[package] or "" for package in _PROGRAMS)
    return Needs(qemu, busybox, cpio, modprobe, release, image)


def install_words() -> str:
    """The command that installs everything."""
    return f"Install with: apt-get install --no-install-recommends {' '.join(PACKAGES)}"


def _program(name: str) -> str | None:
    """Its path; the folders of system programs are looked into even for a user who has them not on the path."""
    return shutil.which(name) or shutil.which(name, path=":".join(_SYSTEM_FOLDERS))


def _newest_kernel(boot: Path, modules: Path) -> tuple[str, Path] | None:
    """The kernel installed last that has the driver; a cloud kernel has none and is passed over."""
    images = sorted(boot.glob("vmlinuz-*"), key=lambda image: image.stat().st_mtime, reverse=True)
    for image in images:
        release = image.name.removeprefix("vmlinuz-")
        if list((modules / release).glob("kernel/drivers/usb/serial/usbserial.ko*")):
            return release, image
    return None
