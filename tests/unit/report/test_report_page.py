"""The feedback page as text: everything said in words, nothing fetched, nothing let through unescaped."""

from __future__ import annotations

import re
from dataclasses import replace
from html.parser import HTMLParser

import numpy as np
import pytest

from cuebook.model import Headline, Verdict
from cuebook.movements import list_movements, load_movement
from cuebook.movements.cautions import CAUTION, STOP_AND_GET_HELP
from cuebook.report.blocks import cue_blocks, filming_cards, missing_blocks, outcome_table, phase_table
from cuebook.report.choice import main_cue, signal_of
from cuebook.report.page import feedback_page
from cuebook.report.plan import plan_svg
from cuebook.report.stills import make_stills
from cuebook.report.trace import trace_svg
from cuebook.report.words import cue_title

VOID = {"meta", "img", "br", "rect", "path", "circle", "ellipse", "link"}


class _Page(HTMLParser):
    """Collects text, attributes and unbalanced tags."""

    def __init__(self, html):
        super().__init__()
        self.open, self.seen, self.words = [], [], []
        self.feed(html)

    def handle_starttag(self, tag, attrs):
        self.seen.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_endtag(self, tag):
        if tag not in VOID:
            assert self.open.pop() == tag

    def handle_data(self, data):
        if self.open and self.open[-1] != "style":
            self.words.append(data)

    @property
    def text(self):
        return " ".join(" ".join(self.words).split())


def _page(review, **more):
    return feedback_page(review, make_stills(review), **more)


@pytest.fixture
def any_review(request, make_review):
    return make_review(**request.param)


ANY = [{}, {"found": False}, {"view_name": "front"}, {"sides": "one", "prescribed": False, "doubtful": True}]


@pytest.mark.parametrize("any_review", ANY, indirect=True)
def test_every_page_is_whole_and_asks_for_nothing(any_review):
    html = _page(any_review)
    page = _Page(html)
    assert page.open == []
    assert ("html", {"lang": "en"}) in page.seen
    assert "http" not in html
    for tag, attrs in page.seen:
        for name in ("src", "href"):
            assert attrs.get(name, "data:").startswith("data:"), (tag, attrs[name][:40])
        if tag == "img":
            assert len(attrs["alt"]) > 20
        if tag == "svg":
            assert attrs["aria-label"]
    assert "script" not in {tag for tag, _ in page.seen}
    assert "@page" in html


@pytest.mark.parametrize("any_review", ANY, indirect=True)
def test_every_page_carries_headline_cautions_and_the_meaning_of_outcomes(any_review):
    text = _Page(_page(any_review)).text
    said = any_review.headline
    for part in (said.praise, said.fix, said.next, CAUTION, *STOP_AND_GET_HELP, *any_review.movement.cautions):
        assert part in text
    for word in ("met", "near: too close to call", "not met", "not measurable"):
        assert word in text
    assert "3.5 to 3.8 s" in text or not any_review.repetitions


def test_what_people_wrote_is_escaped(review):
    nasty = '<script>alert(1)</script> & "co"'
    marked = replace(review, headline=Headline(praise=nasty, fix=nasty, next=nasty), warnings=(nasty,))
    html = _page(marked, athlete=nasty)
    assert "<script" not in html
    assert nasty in _Page(html).text


def test_outcomes_stand_with_value_limit_source_and_count(review):
    depth, slow = cue_blocks(review)
    assert depth["outcome"] == "near: too close to call"
    assert depth["measured"] == "knee flexion 98° ± 4°"
    assert depth["asked"] == "95° or more"
    assert depth["count"] == "met in 2 of 4 reps"
    assert depth["source"] == "common practice of the trade"
    assert depth["title"] == "Depth"
    assert slow["say"] == review.movement.cues[1].praise
    assert slow["measured"].startswith("lowering 2.6")


def test_one_sided_movements_name_the_side(doubtful):
    assert cue_blocks(doubtful)[0]["title"] == "Depth, left"
    assert phase_table(doubtful)["sided"]


def test_a_cue_seen_in_one_repetition_only_is_told_as_such(review):
    kept = tuple(v for v in review.verdicts if v.cue != "depth" or v.repetition == 3)
    blocks = cue_blocks(replace(review, verdicts=kept))
    assert blocks[0]["count"] == "rep 3 only"


def test_a_count_of_repetitions_is_shown_though_it_is_no_cue_of_the_movement(review):
    slow = next(v for v in review.verdicts if v.cue == "lower-slowly" and v.repetition is None)
    limit = replace(slow.limit, low=8.0, high=None)
    count = replace(slow, cue="repetitions", unit="1", value=4.0, uncertainty=0.0, chance=0.0, outcome="not_met",
                    limit=limit, repetitions_met=None, repetitions_judged=None)  # fmt: skip
    block = cue_blocks(replace(review, verdicts=(*review.verdicts, count)))[-1]
    assert (block["title"], block["outcome"], block["measured"]) == ("Repetitions", "not met", "4")
    assert block["asked"] == "8 or more"


def test_what_could_not_be_measured_says_why_and_how_and_is_grouped(review, empty):
    (apart,) = missing_blocks(review)
    assert apart == {"title": "Knees apart", "reason": "filmed from the side", "refilm": review.movement.cues[2].refilm}
    titles = [b["title"] for b in missing_blocks(empty)]
    assert titles == ["Depth; Lower slowly", "Knees apart"]


def test_a_cue_read_in_one_repetition_stands_with_its_reason_too(review):
    """Whoever reads the page sees that the set has no verdict on it, although one repetition has."""
    reason, refilm = "only 1 of 4 repetitions could be read; in the others, the knee is hidden", "Film from the side."
    whole = next(v for v in review.verdicts if v.cue == "depth" and v.repetition is None)
    lost = replace(whole, outcome="not_measurable", value=None, chance=None, uncertainty=None, reason=reason,
                   refilm=refilm)  # fmt: skip
    kept = tuple(v for v in review.verdicts if v.cue != "depth" or v.repetition == 3)
    some = replace(review, verdicts=(*kept, lost))
    assert cue_blocks(some)[0]["count"] == "rep 3 only"
    assert missing_blocks(some)[0] == {"title": "Depth", "reason": reason, "refilm": refilm}
    text = _Page(_page(some)).text
    assert "Only 1 of 4 repetitions could be read" in text
    other = replace(whole, side="right", outcome="met", chance=0.99)
    assert missing_blocks(replace(some, verdicts=(*some.verdicts, other)))[0]["title"] == "Depth, left"


def test_a_pause_between_repetitions_is_rest_and_no_fault(review):
    """Asked as 0 s, the stay at the start end is nobody's fault; one at the turn still is."""
    text = _Page(_page(review)).text
    assert "No time was asked for the pause at the top: it is your rest between repetitions" in text
    lift = replace(review.movement, driver=replace(review.movement.driver, first="concentric"))
    assert phase_table(replace(review, movement=lift))["outcomes"][1] == "○ not met"
    assert phase_table(replace(review, movement=lift))["rest"] is None


def test_numbers_below_zero_have_a_real_minus(review):
    knee = review.motion.signals["left_knee_flexion"]
    signals = {**review.motion.signals, knee.name: replace(knee, values=knee.values - 60.0)}
    low = replace(main_cue(review).limit, low=-15.0, high=15.0)
    cues = (replace(review.movement.cues[0], limit=low), *review.movement.cues[1:])
    verdicts = tuple(replace(v, value=-3.2, limit=low) if v.cue == "depth" else v for v in review.verdicts)
    changed = replace(review, movement=replace(review.movement, cues=cues), verdicts=verdicts,
                      motion=replace(review.motion, signals=signals))  # fmt: skip
    text = _Page(_page(changed)).text
    minus = "\N{MINUS SIGN}"
    assert f"{minus}3° ± 4°" in text
    assert f"asked: {minus}15° to 15°" in text
    assert not re.search(r"(?<![\w-])-\d", text)


def test_the_card_that_is_needed_comes_first(review, empty):
    assert [c["view"] for c in filming_cards(review)] == ["from the front", "from the side"]
    assert [c["view"] for c in filming_cards(empty)] == ["from the side", "from the front"]


def test_the_tempo_table_has_the_prescription_every_rep_and_the_outcome(review, empty, doubtful):
    table = phase_table(review)
    assert table["words"] == ["lowering", "bottom pause", "lifting", "top pause"]
    assert table["asked"] == ["3 s", "1 s", "fast", "0 s"]
    assert table["rows"][0]["cells"][0] == ("2.6", "± 0.1")
    assert table["rows"][-1]["cells"][-1] == ("–", "")
    assert table["outcomes"] == ["● met", "● met", "● met", "– not judged"]
    assert "82 ± 5 %" in table["drift"]
    assert phase_table(empty) is None
    assert phase_table(doubtful)["asked"] is None
    assert phase_table(doubtful)["outcomes"] is None


def test_a_repetition_that_does_not_count_says_why(review):
    first, second, *rest = review.repetitions
    reps = (replace(first, complete=False, counted=False), replace(second, counted=False), *rest)
    rows = phase_table(replace(review, repetitions=reps))["rows"]
    assert [r["note"] for r in rows] == ["not complete", "not counted", "", ""]


def test_every_repetition_every_measured_cue_in_words(review, empty):
    table = outcome_table(review)
    assert table["titles"] == ["Depth", "Lower slowly"]
    assert [r["cells"][0]["word"] for r in table["rows"]] == ["met", "met", "near", "not met"]
    assert table["rows"][3]["cells"][0]["value"] == "84° ± 4°"
    assert outcome_table(empty) is None


def test_reasons_of_phases_are_told(review):
    tempo = replace(review.tempo, reasons={"eccentric_s": "the clip is slow motion"})
    assert phase_table(replace(review, tempo=tempo))["reasons"] == ["lowering: the clip is slow motion"]


def _numbers(svg, kind, key):
    return [float(m) for m in re.findall(rf'class="{kind}"[^>]*? {key}="([\d.-]+)"', svg)]


def test_the_trace_shows_repetitions_limit_and_marks_in_their_places(review):
    cue = main_cue(review)
    signal = signal_of(review, cue)
    svg = trace_svg(review, signal, cue)
    assert len(_numbers(svg, "rep", "x")) + len(_numbers(svg, "rep even", "x")) == 4
    marks = re.findall(r'class="(mark(?: full)?)" cx="([\d.]+)" cy="([\d.]+)"', svg)
    assert [m[0] for m in marks] == ["mark full", "mark full", "mark", "mark"]
    assert svg.count('class="half"') == 1
    x = [float(m[1]) for m in marks]
    np.testing.assert_allclose(np.diff(x), np.diff(x)[0], atol=0.2)
    heights = [float(m[2]) for m in marks]
    assert heights == sorted(heights)
    limit = float(re.search(r'class="limit" d="M[\d.]+ ([\d.]+)', svg).group(1))
    assert heights[1] < limit < heights[2]
    assert "asked: 95° or more" in svg


def test_the_line_breaks_where_nothing_was_measured(review):
    cue = main_cue(review)
    signal = signal_of(review, cue)
    values = signal.values.copy()
    values[100:150] = np.nan
    svg = trace_svg(review, replace(signal, values=values), None)
    assert svg.count('class="line"') == 2
    assert svg.count('class="spread"') == 2
    assert "nan" not in svg
    nothing = trace_svg(review, replace(signal, values=np.full_like(values, np.nan)), cue)
    assert 'class="line"' not in nothing


def test_a_long_clip_stays_small_and_doubts_are_hatched(make_review):
    review = make_review(doubtful=True)
    signal = signal_of(review, main_cue(review))
    times = np.arange(9000) / 30
    blank = np.full(9000, 2.0)
    long = replace(signal, times_s=times, values=40 + 30 * np.sin(times), noise=blank, shared=blank,
                   doubtful=None)  # fmt: skip
    svg = trace_svg(review, long, None)
    assert len(svg) < 40_000
    assert svg.count('class="doubt"') == 1


def test_turns_to_both_sides_have_a_band_each_and_marks_on_the_line(review):
    cue = replace(
        main_cue(review), measure="trunk_rotation", limit=replace(main_cue(review).limit, low=20.0, high=40.0)
    )
    first, second, *_ = review.repetitions
    reps = (replace(first, side="left"), replace(second, side="right"))
    swing = np.where(review.clip.times_s < first.end_s, 30.0, -30.0)
    signal = replace(signal_of(review, None), name="trunk_rotation", values=swing)
    svg = trace_svg(replace(review, repetitions=reps), signal, cue)
    assert svg.count('class="target"') == 2
    assert svg.count('class="limit"') == 4
    low, high = (float(m) for m in re.findall(r'class="mark full" cx="[\d.]+" cy="([\d.]+)"', svg))
    assert high > low + 50
    assert ">1 L<" in svg
    assert ">2 R<" in svg
    one_side = trace_svg(replace(review, repetitions=reps[:1]), signal, cue)
    assert one_side.count('class="target"') == 1


@pytest.mark.parametrize("name", list_movements())
def test_every_filming_card_of_the_library_has_a_plan(name):
    movement = load_movement(name)
    for card in movement.filming:
        assert plan_svg(card.view, lying=movement.family != "standing").startswith("<svg")
    assert plan_svg("unknown", lying=False) == ""


def test_facts_tell_a_second_person_and_a_lost_one(review):
    track = replace(review.track, others_seen=True)
    motion = replace(review.motion, found_fraction=0.8)
    text = _Page(_page(replace(review, track=track, motion=motion))).text
    assert "second person was seen" in text
    assert "found in 80 % of the pictures" in text
    proven = _Page(_page(replace(review, side_proven=True))).text
    assert "mirrored" not in proven


def test_all_verdicts_reach_the_page(review):
    """Every cue that has a verdict is named, measured or not."""
    text = _Page(_page(review)).text
    verdicts: tuple[Verdict, ...] = review.verdicts
    for name in {v.cue for v in verdicts}:
        assert cue_title(name, review.movement) in text


def test_a_trace_of_sides_in_turn_says_so(in_turn, review):
    said = "each with the side that was judged in it"
    assert said in _Page(_page(in_turn)).text
    assert said not in _Page(_page(review)).text


def test_a_signal_too_unsure_to_be_judged_is_shown_as_such(review):
    knee = review.motion.signals["left_knee_flexion"]
    unsure = replace(knee, largest_u=1.0)
    signals = {**review.motion.signals, knee.name: unsure}
    text = _Page(_page(replace(review, motion=replace(review.motion, signals=signals)))).text
    assert "it shows when you moved, not how far" in text
    assert "not how far" not in _Page(_page(review)).text
