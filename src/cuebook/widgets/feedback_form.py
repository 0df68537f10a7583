"""Editing what an athlete is told: three texts, a word count, the page as a phone shows it, files to send by hand."""

from __future__ import annotations

import asyncio
from dataclasses import replace
from html import escape
from pathlib import Path
from typing import TYPE_CHECKING

import ipywidgets

from cuebook.model import Draft
from cuebook.model.draft import MOST_WORDS
from cuebook.report.feedback_files import feedback_warnings, message_page, picture_jpeg

from .form import Form, shown_path

if TYPE_CHECKING:
    from cuebook.record import Desk as Corrections

REST_S = 0.4
"""The draft is kept and the page drawn again so long after a letter, not with every one."""
PHONE_WIDTH_PX, PHONE_HEIGHT_PX = 390, 720
_PARTS = (("praise", "Praise"), ("fix", "One thing"), ("next", "Next step"))


class FeedbackForm(Form):
    """A draft of at most 60 words with one picture; every change is kept, nothing is sent.

    Parameters
    ----------
    corrections : cuebook.record.Desk
        The review with its corrections; the last kept draft is edited, else a fresh one.
    folder : Path
        Where page, picture and text are written on request.
    athlete : str or None
        Whom it is for.
    """

    def __init__(self, corrections: Corrections, *, folder: Path, athlete: str | None = None) -> None:
        self._corrections, self._folder, self._athlete = corrections, folder, athlete
        self._start = corrections.draft or corrections.draft_feedback()
        self._jpeg = self._picture()
        self._waiting: asyncio.TimerHandle | None = None
        self._mine = _own_words(corrections)
        self.texts = {name: _text(title, getattr(self._start, name)) for name, title in _PARTS}
        self.count = ipywidgets.HTML()
        said = ipywidgets.HTML()
        self.page = ipywidgets.HTML()
        self.anew = ipywidgets.Button(description="Draft anew", tooltip="Draft again from the review and the notes")
        self.back = ipywidgets.Button(
            description="Back to your words",
            tooltip="What stood here before it was drafted anew",
            layout=ipywidgets.Layout(width="auto", display="none" if self._mine is None else ""),
        )
        self.write = ipywidgets.Button(
            description="Write the files", button_style="primary", tooltip="Write page, picture and text; sends nothing"
        )
        for text in self.texts.values():
            text.observe(lambda _: self._changed(), names="value")
        self.anew.on_click(lambda _: self._safely(self._draft_anew))
        self.back.on_click(lambda _: self._safely(self._back_to_mine))
        self.write.on_click(lambda _: self._safely(self._write))
        pressed = ipywidgets.HBox([self.anew, self.back, self.write], layout=ipywidgets.Layout(flex_flow="row wrap"))
        edit = ipywidgets.VBox([*self.texts.values(), self.count, pressed, said],
                               layout=ipywidgets.Layout(width="480px"))  # fmt: skip
        both = ipywidgets.HBox([edit, self.page], layout=ipywidgets.Layout(flex_flow="row wrap"))
        super().__init__([both], said=said)
        self._show()

    @property
    def draft(self) -> Draft:
        """The draft as it stands in the form."""
        return replace(self._start, **{name: text.value for name, text in self.texts.items()})

    def _changed(self) -> None:
        """Count at once; keep and preview a moment later, also in the midst of typing."""
        self.said.value = ""  # it spoke of other words than these
        self._count()
        if self._waiting is not None:
            return
        try:
            self._waiting = asyncio.get_running_loop().call_later(REST_S, self._rested)
        except RuntimeError:
            self._rested()

    def _rested(self) -> None:
        self._waiting = None
        self._show()
        if 0 < self.draft.words <= MOST_WORDS:
            self._safely(lambda: self._corrections.save_draft(self.draft))

    def _draft_anew(self) -> None:
        """Draft again from the review; what stood in the form can be had back with one press."""
        before, fresh = self.draft, self._corrections.draft_feedback()
        if before.text == fresh.text:
            self._say("That is the draft already.")
            return
        self._mine = before
        self._corrections.keep(own_words={name: getattr(before, name) for name, _ in _PARTS})
        self._put(fresh)
        self._say("Drafted anew from the review and the notes.")

    def _back_to_mine(self) -> None:
        if self._mine is None:
            return
        mine, self._mine = self._mine, None
        self._corrections.keep(own_words=None)
        self._put(mine)
        self._say("Your words are back.")

    def _put(self, draft: Draft) -> None:
        """Show a draft, and the way back where there is one."""
        self._start = draft
        self._jpeg = self._picture()
        self.back.layout.display = "none" if self._mine is None else ""
        for name, text in self.texts.items():
            text.value = getattr(draft, name)
        self._show()

    def _write(self) -> None:
        written = self._corrections.write_feedback(self._folder, draft=self.draft, athlete=self._athlete)
        self._say(f"Written to {shown_path(written)}: page, picture and text to copy. Nothing was sent.")

    def _picture(self) -> bytes | None:
        return None if self._start.picture is None else picture_jpeg(self._corrections.data, self._start.picture)

    def _count(self) -> None:
        """Show the number of words and what is to be warned of."""
        draft = self.draft
        over = draft.words - MOST_WORDS
        count = f"{draft.words} of {MOST_WORDS} words"
        if over > 0:
            count += f": take out {over}, until then it is not kept"
        warned = "".join(f"<br>{escape(w)}" for w in feedback_warnings(self._corrections.data, draft))
        self.count.value = f"<span role='status'>{escape(count)}{warned}</span>"

    def _show(self) -> None:
        """Show the words' number, and the page at the width of a phone."""
        self._count()
        draft = self.draft
        page = message_page(self._corrections.data, draft, self._jpeg, athlete=self._athlete)
        self.page.value = (
            f'<iframe title="The feedback as a phone shows it" sandbox width="{PHONE_WIDTH_PX}" '
            f'height="{PHONE_HEIGHT_PX}" style="border:1px solid #8a9099;border-radius:8px;background:#fff" '
            f'srcdoc="{escape(page, quote=True)}"></iframe>'
        )


def _own_words(corrections: Corrections) -> Draft | None:
    """Return what stood in the form before it was drafted anew, kept over a restart."""
    kept = corrections.kept.get("own_words")
    if not isinstance(kept, dict):
        return None
    fresh = corrections.draft or corrections.draft_feedback()
    return replace(fresh, **{name: str(kept.get(name, "")) for name, _ in _PARTS})


def _text(title: str, value: str) -> ipywidgets.Textarea:
    layout = ipywidgets.Layout(width="460px", height="76px")
    return ipywidgets.Textarea(value=value, description=title, layout=layout, continuous_update=True)
