// Small makers of elements.

export function el(tag, attributes = {}, ...children) {
  const made = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) {
    if (value === null || value === undefined || value === false) continue;
    if (name === "class") made.className = value;
    else if (name === "text") made.textContent = value;
    else if (name.startsWith("on")) made.addEventListener(name.slice(2), value);
    else made.setAttribute(name, value === true ? "" : value);
  }
  made.append(...children.filter((c) => c !== null && c !== undefined));
  return made;
}

export function button(words, run, { key = null, label = null, pressed = null, ...more } = {}) {
  const cap = key ? el("kbd", { "aria-hidden": "true", text: key }) : null;
  return el("button", {
    type: "button", "aria-label": label, "aria-pressed": pressed === null ? null : String(pressed),
    onclick: run, ...more,
  }, el("span", { text: words }), cap);
}

// Writes only what differs, so that a status line is not announced anew each frame.
export function say(node, text) {
  if (node.textContent !== text) node.textContent = text;
}

const nameOf = (node) => node.getAttribute("aria-label") || node.textContent;

// Draws a part anew; who worked in it by keyboard goes on at the same button, or at the desk where that is gone.
export function keepFocus(box, draw) {
  const held = box.contains(document.activeElement) ? nameOf(document.activeElement) : null;
  draw();
  if (held === null || box.contains(document.activeElement)) return;
  const same = [...box.querySelectorAll("button")].find((b) => nameOf(b) === held && !b.disabled);
  (same || box.closest(".cb-desk"))?.focus({ preventScroll: true });
}
