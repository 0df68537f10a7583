"""A review as an object for a notebook: tables, a plot, a small picture of itself."""

from __future__ import annotations

from collections.abc import Callable
from functools import cached_property
from html import escape
from pathlib import Path
from typing import TYPE_CHECKING, Any

from cuebook.model import ReviewData

from .choice import main_cue, signal_of

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.axes import Axes

    from .stills import Still


class Review:
    """One judged clip, with its tables and pictures made when they are asked for.

    Parameters
    ----------
    data : ReviewData
        What was measured and decided.

    Attributes
    ----------
    data : ReviewData
        The same.
    """

    def __init__(self, data: ReviewData) -> None:
        self.data = data

    @cached_property
    def repetitions(self) -> pd.DataFrame:
        """Return one row per repetition: the columns of repetitions.csv, indexed by number."""
        import pandas as pd

        from .tables import repetition_columns, repetition_rows

        return pd.DataFrame(repetition_rows(self.data), columns=repetition_columns(self.data)).set_index("number")

    @cached_property
    def verdicts(self) -> pd.DataFrame:
        """Return one row per verdict; `repetition` is missing where the whole set is meant."""
        import pandas as pd

        from .tables import review_json

        columns = ["repetition", "cue", "side", "outcome", "chance", "value", "uncertainty", "unit", "low", "high",
                   "reason", "refilm", "source_kind", "source"]  # fmt: skip
        rows = []
        for v in review_json(self.data)["verdicts"]:
            source = {"source_kind": v["source"]["kind"], "source": v["source"]["text"]}
            rows.append(v | v["limit"] | source)
        numbers = ("chance", "value", "uncertainty", "low", "high")
        frame = pd.DataFrame(rows, columns=columns)
        return frame.astype({"repetition": "Int64"} | dict.fromkeys(numbers, float))

    @cached_property
    def angles(self) -> pd.DataFrame:
        """Return one row per analysed frame: the columns of angles.csv, indexed by time in seconds."""
        import pandas as pd

        from .tables import angle_columns

        return pd.DataFrame(angle_columns(self.data)).set_index("time_s")

    @cached_property
    def measurements(self) -> pd.DataFrame:
        """Return one row per measurement with its standard uncertainty."""
        import pandas as pd

        from .tables import review_json

        columns = ["repetition", "measure", "side", "value", "uncertainty", "unit", "at_s", "method"]
        return pd.DataFrame(review_json(self.data)["measurements"], columns=columns)

    @cached_property
    def stills(self) -> tuple[Still, ...]:
        """Return the pictures of the deciding moments, by priority of their cues."""
        from .stills import make_stills

        return make_stills(self.data)

    def plot(self, ax: Axes | None = None) -> Axes:
        """Draw the angle that decides over time, with repetitions, limit and uncertainty, and return the axes.

        Parameters
        ----------
        ax : Axes or None
            Where to draw; a new figure if None.
        """
        from .plot import plot_trace

        return plot_trace(self.data, ax)

    def save(self, out_dir: str | Path, *, video: bool = True, progress: Callable[[float], None] | None = None) -> Path:
        """Write all files of the review into a folder and return it.

        Parameters
        ----------
        out_dir : str or Path
            The folder; an existing one is replaced only if it holds a review.
        video : bool
            Whether to draw the annotated clip.
        progress : callable or None
            Called with the share that is done, 0 to 1.

        Raises
        ------
        OutputError
            If the folder holds something else, or cannot be written.
        ClipError
            If the clip can no longer be read.
        """
        from .write import write_review

        return write_review(self.data, out_dir, video=video, progress=progress)

    def page(self, *, athlete: str | None = None) -> str:
        """Return the feedback page as HTML text.

        Parameters
        ----------
        athlete : str or None
            Whom it is for.
        """
        from .page import feedback_page

        return feedback_page(self.data, self.stills, athlete=athlete)

    def _counted(self) -> int:
        return sum(r.counted for r in self.data.repetitions)

    def __repr__(self) -> str:
        data = self.data
        cue = main_cue(data)
        signal = signal_of(data, cue)
        shown = "nothing measurable" if signal is None else f"main cue {cue.name}" if cue else signal.name
        return f"<Review of {data.clip.path.name}: {data.movement.name}, {self._counted()} repetitions, {shown}>"

    def _repr_html_(self) -> str:
        from .blocks import cue_blocks

        data = self.data
        picture = _picture(self.stills[0]) if self.stills else ""
        rows = "".join(
            f"<tr><td><b>{escape(b['mark'])} {escape(b['outcome'])}</b></td><td>{escape(b['title'])}</td>"
            f"<td>{escape(b['measured'])}</td><td>asked {escape(b['asked'])}</td></tr>"
            for b in cue_blocks(data)
        )
        said = data.headline
        lines = "".join(f"<p style='margin:.2em 0'>{escape(t)}</p>" for t in (said.praise, said.fix, said.next))
        return (
            "<div style='display:flex;gap:1em;flex-wrap:wrap;align-items:flex-start;max-width:60em'>"
            f"{picture}<div style='flex:1 1 20em'><h4 style='margin:0 0 .3em'>{escape(data.movement.title)}, "
            f"{self._counted()} repetitions</h4>{lines}<table style='margin-top:.6em'>{rows}</table></div></div>"
        )


def _picture(still: Any) -> str:
    from base64 import b64encode

    source = b64encode(still.jpeg).decode("ascii")
    named = f"{escape(still.cue.name)}, repetition {still.repetition.number}"
    return f"<img alt='{named}' style='max-height:20em;max-width:100%' src='data:image/jpeg;base64,{source}'>"
