"""What the browser keeps until the kernel has it: nothing overtaken, nothing dropped, nothing written over."""

from __future__ import annotations

import json

import pytest

from cuebook.widgets.assets import joined

pytestmark = [pytest.mark.browser, pytest.mark.timeout(60)]

FAKE = """
window.makeModel = () => {
    const heard = [];
    const model = { sent: [], cut: false,
        on: (_name, call) => heard.push(call), off: (_name, call) => heard.splice(heard.indexOf(call), 1),
        send: message => { if (model.cut) throw new Error('the line is cut'); model.sent.push(message); },
        answer: (i, more = {}) => heard.slice().forEach(
            call => call({ type: 'done', key: model.sent[i].key, ...more })),
    };
    return model;
};
window.open1 = (name = 'clip:squat') => {
    const model = makeModel(), said = [];
    const saving = makeSaving({ model, name, told: t => said.push(t), shown: (state, words) => said.push(state),
        refused: (words, edit) => said.push([words, edit.text]) });
    saving.again();
    return { model, saving, said };
};
"""
TEXTS = "sent => sent.filter(m => m.type === 'edit').map(m => m.edit.text)"


@pytest.fixture
def page(browser):
    """An empty page with a storage of its own and the part of the desk that saves."""
    context = browser.new_context()
    page = context.new_page()
    page.route("http://desk.test/", lambda route: route.fulfill(content_type="text/html", body="<p>desk</p>"))
    page.goto("http://desk.test/")
    page.add_script_tag(content=joined("saving.js"))
    page.add_script_tag(content=FAKE)
    yield page
    context.close()


def sent(page, name: str = "one") -> list[str]:
    """Texts of the notes that were sent, in order, each as often as it was."""
    return page.evaluate(f"({TEXTS})({name}.model.sent)")


def note(page, text: str, name: str = "one") -> None:
    page.evaluate(f"t => {name}.saving.edit({{kind: 'note', text: t}}, {{words: `kept ${{t}}`}})", text)


def test_changes_are_sent_in_order_and_none_overtakes_one_that_failed(page):
    page.evaluate("window.one = open1()")
    for text in ("a", "b", "c"):
        note(page, text)
    assert sent(page) == ["a"], "the next one waits for the answer"
    page.evaluate("one.model.answer(0, {failed: 'The disk is full.'})")
    assert sent(page) == ["a"]
    page.wait_for_function("one.model.sent.length === 2", timeout=10_000)
    assert sent(page) == ["a", "a"], "the one that failed is sent again first"
    page.evaluate("one.model.answer(1)")
    page.evaluate("one.model.answer(2)")
    assert sent(page) == ["a", "a", "b", "c"]
    assert page.evaluate("one.saving.pending()") == 1
    page.evaluate("one.model.answer(3)")
    assert page.evaluate("[one.saving.pending(), localStorage.length]") == [0, 0]
    assert "kept c" in page.evaluate("one.said")


def test_nothing_is_said_to_be_kept_before_it_is(page):
    page.evaluate("window.one = open1()")
    note(page, "a")
    assert page.evaluate("one.said") == ["saved", "saving"]
    page.evaluate("one.model.answer(0)")
    assert page.evaluate("one.said") == ["saved", "saving", "saved", "kept a"]


def test_a_cut_line_keeps_everything_and_the_next_desk_sends_it(page):
    page.evaluate("window.one = open1()")
    page.evaluate("one.model.cut = true")
    note(page, "typed while the kernel was dead")
    note(page, "and another")
    page.evaluate("one.saving.stop()")
    page.reload()
    page.add_script_tag(content=joined("saving.js"))
    page.add_script_tag(content=FAKE)
    page.evaluate("window.two = open1()")
    page.evaluate("two.model.answer(0)")
    page.evaluate("two.model.answer(1)")
    assert sent(page, "two") == ["typed while the kernel was dead", "and another"]
    assert page.evaluate("[two.saving.pending(), localStorage.length]") == [0, 0]


def test_two_views_of_one_desk_never_write_over_each_other(page):
    page.evaluate("window.one = open1(); window.two = open1()")
    note(page, "from one")
    note(page, "from two", "two")
    page.evaluate("one.model.answer(0)")
    page.evaluate("window.three = open1()")
    assert sent(page, "three") == ["from two"], "what the second view waits for is still there"
    page.evaluate("window.other = open1('another:squat')")
    assert sent(page, "other") == [], "another clip has its own"


def test_an_answer_that_is_lost_makes_it_send_the_same_key_again(page):
    page.clock.install()
    page.evaluate("window.one = open1()")
    note(page, "a")
    page.clock.fast_forward(6_000)
    keys = page.evaluate("one.model.sent.map(m => m.key)")
    assert len(keys) == 2
    assert len(set(keys)) == 1


def test_a_refused_note_is_handed_back_with_its_text(page):
    page.evaluate("window.one = open1()")
    note(page, "Heels down.")
    page.evaluate("one.model.answer(0, {refused: 'There is no repetition 7.'})")
    assert page.evaluate("one.said.at(-1)") == ["There is no repetition 7.", "Heels down."]
    assert page.evaluate("localStorage.length") == 0


def test_the_note_being_typed_is_kept_with_every_letter(page):
    page.evaluate("window.one = open1()")
    page.evaluate("one.saving.half({text: 'half a tho'})")
    page.reload()
    page.add_script_tag(content=joined("saving.js"))
    page.add_script_tag(content=FAKE)
    page.evaluate("window.two = open1()")
    assert json.loads(page.evaluate("JSON.stringify(two.saving.halfKept())")) == {"text": "half a tho"}
    page.evaluate("two.saving.half(null)")
    assert page.evaluate("localStorage.length") == 0
