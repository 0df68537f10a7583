"""Marking a coach's own demonstration: model repetition, key positions, cue sentences; then the files for athletes."""

from __future__ import annotations

from collections.abc import Callable
from html import escape
from pathlib import Path
from typing import TYPE_CHECKING

import ipywidgets

from cuebook.errors import ModelError
from cuebook.report.reference import MOST_SENTENCES, POSITIONS, angle_texts, key_positions

from .form import Form, shown_path

if TYPE_CHECKING:
    from cuebook.model import Repetition
    from cuebook.record import Desk as Corrections

_TITLES = {"start": "Start", "turn": "Turn", "end": "End"}


class ReferenceForm(Form):
    """Choose the model repetition, set its key positions from the desk, say what to think of, write the reference.

    Parameters
    ----------
    corrections : cuebook.record.Desk
        The review of the demonstration with its corrections.
    folder : Path
        Where the reference is written.
    now_s : callable
        Gives the instant that the desk shows, seconds.
    """

    def __init__(self, corrections: Corrections, *, folder: Path, now_s: Callable[[], float]) -> None:
        self._corrections, self._folder, self._now_s = corrections, folder, now_s
        whole = [r for r in corrections.data.repetitions if r.complete and len(r.edges) == 4 and r.start_s is not None]
        self.model = ipywidgets.Dropdown(options=[(_named(r), r.number) for r in whole], description="Model")
        self.at = {name: ipywidgets.FloatText(description=f"{_TITLES[name]}, s", step=0.01) for name in POSITIONS}
        self.here = {
            name: ipywidgets.Button(
                description=f"{_TITLES[name]} as shown", tooltip=f"Take the picture on the desk as the {name}"
            )
            for name in POSITIONS
        }
        self.sentences = ipywidgets.Textarea(
            description="Think of", placeholder=f"Up to {MOST_SENTENCES} cues, one a line; empty: the main cue",
            layout=ipywidgets.Layout(width="560px", height="84px"),
        )  # fmt: skip
        wide = {"width": "560px"}
        self.credit = ipywidgets.Text(description="Shown", placeholder="Who or what is shown", layout=wide)
        self.consent = ipywidgets.Text(
            description="Consent", placeholder="What the person agreed to; kept out of the page", layout=wide
        )
        self.angles, said = ipywidgets.HTML(), ipywidgets.HTML()
        self.write = ipywidgets.Button(description="Write the reference", button_style="primary")
        self.model.observe(lambda _: self._safely(self._fill), names="value")
        for name in POSITIONS:
            self.at[name].observe(lambda _: self._safely(self._show), names="value")
            self.here[name].on_click(lambda _, n=name: self._safely(lambda: self._take(n)))
        self.write.on_click(lambda _: self._safely(self._write))
        rows = [ipywidgets.HBox([self.at[name], self.here[name]]) for name in POSITIONS]
        fields = [self.model, *rows, self.angles, self.sentences, self.credit, self.consent, self.write, said]
        super().__init__(fields, said=said)
        self._safely(self._fill)

    @property
    def positions(self) -> dict[str, float]:
        """The instants of the key positions, seconds."""
        return {name: float(field.value) for name, field in self.at.items()}

    def _repetition(self) -> Repetition:
        found = next((r for r in self._corrections.data.repetitions if r.number == self.model.value), None)
        if found is None:
            raise ModelError("No repetition is whole in this clip: film the demonstration again, from before to after.")
        return found

    def _fill(self) -> None:
        """Take the positions of the chosen repetition."""
        found = key_positions(self._corrections.data, self._repetition())
        for key in found:
            self.at[key.name].value = round(key.at_s, 2)
        self._show()

    def _take(self, name: str) -> None:
        self.at[name].value = round(self._now_s(), 2)
        self._show()

    def _show(self) -> None:
        """Show the angles at the key positions, or why they cannot be taken there."""
        self.said.value = ""
        rows = []
        for key in key_positions(self._corrections.data, self._repetition(), self.positions):
            angles = ", ".join(f"{words} {value}" for words, value in angle_texts(self._corrections.data, key))
            head = f"<th scope='row' style='text-align:left'>{_TITLES[key.name]}</th>"
            rows.append(f"<tr>{head}<td>{escape(angles)}</td></tr>")
        self.angles.value = f"<table aria-label='Angles at the key positions'>{''.join(rows)}</table>"

    def _write(self) -> None:
        written = self._corrections.write_reference(
            self._folder,
            repetition=self._corrections.id_of(self._repetition().number),
            sentences=[line for line in self.sentences.value.splitlines() if line.strip()],
            positions=self.positions,
            credit=self.credit.value,
            consent=self.consent.value,
        )
        self._say(
            f"Written to {shown_path(written)}: clip with the count, three stills, and the page with the filming card."
        )


def _named(repetition: Repetition) -> str:
    side = f", {repetition.side}" if repetition.side in ("left", "right") else ""
    return f"repetition {repetition.number}{side}, turn at {repetition.turn_s:.1f} s"
