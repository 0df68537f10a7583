// Another clip beside this one: a reference, or the athlete's own earlier set. Both run aligned at the turn of the
// repetition in view, on the clocks of both clips; a mirrored picture says so in words.
import { button, el, say } from "./dom.js";
import { makeFigure } from "./figure.js";
import { nearestFrame, seconds } from "./time.js";

export function makeBeside({ model, store, box, receive, unpack, announce, changed, signal }) {
  const other = store.facts.beside;
  const beside = { on: false, mirrored: false };
  if (!other) return { ...beside, follow() {}, toggle: () => announce("There is no clip to put beside this one."), mirror() {}, choose() {}, resize() {}, stop() {} };
  let arrays = null, figure = null, video = null, url = null, want = -1, shown = -1, busy = false, chosen = null;

  const head = el("p", { class: "cb-beside-name" });
  const mirrorWords = el("span", { class: "cb-mirror", hidden: true, text: "mirrored to compare" });
  const over = el("canvas", { class: "cb-over", "aria-hidden": "true" });
  const wait = el("p", { class: "cb-wait", role: "status", text: "The picture is on its way." });
  const pick = el("select", { "aria-label": "Repetition beside", onchange: () => { chosen = Number(pick.value) || null; beside.follow(); } },
    el("option", { value: "", text: "same number" }), ...other.repetitions.map((r) => el("option", { value: r.number, text: `rep ${r.number}` })));
  const stage = el("div", { class: "cb-stage" });
  stage.style.setProperty("--w", other.width);
  stage.style.setProperty("--h", other.height);

  async function start() {
    video = el("video", { "aria-hidden": "true", tabindex: -1 });
    video.muted = true;
    video.playsInline = true;
    stage.append(video, over, wait, mirrorWords);
    box.append(stage, head, el("div", { class: "cb-bar" }, pick));
    const figures = receive(model, "beside-figures", signal), clip = receive(model, "beside-clip", signal);
    model.send({ type: "need-beside" });
    arrays = unpack(...(await figures));
    figure = makeFigure(other, arrays);
    const [msg, buffers] = await clip;
    if (msg.failed) { wait.textContent = msg.failed; return; }
    url = URL.createObjectURL(new Blob([buffers[0]], { type: "video/mp4" }));
    video.src = url;
    await new Promise((done) => { video.onloadeddata = done; video.onerror = done; });
    wait.hidden = true;
    box.dataset.ready = "1";
    flip();
    beside.follow();
  }

  // The repetition to compare with: the chosen one, else the one of the same number, else the last.
  function match(rep) {
    const all = other.repetitions;
    return all.find((r) => r.number === (chosen || rep.number)) || all.at(-1) || null;
  }
  async function settle() {
    if (busy) return;
    busy = true;
    while (want !== shown) {
      const i = want;
      await new Promise((done) => {
        const timer = setTimeout(done, 1500);
        video.addEventListener("seeked", () => { clearTimeout(timer); requestAnimationFrame(done); }, { once: true });
        video.currentTime = i + 1 < arrays.times.length ? (arrays.times[i] + arrays.times[i + 1]) / 2 : arrays.times[i] + 0.004;
      });
      shown = i;
      draw();
    }
    busy = false;
  }
  function draw() {
    if (!figure || shown < 0) return;
    const name = named();
    figure.draw(over, shown, { names: name ? [name] : [], lines: store.lines, mirrored: beside.mirrored });
    box.dataset.frame = shown;
  }
  function named() {
    const name = store.signalName(store.currentCue(), store.inside() || store.rep());
    if (name in other.signals) return name;
    const swapped = name && name.replace(/^(left|right)_/, (s) => (s === "left_" ? "right_" : "left_"));
    return swapped in other.signals ? swapped : null;
  }
  function flip() {
    const turned = beside.mirrored !== Boolean(other.flipped);
    video.classList.toggle("cb-flipped", turned);
    mirrorWords.hidden = !beside.mirrored;
  }

  beside.follow = () => {
    if (!beside.on || !arrays || !video.duration) return;
    const rep = store.inside() || store.rep(), twin = rep && match(rep);
    if (!twin) { say(head, `${other.file}: no repetition was found to compare with.`); return; }
    const at = twin.turn_s + store.time() - rep.turn_s;
    want = nearestFrame(arrays.times, Math.min(Math.max(0, at), arrays.times.at(-1)));
    const outside = at < -0.05 || at > arrays.times.at(-1) + 0.05;
    say(head, `${other.file}, rep ${twin.number}, ${outside ? "outside the clip" : seconds(at)}, aligned at the turn${beside.mirrored ? ", mirrored" : ""}`);
    settle();
  };
  beside.toggle = () => {
    beside.on = !beside.on;
    box.hidden = !beside.on;
    if (beside.on && !video) start();
    announce(beside.on ? `${other.file} stands beside, aligned at the turn.` : "One clip again.");
    changed();
    beside.follow();
  };
  beside.mirror = () => {
    if (!beside.on) { announce("V puts the other clip beside this one first."); return; }
    beside.mirrored = !beside.mirrored;
    if (video) flip();
    draw();
    beside.follow();
    announce(beside.mirrored ? "The clip beside is mirrored: its left stands for right." : "The clip beside is no longer mirrored.");
    changed();
  };
  beside.resize = () => {
    const size = stage.getBoundingClientRect(), dpr = Math.min(2, window.devicePixelRatio || 1);
    over.width = Math.max(2, Math.round(size.width * dpr));
    over.height = Math.max(2, Math.round(size.height * dpr));
    draw();
  };
  beside.stage = stage;
  beside.draw = draw;
  beside.stop = () => { if (url) URL.revokeObjectURL(url); };
  return beside;
}
