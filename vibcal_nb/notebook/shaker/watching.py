"""A folder watched for new files: by what the system tells where watchfiles is there, else by looking."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Iterable, Iterator
from contextlib import suppress
from pathlib import Path

LOOK_SECONDS = 0.2
_SETTLED_LOOKS = 2
_MOST_SECONDS = 60.0


class Watch:
    """Tells ``found`` of each new file of a folder, once it is written; ends with `stop`, or with the program."""

    def __init__(self, folder: Path, found: Callable[[Path], None], *, by_looking: bool = False) -> None:
        self.folder, self.found, self.by_looking = folder, found, by_looking
        self._stop = threading.Event()
        self._seen = _files(folder)
        self._thread = threading.Thread(target=self._run, daemon=True, name="watched folder")
        self._thread.start()

    def stop(self) -> None:
        """End it."""
        self._stop.set()
        self._thread.join(timeout=5.0)

    def _run(self) -> None:
        for _ in self._changes():
            now = _files(self.folder)
            for path in sorted(now - self._seen):
                self._seen.add(path)
                if self._is_written(path):
                    self.found(path)
            self._seen &= now  # a name that comes again is a new file

    def _changes(self) -> Iterator[object]:
        watch = None if self.by_looking else _watch()
        if watch is not None:
            yield None  # what came before the watch began
            with suppress(OSError):
                yield from watch(self.folder, stop_event=self._stop, debounce=50, step=20, recursive=False)
        while not self._stop.wait(LOOK_SECONDS):
            yield None

    def _is_written(self, path: Path) -> bool:
        """Wait until a file grows no more; False where it went away, or goes on for too long."""
        size, same, until = -1, 0, time.monotonic() + _MOST_SECONDS
        while time.monotonic() < until and not self._stop.is_set():
            try:
                now = path.stat().st_size
            except OSError:
                return False
            same = same + 1 if now == size and now > 0 else 0
            if same >= _SETTLED_LOOKS:
                return True
            size = now
            time.sleep(LOOK_SECONDS / 4.0)
        return False


def _files(folder: Path) -> set[Path]:
    try:
        return {path for path in folder.iterdir() if path.is_file()}
    except OSError:
        return set()


def _watch() -> Callable[..., Iterable[object]] | None:
    try:
        from watchfiles import watch
    except ImportError:
        return None
    return watch
