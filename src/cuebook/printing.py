"""What the command line prints: plain lines that also read well in a pipe."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import typer

if TYPE_CHECKING:
    from cuebook.model import Movement, ReviewData


def print_summary(data: ReviewData) -> None:
    """Print what was judged over the set, then praise, fix and next step; warnings go to standard error."""
    from cuebook.report import words

    for warning in data.warnings:
        typer.echo(f"Mind: {warning}", err=True)
    counted = sum(rep.counted for rep in data.repetitions)
    typer.echo(f"{data.movement.title}: {words.set_words(counted, data.motion.view.name)}.")
    of_the_set = [verdict for verdict in data.verdicts if verdict.repetition is None]
    sides: dict[tuple[str, str], list[str]] = {}
    for verdict in of_the_set:
        sides.setdefault((verdict.cue, words.verdict_words(verdict)), []).append(verdict.side)
    for (cue, said), of in sides.items():
        side = f" ({of[0]})" if of[0] != "both" and len(of) == 1 else ""
        typer.echo(f"  {words.cue_title(cue, data.movement)}{side}: {said}.")
    _print_phases(data)
    if data.tempo.drift_outcome is not None and data.prescription.tempo is not None:
        typer.echo(f"  {words.steady_words(data.movement, data.tempo.drift_outcome)}")
    for refilm in dict.fromkeys(v.refilm for v in of_the_set if v.refilm is not None):
        if refilm[1:] not in data.headline.next:
            typer.echo(f"To judge the rest: {refilm}")
    typer.echo(f"{data.headline.praise}\n{data.headline.fix}\n{data.headline.next}")


def _print_phases(data: ReviewData) -> None:
    """Print the median of each prescribed phase with its outcome; a pause that is rest has none."""
    from cuebook.assess.words import is_rest, spoken_phases
    from cuebook.report import words

    for phase, outcome in data.tempo.outcomes.items():
        name = words.heading(spoken_phases(data.movement)[phase])
        took = _seconds(data.tempo.median[phase], data.tempo.median_u[phase])
        asked = words.prescribed_text(data.prescription, phase)
        if is_rest(data.movement, data.prescription, phase):
            typer.echo(f"  {name}: not judged, no time was asked: median {took} s.")
        elif data.tempo.median[phase] is None:
            typer.echo(f"  {name}: {words.OUTCOME_WORDS[outcome]}: {data.tempo.reasons.get(phase, 'not seen')}.")
        else:
            typer.echo(f"  {name}: {words.OUTCOME_WORDS[outcome]}: median {took} s, asked {asked}.")


def print_tempo(data: ReviewData) -> None:
    """Print the phases of every counted repetition beside the prescription, and one sentence."""
    from cuebook.assess.words import phase_words
    from cuebook.model import PHASES
    from cuebook.report import words

    names = phase_words(data.movement)
    rows = [("repetition", "side", *(names[p] for p in PHASES))]
    rows += [
        (str(r.number), r.side, *(_seconds(r.phases[p], r.phases_u[p]) for p in PHASES))
        for r in data.repetitions
        if r.counted
    ]
    rows.append(("asked", "", *(words.prescribed_text(data.prescription, p) for p in PHASES)))
    rows.append(("median", "", *(_seconds(data.tempo.median.get(p), data.tempo.median_u.get(p)) for p in PHASES)))
    rows.append(("outcome", "", *(_phase_outcome(data, p) for p in PHASES)))
    print_columns(rows)
    typer.echo(f"\n{words.tempo_sentence(data)}")
    if (rest := words.rest_note(data.movement, data.prescription)) is not None:
        typer.echo(rest)
    for reason in dict.fromkeys(data.tempo.reasons.values()):
        typer.echo(f"Not measurable: {reason}.")


def _seconds(value: float | None, uncertainty: float | None) -> str:
    """Return seconds with their uncertainty, a dash where they were not measured."""
    from cuebook.report import words

    return "–" if value is None else words.with_uncertainty(value, uncertainty or 0.0, "s").removesuffix(" s")


def _phase_outcome(data: ReviewData, phase: str) -> str:
    from cuebook.assess.words import is_rest
    from cuebook.report import words

    if is_rest(data.movement, data.prescription, phase):
        return "not judged"
    return words.OUTCOME_WORDS.get(data.tempo.outcomes.get(phase) or "", "")


def print_movement(movement: Movement) -> None:
    """Print what is judged in a movement, how to film it and what to mind."""
    from cuebook.report import words

    typer.echo(f"{movement.title} ({movement.name})\n")
    for cue in movement.cues:
        typer.echo(f"{cue.priority}. {cue.heading}: {cue.target}")
        typer.echo(f"   Say: {cue.say}\n   Why: {cue.why}\n   Seen from: {', '.join(cue.views)}")
        typer.echo(f"   Source: {words.source_words(cue.source)}. {cue.source.text}")
    for card in movement.filming:
        typer.echo(f"\nFilm ({card.view}): {card.place}, {card.height}, {card.distance}; check that {card.check}.")
    for title, variants in (("Easier", movement.easier), ("Harder", movement.harder)):
        for variant in variants:
            typer.echo(f"{title}: {variant.name}. {variant.how}")
    for caution in movement.cautions:
        typer.echo(f"Mind: {caution}")
    print_caution()


def print_columns(rows: Sequence[Sequence[str]]) -> None:
    """Print rows of texts, each column as wide as its widest cell."""
    widths = [max(len(row[i]) for row in rows) for i in range(len(rows[0]))]
    for row in rows:
        typer.echo("  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip())


def print_caution() -> None:
    """Print the line that stands wherever somebody may act on what was printed."""
    from cuebook.movements import CAUTION

    typer.echo(CAUTION)
