// The coach's desk in one notebook cell: puts the parts together and says what each key does.
import { makeBeside } from "./beside.js";
import { makeCues, OUTCOME_WORDS } from "./cues.js";
import { el, say } from "./dom.js";
import { makeFigure } from "./figure.js";
import { makeKeys } from "./keys.js";
import { makeLayout, themeColours } from "./layout.js";
import { makeMarks } from "./marks.js";
import { makeNotes } from "./notes.js";
import { makePlayer, SPEEDS } from "./player.js";
import { makeSaving } from "./saving.js";
import { makeStore } from "./store.js";
import { makeStrip } from "./strip.js";
import { begin, finish, firstFrame, lastFrame, nearestFrame, seconds, stretches } from "./time.js";
import { makeTrace } from "./trace.js";

// Asks the kernel for something and waits for its answer; bytes come as custom messages, never as a synced value.
function receive(model, type, signal) {
  return new Promise((resolve) => {
    const on = (msg, buffers) => {
      if (msg.type !== type) return;
      model.off("msg:custom", on);
      resolve([msg, buffers]);
    };
    model.on("msg:custom", on);
    signal.addEventListener("abort", () => model.off("msg:custom", on));
  });
}

function unpack(msg, buffers) {
  const kinds = { f8: Float64Array, f4: Float32Array, u1: Uint8Array };
  return Object.fromEntries(msg.names.map((name, i) => {
    const b = buffers[i], bytes = b.buffer ? b.buffer.slice(b.byteOffset, b.byteOffset + b.byteLength) : b;
    return [name, new kinds[msg.kinds[i]](bytes)];
  }));
}

async function render({ model, el: host, signal }) {
  const ended = new AbortController();
  signal?.addEventListener("abort", () => ended.abort());
  const life = ended.signal, facts = model.get("facts");
  const store = makeStore(facts, model.get("live"));
  const part = makeLayout(facts), { root } = part;
  host.append(root);
  const announce = (text) => { part.said.textContent = text; };
  const figures = receive(model, "figures", life), clip = receive(model, "clip", life);
  model.send({ type: "need" });
  store.arrays = unpack(...(await figures));
  const { times } = store.arrays;
  const figure = makeFigure(facts, store.arrays);

  let rested = null, sent = -1, playerState = null;
  const player = makePlayer({ video: part.video, times, signal: life, painted, changed });
  const saving = makeSaving({ model, name: facts.name, told: announce,
    shown: (state, text) => { root.dataset.saved = state; say(part.saved, text); },
    refused: (text, edit) => { store.set("live", model.get("live")); if (/note$/.test(edit.kind) && edit.text) notes.back(edit); announce(text); } });
  const seek = (s) => { if (player.playing && !player.backward) player.pause(); player.show(nearestFrame(times, s)); };
  const go = (s) => { leaveWhole(); player.show(nearestFrame(times, s)); };
  const trace = makeTrace({ store, box: part.trace, seek, move, colours: () => themeColours(root) });
  const strip = makeStrip({ store, box: part.strip, go, figure });
  const notes = makeNotes({ store, box: part.notes, writing: part.writing, saving, go, announce, aim: () => times[player.want], leave: () => root.focus({ preventScroll: true }) });
  const marks = makeMarks({ store, figure, saving, announce, box: part.marking, over: part.over, picture: overlay, aim: () => times[player.want],
    closed: () => { part.cues.hidden = false; root.focus({ preventScroll: true }); } });
  const beside = makeBeside({ model, store, box: part.beside, receive, unpack, announce, changed: () => keys.refresh(), signal: life });
  const cues = makeCues({ store, box: part.cues, overrule, toggleWhole,
    choose: (i, side, open) => { cues.open = open; store.side = side; store.set("cue", i); } });

  // ---- what is drawn for a frame
  function painted(frame) {
    const was = store.rep();
    store.frame = frame;
    overlay();
    if (store.rep() !== was) { trace.redraw(); cues.redraw(); if (player.loop) loop(true); } else trace.cursor();
    strip.current();
    marks.redraw();
    beside.follow();
    statusLine();
    root.dataset.frame = frame;
    clearTimeout(rested);
    rested = setTimeout(atRest, 120);
  }
  function overlay(canvas = part.over) {
    const cue = store.currentCue(), rep = store.inside() || store.rep();
    const name = store.signalName(cue, rep) || store.signalName(null, rep);  // one angle: its number belongs to its arc
    figure.draw(canvas, store.frame, { names: name && !marks.now().length ? [name] : [], lines: store.lines });
    marks.draw(canvas);
  }
  function statusLine() {
    const at = store.time(), rep = store.inside(), words = [seconds(at), `frame ${store.frame}`];
    if (rep) {
      words.push(`repetition ${rep.number} of ${store.repetitions().length}`);
      const run = stretches(rep, facts.phases).find((s) => s.start <= at && (s.end === null || at < s.end));
      if (run) {
        const slot = run.phase.slot;
        words.push(`${run.phase.word} ${(at - run.start).toFixed(1)}${slot && slot !== "X" ? ` of ${slot}` : ""} s`);
      }
    } else words.push(aside(at));
    const name = store.signalName(store.currentCue(), rep || store.rep()), read = name && figure.reading(name, store.frame);
    if (read) words.push(`${facts.signals[name].words} ${read.words}${read.doubtful ? ", in doubt" : ""}`);
    const hidden = facts.doubts.filter((d) => d.start_s <= at && at <= d.end_s).map((d) => d.what);
    if (hidden.length) words.push(`hard to see: ${[...new Set(hidden)].join(", ")}`);
    say(part.status, words.join(" · "));
  }
  function aside(at) {
    const all = store.repetitions(), last = all.at(-1);
    if (!last) return "no repetition";
    if (at < begin(all[0])) return `before repetition ${all[0].number}`;
    return at >= finish(last) ? `after repetition ${last.number}` : "between repetitions";
  }
  function atRest() {
    part.trace.setAttribute("aria-valuenow", store.time().toFixed(3));
    part.trace.setAttribute("aria-valuetext", part.status.textContent);
    sent = store.frame;
    model.set("frame", sent);
    model.save_changes();
  }
  function changed() {
    const now = `${player.playing}${player.speed}${player.loop}`;
    if (now !== playerState) { playerState = now; keys.refresh(); }
  }
  function everything() {
    trace.redraw();
    strip.redraw();
    cues.redraw();
    notes.redraw();
    marks.redraw();
    named();
    if (store.arrays) { overlay(); statusLine(); }
    keys.refresh();
  }
  function named() {
    const { name, sides } = trace.series || {};
    const words = name && (sides ? `${facts.signals[name].words.replace(/^(left|right) /, "")} of the working side` : facts.signals[name].words);
    say(part.traceName, name ? `${words} over time` : "No angle of this movement could be measured in this clip.");
  }

  function lines() {
    store.lines = !store.lines;
    overlay();
    beside.draw?.();
    keys.refresh();
  }

  // ---- moving about
  // A key means the frame that was asked for last, even if the picture is still on its way there.
  const aim = () => times[player.want];
  const rep = () => store.rep(aim());
  const leaveWhole = () => { if (store.whole) { store.whole = false; cues.redraw(); } };
  function neighbour(by) {
    leaveWhole();
    const all = store.repetitions(), now = rep();
    if (!all.length) return announce("There is no repetition to go to.");
    const next = all[Math.max(0, Math.min(all.length - 1, all.indexOf(now) + (aim() < begin(all[0]) && by > 0 ? 0 : by)))];
    if (player.loop) player.setLoop(loopOf(next));
    player.show(firstFrame(times, next));
    return undefined;
  }
  function edge(name) {
    leaveWhole();
    const now = rep(), at = now && now[`${name}_s`];
    if (at === null || at === undefined) announce(now ? `The ${name} of repetition ${now.number} is not in the clip.` : "There is no repetition here.");
    else if (name === "end") player.show(lastFrame(times, now));
    else player.show(name === "start" ? firstFrame(times, now) : nearestFrame(times, at));
  }
  const loopOf = (r) => [begin(r), Math.min(finish(r), times[times.length - 1])];
  function loop(on) {
    const now = rep();
    player.setLoop(on && now ? (player.loop || loopOf(now)) : null);
  }
  function speed(by) {
    const i = SPEEDS.indexOf(player.speed) + by;
    if (SPEEDS[i]) { player.setSpeed(SPEEDS[i]); announce(`Speed ${SPEEDS[i]}`); }
  }
  function faster() {
    if (player.playing && !player.backward) player.setSpeed(player.speed >= 1 ? 2 : player.speed * 2);
    else player.play();
  }
  function toggleWhole() { store.whole = !store.whole; cues.redraw(); strip.current(); keys.refresh(); }

  // ---- corrections
  function move(which, boundary, to) {
    const s = times[nearestFrame(times, to)];
    const live = structuredClone(store.live), mine = live.repetitions.find((r) => r.id === which.id);
    const old = mine[`${boundary}_s`];
    mine[`${boundary}_s`] = s;
    for (const other of live.repetitions) {             // a boundary that two repetitions share moves for both
      if (boundary === "start" && other.end_s === old && old !== null) other.end_s = s;
      if (boundary === "end" && other.start_s === old && old !== null) other.start_s = s;
    }
    saving.edit({ kind: "move", repetition: which.id, boundary, to_s: s });
    store.set("live", live);
    announce(`The ${boundary} of repetition ${which.number} is now at ${seconds(s)}. U takes it back.`);
  }
  function here(boundary) {
    const all = store.repetitions(), at = aim();
    let mine = rep();
    if (boundary === "start") {                          // ahead of a repetition, its start is meant
      const next = all.find((r) => begin(r) > at);
      if (!store.inside(aim()) && next) mine = next;
    }
    if (mine) move(mine, boundary, at);
    else announce("There is no repetition to correct here; A adds one.");
  }
  function change(edit, text) { saving.edit(edit); announce(`${text} U takes it back.`); }
  function split() {
    const now = store.inside(aim());
    if (now) change({ kind: "split", repetition: now.id, at_s: aim() }, `Repetition ${now.number} is split at ${seconds(aim())}.`);
    else announce("Only inside a repetition can it be split.");
  }
  function merge() {
    const all = store.repetitions(), now = rep(), next = all[all.indexOf(now) + 1];
    if (next) change({ kind: "merge", first: now.id, second: next.id }, `Repetitions ${now.number} and ${next.number} are one.`);
    else announce("There is no next repetition to join.");
  }
  function drop() {
    const now = rep();
    if (now) change({ kind: "drop", repetition: now.id }, `Repetition ${now.number} is dropped.`);
  }
  let adding = null;
  function add() {
    if (adding === null) {
      adding = aim();
      announce(`A new repetition starts at ${seconds(adding)}. Go to its end and press A again; Esc leaves it.`);
      return;
    }
    const [from, to] = [adding, aim()].sort((a, b) => a - b);
    adding = null;
    if (to - from < 0.2) announce("The end must lie after the start.");
    else change({ kind: "add", start_s: from, end_s: to, turn_s: null, side: null }, `A repetition from ${seconds(from)} to ${seconds(to)} is added.`);
  }
  function overrule(outcome, reason) {
    const cue = store.currentCue(), now = store.whole ? null : rep(), v = cue && store.verdict(cue, now);
    if (!v) return announce("This cue was not judged here.");
    const side = v.side === "both" || facts.sides === "both" ? "" : `, ${v.side}`;
    change({ kind: "overrule", cue: cue.name, repetition: now ? now.id : null, side: v.side === "both" ? null : v.side, outcome,
      reason: reason || (v.overruled && v.overruled.reason) || "judged by eye" },
    `${cue.title}${side}, ${now ? `repetition ${now.number}` : "whole set"}: ${outcome ? `${OUTCOME_WORDS[outcome]} by eye` : "as measured"}.`);
    return undefined;
  }
  function cueBy(by) {
    const all = store.places(), n = all.length;
    const now = all.findIndex(([cue, side]) => cue === store.cue && (side === null || side === store.side));
    const [cue, side] = all[(Math.max(0, now) + by + n) % n];
    store.side = side;
    store.set("cue", cue);
    announce(`${facts.cues[cue].title}${side ? `, ${side}` : ""}`);
  }
  // Which change was the last one only the record knows: another desk may have made one, so the answer says it.
  function undo(kind) { saving.edit({ kind }); }
  function still() {
    player.pause();
    part.cues.hidden = true;
    marks.open();
    root.focus({ preventScroll: true });
  }
  // Another clip is opened only when every change of this one is in the record.
  async function turn(by) {
    const next = by > 0 ? facts.row.after : facts.row.before;
    if (!next) { announce(by > 0 ? "This is the last clip." : "This is the first clip."); return; }
    player.pause();
    atRest();
    announce(saving.pending() ? `${next} opens as soon as all changes are saved.` : `${next} is being opened.`);
    await saving.settled();
    model.send({ type: "turn", by });
  }
  function showKeys() {
    const close = () => { part.keys.close(); root.focus({ preventScroll: true }); };
    part.keys.replaceChildren(keys.list(close));
    part.keys.showModal();
  }
  function escape() {
    if (adding !== null) { adding = null; announce("No repetition was added."); }
    else if (store.whole) toggleWhole();
    else if (cues.open) { cues.open = false; cues.redraw(); }
  }

  const judge = ([outcome, key, words]) => ({ keys: [key], words, label: `Outcome by eye: ${words}`, run: () => overrule(outcome), listed: true });
  const keys = makeKeys({ root, signal: life, first: (e) => marks.key(e), groups: [
    ...(facts.row ? [{ name: "Clips", bar: "Clips", actions: [
      { keys: ["PageUp"], words: "previous clip", label: `Previous clip${facts.row.before ? `: ${facts.row.before}` : ""}`, run: () => turn(-1), can: () => facts.row.before !== null },
      { keys: ["PageDown"], words: "next clip", label: `Next clip${facts.row.after ? `: ${facts.row.after}` : ""}`, run: () => turn(1), can: () => facts.row.after !== null },
    ] }] : []),
    { name: "Play", bar: "Play", actions: [
      { keys: [" "], words: "play", label: "Play or stop", run: player.toggle, on: () => player.playing },
      { keys: ["ArrowLeft", ","], words: "‹ frame", label: "One frame back", run: () => player.step(-1), repeats: true },
      { keys: ["ArrowRight", "."], words: "frame ›", label: "One frame on", run: () => player.step(1), repeats: true },
      { keys: ["Shift+ArrowLeft"], words: "back", label: "Ten frames back", run: () => player.step(-10), repeats: true, listed: true },
      { keys: ["Shift+ArrowRight"], words: "on", label: "Ten frames on", run: () => player.step(10), repeats: true, listed: true },
      { keys: ["-"], words: "slower", label: "Slower: 1, 0.5, 0.25", run: () => speed(-1), can: () => player.speed > 0.25 },
      { keys: ["+", "="], words: "faster", label: "Faster: 0.25, 0.5, 1", run: () => speed(1), can: () => player.speed < 1 },
      { keys: ["r"], words: "loop rep", label: "Loop the repetition", run: () => { loop(!player.loop); if (player.loop) { player.show(nearestFrame(times, player.loop[0])); player.play(); } }, on: () => Boolean(player.loop) },
      { keys: ["j"], words: "backward", label: "Play backward", run: player.back, listed: true },
      { keys: ["k"], words: "stop", label: "Stop", run: player.pause, listed: true },
      { keys: ["l"], words: "forward", label: "Play; again for faster", run: faster, listed: true },
      { keys: ["Home"], words: "first frame", label: "First frame", run: () => player.show(0), listed: true },
      { keys: ["End"], words: "last frame", label: "Last frame", run: () => player.show(times.length - 1), listed: true },
    ] },
    { name: "Repetitions", bar: "Repetitions", actions: [
      { keys: ["ArrowUp"], words: "previous rep", label: "Previous repetition", run: () => neighbour(-1), repeats: true },
      { keys: ["ArrowDown"], words: "next rep", label: "Next repetition", run: () => neighbour(1), repeats: true },
      { keys: ["q"], words: "start", label: "Go to the start of the repetition", run: () => edge("start") },
      { keys: ["w"], words: "turn", label: "Go to the turn", run: () => edge("turn") },
      { keys: ["e"], words: "end", label: "Go to the end", run: () => edge("end") },
      { keys: ["z"], words: "zoom", label: "Trace of this repetition only", run: () => { store.zoomed = !store.zoomed; trace.redraw(); keys.refresh(); }, on: () => store.zoomed },
      { keys: ["o"], words: "lines", label: "Lines over the picture on or off", run: lines, on: () => store.lines },
      ...(facts.beside ? [
        { keys: ["v"], words: "beside", label: `${facts.beside.file} beside this clip`, run: beside.toggle, on: () => beside.on },
        { keys: ["Shift+v"], words: "mirror", label: "Mirror the clip beside", run: beside.mirror, on: () => beside.mirrored },
      ] : []),
    ] },
    { name: "Correct", bar: "Correct", actions: [
      { keys: ["Shift+q"], words: "start here", label: "The repetition starts here", run: () => here("start") },
      { keys: ["Shift+w"], words: "turn here", label: "The repetition turns here", run: () => here("turn") },
      { keys: ["Shift+e"], words: "end here", label: "The repetition ends here", run: () => here("end") },
      { keys: ["x"], words: "split", label: "Split the repetition here", run: split },
      { keys: ["m"], words: "join next", label: "Join with the next repetition", run: merge },
      { keys: ["Delete"], words: "drop", label: "Drop the repetition (U brings it back)", run: drop },
      { keys: ["a"], words: "add", label: "Add a repetition: once at its start, once at its end", run: add },
      { keys: ["u", "Ctrl+z"], words: "undo", label: "Take the last change back", run: () => undo("undo"), can: () => store.live.can_undo },
      { keys: ["Shift+u", "Ctrl+Shift+z", "Ctrl+y"], words: "redo", label: "Do it again", run: () => undo("redo"), can: () => store.live.can_redo },
    ] },
    { name: "Cues", bar: "Cues", actions: [
      { keys: ["c"], words: "next cue", label: "Next cue", run: () => cueBy(1), repeats: true },
      { keys: ["Shift+c"], words: "previous cue", label: "Previous cue", run: () => cueBy(-1), repeats: true, listed: true },
      ...[["met", "1", "met"], ["near", "2", "too close to call"], ["not_met", "3", "not met"], ["not_measurable", "0", "not measurable"],
        [null, "9", "as measured"]].map(judge),
      { keys: ["i"], words: "why", label: "Why, and where the figure comes from", run: () => { cues.open = !cues.open; cues.redraw(); keys.refresh(); }, on: () => cues.open },
      { keys: ["g"], words: "whole set", label: "The whole set or one repetition", run: toggleWhole, on: () => store.whole, listed: true },
      { keys: ["n"], words: "note", label: "Note at this instant", run: () => { player.pause(); notes.open(); }, keepsFocus: true },
      { keys: ["b"], words: "note again", label: "The last note again, here", run: () => notes.again() },
      { keys: ["p"], words: "mark still", label: "Mark this still and save it as a picture", run: still, keepsFocus: true },
      { keys: ["h", "?"], words: "keys", label: "List of keys", run: showKeys, keepsFocus: true },
      { keys: ["Escape"], words: "leave", label: "Leave what was begun", run: escape, listed: true },
    ] },
  ] });

  // ---- place the parts and bring them to life
  const bars = (...names) => el("div", { class: "cb-bars" }, ...names.map((n) => keys.bar(n)));
  const clips = part.row ? el("div", { class: "cb-bars cb-clips" }, part.row, keys.bar("Clips")) : "";
  root.append(part.head, part.alert, clips, part.top, part.status, part.said, part.writing, part.traceName, part.trace,
    bars("Play", "Repetitions", "Correct"), part.strip, bars("Cues"), part.notes, part.more, part.keys);
  part.trace.setAttribute("aria-valuemax", facts.duration_s.toFixed(3));
  part.keys.addEventListener("close", () => root.focus({ preventScroll: true }), { signal: life });
  root.addEventListener("pointerdown", (e) => {
    if (!e.target.closest("button, input, select, summary, a, label, dialog")) requestAnimationFrame(() => root.focus({ preventScroll: true }));
  }, { signal: life });
  // A click leaves the keys with the desk, not with a button that is drawn anew in a moment.
  root.addEventListener("click", (e) => {
    const clicked = e.detail > 0 && e.target.closest("button");
    const held = document.activeElement;
    const onButton = held === document.body || (held.tagName === "BUTTON" && root.contains(held));
    if (clicked && !held.closest("dialog") && onButton) root.focus({ preventScroll: true });
  }, { signal: life });
  // Somebody turns to this desk: another kernel may have changed the record meanwhile.
  root.addEventListener("focusin", (e) => { if (!root.contains(e.relatedTarget) && !saving.pending()) model.send({ type: "look" }); }, { signal: life });
  part.stage.addEventListener("click", (e) => {
    const box = part.stage.getBoundingClientRect();
    const at = [((e.clientX - box.left) / box.width) * facts.width, ((e.clientY - box.top) / box.height) * facts.height];
    if (!marks.click(...at)) player.toggle();
  }, { signal: life });
  store.on("live", everything);
  store.on("cue", () => { trace.redraw(); named(); strip.words(); cues.redraw(); overlay(); beside.draw?.(); statusLine(); });
  model.on("change:live", () => {
    store.set("live", model.get("live"));
    if (!saving.pending() && part.said.textContent.includes("U takes it back")) announce("");   // somebody else's change
  });
  model.on("change:frame", () => {                      // the view's own writes come back and are no command
    const wanted = model.get("frame");
    if (wanted !== sent) { sent = wanted; player.show(wanted); }
  });
  const sized = new ResizeObserver(() => {
    const box = part.stage.getBoundingClientRect(), dpr = Math.min(2, window.devicePixelRatio || 1);
    part.over.width = Math.max(2, Math.round(box.width * dpr));
    part.over.height = Math.max(2, Math.round(box.height * dpr));
    trace.resize();
    overlay();
    beside.resize();
  });
  if (beside.stage) sized.observe(beside.stage);
  sized.observe(part.stage);
  sized.observe(part.trace);
  const themed = new MutationObserver(() => { trace.redraw(); });
  themed.observe(document.body, { attributes: true });

  player.frame = player.want = store.frame = sent = Math.min(times.length - 1, model.get("frame"));
  everything();
  saving.again();
  notes.restore(store.live.kept && store.live.kept.half_note);
  if (store.live.message) announce(store.live.message);
  root.dataset.drawn = "1";
  const takeKeys = () => {                              // somebody turned to this clip by key and goes on with keys
    if (!model.get("focus_wanted") || !root.isConnected) return;
    root.focus({ preventScroll: true });
    model.set("focus_wanted", false);
    model.save_changes();
  };
  model.on("change:focus_wanted", takeKeys);
  requestAnimationFrame(takeKeys);

  let url = null;
  clip.then(async ([msg, buffers]) => {
    if (msg.failed) { part.wait.textContent = msg.failed; return; }
    url = URL.createObjectURL(new Blob([buffers[0]], { type: "video/mp4" }));
    try { await player.load(url); } catch (error) {
      part.wait.textContent = `The picture cannot be shown here: ${error.message}.`;
      return;
    }
    part.wait.hidden = true;
    strip.load(url);
    root.dataset.ready = "1";
  });
  return () => {
    ended.abort();
    player.pause();
    saving.stop();
    beside.stop();
    sized.disconnect();
    themed.disconnect();
    clearTimeout(rested);
    if (url) URL.revokeObjectURL(url);
  };
}

export default { render };
