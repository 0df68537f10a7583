"""Find, read and check movement files."""

from __future__ import annotations

import logging
import tomllib
from pathlib import Path

from cuebook.errors import ModelError, MovementError, UnknownName
from cuebook.measures import measures
from cuebook.model import Cue, Driver, FilmingCard, Limit, Movement, Source, Variant

from . import vocabulary
from .lines import line_numbers
from .reader import Table

LONGEST_SENTENCE_WORDS = 10
"""What an athlete keeps in mind from one sentence while moving; a house choice."""

_MOVEMENT_KEYS = (
    *("title", "family", "patterns", "sides", "views", "long_end", "short_end", "faults", "substitutes", "cautions"),
    *("source", "driver", "cue", "easier", "harder", "filming"),
)
_DRIVER_KEYS = (
    *("signal", "first", "turn", "min_swing", "shortest_rep_s", "longest_rep_s"),
    *("second_signal", "second_min_swing"),
)
_CUE_KEYS = (
    *("name", "measure", "event", "limb", "low", "high", "target", "margin", "say", "praise", "why", "priority"),
    *("views", "refilm", "safety", "source", "title"),
)
_CARD_KEYS = ("view", "place", "height", "distance", "orientation", "check")

_log = logging.getLogger(__name__)


def list_movements(*, workspace: Path | None = None) -> tuple[str, ...]:
    """Return the names of all movements, sorted.

    Parameters
    ----------
    workspace : Path or None
        A coach's folder, whose ``movements/`` is added to those that come with the package.

    Raises
    ------
    MovementError
        If a file of the workspace has the name of a movement of the package.
    """
    return tuple(sorted(_files(workspace)))


def load_movement(name_or_path: str | Path, *, workspace: Path | None = None) -> Movement:
    """Read a movement by its name, or from a file.

    Parameters
    ----------
    name_or_path : str or Path
        Name of a movement, or the path of a TOML file.
    workspace : Path or None
        A coach's folder with movements of their own.

    Raises
    ------
    UnknownName
        If there is no movement of that name.
    MovementError
        If the file cannot be read or is not valid; the message names the line.
    """
    if str(name_or_path).endswith(".toml"):
        return check_movement(Path(name_or_path))
    files = _files(workspace)
    if str(name_or_path) not in files:
        raise UnknownName("movement", str(name_or_path), files)
    return check_movement(files[str(name_or_path)])


def check_movement(path: Path) -> Movement:
    """Read one movement file and check all of it.

    Parameters
    ----------
    path : Path
        The TOML file; its name without the ending is the name of the movement.

    Raises
    ------
    MovementError
        One sentence with file and line: not TOML, unknown key, unknown measure, missing part, value out of range.
    """
    path = Path(path)
    if not path.exists():
        raise MovementError(f"There is no file {path}: check the name and the folder.")
    try:
        text = path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise MovementError(f"{path.name} cannot be read as a text file, check its path and its rights.") from error
    try:
        values = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise MovementError(f"{path.name} is not valid TOML: {str(error).rstrip('.')}.") from error
    table = Table(values, (), path.name, line_numbers(text), "the movement")
    movement = _movement(table, name=path.stem)
    _log.debug("read movement %s with %d cues", movement.name, len(movement.cues))
    return movement


def _files(workspace: Path | None) -> dict[str, Path]:
    files = {p.stem: p for p in Path(__file__).parent.glob("*.toml")}
    own = sorted((workspace / "movements").glob("*.toml")) if workspace else []
    for path in own:
        if path.stem in files:
            raise MovementError(
                f"the movement '{path.stem}' comes with the package ({files[path.stem].name}) and stands again in "
                f"{path.parent.name}/{path.name}, give your own file another name."
            )
    return files | {p.stem: p for p in own}


def _movement(table: Table, *, name: str) -> Movement:
    table.only(*_MOVEMENT_KEYS)
    driver = _driver(table.child("driver", label="the driver"))
    cues = tuple(_cue(t, driver=driver) for t in table.children("cue", label="the cue", required=True))
    movement = Movement(
        name=name,
        title=table.text("title"),
        family=table.choice("family", vocabulary.FAMILIES),
        patterns=table.words("patterns", known=vocabulary.PATTERNS),
        sides=table.choice("sides", vocabulary.SIDES),  # type: ignore[arg-type]
        driver=driver,
        views=table.words("views", known=vocabulary.VIEWS),
        cues=tuple(sorted(cues, key=lambda c: c.priority)),
        faults=table.words("faults"),
        easier=_variants(table, "easier"),
        harder=_variants(table, "harder"),
        substitutes=table.words("substitutes", required=False),
        filming=tuple(_card(t) for t in table.children("filming", label="the filming card", required=True)),
        cautions=table.words("cautions"),
        source=_source(table),
        long_end=table.text("long_end"),
        short_end=table.text("short_end"),
    )
    _check_whole(table, movement)
    return movement


def _check_whole(table: Table, movement: Movement) -> None:
    """Refuse what is only wrong when the parts are seen together."""
    seen: set[str] = set()
    filmed = {card.view for card in movement.filming}
    for i, raw in enumerate(table.values["cue"]):
        cue = movement.cue(raw["name"])
        if cue is None or cue.name in seen:
            table.refuse(f"the cue '{raw['name']}' stands twice, give each its own name", key="cue")
        seen.add(cue.name)
        if not filmed & set(cue.views):
            where = Table(raw, ("cue", i), table.file, table.places, "the cue")
            where.refuse(f"no filming card shows a view of the cue '{cue.name}' ({', '.join(cue.views)})", key="views")
    if not filmed & set(movement.views):
        table.refuse(f"no filming card shows a view of the movement ({', '.join(movement.views)})", key="views")


def _source(table: Table) -> Source:
    child = table.child("source", label=f"the source of {table.label}")
    child.only("kind", "text")
    kind = child.choice("kind", vocabulary.SOURCE_KINDS)
    return Source(kind=kind, text=child.text("text"))  # type: ignore[arg-type]


def _driver(table: Table) -> Driver:
    table.only(*_DRIVER_KEYS)
    shortest, longest = table.positive("shortest_rep_s"), table.positive("longest_rep_s")
    if longest <= shortest:
        table.refuse("'longest_rep_s' must be above 'shortest_rep_s'", key="longest_rep_s")
    second = "second_signal" in table.values or "second_min_swing" in table.values
    return Driver(
        signal=table.choice("signal", vocabulary.DRIVERS),
        first=table.choice("first", ("eccentric", "concentric")),  # type: ignore[arg-type]
        turn=table.choice("turn", ("high", "low", "either")),  # type: ignore[arg-type]
        min_swing=table.positive("min_swing"),
        rep_s=(shortest, longest),
        second_signal=table.choice("second_signal", vocabulary.DRIVERS) if second else None,
        second_min_swing=table.positive("second_min_swing") if second else None,
    )


def _cue(table: Table, *, driver: Driver) -> Cue:
    table.only(*_CUE_KEYS)
    measure = measures()[table.choice("measure", measures())]
    event = table.choice("event", vocabulary.EVENTS)
    if event not in measure.events:
        table.refuse(f"'{measure.name}' cannot be taken at '{event}', write {' or '.join(measure.events)}", key="event")
    if event == "second_turn" and driver.second_signal is None:
        table.refuse("'second_turn' needs a 'second_signal' in the driver", key="event")
    return Cue(
        name=table.text("name"),
        measure=measure.name,
        event=event,  # type: ignore[arg-type]
        limb=table.choice("limb", vocabulary.LIMBS),  # type: ignore[arg-type]
        limit=_limit(table),
        target=table.text("target"),
        margin=_margin(table),
        say=_sentence(table, "say"),
        praise=_sentence(table, "praise"),
        why=table.text("why"),
        priority=_priority(table),
        views=table.words("views", known=vocabulary.VIEWS),
        refilm=table.text("refilm"),
        source=_source(table),
        safety=table.flag("safety"),
        title=table.text("title", required=False),
    )


def _limit(table: Table) -> Limit:
    try:
        return Limit(low=table.number("low", required=False), high=table.number("high", required=False))
    except ModelError as error:
        key = "low" if "low" in table.values else None
        return table.refuse(f"{table.label}: {str(error).rstrip('.')}", key=key, cause=error)


def _margin(table: Table) -> float:
    margin = table.number("margin")
    if margin is None or margin < 0:
        table.refuse(f"'margin' must not be negative, but it is {margin:g}", key="margin")
    return margin


def _priority(table: Table) -> int:
    value = table.get("priority")
    if isinstance(value, bool) or not isinstance(value, int) or value < 1:
        table.refuse(f"'priority' must be a whole number from 1, but it is {value!r}", key="priority")
    return value


def _sentence(table: Table, key: str) -> str:
    sentence = table.text(key)
    count = len(sentence.split())
    if count > LONGEST_SENTENCE_WORDS:
        table.refuse(f"'{key}' has {count} words, keep it to {LONGEST_SENTENCE_WORDS}", key=key)
    return sentence


def _variants(table: Table, key: str) -> tuple[Variant, ...]:
    variants = []
    for child in table.children(key, label=f"the {key} variant"):
        child.only("name", "how")
        variants.append(Variant(name=child.text("name"), how=child.text("how")))
    return tuple(variants)


def _card(table: Table) -> FilmingCard:
    table.only(*_CARD_KEYS)
    return FilmingCard(
        view=table.choice("view", vocabulary.VIEWS),
        place=table.text("place"),
        height=table.text("height"),
        distance=table.text("distance"),
        orientation=table.choice("orientation", ("portrait", "landscape", "either")),
        check=table.text("check"),
    )
