"""The demo: an invented player's logbook, set up in a folder to look at. Its data travel with reedlab."""

from __future__ import annotations

from datetime import date, datetime, time
from pathlib import Path

from .desk.home import prepare_folder
from .errors import InputError
from .folder.clock import TODAY_FILE, is_invented
from .folder.filing import write_file
from .folder.resources import demo_data_dir, find_logbook
from .logbook import Logbook
from .logbook.exchange import import_folder
from .wording import tr

__all__ = ["set_up_demo"]


def set_up_demo(folder: Path) -> Path:
    """Put the demo's pages and logbook into `folder` and return the path of the logbook.

    A demo that is there already stays as it is, with whatever was tried in it.

    Raises
    ------
    InputError
        If the folder holds a logbook that is not the demo's.
    """
    folder = Path(folder).expanduser()
    path = find_logbook(folder)
    if path.exists():
        if is_invented(folder):
            return path
        raise InputError(tr("{path} is a player's own logbook. Give the demo another folder, for example "
                            "reedlab-demo.").format(path=path))
    prepare_folder(folder)
    source = demo_data_dir()
    today = date.fromisoformat((source / TODAY_FILE).read_text(encoding="utf8").strip())
    evening = datetime.combine(today, time(12)).astimezone()
    with Logbook.drafted(path, now=lambda: evening) as logbook:  # half a demo is no demo
        import_folder(source / "logbook", logbook)
    write_file(folder / TODAY_FILE, (source / TODAY_FILE).read_bytes())
    return path
