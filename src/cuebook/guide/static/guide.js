// Guides a set by tones, spoken words and a moving bar with the same content. Times come from Python as beats.

function soundOfBeat(context, beat, when, plan, words, { tones, voice }) {
  if (tones && beat.pitch) {
    const tone = context.createOscillator();
    const loudness = context.createGain();
    const { rise_s: rise, lasts_s: lasts, loudness: peak } = plan.tone;
    tone.frequency.value = plan.tone.pitches_hz[beat.pitch];
    loudness.gain.setValueAtTime(0, when);
    loudness.gain.linearRampToValueAtTime(peak, when + rise);
    loudness.gain.setValueAtTime(peak, when + lasts - rise);
    loudness.gain.linearRampToValueAtTime(0, when + lasts);
    tone.connect(loudness).connect(context.destination);
    tone.start(when);
    tone.stop(when + lasts);
  }
  if (voice && words[beat.word]) {
    const spoken = context.createBufferSource();
    spoken.buffer = words[beat.word];
    const loudness = context.createGain();
    loudness.gain.value = plan.word_loudness;
    spoken.connect(loudness).connect(context.destination);
    spoken.start(when);
  }
}

async function decodeWords(context, plan) {
  const words = {};
  await Promise.all(Object.entries(plan.words).map(async ([word, coded]) => {
    const bytes = Uint8Array.from(atob(coded), (c) => c.charCodeAt(0));
    words[word] = await context.decodeAudioData(bytes.buffer);
  }));
  return words;
}

// How far along its way the moving part of the body is: 0 at the start end, 1 at the turn.
function barLevel(plan, now) {
  const running = plan.beats.filter((b) => b.kind === "phase" && b.time_s <= now).pop();
  if (!running) return 0;
  const share = Math.min(1, (now - running.time_s) / running.lasts_s);
  const place = plan.order.indexOf(running.phase);
  return [share, 1, 1 - share, 0][place];
}

function makeGuide(root, plan) {
  const make = (tag, attributes = {}, text = "") => {
    const node = Object.assign(document.createElement(tag), { textContent: text });
    for (const [name, value] of Object.entries(attributes)) node.setAttribute(name, value);
    return node;
  };
  root.classList.add("guide");
  root.dataset.state = "ready";
  const word = make("div", { class: "guide-word", "aria-hidden": "true" }, "Ready");
  const line = make("div", { class: "guide-line", role: "status" }, plan.summary);
  const ribbon = make("div", { class: "guide-ribbon", "aria-hidden": "true" });
  const cursor = make("div", { class: "guide-cursor" });
  for (const part of plan.ribbon) {
    const block = make("div", { class: `guide-block guide-${part.kind}` });
    block.style.flexGrow = part.lasts_s;
    block.append(make("b", {}, part.call), make("span", {}, part.seconds));
    ribbon.append(block);
  }
  ribbon.append(cursor);
  const track = make("div", { class: "guide-track", "aria-hidden": "true" });
  const bar = make("div", { class: "guide-bar" });
  track.append(make("span", { class: "guide-end guide-high" }, plan.ends.high), bar,
    make("span", { class: "guide-end guide-low" }, plan.ends.low));
  const start = make("button", { type: "button", class: "main" }, "Start the set");
  const stop = make("button", { type: "button", disabled: "" }, "Stop");
  const tones = make("input", { type: "checkbox", checked: "" });
  const voice = make("input", { type: "checkbox", checked: "" });
  const controls = make("div", { class: "guide-controls" });
  const labelled = (box, text) => { const l = make("label"); l.append(box, text); return l; };
  controls.append(start, stop, labelled(tones, "tones"), labelled(voice, "voice"));
  const stage = make("div", { class: "guide-stage" });
  const words = make("div", { class: "guide-words" });
  words.append(word, line);
  stage.append(track, words);
  root.append(stage, ribbon, controls);

  const showLevel = (level) => { bar.style.height = `${100 * (plan.turn_is_low ? 1 - level : level)}%`; };
  showLevel(0);

  let context = null, zero = 0, next = 0, running = false, frame = 0, timer = 0;
  const choice = () => ({ tones: tones.checked, voice: voice.checked });
  const end = plan.beats[plan.beats.length - 1].time_s;

  function paint() {
    if (!running) return;
    const now = context.currentTime - zero;
    const past = plan.beats.filter((b) => b.time_s <= now);
    const beat = past[past.length - 1];
    if (beat) {
      word.textContent = beat.shown;
      root.dataset.word = beat.word;
      const number = beat.repetition ? `Rep ${beat.repetition} of ${plan.repetitions}` : "Get ready";
      const text = beat.kind === "end" ? "Set done. Rest." : `${number}${beat.repetition === plan.repetitions ? ", the last one" : ""}`;
      if (line.textContent !== text) line.textContent = text;
    }
    showLevel(barLevel(plan, now));
    const first = plan.count_in_s;
    const within = now < first ? 0 : now >= end ? 1 : ((now - first) % plan.repetition_s) / plan.repetition_s;
    cursor.style.left = `${100 * within}%`;
    if (now > end + 0.8) return finish();
    frame = requestAnimationFrame(paint);
  }

  function look() {
    while (next < plan.beats.length && zero + plan.beats[next].time_s < context.currentTime + plan.look_ahead_s) {
      soundOfBeat(context, plan.beats[next], zero + plan.beats[next].time_s, plan, root.words, choice());
      next += 1;
    }
  }

  function finish() {
    running = false;
    root.dataset.state = "ready";
    clearInterval(timer);
    cancelAnimationFrame(frame);
    start.disabled = false;
    stop.disabled = true;
    if (context) context.close();
    context = null;
  }

  start.addEventListener("click", async () => {
    start.disabled = true;
    stop.disabled = false;
    context = new AudioContext();
    root.words = await decodeWords(context, plan);
    await context.resume();
    zero = context.currentTime + 0.2;
    next = 0;
    running = true;
    root.dataset.state = "running";
    timer = setInterval(look, 25);
    look();
    paint();
    stop.focus();
  });
  stop.addEventListener("click", () => {
    finish();
    word.textContent = "Stopped";
    line.textContent = plan.summary;
    showLevel(0);
    cursor.style.left = "0";
    start.focus();
  });

  // The whole set as samples, on the same clock arithmetic: what a test or a saved sound is made from.
  root.renderSet = async (rate) => {
    const offline = new OfflineAudioContext(1, Math.ceil((end + 1) * rate), rate);
    const decoded = await decodeWords(offline, plan);
    for (const beat of plan.beats) soundOfBeat(offline, beat, beat.time_s, plan, decoded, choice());
    return (await offline.startRendering()).getChannelData(0);
  };
  return finish;
}
