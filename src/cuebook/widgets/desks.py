"""The desk over several clips: one is open, a key turns to the next, what was done on the one is on disk before."""

from __future__ import annotations

import logging
import threading
from collections import OrderedDict
from collections.abc import Callable, Sequence
from html import escape
from typing import Any

import ipywidgets

from cuebook.errors import CuebookError

from .desk import Desk, InRow
from .progress import Teller

log = logging.getLogger(__name__)

KEPT_OPEN = 6
"""So many desks stay open behind the one in view, so that turning back is quick."""

OpenOne = Callable[[int, InRow, Callable[[float], None] | None], Desk]


class Desks(ipywidgets.VBox):
    """The desk for one of several clips at a time.

    Page Down opens the next clip, Page Up the previous one. The browser turns only after the kernel has said that every
    change is in the record.

    Parameters
    ----------
    names : sequence of str
        File names of the clips, in order.
    open_one : callable
        ``open_one(index, row, progress)`` opens a desk; a clip that was never reviewed is reviewed, which takes time.
    first : Desk
        The desk that is in view at the beginning.
    index : int
        Its place in the row, from 0.
    """

    def __init__(self, names: Sequence[str], open_one: OpenOne, *, first: Desk, index: int = 0) -> None:
        self.names = tuple(names)
        self._open_one, self._index = open_one, index
        self._opened: OrderedDict[int, Desk] = OrderedDict()
        self._lock = threading.Lock()
        self.said = ipywidgets.HTML()
        super().__init__([self.said])
        self._show(index, first)

    @property
    def index(self) -> int:
        """Place of the clip in view, from 0."""
        return self._index

    @property
    def current(self) -> Desk:
        """The desk in view."""
        return self._opened[self._index]

    def go_to(self, index: int) -> Desk:
        """Open another clip of the row and return its desk; a place beyond an end is the end.

        Parameters
        ----------
        index : int
            From 0.

        Raises
        ------
        CuebookError
            If it cannot be opened; the clip in view stays.
        """
        index = min(max(0, index), len(self.names) - 1)
        with self._lock:
            if index == self._index:
                return self.current
            desk = self._opened.get(index)
            if desk is None:
                desk = self._open_one(index, InRow(self.names, index), Teller(self.names[index], self._say))
            self._say("")
            self._show(index, desk)
            return desk

    def _turned(self, by: int) -> None:
        """Turn because somebody pressed a key, beside the kernel's own work: a first review takes seconds."""
        threading.Thread(target=self._turn, args=(by,), daemon=True).start()

    def _turn(self, by: int) -> None:
        try:
            self.go_to(self._index + by).focus_wanted = True
        except CuebookError as error:
            self._say(str(error))
        except Exception as error:
            log.exception("a clip could not be opened")
            self._say(f"The clip could not be opened ({type(error).__name__}: {error}).")

    def _show(self, index: int, desk: Desk) -> None:
        desk.on_turn(self._turned)
        desk.remember()
        self._opened[index] = desk
        self._opened.move_to_end(index)
        self._index = index
        self.children = (self.said, desk)
        while len(self._opened) > KEPT_OPEN:
            _, left = self._opened.popitem(last=False)
            left.close()

    def _say(self, sentence: str) -> None:
        self.said.value = f"<b role='status'>{escape(sentence)}</b>" if sentence else ""

    def _repr_mimebundle_(self, **options: Any) -> Any:
        """Add the still and the table of the clip in view for where widgets are not shown."""
        bundle = super()._repr_mimebundle_(**options)
        values, metadata = bundle if isinstance(bundle, tuple) else (bundle, {})
        if values is None:
            return bundle
        return values | {"text/html": self.current.review._repr_html_(), "text/plain": repr(self)}, metadata

    def __repr__(self) -> str:
        return f"<Desks: clip {self._index + 1} of {len(self.names)}, {self.names[self._index]}>"
