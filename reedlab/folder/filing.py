"""Writing files so that a good one is never lost: whole or not at all.

A file is written under a name of its own in the same folder, brought to the disk, and only then put in the place
of the old one. So a full disk, a power cut or a stopped program leaves the old file as it was. What holds a whole
logbook's words (exports) is made for the player's eyes alone; other new files get the usual permissions.
"""

from __future__ import annotations

import contextlib
import errno
import os
import shutil
import stat
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Final

from ..errors import InputError
from ..wording import tr

__all__ = ["could_not", "make_folder", "named_after", "put_new", "to_disk", "write_file", "write_folder"]

_PREFIX: Final = ".reedlab-"
_HALF: Final = ".part"
_BEFORE: Final = " (before)"
_STALE_S: Final = 3600.0
_COULD_NOT: Final = {
    "file": tr("The file {path} could not be written: {why}. Nothing was changed."),
    "folder": tr("The folder {path} could not be written: {why}. Nothing was changed."),
    "spreadsheet": tr("The spreadsheet {path} could not be written: {why}. Nothing was changed."),
}
_WHY: Final[dict[int | None, str]] = {
    errno.ENOSPC: tr("the disk is full"), errno.EDQUOT: tr("your share of the disk is full"),
    errno.EROFS: tr("that disk can only be read"),
    errno.EACCES: tr("you may not write there"), errno.EPERM: tr("you may not write there"),
    errno.ENOENT: tr("there is no such folder"), errno.ENOTDIR: tr("there is no such folder"),
    errno.EISDIR: tr("that is a folder"), errno.ENAMETOOLONG: tr("the name is too long"),
}


def write_file(path: Path | str, content: bytes | str, *, new: bool = False, private: bool = False,
               run: bool = False) -> None:
    """Write a file whole, or leave what is there as it is.

    Parameters
    ----------
    path : path
        Its folder must be there. A link is followed. What is no ordinary file (a pipe, a printer) is written to.
    content : bytes or str
        Text is written in UTF-8 with line feeds as they stand.
    new : bool
        Refuse where the file is there already, whoever made it meanwhile.
    private : bool
        A new file can be read by its owner alone. A file that is there keeps its permissions.
    run : bool
        The file may be run.

    Raises
    ------
    InputError
        In words: what could not be written, and why. Nothing is left beside it.
    """
    try:
        _write(Path(path), content.encode("utf-8") if isinstance(content, str) else content, new, private, run)
    except FileExistsError:
        raise InputError(tr("{path} is there already. Name a new file.").format(path=path)) from None
    except (OSError, ValueError) as err:  # ValueError: a name that no file can have
        raise could_not("file", path, err) from err


def named_after(name: str) -> str:
    """Return a trial's name as part of a file's name."""
    return "-".join("".join(c if c.isalnum() else " " for c in name.casefold()).split())[:40].strip("-") or "trial"


def make_folder(path: Path) -> None:
    """Make a folder and those above it, if they are not there; InputError if they cannot be made."""
    try:
        path.mkdir(parents=True, exist_ok=True)
    except (OSError, ValueError) as err:
        raise could_not("folder", path, err) from err


def write_folder(target: Path, fill: Callable[[Path], None], *, ours: Callable[[str], bool]) -> None:
    """Write a folder whole, or leave what is there as it is.

    The new folder, for its owner's eyes alone unless the old one was not, is filled beside the old one and takes its
    place in two renames. Should the program be stopped
    between these, the old one stands as "NAME (before)" and is put back next time.

    Parameters
    ----------
    target : Path
    fill : callable
        Fills the folder it is given.
    ours : callable
        Says of a name in the old folder whether it is replaced; all else in it is taken over.

    Raises
    ------
    InputError
    """
    try:
        target = target.resolve()
        here = Path.cwd().resolve()
        if target in (here, *here.parents):
            raise InputError(tr("You are working inside {target}. Name a new folder inside it.").format(target=target))
        target.parent.mkdir(parents=True, exist_ok=True)
        before = target.with_name(target.name + _BEFORE)
        if before.is_dir() and not target.exists():
            before.rename(target)
        with _scratch(target.parent) as made:
            fill(made)
            for item in sorted(target.iterdir()) if target.is_dir() else ():
                if not ours(item.name):
                    _copy(item, made / item.name)
            if target.is_dir():
                made.chmod(stat.S_IMODE(target.stat().st_mode))
            for item in made.rglob("*"):
                if not item.is_symlink():
                    to_disk(item)
            to_disk(made)
            _swap(made, target, before)
        to_disk(target.parent)
    except (OSError, ValueError) as err:
        raise could_not("folder", target, err) from err


def _write(path: Path, data: bytes, new: bool, private: bool, run: bool) -> None:
    path = Path(os.path.realpath(path)) if path.is_symlink() else path
    there = path.stat() if path.exists() else None
    if there is not None and new:
        raise FileExistsError(path)
    if there is not None and not stat.S_ISREG(there.st_mode):
        path.write_bytes(data)  # a folder is refused here, by the system's own words
        return
    _sweep(path.parent)
    handle, half = tempfile.mkstemp(prefix=_PREFIX, suffix=_HALF, dir=path.parent)
    try:
        with open(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        mode = stat.S_IMODE(there.st_mode) if there is not None else 0o600 if private else 0o666 & ~_umask()
        with contextlib.suppress(OSError):  # some disks keep no permissions
            os.chmod(half, mode | (mode & 0o444) >> 2 if run else mode)
        if new:
            put_new(half, path)
        else:
            os.replace(half, path)
    except BaseException:
        with contextlib.suppress(OSError):
            os.unlink(half)
        raise
    to_disk(path.parent)


def put_new(half: Path | str, path: Path) -> None:
    """Give a file its name only if no other has it."""
    try:
        os.link(half, path)
    except FileExistsError:
        raise
    except OSError:  # a disk without links, such as a memory stick
        if path.exists():
            raise FileExistsError(path) from None
        os.rename(half, path)
    else:
        os.unlink(half)


@contextlib.contextmanager
def _scratch(parent: Path) -> Iterator[Path]:
    made = Path(tempfile.mkdtemp(prefix=_PREFIX, suffix=_HALF, dir=parent))
    try:
        yield made
    finally:
        shutil.rmtree(made, ignore_errors=True)


def _swap(made: Path, target: Path, before: Path) -> None:
    if not target.exists():
        made.rename(target)
        return
    shutil.rmtree(before, ignore_errors=True)
    target.rename(before)
    try:
        made.rename(target)
    except BaseException:
        before.rename(target)
        raise
    shutil.rmtree(before, ignore_errors=True)


def _copy(item: Path, to: Path) -> None:
    if item.is_dir() and not item.is_symlink():
        shutil.copytree(item, to, symlinks=True)
    else:
        shutil.copy2(item, to, follow_symlinks=False)


def _sweep(folder: Path) -> None:
    """Take away what a program that was stopped left here long ago."""
    for half in folder.glob(f"{_PREFIX}*{_HALF}"):
        with contextlib.suppress(OSError):
            if half.is_file() and time.time() - half.stat().st_mtime > _STALE_S:
                half.unlink()


def to_disk(path: Path) -> None:
    """Have the system write a file or folder to the disk; some systems cannot do so for folders."""
    with contextlib.suppress(OSError):
        handle = os.open(path, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _umask() -> int:
    mask = os.umask(0o077)
    os.umask(mask)
    return mask


def could_not(what: str, path: Path | str, err: Exception) -> InputError:
    """Return in words that a "file", "folder" or "spreadsheet" could not be written, and why."""
    why = _WHY.get(getattr(err, "errno", None)) or getattr(err, "strerror", None) or err
    return InputError(_COULD_NOT[what].format(path=path, why=why))
