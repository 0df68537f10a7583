// One table of what can be done: every entry has a key and a button, and the list of keys is made of it.
import { button, el } from "./dom.js";

const SHOWN = { " ": "Space", ArrowLeft: "←", ArrowRight: "→", ArrowUp: "↑", ArrowDown: "↓", Delete: "Del", Escape: "Esc",
  PageUp: "Pg ↑", PageDown: "Pg ↓" };
export const keyName = (key) => (key === "+" ? "+"
  : key.split("+").map((k) => SHOWN[k] || (k.length === 1 ? k.toUpperCase() : k)).join(" "));

// "Shift+q" for a letter with shift, the bare key otherwise; characters that need shift to be typed stand for themselves.
function pressed(e) {
  const letter = e.key.length === 1 && /[a-z]/i.test(e.key);
  const key = letter ? e.key.toLowerCase() : e.key;
  const control = e.ctrlKey || e.metaKey ? "Ctrl+" : "";
  return control + (e.shiftKey && (letter || e.key.length > 1 || key === " ") ? "Shift+" : "") + key;
}

export function makeKeys({ root, groups, first, signal }) {
  const table = new Map();
  const made = [];
  for (const { actions } of groups) for (const a of actions) for (const k of a.keys) table.set(k, a);

  root.addEventListener("keydown", (e) => {
    if (e.altKey) return;
    const inField = e.target.matches("input, textarea, select");
    if (inField) { e.stopPropagation(); return; }
    const list = e.target.closest("dialog");
    if (list) {
      e.stopPropagation();
      if (["h", "?", "Escape"].includes(e.key)) { e.preventDefault(); list.close(); }
      return;
    }
    if (!e.target.closest("button") && first(e)) { e.preventDefault(); e.stopPropagation(); return; }
    const onButton = e.target.closest("button") && (e.key === " " || e.key === "Enter");
    const action = onButton ? null : table.get(pressed(e));
    if (e.key !== "Tab") e.stopPropagation();
    if (!action) return;
    e.preventDefault();
    if (e.repeat && !action.repeats) return;      // a key whose button rests still runs: it says why nothing happens
    action.run();
  }, { signal });

  function makeButton(action, small) {
    const b = button(action.words, () => { action.run(); if (!action.keepsFocus) root.focus({ preventScroll: true }); },
      { key: keyName(action.keys[0]), label: action.label || null, class: small ? "cb-small" : null,
        pressed: action.on ? action.on() : null, title: action.label || action.words });
    made.push([b, action]);
    return b;
  }

  return {
    bar: (name) => el("div", { class: "cb-bar", role: "toolbar", "aria-label": name },
      ...groups.filter((g) => g.bar === name).flatMap((g) => g.actions.filter((a) => !a.listed).map((a) => makeButton(a)))),
    list(close) {
      const body = groups.map((g) => el("section", {}, el("h4", { text: g.name }),
        el("ul", {}, ...g.actions.map((a) => el("li", {},
          el("span", { class: "cb-caps" }, ...a.keys.map((k) => el("kbd", { text: keyName(k) }))),
          button(a.label || a.words, () => { close(); a.run(); }, { class: "cb-plain" }))))));
      return el("div", { class: "cb-keys-body" }, ...body);
    },
    refresh() {
      for (const [b, a] of made) {
        if (a.on) b.setAttribute("aria-pressed", String(a.on()));
        if (a.can) b.disabled = !a.can();
        if (a.title) b.title = a.title();
      }
    },
  };
}
