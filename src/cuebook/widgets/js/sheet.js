// The contact sheet: a row per clip, one key per decision. Only the rows in view exist in the page.
import { button, el, say } from "./dom.js";
import { makeKeys } from "./keys.js";
import { makePeople } from "./people.js";

const ROW_PX = 92, SPARE_ROWS = 6;
const STATE_KEYS = { usable: "u", partly: "p", refilm: "f", wrong_movement: "w", duplicate: "d", damaged: "x", needs_answer: "q" };
const REASON_KEYS = ["1", "2", "3", "4", "5", "6", "7", "8", "9", "0", "a", "b"];
const COLUMNS = [
  ["place", "Order"], ["athlete", "Athlete"], ["movement", "Movement"], ["duration_s", "Length"], ["state", "State"],
];

function makeSheetStore(model) {
  const store = {
    order: [], at: 0, sort: "place", down: false, text: "", state: "", open: false,
    words: model.get("words"), longest: Math.max(1, ...model.get("rows").map((r) => r.duration_s)),
    all: () => model.get("rows"),
    standing: (row) => model.get("decisions")[row.clip] || null,
    stateOf: (row) => (model.get("decisions")[row.clip] || { state: row.proposed }).state,
    result: (row) => model.get("results")[row.file] || null,
    following: (row) => model.get("following")[row.clip] || "",
    row: () => store.all()[store.order[store.at]] || null,
    arrange() {
      const kept = store.row(), rows = store.all(), wanted = store.text.trim().toLowerCase();
      const value = (row) => (store.sort === "state" ? store.words.states[store.stateOf(row)] : row[store.sort]);
      store.order = rows.map((_, i) => i).filter((i) => {
        const row = rows[i];
        if (store.state === "open" ? store.standing(row) : store.state && store.stateOf(row) !== store.state) return false;
        return !wanted || `${row.file} ${row.athlete} ${row.movement} ${row.quality.join(" ")} ${row.urgency} ${row.message}`
          .toLowerCase().includes(wanted);
      });
      const keys = new Map(store.order.map((i) => [i, value(rows[i])]));
      store.order.sort((a, b) => {
        const x = keys.get(a), y = keys.get(b);
        const by = typeof x === "number" ? x - y : String(x).localeCompare(String(y));
        return (by || rows[a].place - rows[b].place) * (store.down ? -1 : 1);
      });
      const again = kept ? store.order.findIndex((i) => rows[i].clip === kept.clip) : -1;
      store.at = again >= 0 ? again : Math.min(store.at, Math.max(0, store.order.length - 1));
    },
    left: () => store.all().filter((row) => !store.standing(row)).length,
  };
  store.arrange();
  return store;
}

// Asks for the strips of the rows in view, those in the middle first, and keeps what came.
function makeStrips(model, shown, signal) {
  const kept = new Map(), asked = new Set();
  const on = (msg, buffers) => {
    if (msg.type !== "strip") return;
    kept.set(msg.clip, msg.failed ? { failed: msg.failed } : { url: URL.createObjectURL(new Blob([buffers[0]], { type: "image/jpeg" })) });
    shown(msg.clip);
  };
  model.on("msg:custom", on);
  signal.addEventListener("abort", () => {
    model.off("msg:custom", on);
    for (const { url } of kept.values()) if (url) URL.revokeObjectURL(url);
  });
  return {
    get: (clip) => kept.get(clip) || null,
    want(clips) {
      const fresh = clips.filter((c) => !asked.has(c));
      if (!fresh.length) return;
      fresh.forEach((c) => asked.add(c));
      model.send({ type: "strips", clips: fresh });
    },
  };
}

function fillRow(node, row, store, strips, people) {
  const strip = strips.get(row.clip), standing = store.standing(row), result = store.result(row);
  const state = store.words.states[store.stateOf(row)];
  const stills = strip && strip.url
    ? el("img", { src: strip.url, alt: `Five stills of ${row.file}`, width: 310, height: 78 })
    : el("span", { class: "cb-sheet-wait", text: strip ? strip.failed : "stills on their way" });
  const bar = el("span", { class: "cb-sheet-bar", "aria-hidden": "true" }, el("i"));
  bar.firstChild.style.width = `${(100 * row.duration_s) / store.longest}%`;
  const asking = store.stateOf(row) === "needs_answer" && row.asks.includes("person") ? people.inRow(row) : null;
  const following = store.following(row);
  const why = following || (standing
    ? `${standing.reason ? `${store.words.reasons[standing.reason]}; ` : ""}decided by ${standing.who}`
    : `proposed: ${result && row.unseen ? "by file and pictures alone" : row.why}`);
  node.replaceChildren(
    el("div", { class: "cb-sheet-stills" }, asking || stills),
    el("div", { class: "cb-sheet-who" }, el("b", { text: row.athlete || "whose?" }),
      el("span", { text: [row.movement || "which movement?", row.side].filter(Boolean).join(", ") }),
      el("small", { text: [row.captured, row.file].filter(Boolean).join(" · ") })),
    el("div", { class: "cb-sheet-length" }, bar, el("span", { text: `${row.duration_s.toFixed(0)} s` }),
      el("small", { text: row.quality.join(", ") })),
    el("div", { class: "cb-sheet-state" }, el("b", { class: standing ? "cb-decided" : "", text: state }),
      el("small", { class: result ? "cb-one-line" : "", text: why, title: why }),
      result ? el("small", { class: "cb-sheet-result", text: [result.words, result.more].filter((t) => t && t !== "nan").join(". ") }) : null),
    el("div", { class: "cb-sheet-more" }, el("span", { class: row.rank === 0 ? "cb-urgent" : "", text: row.urgency }),
      row.message ? el("small", { text: `“${row.message}”`, title: row.message }) : null),
  );
}

async function render({ model, el: host, signal }) {
  const ended = new AbortController();
  signal?.addEventListener("abort", () => ended.abort());
  const life = ended.signal, store = makeSheetStore(model);
  const root = el("div", { class: "cb-sheet", tabindex: 0, role: "application", "data-lm-suppress-shortcuts": "true",
    "aria-label": "Contact sheet. Arrow keys move, H shows the list of keys." });
  const body = el("div", { class: "cb-sheet-body", role: "grid", "aria-label": "Clips" });
  const space = el("div", { class: "cb-sheet-space" });
  const said = el("p", { class: "cb-said", role: "status", "aria-live": "polite" });
  const count = el("span", { class: "cb-sheet-count", role: "status" });
  const scoring = el("span", { class: "cb-sheet-scoring", role: "status" });
  const bar = el("progress", { max: 1, value: 0, hidden: true, "aria-label": "Scoring" });
  const list = el("dialog", { class: "cb-keys", "aria-label": "Keys" });
  const reasons = el("dialog", { class: "cb-keys cb-reasons", "aria-label": "Why film again" });
  body.append(space);
  const announce = (text) => say(said, text);
  const fresh = () => (crypto.randomUUID ? crypto.randomUUID() : `${Date.now()}-${Math.random()}`);

  const refill = (clip) => {
    for (const [i, node] of live) {
      const row = store.all()[store.order[i]];
      if (row && (!clip || row.clip === clip)) fillRow(node, row, store, strips, people);
    }
  };
  const strips = makeStrips(model, refill, life);
  const people = makePeople({ model, shown: refill, announce, signal: life, chosen: () => root.focus({ preventScroll: true }) });

  // ---- rows in view
  const live = new Map();
  let first = -1, last = -1;
  function view(force = false) {
    const from = Math.max(0, Math.floor(body.scrollTop / ROW_PX) - SPARE_ROWS);
    const to = Math.min(store.order.length - 1, Math.ceil((body.scrollTop + body.clientHeight) / ROW_PX) + SPARE_ROWS);
    if (!force && from === first && to === last) return;
    [first, last] = [from, to];
    for (const [i, node] of live) if (force || i < from || i > to) { node.remove(); live.delete(i); }
    const wanted = [];
    for (let i = from; i <= to; i += 1) {
      const row = store.all()[store.order[i]];
      wanted.push(row.clip);
      if (live.has(i)) continue;
      const node = el("div", { class: "cb-sheet-row", role: "row", "data-clip": row.clip });
      node.style.top = `${i * ROW_PX}px`;
      fillRow(node, row, store, strips, people);
      live.set(i, node);
      space.append(node);
    }
    const middle = (to - from) / 2;
    strips.want(wanted.map((clip, k) => [Math.abs(k - middle), clip]).sort((a, b) => a[0] - b[0]).map(([, clip]) => clip));
    mark();
  }
  function mark() {
    for (const [i, node] of live) node.setAttribute("aria-selected", String(i === store.at));
    root.dataset.at = store.at;
    root.dataset.clip = store.row()?.clip || "";
  }
  function redraw() {
    space.style.height = `${store.order.length * ROW_PX}px`;
    view(true);
    say(count, `${store.left()} of ${store.all().length} left to decide${store.order.length < store.all().length ? `, ${store.order.length} shown` : ""}`);
    for (const [name, node] of heads) {
      node.setAttribute("aria-sort", store.sort === name ? (store.down ? "descending" : "ascending") : "none");
    }
    keys.refresh();
  }
  function go(to) {
    store.at = Math.max(0, Math.min(store.order.length - 1, to));
    const top = store.at * ROW_PX;
    if (top < body.scrollTop) body.scrollTop = top;
    if (top + ROW_PX > body.scrollTop + body.clientHeight) body.scrollTop = top + ROW_PX - body.clientHeight;
    view();
    mark();
    const row = store.row();
    if (row) announce(`${row.athlete || "unknown athlete"}, ${row.movement || "unknown movement"}: ${store.words.states[store.stateOf(row)]}. ${row.urgency}`);
  }

  // ---- decisions
  function decide(state, reason = "") {
    const row = store.row();
    if (!row) return;
    const at = store.at;
    model.send({ type: "decide", clip: row.clip, state, reason, key: fresh() });
    go(at + 1);
    announce(`${row.file}: ${store.words.states[state]}${reason ? `, ${store.words.reasons[reason]}` : ""}. Z takes it back.`);
  }
  function askReason() {
    const row = store.row();
    if (!row) return;
    const choose = (reason) => { reasons.close(); root.focus({ preventScroll: true }); decide("refilm", reason); };
    reasons.replaceChildren(el("h3", { text: `Why film ${row.file} again?` }), el("div", { class: "cb-bar" },
      ...Object.entries(store.words.reasons).map(([reason, words], i) =>
        button(words, () => choose(reason), { key: REASON_KEYS[i].toUpperCase(), class: row.refilm[0] === reason ? "cb-likely" : null }))));
    reasons.onkeydown = (e) => {
      e.stopPropagation();
      const i = REASON_KEYS.indexOf(e.key.toLowerCase()), found = Object.keys(store.words.reasons)[i];
      if (found) { e.preventDefault(); choose(found); }
      if (e.key === "Escape") { e.preventDefault(); reasons.close(); root.focus({ preventScroll: true }); }
    };
    reasons.showModal();
  }
  const states = Object.entries(STATE_KEYS).map(([state, key]) => ({
    keys: [key], words: store.words.states[state], label: `Decide: ${store.words.states[state]}`,
    run: state === "refilm" ? askReason : () => decide(state), keepsFocus: state === "refilm", can: () => Boolean(store.row()),
  }));
  const going = () => Boolean(model.get("scoring").going);
  const keys = makeKeys({ root, signal: life, first: () => false, groups: [
    { name: "Decide about this clip", bar: "Decide", actions: states },
    { name: "Move", bar: "Move", actions: [
      { keys: ["ArrowUp", "k"], words: "clip before", label: "The clip before", run: () => go(store.at - 1), repeats: true },
      { keys: ["ArrowDown", "j"], words: "next clip", label: "The next clip; come back to this one later", run: () => go(store.at + 1), repeats: true },
      { keys: ["n"], words: "next undecided", label: "The next clip without a decision", run: nextOpen },
      { keys: ["z"], words: "take back", label: "Take the last decision back", run: () => model.send({ type: "undo", key: fresh() }) },
      { keys: ["c"], words: "who is it", label: "Say who of two people is the athlete", keepsFocus: true, run: () => { const row = store.row(); if (row) people.open(row); }, can: () => Boolean(store.row()) },
      { keys: ["Enter"], words: "desk", label: "Open the desk on this clip", run: () => { const row = store.row(); if (row) model.send({ type: "open", clip: row.clip }); }, can: () => Boolean(store.row()) },
      { keys: ["PageUp"], words: "page up", label: "A page up", listed: true, repeats: true, run: () => go(store.at - 5) },
      { keys: ["PageDown"], words: "page down", label: "A page down", listed: true, repeats: true, run: () => go(store.at + 5) },
      { keys: ["Home"], words: "first", label: "The first clip", listed: true, run: () => go(0) },
      { keys: ["End"], words: "last", label: "The last clip", listed: true, run: () => go(store.order.length - 1) },
    ] },
    { name: "The whole sheet", bar: "Sheet", actions: [
      { keys: ["s"], words: "score the rest", label: "Score every usable clip; goes on where it stopped", run: () => { if (!going()) model.send({ type: "score" }); }, can: () => !going() },
      { keys: ["Shift+s"], words: "stop scoring", label: "Stop scoring; what is done stays done", run: () => { if (going()) model.send({ type: "stop" }); }, can: going },
      { keys: ["/"], words: "find", label: "Find in the sheet", run: () => find.focus(), keepsFocus: true },
      { keys: ["h", "?"], words: "keys", label: "List of keys", keepsFocus: true, run: () => { list.replaceChildren(keys.list(() => list.close())); list.showModal(); } },
    ] },
  ] });
  function nextOpen() {
    const rows = store.all(), n = store.order.length;
    for (let k = 1; k <= n; k += 1) {
      const i = (store.at + k) % n;
      if (!store.standing(rows[store.order[i]])) return go(i);
    }
    announce("Every clip that is shown has a decision.");
  }

  // ---- sorting and filtering
  const arranged = () => { store.arrange(); redraw(); go(store.at); };
  const find = el("input", { type: "search", placeholder: "name, movement, quality", "aria-label": "Find in the sheet" });
  find.addEventListener("input", () => { store.text = find.value; arranged(); }, { signal: life });
  find.addEventListener("keydown", (e) => { if (e.key === "Escape" || e.key === "Enter") { e.preventDefault(); root.focus({ preventScroll: true }); } });
  const only = el("select", { "aria-label": "Show only" }, el("option", { value: "", text: "all clips" }),
    el("option", { value: "open", text: "not decided yet" }),
    ...Object.entries(store.words.states).map(([state, words]) => el("option", { value: state, text: words })));
  only.addEventListener("change", () => { store.state = only.value; arranged(); }, { signal: life });
  const heads = new Map(COLUMNS.map(([name, words]) => {
    const head = el("span", { role: "columnheader", "aria-sort": "none" });
    head.append(button(words, () => { store.down = store.sort === name ? !store.down : false; store.sort = name; arranged(); root.focus({ preventScroll: true }); }));
    return [name, head];
  }));

  body.addEventListener("scroll", () => view(), { signal: life, passive: true });
  space.addEventListener("click", (e) => {
    const node = e.target.closest(".cb-sheet-row");
    for (const [i, made] of live) if (made === node) go(i);
  }, { signal: life });
  for (const open of [list, people.dialog]) open.addEventListener("close", () => root.focus({ preventScroll: true }), { signal: life });
  const unopened = model.get("unopened");
  const showScoring = () => {
    const now = model.get("scoring");
    bar.hidden = !now.total;
    bar.max = now.total || 1;
    bar.value = now.far ?? now.done ?? 0;
    say(scoring, now.words ? now.going ? `${now.done} of ${now.total} done. ${now.words}` : now.words : "");
    keys.refresh();
  };
  const heard = (msg) => {
    if (msg.type === "opened") return showDesk();
    if (!["say", "chosen", "refused"].includes(msg.type)) return;
    announce(msg.sentence);
    if (msg.type !== "say") return;
    const i = msg.clip ? store.order.findIndex((k) => store.all()[k].clip === msg.clip) : -1;
    if (i >= 0) { store.at = i; go(i); }
  };
  // The desk is drawn below the sheet, out of sight of whoever pressed the key.
  const showDesk = () => {
    announce("The desk is open below.");
    const below = host.parentElement?.lastElementChild;
    if (below && below !== host) setTimeout(() => below.scrollIntoView({ block: "start" }), 300);
  };
  const redrawn = () => redraw();
  const sortedAgain = () => { store.arrange(); redraw(); };
  const followed = () => refill();
  model.on("change:rows", sortedAgain);
  model.on("change:following", followed);
  model.on("change:decisions", redrawn);
  model.on("change:results", redrawn);
  model.on("change:scoring", showScoring);
  model.on("msg:custom", heard);

  root.append(
    el("header", { class: "cb-sheet-head" }, el("h2", { text: "Contact sheet" }), count, find, only),
    keys.bar("Decide"), keys.bar("Move"),
    el("div", { class: "cb-sheet-sort", role: "row" }, el("span", { text: "Sort by" }), ...heads.values()),
    body, el("div", { class: "cb-sheet-foot" }, keys.bar("Sheet"), bar, scoring), said, list, reasons, people.dialog,
    unopened.length ? el("p", { class: "cb-sheet-caution", text: `Without a row, since ${unopened.length === 1 ? "it" : "they"} cannot be opened: ${unopened.join(", ")}.` }) : "",
    el("p", { class: "cb-sheet-caution", text: store.words.caution }),
  );
  host.append(root);
  const sized = new ResizeObserver(() => view(true));
  sized.observe(body);
  redraw();
  showScoring();
  mark();
  root.dataset.ready = "1";
  return () => {
    ended.abort();
    sized.disconnect();
    model.off("change:rows", sortedAgain);
    model.off("change:following", followed);
    model.off("change:decisions", redrawn);
    model.off("change:results", redrawn);
    model.off("change:scoring", showScoring);
    model.off("msg:custom", heard);
  };
}

export default { render };
