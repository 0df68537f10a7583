// Notes at an instant or on a repetition, tied to a joint and a cue, with how much they weigh.
import { button, el } from "./dom.js";
import { seconds } from "./time.js";

const WEIGHTS = [["remark", "remark"], ["change", "to change"], ["praise", "praise"], ["stop", "stop: safety"]];

export function makeNotes({ store, box, writing, saving, go, leave, announce, aim }) {
  const { facts } = store;
  const joints = facts.landmarks.filter((n) => !/heel|foot|nose/.test(n)).map((n) => [n, n.replaceAll("_", " ")]);
  const choice = (label, options) => el("select", { "aria-label": label, onchange: typed },
    ...options.map(([value, text]) => el("option", { value, text })));
  const text = el("input", { type: "text", class: "cb-note-text", "aria-label": "Note", autocomplete: "off",
    placeholder: "Note at this instant", oninput: typed, onkeydown: onKey });
  const tied = choice("Tied to", [["instant", "this instant"], ["repetition", "the repetition"]]);
  const weight = choice("Kind of note", WEIGHTS);
  const cue = choice("Cue", [["", "no cue"], ...facts.cues.map((c) => [c.name, c.title])]);
  const joint = choice("Joint", [["", "no joint"], ...joints]);
  const hint = el("p", { class: "cb-hint", role: "status" });
  const form = el("div", { class: "cb-note-form", role: "group", "aria-label": "New note" }, text, tied, weight, cue, joint,
    button("Keep note", () => done(), { key: "Enter" }), button("Leave", () => cancel(), { key: "Esc" }), hint);
  form.hidden = true;
  const list = el("ol", { class: "cb-note-list", "aria-label": "Notes" });
  writing.append(form);                                // beside the picture, so that it stays in sight
  box.append(list);
  let at = 0, editing = null, timer = null;

  function fields() {
    const rep = store.rep(at);
    return { text: text.value.trim(), at_s: tied.value === "instant" ? at : null, repetition: rep ? rep.id : null,
      joint: joint.value || null, cue: cue.value || null, severity: weight.value };
  }
  const halfNote = () => ({ ...fields(), text: text.value, at_s: at, tied: tied.value, editing });
  function typed() {
    clearTimeout(timer);
    saving.half(halfNote());
    timer = setTimeout(() => saving.keep({ half_note: halfNote() }), 250);
    hint.textContent = offer() ? `Tab: ${offer().say}` : "";
  }
  // Two letters of a cue bring its sentence.
  function offer() {
    const short = text.value.trim().toLowerCase();
    if (short.length !== 2) return null;
    return facts.cues.find((c) => c.title.toLowerCase().startsWith(short) || letters(c.title) === short) || null;
  }
  const letters = (title) => title.toLowerCase().split(/\s+/).map((w) => w[0]).join("").slice(0, 2);

  function onKey(e) {
    e.stopPropagation();
    if (e.key === "Enter") { e.preventDefault(); done(); }
    else if (e.key === "Escape") { e.preventDefault(); cancel(); }
    else if (e.key === "Tab" && !e.shiftKey && offer()) {
      e.preventDefault();
      const found = offer();
      text.value = found.say;
      cue.value = found.name;
      typed();
    }
  }
  form.addEventListener("keydown", (e) => {
    if (e.key === "Escape") { e.stopPropagation(); cancel(); }
  });

  function close() {
    clearTimeout(timer);
    form.hidden = true;
    editing = null;
    text.value = "";
    saving.half(null);
    leave();
  }
  // The half-written note is forgotten together with the whole one being kept: never neither, never both.
  function done() {
    const note = fields();
    if (!note.text) { cancel(); return; }
    saving.edit(editing ? { kind: "change_note", note: editing, ...note } : { kind: "note", ...note },
      { keep: { half_note: null }, words: editing ? "Note changed." : `Note kept at ${seconds(at)}.` });
    close();
  }
  function cancel() { saving.keep({ half_note: null }); close(); }

  function open(values = {}) {
    at = values.at_s ?? aim();
    editing = values.editing || null;
    text.value = values.text || "";
    tied.value = values.tied || "instant";
    weight.value = values.severity || "remark";
    cue.value = values.cue || "";
    joint.value = values.joint || "";
    form.hidden = false;
    text.placeholder = `Note at ${seconds(at)}`;
    hint.textContent = "";
    text.focus({ preventScroll: true });
  }

  function row(note) {
    const rep = store.repetitions().find((r) => r.id === note.repetition);
    const of = facts.cues.find((c) => c.name === note.cue);
    const when = note.at_s === null ? (rep ? rep.turn_s : null) : note.at_s;
    const parts = [rep && `rep ${rep.number}`, of && of.title.toLowerCase(), note.joint && note.joint.replaceAll("_", " "),
      note.severity !== "remark" && WEIGHTS.find(([w]) => w === note.severity)?.[1]].filter(Boolean);
    return el("li", { "data-note": note.id, class: note.severity === "stop" ? "cb-stop" : null },
      button(note.at_s === null ? (rep ? `rep ${rep.number}` : "set") : seconds(note.at_s, 1), () => when !== null && go(when),
        { class: "cb-small", label: `Go to the note at ${seconds(when, 1)}` }),
      el("span", { class: "cb-note-words", text: note.text }),
      el("span", { class: "cb-note-ties", text: parts.join(", ") }),
      button("Change", () => open({ ...note, editing: note.id, tied: note.at_s === null ? "repetition" : "instant" }), { class: "cb-small" }),
      button("Take out", () => {
        saving.edit({ kind: "drop_note", note: note.id });
        announce("Note taken out; U brings it back.");
        leave();
      }, { class: "cb-small" }));
  }

  return {
    open: () => open(),
    // The last note again, here.
    again() {
      const last = [...store.live.notes].sort((a, b) => String(a.at).localeCompare(String(b.at))).at(-1);
      if (!last) { announce("There is no note to repeat yet."); return; }
      const rep = store.rep(aim());
      saving.edit({ kind: "note", text: last.text, at_s: aim(), repetition: rep ? rep.id : null, joint: last.joint,
        cue: last.cue, severity: last.severity });
      announce(`Noted again at ${seconds(aim())}: ${last.text}`);
    },
    redraw() { list.replaceChildren(...store.live.notes.map(row)); },
    // Of the note being typed the browser has the last letters, the record what another browser typed.
    restore(kept) {
      const half = saving.halfKept() || kept;
      if (half && half.text) open({ ...half, tied: half.tied || "instant" });
    },
    // A note that was refused is put back into the form, unless another one is being typed.
    back(note) { if (form.hidden) open({ ...note, editing: note.note || null, tied: note.at_s === null ? "repetition" : "instant", at_s: note.at_s ?? aim() }); },
    typing: () => !form.hidden,
  };
}
