"""Loading libraries while others work: a review needs them only after the landmarks are found."""

from __future__ import annotations

from contextlib import suppress
from importlib import import_module
from threading import Thread

AFTER_THE_LANDMARKS = ("scipy.signal", "scipy.interpolate", "scipy.optimize", "scipy.sparse.csgraph", "cv2", "jinja2")


def load_ahead(names: tuple[str, ...] = AFTER_THE_LANDMARKS) -> Thread:
    """Import modules in a thread, so that they are there when they are needed.

    A module that cannot be imported is passed over: whoever needs it says so in its own words.

    Parameters
    ----------
    names : tuple of str
        Modules to import, in that order.

    Returns
    -------
    Thread
        Started; nobody has to wait for it.
    """

    def load() -> None:
        for name in names:
            with suppress(ImportError):
                import_module(name)

    thread = Thread(target=load, name="load ahead", daemon=True)
    thread.start()
    return thread
