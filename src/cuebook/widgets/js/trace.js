// The signal over time: repetitions and phases as bands, the band that was asked for, uncertainty, doubt, the cursor.
// The still part is drawn once into its own canvas; the cursor moves on a second one above it.
import { begin, finish, plain, stretches } from "./time.js";

const TOP = 22, BOTTOM = 38, LEFT = 46, RIGHT = 10, GRIP = 7;
const BOUNDARIES = ["start", "turn", "end"];

export function makeTrace({ store, box, seek, move, colours }) {
  const still = box.querySelector("canvas.cb-still"), live = box.querySelector("canvas.cb-live");
  const trace = { from: 0, to: 1, low: 0, high: 90, series: null, drag: null, ghost: null };
  let width = 600, height = 190, dpr = 1, ink = {};

  const x = (s) => LEFT + ((s - trace.from) / (trace.to - trace.from)) * (width - LEFT - RIGHT);
  const y = (v) => height - BOTTOM - ((v - trace.low) / (trace.high - trace.low)) * (height - BOTTOM - TOP);
  const inside = (v) => Math.min(width - RIGHT, Math.max(LEFT, v));
  const secondsAt = (px) => trace.from + ((px - LEFT) / (width - LEFT - RIGHT)) * (trace.to - trace.from);
  const total = () => Math.max(store.facts.duration_s, 0.1);
  const limits = (cue) => (cue && cue.signal && trace.series.name && trace.series.name.endsWith(cue.signal)
    ? mirrored(cue, [[cue.low, cue.high]]) : []);

  // A turn of the trunk to the right mirrors the band of one to the left.
  function mirrored(cue, bands) {
    if (cue.signal !== "trunk_rotation" || !store.repetitions().some((r) => r.side === "right")) return bands;
    const flip = (v) => (v === null ? null : -v);
    return [...bands, ...bands.map(([low, high]) => [flip(high), flip(low)])];
  }

  function window_() {
    const rep = store.rep();
    if (!store.zoomed || !rep) return [0, total()];
    const long = Math.min(finish(rep), total()) - begin(rep);
    return [Math.max(0, begin(rep) - 0.45 * long), Math.min(total(), Math.min(finish(rep), total()) + 0.45 * long)];
  }

  function scale() {
    const { value, sigma } = trace.series, ends = [];
    let low = Infinity, high = -Infinity;
    for (let i = 0; i < value.length; i++) {
      if (!(value[i] === value[i])) continue;
      const spread = Math.min(10, sigma[i] || 0);
      if (value[i] - spread < low) low = value[i] - spread;
      if (value[i] + spread > high) high = value[i] + spread;
    }
    for (const band of limits(store.currentCue())) for (const v of band) if (v !== null) ends.push(v);
    if (low <= high) ends.push(low, high);
    if (!ends.length) ends.push(0, 90);
    trace.low = 10 * Math.floor(Math.min(...ends) / 10);
    trace.high = Math.max(10 * Math.ceil((Math.max(...ends) + 4) / 10), trace.low + 20);
  }

  function bands(ctx) {
    const current = store.rep(), cue = store.currentCue();
    for (const rep of store.repetitions()) {
      const x0 = inside(x(begin(rep))), x1 = inside(x(Math.min(finish(rep), total())));
      if (x1 <= x0) continue;
      const now = current && rep.id === current.id;
      ctx.fillStyle = now ? ink.now : rep.number % 2 ? ink.band : ink.band2;
      ctx.fillRect(x0, TOP, x1 - x0, height - TOP - BOTTOM);
      ctx.fillStyle = ink.text;
      ctx.font = `${now ? 700 : 400} 12px ${ink.font}`;
      ctx.textAlign = "center";
      ctx.textBaseline = "middle";
      const side = { left: " L", right: " R" }[rep.side] || "";
      const judged = cue ? store.verdict(cue, rep) : null;
      const name = `${rep.number}${side}${rep.counted ? "" : " –"}`;
      if (x1 - x0 > 11) ctx.fillText(x1 - x0 > 44 && judged ? `${name} ${(judged.overruled || judged).mark}` : name, (x0 + x1) / 2, 11);
      phases(ctx, rep, now, x1);
      if (rep.corrected.length || rep.origin === "added") corrected(ctx, x0, x1);
    }
  }

  function corrected(ctx, x0, x1) {
    ctx.strokeStyle = ink.text;
    ctx.lineWidth = 1.5;
    ctx.beginPath();
    ctx.moveTo(x0 + 1, 20.5);
    ctx.lineTo(x1 - 1, 20.5);
    ctx.stroke();
  }

  // Phases by height, so that they can be told apart without colour: moving ones tall, stays low.
  function phases(ctx, rep, now, end) {
    const base = height - BOTTOM + 15;
    for (const part of stretches(rep, store.facts.phases)) {
      const x0 = inside(x(part.start)), x1 = part.end === null ? end : inside(x(part.end));
      if (x1 - x0 < 0.5) continue;
      const stay = part.phase.name.endsWith("hold");
      const tall = stay ? 4 : 11;
      ctx.fillStyle = part.phase.name === "eccentric" ? ink.phase : stay ? ink.stay : ink.phase2;
      ctx.fillRect(x0, base - tall, Math.max(1, x1 - x0 - 1), tall);
    }
  }

  function asked(ctx) {
    const cue = store.currentCue(), found = limits(cue);
    for (const [low, high] of found) {
      const top = y(high === null ? trace.high : high), bottom = y(low === null ? trace.low : low);
      ctx.fillStyle = ink.asked;
      ctx.fillRect(LEFT, top, width - LEFT - RIGHT, bottom - top);
      ctx.strokeStyle = ink.limit;
      ctx.lineWidth = 1.4;
      ctx.setLineDash([6, 4]);
      for (const v of [low, high]) if (v !== null) line(ctx, LEFT, y(v), width - RIGHT, y(v));
      ctx.setLineDash([]);
    }
  }

  // The limit in words, at the end where it covers less of the line.
  function askedWords(ctx) {
    const cue = store.currentCue(), found = limits(cue);
    if (!found.length) return;
    const [low, high] = found[0], text = `asked: ${cue.asked}`, top = y(high === null ? trace.high : high);
    ctx.font = `12px ${ink.font}`;
    ctx.textBaseline = "middle";
    ctx.textAlign = "left";
    const at = high !== null && low === null ? top + 10 : low !== null && high === null ? y(low) - 9 : top - 8;
    const wide = ctx.measureText(text).width + 8, { value } = trace.series, { times } = store.arrays;
    const covered = (from) => times.reduce((n, t, i) => n + (x(t) >= from && x(t) <= from + wide && Math.abs(y(value[i]) - at) < 12), 0);
    const ends = [width - RIGHT - wide, LEFT + 2];
    const from = covered(ends[0]) <= covered(ends[1]) ? ends[0] : ends[1];
    ctx.fillStyle = ink.plate;
    ctx.fillRect(from, at - 8, wide, 16);
    ctx.fillStyle = ink.limitText;
    ctx.fillText(text, from + 4, at);
  }

  function line(ctx, x0, y0, x1, y1) { ctx.beginPath(); ctx.moveTo(x0, y0); ctx.lineTo(x1, y1); ctx.stroke(); }

  function hatch(ctx) {
    ctx.strokeStyle = ink.hatch;
    ctx.lineWidth = 1;
    for (const d of together(store.facts.doubts)) {
      const x0 = inside(x(d.start_s)), x1 = Math.max(x0 + 3, inside(x(d.end_s)));
      if (x1 <= LEFT || x0 >= width - RIGHT) continue;
      ctx.save();
      ctx.beginPath();
      ctx.rect(x0, TOP, x1 - x0, height - TOP - BOTTOM);
      ctx.clip();
      for (let at = x0 - height; at < x1; at += 7) line(ctx, at, height - BOTTOM, at + height, -BOTTOM);
      ctx.restore();
    }
  }

  // Stretches that overlap are hatched once.
  function together(doubts) {
    const found = [];
    for (const d of [...doubts].sort((a, b) => a.start_s - b.start_s)) {
      const last = found.at(-1);
      if (last && d.start_s <= last.end_s + 0.05) last.end_s = Math.max(last.end_s, d.end_s);
      else found.push({ start_s: d.start_s, end_s: d.end_s });
    }
    return found;
  }

  function axes(ctx) {
    ctx.font = `12px ${ink.font}`;
    ctx.fillStyle = ink.quiet;
    ctx.strokeStyle = ink.grid;
    ctx.lineWidth = 1;
    ctx.textAlign = "right";
    ctx.textBaseline = "middle";
    const step = [10, 20, 30, 45, 90, 180].find((s) => (trace.high - trace.low) / s <= 5) || 360;
    for (let v = Math.ceil(trace.low / step) * step; v <= trace.high; v += step) {
      line(ctx, LEFT, Math.round(y(v)) + 0.5, width - RIGHT, Math.round(y(v)) + 0.5);
      ctx.fillText(`${plain(v)}°`, LEFT - 6, y(v));
    }
    const long = trace.to - trace.from;
    const tick = [0.5, 1, 2, 5, 10, 20, 30, 60, 120].find((s) => long / s <= width / 80) || 300;
    ctx.textAlign = "center";
    for (let s = Math.ceil(trace.from / tick) * tick; s <= trace.to; s += tick) {
      const text = s === 0 ? "0" : `${+s.toFixed(2)} s`, half = ctx.measureText(text).width / 2;
      ctx.fillText(text, Math.min(x(s), width - half - 1), height - 9);
    }
  }

  function curve(ctx) {
    const { value, sigma, state } = trace.series, { times } = store.arrays;
    const runs = [];
    let run = null;
    for (let i = 0; i < times.length; i++) {
      if (times[i] < trace.from - 0.1 || times[i] > trace.to + 0.1 || !(value[i] === value[i])) { run = null; continue; }
      if (!run) { run = []; runs.push(run); }
      run.push(i);
    }
    ctx.save();
    ctx.beginPath();
    ctx.rect(LEFT, TOP, width - LEFT - RIGHT, height - TOP - BOTTOM);
    ctx.clip();
    for (const r of runs) {
      ctx.beginPath();
      r.forEach((i, n) => ctx[n ? "lineTo" : "moveTo"](x(times[i]), y(value[i] + sigma[i])));
      for (let n = r.length - 1; n >= 0; n--) ctx.lineTo(x(times[r[n]]), y(value[r[n]] - sigma[r[n]]));
      ctx.fillStyle = ink.spread;
      ctx.fill();
    }
    ctx.lineJoin = "round";
    for (const r of runs) {
      let from = 0;
      for (let n = 1; n <= r.length; n++) {
        if (n < r.length && (state[r[n]] === 2) === (state[r[from]] === 2)) continue;
        ctx.beginPath();
        for (let k = Math.max(0, from - 1); k < n; k++) ctx[k === Math.max(0, from - 1) ? "moveTo" : "lineTo"](x(times[r[k]]), y(value[r[k]]));
        ctx.setLineDash(state[r[from]] === 2 ? [3, 4] : []);
        ctx.strokeStyle = ink.line;
        ctx.lineWidth = 1.7;
        ctx.stroke();
        from = n;
      }
    }
    ctx.setLineDash([]);
    outcomes(ctx);
    ctx.restore();
  }

  function outcomes(ctx) {
    const cue = store.currentCue(), { times } = store.arrays;
    if (!cue || !limits(cue).length) return;
    for (const rep of store.repetitions()) {
      const v = store.verdict(cue, rep);
      if (!v || v.value === null) continue;
      const at = v.at_s === null || v.at_s === undefined ? rep.turn_s : v.at_s;
      const i = Math.max(0, times.findIndex((t) => t >= at));
      const drawn = trace.series.value[i];
      sign(ctx, x(at), y(drawn === drawn ? drawn : v.value), v.outcome);
    }
  }

  function sign(ctx, cx, cy, outcome) {
    ctx.beginPath();
    ctx.arc(cx, cy, 5.5, 0, 2 * Math.PI);
    ctx.fillStyle = outcome === "met" ? ink.line : ink.paper;
    ctx.strokeStyle = ink.line;
    ctx.lineWidth = 1.6;
    ctx.fill();
    ctx.stroke();
    if (outcome !== "near") return;
    ctx.beginPath();
    ctx.arc(cx, cy, 5.5, Math.PI / 2, 1.5 * Math.PI);
    ctx.fillStyle = ink.line;
    ctx.fill();
  }

  function grips() {
    const rep = store.rep();
    if (!rep) return [];
    const found = [["start", rep.start_s], ["turn", rep.turn_s], ["end", rep.end_s]];
    return found.filter(([, s]) => s !== null).map(([name, s]) => ({ name, seconds: s, rep }));
  }

  function flags(ctx, at, name) {
    ctx.strokeStyle = ctx.fillStyle = ink.text;
    ctx.lineWidth = 1.2;
    ctx.setLineDash(name === "turn" ? [2, 3] : []);
    line(ctx, at, TOP, at, height - BOTTOM);
    ctx.setLineDash([]);
    ctx.beginPath();
    if (name === "turn") { ctx.moveTo(at, TOP + 8); ctx.lineTo(at - 5, TOP); ctx.lineTo(at + 5, TOP); }
    else {
      const out = name === "start" ? 1 : -1;
      ctx.moveTo(at, TOP); ctx.lineTo(at + 8 * out, TOP); ctx.lineTo(at, TOP + 9);
    }
    ctx.closePath();
    ctx.fill();
  }

  function notes(ctx) {
    ctx.fillStyle = ctx.strokeStyle = ink.note;
    for (const n of store.live.notes) {
      if (n.at_s === null || n.at_s < trace.from || n.at_s > trace.to) continue;
      const at = x(n.at_s), base = height - BOTTOM;
      ctx.beginPath();
      ctx.moveTo(at, base); ctx.lineTo(at - 5, base - 9); ctx.lineTo(at + 5, base - 9);
      ctx.closePath();
      ctx.fill();
    }
  }

  trace.redraw = () => {
    if (!store.arrays) return;
    ink = colours();
    [trace.from, trace.to] = window_();
    trace.series = store.joined(store.currentCue());
    scale();
    const ctx = still.getContext("2d");
    ctx.setTransform(dpr, 0, 0, dpr, 0, 0);
    ctx.clearRect(0, 0, width, height);
    ctx.fillStyle = ink.paper;
    ctx.fillRect(LEFT, TOP, width - LEFT - RIGHT, height - TOP - BOTTOM);
    bands(ctx);
    asked(ctx);
    axes(ctx);
    hatch(ctx);
    curve(ctx);
    askedWords(ctx);
    notes(ctx);
    for (const g of grips()) if (g.seconds >= trace.from && g.seconds <= trace.to) flags(ctx, x(g.seconds), g.name);
    trace.cursor();
  };

  trace.cursor = () => {
    if (!store.arrays) return;
    const ctx = live.getContext("2d"), at = store.time(), px = x(at);
    ctx.setTransform(dpr, 0, 0, dpr, 0, 0);
    ctx.clearRect(0, 0, width, height);
    if (trace.drag && trace.drag.grip) {
      ctx.globalAlpha = 0.9;
      flags(ctx, x(trace.drag.to), trace.drag.grip.name);
      ctx.globalAlpha = 1;
    }
    if (px < LEFT - 1 || px > width - RIGHT + 1) return;
    ctx.strokeStyle = ink.cursorCase;
    ctx.lineWidth = 4;
    line(ctx, px, TOP - 2, px, height - BOTTOM + 16);
    ctx.strokeStyle = ink.cursor;
    ctx.lineWidth = 2;
    line(ctx, px, TOP - 2, px, height - BOTTOM + 16);
    const v = trace.series ? trace.series.value[store.frame] : NaN;
    if (!(v === v)) return;
    ctx.beginPath();
    ctx.arc(px, y(v), 4.5, 0, 2 * Math.PI);
    ctx.fillStyle = ink.cursor;
    ctx.fill();
    ctx.strokeStyle = ink.cursorCase;
    ctx.lineWidth = 1.5;
    ctx.stroke();
  };

  trace.resize = () => {
    width = Math.max(240, box.clientWidth);
    height = Math.max(120, box.clientHeight);
    dpr = Math.min(2, window.devicePixelRatio || 1);
    for (const canvas of [still, live]) { canvas.width = Math.round(width * dpr); canvas.height = Math.round(height * dpr); }
    trace.redraw();
  };

  const where = (e) => e.clientX - box.getBoundingClientRect().left;
  function gripAt(px) {
    const near = grips().map((g) => ({ ...g, away: Math.abs(x(g.seconds) - px) })).filter((g) => g.away <= GRIP);
    return near.sort((a, b) => a.away - b.away || BOUNDARIES.indexOf(a.name) - BOUNDARIES.indexOf(b.name))[0] || null;
  }
  live.addEventListener("pointerdown", (e) => {
    if (e.button !== 0 || !store.arrays) return;
    live.setPointerCapture(e.pointerId);
    const px = where(e), high = e.clientY - box.getBoundingClientRect().top < TOP + 34;
    const grip = high ? gripAt(px) : null;
    trace.drag = { grip, to: grip ? grip.seconds : secondsAt(px), moved: false };
    if (!grip) seek(secondsAt(px));
  });
  live.addEventListener("pointermove", (e) => {
    const px = where(e);
    if (!trace.drag) {
      const high = e.clientY - box.getBoundingClientRect().top < TOP + 34;
      live.style.cursor = high && gripAt(px) ? "ew-resize" : "crosshair";
      return;
    }
    const to = Math.min(total(), Math.max(0, secondsAt(px)));
    if (trace.drag.grip && Math.abs(px - x(trace.drag.grip.seconds)) > 1) trace.drag.moved = true;
    trace.drag.to = to;
    if (!trace.drag.grip || trace.drag.moved) seek(to);
  });
  const drop = (e) => {
    const drag = trace.drag;
    trace.drag = null;
    if (drag && drag.grip && drag.moved && e.type === "pointerup") move(drag.grip.rep, drag.grip.name, drag.to);
    trace.cursor();
  };
  live.addEventListener("pointerup", drop);
  live.addEventListener("pointercancel", drop);
  return trace;
}
