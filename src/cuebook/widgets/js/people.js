// Who of two people is the athlete: a picture in which they stand apart, a click on one of them, or keys.
import { button, el, say } from "./dom.js";

const MARKS = "http://www.w3.org/2000/svg";
const drawn = (tag, attributes, text = "") => {
  const made = document.createElementNS(MARKS, tag);
  for (const [name, value] of Object.entries(attributes)) made.setAttribute(name, value);
  made.textContent = text;
  return made;
};

// A ring with a number around everybody found; the chosen one has a thick ring, so that colour carries nothing alone.
function ringsOver(found, still, chosen) {
  const unit = Math.max(found.width_px, found.height_px) / 100;
  const over = drawn("svg", { viewBox: `0 0 ${found.width_px} ${found.height_px}`, "aria-hidden": "true" });
  still.people.forEach((person, i) => {
    const r = Math.max(5 * unit, 0.34 * person.r);
    const ring = drawn("g", { class: i === chosen ? "cb-ring cb-ring-now" : "cb-ring" });
    for (const kind of ["cb-ring-edge", "cb-ring-line"]) ring.append(drawn("circle", { class: kind, cx: person.x, cy: person.y, r }));
    const size = (chosen < 0 ? 9 : 4.2) * unit, x = Math.min(found.width_px - size, person.x + r * 0.72), y = Math.max(size, person.y - r * 0.72);
    ring.append(drawn("circle", { class: "cb-ring-cap", cx: x, cy: y, r: size * 0.72 }));
    ring.append(drawn("text", { x, y: y + size * 0.36, "font-size": size, "text-anchor": "middle" }, String(i + 1)));
    over.append(ring);
  });
  return over;
}

export function makePeople({ model, shown, announce, chosen, signal }) {
  const kept = new Map(), asked = new Set();
  const dialog = el("dialog", { class: "cb-keys cb-people", "aria-label": "Who is the athlete?" });
  let row = null, at = 0, who = 0;

  const on = (msg, buffers) => {
    if (msg.type !== "people") return;
    const stills = (msg.stills || []).map((still, i) => ({
      ...still, url: URL.createObjectURL(new Blob([buffers[i]], { type: "image/jpeg" })) }));
    kept.set(msg.clip, { ...msg, stills });
    if (dialog.open && row?.clip === msg.clip) draw();
    shown(msg.clip);
  };
  model.on("msg:custom", on);
  signal.addEventListener("abort", () => {
    model.off("msg:custom", on);
    for (const { stills } of kept.values()) for (const still of stills) URL.revokeObjectURL(still.url);
  });

  function want(clip) {
    if (asked.has(clip)) return;
    asked.add(clip);
    model.send({ type: "people", clip });
  }

  // ---- what is chosen
  function choose(point) {
    const found = kept.get(row.clip), still = found.stills[at];
    const inside = (value, size) => Math.max(0, Math.min(size - 1, value)).toFixed(0);
    const text = `${inside(point.x, found.width_px)},${inside(point.y, found.height_px)}@${still.time_s}`;
    dialog.close();
    announce(`${row.file}: the one you pointed at is being followed; it takes about as long as the clip lasts.`);
    model.send({ type: "person", clip: row.clip, point: text });
    chosen();
  }
  const people = () => kept.get(row.clip)?.stills?.[at]?.people || [];
  function step(by) {
    const stills = kept.get(row.clip)?.stills || [];
    if (!stills.length) return;
    [at, who] = [(at + by + stills.length) % stills.length, 0];
    draw();
  }
  function turn(by) {
    const many = people().length;
    if (!many) return;
    who = (who + by + many) % many;
    draw();
  }
  const take = () => { if (people()[who]) choose(people()[who]); };

  // ---- the question
  function draw() {
    const found = kept.get(row.clip), title = el("h3", { text: `Who is the athlete in ${row.file}?` });
    const close = button("not now", () => dialog.close(), { key: "Esc" });
    if (!found || found.failed) {
      dialog.replaceChildren(title, el("p", { role: "status", text: found?.failed || "Looking for the people in the clip." }),
        el("div", { class: "cb-bar" }, close));
      return;
    }
    const still = found.stills[at], many = still.people.length;
    const picture = el("div", { class: "cb-people-picture" },
      el("img", { src: still.url, alt: `${row.file} at ${still.time_s.toFixed(1)} s`, draggable: "false" }), ringsOver(found, still, who));
    picture.style.aspectRatio = `${found.width_px} / ${found.height_px}`;
    picture.style.setProperty("--cb-ratio", found.width_px / found.height_px);
    picture.addEventListener("click", (e) => {
      const box = picture.getBoundingClientRect();
      const x = ((e.clientX - box.left) / box.width) * found.width_px, y = ((e.clientY - box.top) / box.height) * found.height_px;
      const near = still.people.find((p) => Math.hypot(p.x - x, p.y - y) < 0.4 * p.r);
      choose(near || { x, y });
    });
    const told = many > 1 ? `${many} people found; number ${who + 1} is marked.` : many === 1 ? "One person found here: click on the athlete, or show another picture."
      : "Nobody found here: click on the athlete, or show another picture.";
    dialog.replaceChildren(title,
      el("p", { text: "Click on the athlete, best in a picture in which they stand well apart. The one you choose is followed; from where somebody else comes too near nothing is judged." }),
      picture,
      el("p", { role: "status", class: "cb-people-told", text: `Picture ${at + 1} of ${found.stills.length}, at ${still.time_s.toFixed(1)} s. ${told}` }),
      el("div", { class: "cb-bar" },
        button(many ? `number ${who + 1} is the athlete` : "this one", take, { key: "Enter", disabled: !many }),
        button("next person", () => turn(1), { key: "→", disabled: many < 2 }),
        button("another picture", () => step(1), { key: ".", disabled: found.stills.length < 2 }), close));
    if (!dialog.contains(document.activeElement)) dialog.focus();
  }
  dialog.tabIndex = -1;
  dialog.addEventListener("keydown", (e) => {
    e.stopPropagation();
    if (e.altKey || e.ctrlKey || e.metaKey) return;
    const onButton = e.target.closest("button") && (e.key === " " || e.key === "Enter");
    const number = /^[1-9]$/.test(e.key) ? Number(e.key) - 1 : -1;
    if (onButton || e.key === "Tab") return;
    if (e.key === "Escape") dialog.close();
    else if (e.key === "ArrowRight" || e.key === "ArrowDown" || e.key === "c") turn(1);
    else if (e.key === "ArrowLeft" || e.key === "ArrowUp") turn(-1);
    else if (e.key === ".") step(1);
    else if (e.key === ",") step(-1);
    else if (e.key === "Enter") take();
    else if (number >= 0 && number < people().length) { who = number; draw(); } else return;
    e.preventDefault();
  });

  return {
    dialog,
    // The small picture in the row of a clip that needs this answer.
    inRow(asking) {
      want(asking.clip);
      const found = kept.get(asking.clip), still = found?.stills?.[0];
      const picture = still ? el("span", { class: "cb-people-small" },
        el("img", { src: still.url, alt: `${asking.file}: ${still.people.length} people found` }), ringsOver(found, still, -1)) : null;
      if (picture) picture.style.aspectRatio = `${found.width_px} / ${found.height_px}`;
      const words = found?.failed || (still ? "Who is the athlete?" : "Looking for the people …");
      return el("span", { class: "cb-people-ask" }, picture, button(words, (e) => { e.stopPropagation(); this.open(asking); }, { key: "C" }));
    },
    open(asking) {
      [row, at, who] = [asking, 0, 0];
      want(row.clip);
      draw();
      dialog.showModal();
      dialog.focus();
    },
  };
}
