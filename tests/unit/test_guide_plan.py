"""The values a tempo page works with, and the page as a file."""

from __future__ import annotations

import json
import re

from cuebook.guide.page import tempo_page
from cuebook.guide.plan import set_plan
from cuebook.movements import TempoMargins, load_movement, parse_tempo


def plan(tempo: str = "3-1-1-0", movement: str = "squat", repetitions: int = 4) -> dict:
    return set_plan(load_movement(movement), parse_tempo(tempo), repetitions)


def test_a_plan_is_json_and_carries_the_bands_of_the_margins() -> None:
    made = plan("3-1-X-0")
    assert json.loads(json.dumps(made)) == made
    margins = TempoMargins()
    for phase, slot in (("eccentric", 3.0), ("long_hold", 1.0), ("concentric", "X"), ("short_hold", 0.0)):
        band = margins.band(phase, slot)
        assert made["slots"][phase]["band"] == {"low": band.low, "high": band.high}
    assert made["slots"]["concentric"]["asked"] == "at most 1 s"
    assert made["slots"]["short_hold"]["asked"] == "no pause"


def test_the_ribbon_shows_the_phases_in_the_order_of_the_movement() -> None:
    assert [p["call"] for p in plan("3-1-1-0")["ribbon"]] == ["down", "hold", "up"]
    assert [p["call"] for p in plan("3-0-2-1", "glute-bridge")["ribbon"]] == ["up", "hold", "down"]


def test_only_words_that_are_spoken_are_sent() -> None:
    made = plan()
    assert set(made["words"]) == {b["word"] for b in made["beats"] if b["word"]}


def test_the_page_is_one_file_and_asks_nothing_of_a_network() -> None:
    html = tempo_page(plan(), athlete="Piet <Aalder>")
    assert not re.search(r"""(src|href)\s*=\s*["']?\s*(https?:)?//""", html)
    assert "https://" not in html
    assert "Piet &lt;Aalder&gt;" in html
    assert "Pain ends the set" in html
    assert "no medical advice" in html


def test_a_name_cannot_end_the_script() -> None:
    made = plan()
    made["summary"] = "</script><b>"
    assert "</script><b>" not in tempo_page(made)
