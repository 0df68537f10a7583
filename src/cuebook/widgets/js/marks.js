// Marks on a still: each belongs to joints, so it stays right when the picture is shown at another size.
// Kinds are picked by number, joints by the letter that stands beside them in the picture, or by a click. Arrows, circles
// and words may stand at a free place: it hangs on a joint by an offset in trunk lengths, so that it moves with the joint.
import { button, el, keepFocus } from "./dom.js";
import { seconds } from "./time.js";

const KINDS = [["line", "line", 2], ["plumb", "plumb line", 1], ["angle", "angle", 3], ["arrow", "arrow", 2], ["circle", "circle", 1],
  ["text", "words", 1]];
const PARTS = ["shoulder", "elbow", "wrist", "hip", "knee", "ankle", "foot_index"];
const PLACES = [...PARTS.flatMap((p) => [`left_${p}`, `right_${p}`]), "mid_shoulder", "mid_hip"];
const LETTERS = "abcdefghijklmnop";
const LIGHT = "#ffce46", DARK = "#181c22";
const FREE = ["arrow", "circle", "text"];
const STEP = 0.05, START = { arrow: [0.6, -0.4], circle: [0.3, 0], text: [0.3, 0] };
const TO_SIDE = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
const plainName = (place) => place.replace("foot_index", "toes").replaceAll("_", " ");

export function makeMarks({ store, figure, box, over, saving, picture, announce, closed, aim }) {
  const { facts } = store, { unit } = figure;
  const marks = { on: false };
  let kind = 0, picked = [], words = "", free = null;   // free: offset of the cross from the joint, in trunk lengths

  function place(frame, name) {
    if (!name.startsWith("mid_")) return figure.point(frame, figure.mark[name]);
    const [a, b] = ["left", "right"].map((s) => figure.point(frame, figure.mark[`${s}_${name.slice(4)}`]));
    return [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2];
  }
  function trunk(frame) {
    const [s, h] = [place(frame, "mid_shoulder"), place(frame, "mid_hip")];
    return Math.hypot(s[0] - h[0], s[1] - h[1]) || facts.height / 4;
  }
  const here = (m) => Math.abs(m.at_s - store.time()) < 0.012;
  marks.now = () => store.live.marks.filter(here);

  function stroke(ctx, path) {
    for (const [colour, width] of [[DARK, 4.4 * unit], [LIGHT, 2.2 * unit]]) {
      ctx.strokeStyle = colour;
      ctx.lineWidth = width;
      ctx.beginPath();
      path();
      ctx.stroke();
    }
  }
  function label(ctx, text, x, y) {
    const size = Math.max(14, 0.045 * Math.min(facts.width, facts.height));
    ctx.font = `600 ${size}px "DejaVu Sans", system-ui, sans-serif`;
    const width = ctx.measureText(text).width + 8 * unit, height = size * 1.35;
    const left = Math.min(Math.max(0, x), facts.width - width), top = Math.min(Math.max(0, y - height / 2), facts.height - height);
    ctx.fillStyle = DARK;
    ctx.fillRect(left, top, width, height);
    ctx.fillStyle = LIGHT;
    ctx.textBaseline = "middle";
    ctx.textAlign = "left";
    ctx.fillText(text, left + 4 * unit, top + height / 2);
  }
  const drawn = {
    line(ctx, [a, b]) { stroke(ctx, () => { ctx.moveTo(...a); ctx.lineTo(...b); }); },
    plumb(ctx, [a]) { ctx.setLineDash([9 * unit, 5 * unit]); stroke(ctx, () => { ctx.moveTo(a[0], 0); ctx.lineTo(a[0], facts.height); }); ctx.setLineDash([]); },
    angle(ctx, [a, b, c], m) {
      const way = m.from_straight ? -1 : 1;       // a flexion is 0 where the first limb would go straight on
      const from = Math.atan2(way * (a[1] - b[1]), way * (a[0] - b[0])), to = Math.atan2(c[1] - b[1], c[0] - b[0]);
      const turn = to - from - 2 * Math.PI * Math.round((to - from) / (2 * Math.PI));
      const radius = 0.4 * Math.min(Math.hypot(a[0] - b[0], a[1] - b[1]), Math.hypot(c[0] - b[0], c[1] - b[1]));
      stroke(ctx, () => { ctx.moveTo(...a); ctx.lineTo(...b); ctx.lineTo(...c); });
      if (m.from_straight) {
        ctx.setLineDash([6 * unit, 5 * unit]);
        stroke(ctx, () => { ctx.moveTo(...b); ctx.lineTo(b[0] + 1.25 * radius * Math.cos(from), b[1] + 1.25 * radius * Math.sin(from)); });
        ctx.setLineDash([]);
      }
      stroke(ctx, () => ctx.arc(b[0], b[1], radius, from, from + turn, turn < 0));
      const side = Math.cos(from + turn / 2) > 0 ? 1 : -1;
      label(ctx, m.angle ? m.angle.words : "not measured", b[0] + (side > 0 ? radius + 8 * unit : -radius - 150 * unit), b[1]);
    },
    arrow(ctx, points, m, frame) {
      const [a] = points, size = trunk(frame);
      const b = points[1] || [a[0] + m.to[0] * size, a[1] + m.to[1] * size];
      const way = Math.atan2(b[1] - a[1], b[0] - a[0]), tip = 13 * unit;
      stroke(ctx, () => {
        ctx.moveTo(...a); ctx.lineTo(...b);
        for (const turn of [2.6, -2.6]) { ctx.moveTo(...b); ctx.lineTo(b[0] + tip * Math.cos(way + turn), b[1] + tip * Math.sin(way + turn)); }
      });
    },
    circle(ctx, [a], m, frame) {
      const [dx, dy] = m.to || [0, 0], size = trunk(frame);
      stroke(ctx, () => ctx.arc(a[0] + dx * size, a[1] + dy * size, (m.size || 0.15) * size, 0, 2 * Math.PI));
    },
    text(ctx, [a], m, frame) {
      const [dx, dy] = m.to || [0.2, 0];
      label(ctx, m.text || "", a[0] + dx * trunk(frame), a[1] + dy * trunk(frame));
    },
  };

  // Draws the marks of the frame in view over the lines that are there already.
  marks.draw = (canvas) => {
    const ctx = canvas.getContext("2d");
    ctx.setTransform(canvas.width / facts.width, 0, 0, canvas.height / facts.height, 0, 0);
    ctx.lineCap = ctx.lineJoin = "round";
    for (const m of marks.now()) {
      const points = m.joints.map((j) => place(store.frame, j));
      if (points.every((p) => p[0] === p[0])) drawn[m.kind](ctx, points, m, store.frame);
    }
    if (marks.on && canvas === over) { letters(ctx); if (free && picked.length) cross(ctx); }
  };
  function cross(ctx) {
    const a = place(store.frame, picked[0]), size = trunk(store.frame), reach = 9 * unit;
    const [x, y] = [a[0] + free[0] * size, a[1] + free[1] * size];
    ctx.setLineDash([3 * unit, 3 * unit]);
    stroke(ctx, () => { ctx.moveTo(...a); ctx.lineTo(x, y); });
    ctx.setLineDash([]);
    stroke(ctx, () => { ctx.moveTo(x - reach, y); ctx.lineTo(x + reach, y); ctx.moveTo(x, y - reach); ctx.lineTo(x, y + reach); });
  }
  function letters(ctx) {
    const size = Math.max(0.036 * Math.min(facts.width, facts.height), 10 * facts.width / (over.clientWidth || facts.width));
    ctx.font = `700 ${size}px "DejaVu Sans", system-ui, sans-serif`;
    ctx.textAlign = "center";
    ctx.textBaseline = "middle";
    const taken = [];
    PLACES.forEach((name, i) => {
      const joint = place(store.frame, name);
      if (!(joint[0] === joint[0])) return;
      const [x, y] = beside(name, joint, size, taken);
      taken.push([x, y]);
      ctx.strokeStyle = picked.includes(name) ? LIGHT : DARK;
      ctx.lineWidth = 1.4 * unit;
      ctx.beginPath();
      ctx.moveTo(...joint);
      ctx.lineTo(x, y);
      ctx.stroke();
      ctx.beginPath();
      ctx.arc(x, y, size * 0.72, 0, 2 * Math.PI);
      ctx.fillStyle = picked.includes(name) ? LIGHT : DARK;
      ctx.fill();
      ctx.fillStyle = picked.includes(name) ? DARK : "#fff";
      ctx.fillText(LETTERS[i], x, y + 0.5);
    });
    ctx.textAlign = "left";
  }
  // The nearest place beside a joint whose letter covers no other: sideways first, above for the middle of the body.
  function beside(name, [jx, jy], size, taken) {
    const first = name.startsWith("right") ? 0 : name.startsWith("left") ? Math.PI : -Math.PI / 2;
    for (const reach of [1.05, 1.9, 2.8, 3.7]) {
      for (const turn of [0, 0.6, -0.6, 1.2, -1.2, 1.9, -1.9, 2.5, -2.5, Math.PI]) {
        const x = jx + reach * size * Math.cos(first + turn), y = jy + reach * size * Math.sin(first + turn);
        const inside = x > size && x < facts.width - size && y > size && y < facts.height - size;
        if (inside && taken.every(([tx, ty]) => Math.hypot(tx - x, ty - y) > 1.5 * size)) return [x, y];
      }
    }
    return [jx, jy];
  }

  const title = (text) => `${text[0].toUpperCase()}${text.slice(1)}`;
  const canBeFree = () => FREE.includes(KINDS[kind][0]);
  function pick(name) {
    if (picked.at(-1) === name) return;
    if (free) { picked = [name]; aimWords(); redraw(); return; }
    const [id, , needed] = KINDS[kind];
    if (picked.length === needed) picked = [];           // words are waited for: they go to the joint picked last
    picked.push(name);
    if (picked.length === needed) {
      if (id === "text" && !words) { redraw(); toWords(); return; }
      put(id === "text" ? [0.2, 0] : null);
    }
    redraw();
  }
  function put(to) {
    const [id, text] = KINDS[kind], far = free !== null;
    saving.edit({ kind: "mark", mark_kind: id, at_s: aim(), joints: picked, to, size: id === "circle" ? 0.15 : null,
      text: id === "text" ? words : null });
    announce(`${title(text)} at ${picked.map(plainName).join(", ")}${far ? " and a free place" : ""}. U takes it back.`);
    picked = [];
    words = "";
    free = null;
  }
  // A cross beside a joint, picked before or after, that the arrow keys move.
  function aimFree() {
    if (!canBeFree()) { announce("An arrow, a circle or words can stand at a free place: 4, 5 or 6 first."); return; }
    picked = picked.slice(0, 1);
    free = [...START[KINDS[kind][0]]];
    if (picked.length) aimWords(); else announce("Pick the joint that the free place hangs on.");
    redraw();
  }
  const aimWords = () => announce("The cross is the free place: arrow keys move it, Shift for larger steps, Enter sets it, Esc leaves.");
  function nudge([dx, dy], large) {
    const by = STEP * (large ? 4 : 1);
    free = [Math.round((free[0] + by * dx) * 100) / 100, Math.round((free[1] + by * dy) * 100) / 100];
    redraw();
  }
  function setFree() {
    if (!picked.length) { announce("Pick the joint first that the free place hangs on."); return; }
    if (KINDS[kind][0] === "text" && !words.trim()) { redraw(); toWords(); return; }
    put(free);
    redraw();
  }
  // After the click that set the place has given the keys to the desk.
  function toWords() {
    requestAnimationFrame(() => requestAnimationFrame(() => box.querySelector("input")?.focus({ preventScroll: true })));
  }
  function leaveFree() { free = null; picked = []; announce("No free place was set."); redraw(); }
  function redraw() {
    if (!marks.on) return;
    const [id, name, needed] = KINDS[kind];
    const input = el("input", { type: "text", "aria-label": "Words to write", placeholder: "words, then Enter", value: words,
      oninput: (e) => { words = e.target.value; },
      onkeydown: (e) => {
        e.stopPropagation();
        if (e.key === "Escape") marks.close();
        if (e.key === "Enter" && words.trim()) { const [joint] = picked; box.closest(".cb-desk").focus(); if (free) setFree(); else { picked = []; if (joint) pick(joint); else redraw(); } }
      } });
    const writing = document.activeElement?.matches("input") && box.contains(document.activeElement);
    keepFocus(box, () => box.replaceChildren(
      el("div", { class: "cb-cues-head" }, el("h3", { text: `Still at ${seconds(store.time())}` }),
        button("Done", () => marks.close(), { key: "Esc", class: "cb-small" })),
      el("div", { class: "cb-bar", role: "toolbar", "aria-label": "Kind of mark" },
        ...KINDS.map(([, text], i) => button(text, () => choose(i), { key: String(i + 1), pressed: i === kind, class: "cb-small" }))),
      el("p", { text: `${title(name)}: ${needed === 1 ? "pick a joint" : `pick ${needed} joints`}${id === "text" ? ", then type the words" : ""}${canBeFree() ? ", or X for a free place" : ""}${picked.length ? `; so far ${picked.map(plainName).join(", ")}` : ""}.` }),
      ...(canBeFree() ? [el("div", { class: "cb-bar", role: "toolbar", "aria-label": "Free place" },
        button("free place", aimFree, { key: "X", pressed: Boolean(free), class: "cb-small" }),
        ...(free && picked.length ? [...Object.entries(TO_SIDE).map(([key, way]) => button({ ArrowLeft: "left", ArrowRight: "right", ArrowUp: "up", ArrowDown: "down" }[key],
          () => nudge(way, true), { key: { ArrowLeft: "←", ArrowRight: "→", ArrowUp: "↑", ArrowDown: "↓" }[key], class: "cb-small" })),
        button("set it here", setFree, { key: "Enter", class: "cb-small" }), button("leave it", leaveFree, { key: "Esc", class: "cb-small" })] : [])) ] : []),
      ...(id === "text" && picked.length ? [input] : []),   // not before: letters pick joints until then
      el("div", { class: "cb-places", role: "group", "aria-label": "Joints" },
        ...PLACES.map((p, i) => button(plainName(p), () => pick(p), { key: LETTERS[i], pressed: picked.includes(p), class: "cb-small" }))),
      el("ul", { "aria-label": "Marks on this still" }, ...marks.now().map((m) => el("li", { "data-mark": m.id },
        el("span", { text: `${KINDS.find((k) => k[0] === m.kind)[1]}: ${m.joints.map(plainName).join(", ")}${m.to && (m.kind !== "text" || m.to[0] !== 0.2 || m.to[1] !== 0) ? ", free place" : ""}${m.text ? ` "${m.text}"` : ""}${m.angle ? ` ${m.angle.words}` : ""}` }),
        button("Take out", () => { saving.edit({ kind: "drop_mark", mark: m.id }); announce("Mark taken out. U brings it back."); }, { class: "cb-small" })))),
      button("Save this picture", save, { key: "Enter" })));
    if (writing && input.isConnected) input.focus({ preventScroll: true });
    picture();
  }
  marks.redraw = redraw;

  // The picture as it is seen, without the letters.
  async function save() {
    const video = box.closest(".cb-desk").querySelector("video"), canvas = document.createElement("canvas");
    [canvas.width, canvas.height] = [facts.width, facts.height];
    const ctx = canvas.getContext("2d");
    if (facts.flipped) { ctx.translate(facts.width, 0); ctx.scale(-1, 1); }
    ctx.drawImage(video, 0, 0, facts.width, facts.height);
    const lines = document.createElement("canvas");
    [lines.width, lines.height] = [facts.width, facts.height];
    picture(lines);
    ctx.setTransform(1, 0, 0, 1, 0, 0);
    ctx.drawImage(lines, 0, 0);
    const blob = await new Promise((done) => canvas.toBlob(done, "image/jpeg", 0.9));
    saving.still(store.time(), await blob.arrayBuffer());
  }

  function choose(i) { kind = i; picked = []; words = ""; free = null; redraw(); }
  marks.open = () => {
    marks.on = true;
    picked = [];
    words = "";
    free = null;
    box.hidden = false;
    redraw();
    announce("Pick a kind by number and joints by letter; Enter saves the picture, Esc leaves.");
  };
  marks.close = () => {
    marks.on = false;
    picked = [];
    free = null;
    box.hidden = true;
    announce("The still is left; its marks are kept.");
    closed();
    picture();
  };
  // Keys of the still come first; true where one was used.
  marks.key = (e) => {
    if (!marks.on || e.ctrlKey || e.metaKey) return false;
    if (free && TO_SIDE[e.key]) { nudge(TO_SIDE[e.key], e.shiftKey); return true; }
    if (e.shiftKey) return false;
    if (free && (e.key === "Enter" || e.key === "Escape")) { if (e.key === "Enter") setFree(); else leaveFree(); return true; }
    const i = LETTERS.indexOf(e.key), number = "123456".indexOf(e.key);
    if (e.key === "Escape") marks.close();
    else if (e.key === "Enter") save();
    else if (e.key === "Backspace") { picked.pop(); free = null; redraw(); }
    else if (e.key.length === 1 && number >= 0) choose(number);
    else if (e.key.length === 1 && i >= 0) pick(PLACES[i]);
    else if (e.key === "x") aimFree();
    else return false;
    return true;
  };
  // A click means the joint it hits, else a free place that hangs on the joint picked already, or on the nearest one.
  marks.click = (x, y) => {
    if (!marks.on) return false;
    const near = PLACES.map((p) => [p, place(store.frame, p)]).map(([p, q]) => [p, Math.hypot(q[0] - x, q[1] - y), q])
      .filter(([, d]) => d === d).sort((a, b) => a[1] - b[1])[0];
    if (!near) return true;
    if (near[1] < 0.05 * facts.height) { pick(near[0]); return true; }
    if (!canBeFree()) return true;
    if (!picked.length) picked = [near[0]];
    const a = place(store.frame, picked[0]), size = trunk(store.frame);
    free = [(x - a[0]) / size, (y - a[1]) / size].map((v) => Math.round(v * 100) / 100);
    setFree();
    return true;
  };
  return marks;
}
