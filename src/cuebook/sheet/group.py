"""Pictures of the group: which cue fails most, and who needs a look."""

from __future__ import annotations

from typing import TYPE_CHECKING

from cuebook.model import OUTCOMES

from .results import serious

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.axes import Axes

_TONES = {"met": "#009E73", "near": "#F0E442", "not_met": "#D55E00", "not_measurable": "#D0D3D6"}
_HATCHES = {"met": "", "near": "..", "not_met": "///", "not_measurable": ""}
_TELLS_MORE = ("not_met", "near", "met", "not_measurable")
_WORDS = {"met": "met", "near": "near", "not_met": "not met", "not_measurable": "not measurable"}


def cue_outcomes(cues: pd.DataFrame) -> pd.DataFrame:
    """Count the outcomes of every cue over the sets of a group.

    Parameters
    ----------
    cues : DataFrame
        Table ``cues`` of a batch; rows without a repetition speak of a whole set and are counted.

    Returns
    -------
    DataFrame
        One row per movement and cue, one column per outcome, the cue that most often was not met first.
    """
    import pandas as pd

    sets = cues[cues["repetition"].isna()]
    if len(sets):  # of two sides of one set the one that says more to the coach counts
        ranked = sets.assign(rank=sets["outcome"].map({o: k for k, o in enumerate(_TELLS_MORE)})).sort_values("rank")
        sets = ranked.drop_duplicates(["clip", "movement", "cue"])
    counted = pd.crosstab([sets["movement"], sets["cue"]], sets["outcome"]).reindex(
        columns=list(OUTCOMES), fill_value=0
    )
    judged = counted[["met", "near", "not_met"]].sum(axis=1)
    share = counted["not_met"] / judged.where(judged > 0)
    order = pd.DataFrame({"share": share.fillna(-1.0), "times": counted["not_met"]})
    return counted.loc[order.sort_values(["share", "times"], ascending=False, kind="stable").index]


def plot_cues(cues: pd.DataFrame, ax: Axes | None = None, *, most: int = 12) -> Axes:
    """Draw how often each cue was met, near, not met and not measurable, as stacked bars with their counts.

    Parameters
    ----------
    cues : DataFrame
        Table ``cues`` of a batch.
    ax : Axes, optional
        Where to draw.
    most : int
        Cues shown at most.

    Returns
    -------
    Axes
    """
    import matplotlib.pyplot as plt

    counted = cue_outcomes(cues).head(most)[::-1]
    if ax is None:
        _, ax = plt.subplots(figsize=(8, 0.9 + 0.42 * len(counted)))
    left = [0] * len(counted)
    names = [f"{movement}: {cue.replace('-', ' ')}" for movement, cue in counted.index]
    for outcome in OUTCOMES:
        values = counted[outcome].tolist()
        bars = ax.barh(names, values, left=left, label=_WORDS[outcome], color=_TONES[outcome], hatch=_HATCHES[outcome],
                       edgecolor="#1c1f23", linewidth=0.6)  # fmt: skip
        ax.bar_label(bars, [str(v) if v else "" for v in values], label_type="center", fontsize=8,
                     bbox={"boxstyle": "round,pad=0.1", "fc": "white", "ec": "none"})  # fmt: skip
        left = [a + b for a, b in zip(left, values, strict=True)]
    ax.set_xlabel("sets")
    ax.xaxis.get_major_locator().set_params(integer=True)
    ax.legend(loc="lower center", bbox_to_anchor=(0.4, 1.0), ncols=4, frameon=False, fontsize=9)
    ax.spines[["top", "right"]].set_visible(False)
    ax.figure.tight_layout()
    return ax


def needs_a_look(rows: list[dict], clips: pd.DataFrame | None, cues: pd.DataFrame | None) -> pd.DataFrame:
    """Name the athletes whose clips a coach should look at, each with the reasons.

    Parameters
    ----------
    rows : list of dict
        From `cuebook.sheet.rows.sheet_rows`.
    clips, cues : DataFrame or None
        Tables of a batch; None before one was run.

    Returns
    -------
    DataFrame
        Columns ``athlete``, ``clip`` and ``why``; words of pain first. Nothing in it is a score or a ranking.
    """
    import pandas as pd

    found = [(r["rank"], r["athlete"], r["file"], f'{r["urgency"]}: "{r["message"]}"') for r in rows if r["rank"] == 0]
    found += [(1, r["athlete"], r["file"], r["urgency"]) for r in rows if r["rank"] == 1]
    files = _files(clips)
    if clips is not None and len(clips):
        found += [
            (2, _text(row["athlete"]), files[row["clip"]], " ".join(said))
            for row in clips.to_dict("records")
            if (said := serious(row))
        ]
    if cues is not None and len(cues):
        sets = cues[cues["repetition"].isna() & (cues["outcome"] == "not_met")]
        for clip, missed in sets.groupby("clip", sort=False):
            names = ", ".join(dict.fromkeys(c.replace("-", " ") for c in missed["cue"]))
            found.append((3, _text(missed["athlete"].iloc[0]), files.get(clip, _name(clip)), f"not met: {names}"))
    if clips is not None and len(clips):
        drifted = clips[clips["drift_outcome"] == "not_met"]
        found += [
            (4, _text(r.athlete), files[r.clip], "the lowering shrank through the set") for r in drifted.itertuples()
        ]
        left = clips[(clips["state"] != "scored") | (clips["reason"].map(_text) != "")]
        found += [(5, _text(r.athlete), files[r.clip], _text(r.reason)) for r in left.itertuples()]
    found.sort(key=lambda f: f[0])
    return _uncut(pd.DataFrame([f[1:] for f in found], columns=["athlete", "clip", "why"]))


def _files(clips: pd.DataFrame | None) -> dict[str, str]:
    """Return under which name each clip of a batch was received."""
    if clips is None:
        return {}
    return {row["clip"]: _text(row.get("received_as")) or _name(row["clip"]) for row in clips.to_dict("records")}


def _uncut(table: pd.DataFrame) -> pd.DataFrame:
    """Return a table that a notebook shows with whole sentences: the words that matter may be the last ones."""
    import pandas as pd

    class Uncut(pd.DataFrame):
        def _repr_html_(self) -> str:
            with pd.option_context("display.max_colwidth", None):
                return pd.DataFrame(self)._repr_html_()

    return Uncut(table)


def _name(clip: object) -> str:
    """Return the last part of a path, on whatever machine it was written."""
    return str(clip).replace("\\", "/").rsplit("/", 1)[-1]


def _text(value: object) -> str:
    return value if isinstance(value, str) else ""
