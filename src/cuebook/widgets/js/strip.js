// Every repetition with its start, turn and end as small pictures; a second, hidden player makes them, one at a time.
import { frameAt, seconds } from "./time.js";

const EVENTS = ["start", "turn", "end"];

export function makeStrip({ store, box, go, figure }) {
  const { facts } = store;
  const tall = facts.height >= facts.width;
  const size = tall ? [Math.round((96 * facts.width) / facts.height / 2) * 2, 96] : [104, Math.round((104 * facts.height) / facts.width)];
  const video = document.createElement("video");
  video.muted = true;
  video.playsInline = true;
  const kept = new Map();                               // frame -> picture
  let ready = false, busy = false, queue = [];

  const at = (rep, event) => rep[`${event}_s`];

  function frameOf(rep, event) {
    const s = at(rep, event);
    return s === null ? null : Math.min(store.arrays.times.length - 1, frameAt(store.arrays.times, s + 1e-4));
  }

  async function fetch(frame) {
    const { times } = store.arrays;
    video.currentTime = frame < times.length - 1 ? (times[frame] + times[frame + 1]) / 2 : times[frame] + 0.004;
    await new Promise((done) => {
      const timer = setTimeout(done, 1500);
      video.addEventListener("seeked", () => { clearTimeout(timer); done(); }, { once: true });
    });
    const picture = document.createElement("canvas");
    [picture.width, picture.height] = size.map((v) => v * 2);
    const ctx = picture.getContext("2d");
    if (facts.flipped) { ctx.translate(picture.width, 0); ctx.scale(-1, 1); }
    ctx.drawImage(video, 0, 0, picture.width, picture.height);
    const lines = document.createElement("canvas");
    [lines.width, lines.height] = [picture.width, picture.height];
    figure.draw(lines, frame, { names: [], lines: true });
    ctx.setTransform(1, 0, 0, 1, 0, 0);
    ctx.drawImage(lines, 0, 0);
    return picture;
  }

  async function work() {
    if (busy || !ready) return;
    busy = true;
    while (queue.length) {
      const frame = queue.shift();
      if (!kept.has(frame)) {
        kept.set(frame, await fetch(frame));
        await new Promise((r) => setTimeout(r, 0));      // the player goes first
      }
      for (const c of box.querySelectorAll(`canvas[data-frame="${frame}"]`)) {
        c.getContext("2d").drawImage(kept.get(frame), 0, 0, c.width, c.height);
        c.dataset.drawn = "1";
      }
    }
    busy = false;
  }

  function picture(rep, event) {
    const frame = frameOf(rep, event);
    const button = document.createElement("button");
    button.type = "button";
    button.className = "cb-shot";
    button.tabIndex = -1;
    button.dataset.event = event;
    button.disabled = frame === null;
    button.setAttribute("aria-label", frame === null
      ? `Repetition ${rep.number}, ${event}: not in the clip`
      : `Repetition ${rep.number}, ${event} at ${seconds(at(rep, event))}`);
    const canvas = document.createElement("canvas");
    [canvas.width, canvas.height] = size.map((v) => v * 2);
    canvas.style.width = `${size[0]}px`;
    canvas.style.height = `${size[1]}px`;
    if (frame !== null) canvas.dataset.frame = frame;
    const word = document.createElement("span");
    word.textContent = frame === null ? `${event} –` : `${event} ${at(rep, event).toFixed(1)}`;
    button.append(canvas, word);
    if (frame !== null) button.addEventListener("click", () => go(at(rep, event)));
    return button;
  }

  function card(rep) {
    const item = document.createElement("li");
    item.dataset.id = rep.id;
    const head = document.createElement("div");
    head.className = "cb-rep-head";
    const name = document.createElement("b");
    name.textContent = `Rep ${rep.number}${rep.side === "both" ? "" : `, ${rep.side}`}`;
    head.append(name);
    const more = [];
    if (!rep.counted) more.push(rep.complete ? "not counted" : "not complete");
    if (rep.origin === "added") more.push("added by hand");
    else if (rep.corrected.length) more.push(`${rep.corrected.join(" and ")} corrected`);
    if (rep.doubtful) more.push("hard to see");
    const said = document.createElement("span");
    said.textContent = more.join(", ");
    head.append(said);
    const shots = document.createElement("div");
    shots.className = "cb-shots";
    shots.append(...EVENTS.map((e) => picture(rep, e)));
    const outcome = document.createElement("p");
    outcome.className = "cb-rep-outcome";
    const times = document.createElement("p");
    times.className = "cb-rep-times";
    times.textContent = facts.phases.map((p) => {
      const v = rep.phases[`${p.name}_s`];
      return v === null ? "–" : v.toFixed(1);
    }).join(" · ");
    times.title = facts.phases.map((p) => p.word).join(" · ") + ", seconds";
    item.append(head, shots, outcome, times);
    return item;
  }

  const strip = {};
  strip.words = () => {
    const cue = store.currentCue();
    for (const rep of store.repetitions()) {
      const p = box.querySelector(`li[data-id="${CSS.escape(rep.id)}"] .cb-rep-outcome`);
      const v = cue && store.verdict(cue, rep);
      if (!p) continue;
      if (v && v.overruled) p.textContent = `${v.overruled.mark} ${v.overruled.short} by eye`;
      else p.textContent = v ? `${v.mark} ${v.short}${v.value === null ? "" : ` ${v.measured}`}` : "";
    }
  };
  strip.current = () => {
    const now = store.whole ? null : store.rep(), time = store.time();
    for (const item of box.children) {
      const on = Boolean(now && item.dataset.id === now.id);
      if (on !== (item.getAttribute("aria-current") === "true")) {
        if (on) item.setAttribute("aria-current", "true"); else item.removeAttribute("aria-current");
        if (on) reveal(item);
      }
      for (const shot of item.querySelectorAll(".cb-shot")) {
        shot.tabIndex = on ? 0 : -1;
        const here = on && Math.abs(at(now, shot.dataset.event) - time) < 0.02;
        shot.toggleAttribute("data-here", here);
      }
    }
  };
  function reveal(item) {
    const left = item.offsetLeft - box.offsetLeft, right = left + item.offsetWidth;
    if (left < box.scrollLeft) box.scrollLeft = left - 8;
    else if (right > box.scrollLeft + box.clientWidth) box.scrollLeft = right - box.clientWidth + 8;
  }
  strip.redraw = () => {
    if (!store.arrays) return;
    box.replaceChildren(...store.repetitions().map(card));
    strip.words();
    strip.current();
    queue = [...box.querySelectorAll("canvas[data-frame]")].map((c) => Number(c.dataset.frame));
    const near = store.frame;
    queue.sort((a, b) => Number(kept.has(b)) - Number(kept.has(a)) || Math.abs(a - near) - Math.abs(b - near));
    work();
  };
  strip.load = (url) => {
    video.onloadeddata = () => { ready = true; work(); };
    video.src = url;
  };
  return strip;
}
