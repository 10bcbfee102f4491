"""A progress bar, or the caller's own, around work that knows nothing of either."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TypeAlias

__all__ = ["Progress", "bar"]

#: False: none; True: a bar; a callable is told how many more are done.
Progress: TypeAlias = bool | Callable[[int], object]


@contextmanager
def bar(progress: Progress, total: int, words: str) -> Iterator[Callable[[int], object]]:
    """Yield what to call with the number of steps just done."""
    if progress is False:
        yield lambda done: None
    elif progress is True:
        from tqdm.auto import tqdm

        with tqdm(total=total, desc=words, unit="trial", leave=False) as shown:
            yield shown.update
    else:
        yield progress
