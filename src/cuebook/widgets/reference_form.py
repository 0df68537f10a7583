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
        kept = corrections.kept.get("reference")
        kept = kept if isinstance(kept, dict) else {}
        options = self._options()
        wanted = kept.get("model")
        self.model = ipywidgets.Dropdown(
            options=options, description="Model", value=wanted if wanted in [o[1] for o in options] else _first(options)
        )
        self.at = {name: ipywidgets.FloatText(description=f"{_TITLES[name]}, s", step=0.01) for name in POSITIONS}
        self.here = {
            name: ipywidgets.Button(
                description=f"{_TITLES[name]} as shown", tooltip=f"Take the picture on the desk as the {name}"
            )
            for name in POSITIONS
        }
        self.sentences = ipywidgets.Textarea(
            description="Think of", placeholder=f"Up to {MOST_SENTENCES} cues, one a line; empty: the main cue",
            layout=ipywidgets.Layout(width="560px", height="84px"), value=str(kept.get("sentences", "")),
        )  # fmt: skip
        wide = {"width": "560px"}
        self.credit = ipywidgets.Text(description="Shown", placeholder="Who or what is shown", layout=wide,
                                      value=str(kept.get("credit", "")))  # fmt: skip
        self.consent = ipywidgets.Text(
            description="Consent", placeholder="What the person agreed to; kept out of the page", layout=wide,
            value=str(kept.get("consent", "")),
        )  # fmt: skip
        self.angles, said = ipywidgets.HTML(), ipywidgets.HTML()
        self.write = ipywidgets.Button(description="Write the reference", button_style="primary")
        self.model.observe(lambda _: self._safely(self._fill), names="value")
        for name in POSITIONS:
            self.at[name].observe(lambda _: self._safely(self._show), names="value")
            self.here[name].on_click(lambda _, n=name: self._safely(lambda: self._take(n)))
        for field in (self.sentences, self.credit, self.consent):
            field.observe(lambda _: self._keep(), names="value")
        self.write.on_click(lambda _: self._safely(self._write))
        rows = [ipywidgets.HBox([self.at[name], self.here[name]]) for name in POSITIONS]
        fields = [self.model, *rows, self.angles, self.sentences, self.credit, self.consent, self.write, said]
        super().__init__(fields, said=said)
        self._safely(lambda: self._fill(kept.get("positions") if self.model.value == wanted else None))

    @property
    def positions(self) -> dict[str, float]:
        """The instants of the key positions, seconds."""
        return {name: float(field.value) for name, field in self.at.items()}

    def refresh(self) -> None:
        """Follow a correction on the desk: the list of repetitions, and the chosen one's own boundaries."""
        options, before = self._options(), list(self.model.options)
        if before == options:
            return
        chosen, positions = self.model.value, self.positions
        self.model.options = options
        self.model.value = chosen if chosen in [o[1] for o in options] else _first(options)
        same = [o for o in options if o[1] == chosen and o in before]
        self._safely(lambda: self._fill(positions if same else None))

    def _options(self) -> list[tuple[str, str]]:
        """Return the whole repetitions by name, with their identities."""
        data, ids = self._corrections.data, [s.id for s in self._corrections.state.spans]
        return [
            (_named(r), one)
            for r, one in zip(data.repetitions, ids, strict=True)
            if r.complete and len(r.edges) == 4 and r.start_s is not None
        ]

    def _keep(self) -> None:
        """Keep what stands in the form, so that it is there again after a restart."""
        self._corrections.keep(
            reference={
                "model": self.model.value, "positions": self.positions, "sentences": self.sentences.value,
                "credit": self.credit.value, "consent": self.consent.value,
            }
        )  # fmt: skip

    def _repetition(self) -> Repetition:
        found = None if self.model.value is None else self._corrections.repetition(self.model.value)
        if found is None:
            raise ModelError("No repetition is whole in this clip: film the demonstration again, from before to after.")
        return found

    def _fill(self, kept: dict[str, float] | None = None) -> None:
        """Take the positions of the chosen repetition, or those that were kept for it."""
        found = {key.name: round(key.at_s, 2) for key in key_positions(self._corrections.data, self._repetition())}
        for name, at_s in (found | (kept or {})).items():
            self.at[name].value = at_s
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
        missed = "".join(f"<p><b>{escape(w)}</b></p>" for w in self._not_met())
        self.angles.value = f"<table aria-label='Angles at the key positions'>{''.join(rows)}</table>{missed}"
        self._keep()

    def _not_met(self) -> list[str]:
        """Say which cues the chosen repetition does not meet, measured or by the coach's own eye."""
        data, rep = self._corrections.data, self._repetition()
        out = []
        for cue in data.movement.cues:
            found = [v for v in data.verdicts if v.repetition == rep.number and v.cue == cue.name]
            own = (
                [data.corrections.overruled_at(cue.name, rep.number, v.side) for v in found] if data.corrections else []
            )
            said = [o.outcome for o in own if o is not None] or [v.outcome for v in found]
            if "not_met" in said:
                out.append(f"{cue.heading} is not met in this repetition: is it the one to show?")
        return out

    def _write(self) -> None:
        self._repetition()
        written = self._corrections.write_reference(
            self._folder,
            repetition=self.model.value,
            sentences=[line for line in self.sentences.value.splitlines() if line.strip()],
            positions=self.positions,
            credit=self.credit.value,
            consent=self.consent.value,
        )
        self._say(
            f"Written to {shown_path(written)}: clip with the count, three stills, and the page with the filming card."
        )


def _first(options: list[tuple[str, str]]) -> str | None:
    return options[0][1] if options else None


def _named(repetition: Repetition) -> str:
    side = f", {repetition.side}" if repetition.side in ("left", "right") else ""
    return f"repetition {repetition.number}{side}, turn at {repetition.turn_s:.1f} s"
