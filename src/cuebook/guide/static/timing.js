// Times a set by hand: one tap whenever the movement changes. Nothing here sees the picture.

function median(values) {
  const sorted = [...values].sort((a, b) => a - b);
  const half = sorted.length >> 1;
  return sorted.length % 2 ? sorted[half] : (sorted[half - 1] + sorted[half]) / 2;
}

// Share of a normal distribution below z (Abramowitz and Stegun 1964, formula 26.2.17, error below 7.5e-8).
function shareBelow(z) {
  const t = 1 / (1 + 0.2316419 * Math.abs(z));
  const rest = t * (0.319381530 + t * (-0.356563782 + t * (1.781477937 + t * (-1.821255978 + t * 1.330274429))));
  const tail = Math.exp(-z * z / 2) / Math.sqrt(2 * Math.PI) * rest;
  return z > 0 ? 1 - tail : tail;
}

function outcomeOf(value, u, band, plan) {
  const low = band.low === null ? 0 : shareBelow((band.low - value) / u);
  const high = band.high === null ? 1 : shareBelow((band.high - value) / u);
  const chance = high - low;
  return chance >= plan.met_at ? "met" : chance <= plan.not_met_at ? "not_met" : "near";
}

// Taps become repetitions: each tap ends one phase of the prescription and begins the next one that is not 0.
function timedSet(taps, plan) {
  const phases = plan.order.filter((phase) => plan.slots[phase].seconds > 0);
  const repetitions = [];
  for (let k = 0; k + 1 < taps.length; k += 1) {
    const phase = phases[k % phases.length];
    if (k % phases.length === 0) repetitions.push({});
    repetitions[repetitions.length - 1][phase] = { seconds: taps[k + 1] - taps[k], u: plan.hand_u_s };
  }
  return repetitions.filter((r) => r.eccentric && r.concentric);
}

function drift(repetitions) {
  if (repetitions.length < 4) return null;
  const third = Math.ceil(repetitions.length / 3);
  const lasts = (part) => median(part.map((r) => r.eccentric.seconds));
  return lasts(repetitions.slice(-third)) / lasts(repetitions.slice(0, third));
}

function sentenceOf(repetitions, plan) {
  for (const phase of plan.importance) {
    const slot = plan.slots[phase];
    const values = repetitions.filter((r) => r[phase]).map((r) => r[phase].seconds);
    if (!values.length || slot.seconds === 0) continue;
    const value = median(values);
    if (outcomeOf(value, plan.hand_u_s, slot.band, plan) !== "not_met") continue;
    const short = slot.band.low !== null && value < slot.band.low;
    return `${slot.title} took ${value.toFixed(1)} s, asked ${slot.asked}: ${short ? slot.longer : slot.shorter}`;
  }
  for (const [k, repetition] of repetitions.entries()) {
    for (const phase of plan.importance.filter((p) => repetition[p] && plan.slots[p].seconds > 0)) {
      const slot = plan.slots[phase], { seconds, u } = repetition[phase];
      if (outcomeOf(seconds, u, slot.band, plan) !== "not_met") continue;
      const short = slot.band.low !== null && seconds < slot.band.low;
      return `Rep ${k + 1}: ${slot.title.toLowerCase()} ${seconds.toFixed(1)} s, asked ${slot.asked}: ${short ? slot.longer : slot.shorter}`;
    }
  }
  const ratio = drift(repetitions);
  if (ratio !== null && ratio < plan.drift_low) {
    return `${plan.slots.eccentric.title} shrank to ${Math.round(100 * ratio)} % by the end: keep the last reps like the first.`;
  }
  const timed = repetitions.flatMap((r) => plan.importance.filter((p) => r[p] && plan.slots[p].seconds > 0)
    .map((p) => outcomeOf(r[p].seconds, r[p].u, plan.slots[p].band, plan)));
  const close = timed.filter((outcome) => outcome === "near").length;
  return close
    ? `No time was missed, but ${close} of ${timed.length} ${close === 1 ? "is" : "are"} too close to call by hand. Keep count for the last reps too.`
    : "The tempo was as asked, as far as hand timing can tell. Keep it for the last reps too.";
}

// Bars of every phase beside the band that was asked for; each bar says its figure, so colour carries nothing alone.
function drawBars(root, repetitions, plan, how) {
  root.replaceChildren();
  const longest = Math.max(1, ...plan.order.map((p) => (plan.slots[p].band.high ?? plan.slots[p].seconds)),
    ...repetitions.flatMap((r) => Object.values(r).map((v) => v.seconds + v.u))) * 1.05;
  const table = document.createElement("table");
  table.className = "bars";
  const head = table.createTHead().insertRow();
  const cell = (text, scope = "col") => Object.assign(document.createElement("th"), { textContent: text, scope });
  head.append(cell("Rep"));
  for (const phase of plan.order) head.append(cell(`${plan.slots[phase].title}, asked ${plan.slots[phase].asked}${plan.slots[phase].margin}`));
  const body = table.createTBody();
  repetitions.forEach((repetition, k) => {
    const row = body.insertRow();
    row.append(cell(`${k + 1}`, "row"));
    for (const phase of plan.order) {
      const slot = plan.slots[phase], value = repetition[phase], box = row.insertCell();
      box.dataset.head = slot.title;
      if (!value) { box.textContent = slot.seconds === 0 ? "not asked" : "not timed"; box.className = "none"; continue; }
      const outcome = outcomeOf(value.seconds, value.u, slot.band, plan);
      const strip = document.createElement("div");
      strip.className = "strip";
      strip.setAttribute("aria-hidden", "true");
      const part = (name, from, to) => {
        const piece = document.createElement("i");
        piece.className = name;
        piece.style.left = `${100 * from / longest}%`;
        piece.style.width = `${100 * Math.max(0, Math.min(to, longest) - from) / longest}%`;
        strip.append(piece);
      };
      part("asked", slot.band.low ?? 0, slot.band.high ?? longest);
      part("length", 0, value.seconds);
      part("unsure", Math.max(0, value.seconds - value.u), value.seconds + value.u);
      const words = document.createElement("span");
      words.textContent = `${value.seconds.toFixed(1)} ± ${value.u.toFixed(1)} s: ${plan.outcomes[outcome]}`;
      box.append(strip, words);
    }
  });
  const caption = table.createCaption();
  caption.textContent = `${how}. Grey band: what was asked, with the margin. Thin line: how unsure the time is.`;
  root.append(table);
}

function makeTiming(root, plan) {
  const at = (name) => root.querySelector(`[data-part="${name}"]`);
  const video = at("clip"), pick = at("file"), tap = at("tap"), undo = at("undo"), again = at("again"), done = at("done");
  const hint = at("hint"), result = at("result"), bars = at("bars"), sentence = at("sentence"), speed = at("speed");
  const phases = plan.order.filter((phase) => plan.slots[phase].seconds > 0);
  let taps = [], address = null;

  function tell() {
    root.dataset.taps = taps.length;
    const k = taps.length;
    const coming = phases[k % phases.length], over = phases[(k - 1 + phases.length) % phases.length];
    const number = Math.floor(k / phases.length) + 1;
    hint.textContent = k === 0
      ? `Play the clip and tap when the first rep begins: ${plan.slots[phases[0]].starts}.`
      : `Tap ${k + 1}: when ${plan.slots[over].ends}${k % phases.length === 0 ? ` and rep ${number} begins, or press Finish` : `, ${plan.slots[coming].starts}`}.`;
    undo.disabled = again.disabled = k === 0;
    done.disabled = k < 3;
  }
  function press() {
    if (!video.src || video.error) return;
    result.hidden = true;                               // it spoke of the taps before this one
    const last = taps[taps.length - 1];
    if (taps.length && video.currentTime <= last) {
      hint.textContent = `That is before the last tap: go on from ${last.toFixed(1)} s, or take the last tap back.`;
      return;
    }
    taps.push(video.currentTime);
    tell();
  }
  root.showClip = (blob) => {
    if (address) URL.revokeObjectURL(address);
    address = URL.createObjectURL(blob);
    video.src = address;
    video.hidden = false;
    tap.disabled = false;
    taps = [];
    result.hidden = true;
    tell();
    root.focus();
  };
  pick.addEventListener("change", () => pick.files[0] && root.showClip(pick.files[0]));
  // A clip that was just recorded does not say how long it is until it was sought through once.
  video.addEventListener("loadedmetadata", () => {
    if (video.duration !== Infinity) return;
    video.addEventListener("durationchange", () => { video.currentTime = 0; }, { once: true });
    video.currentTime = 1e7;
  });
  video.addEventListener("error", () => {
    tap.disabled = true;
    if (video.src) hint.textContent = "This browser cannot play that file: save it as an H.264 MP4, or try another browser.";
  });
  tap.addEventListener("pointerdown", (event) => { event.preventDefault(); press(); });
  tap.addEventListener("keydown", (event) => { if (event.key === "Enter") { event.preventDefault(); press(); } });
  root.addEventListener("keydown", (event) => {
    if (event.target.matches("input, select") || event.repeat) return;
    if (event.key === "t" || event.key === "T") press();
    else if (event.key === " " && event.target !== video && event.target.tagName !== "BUTTON") {
      if (video.paused) video.play(); else video.pause();
    } else if (event.key === " " && event.target === tap) press();
    else if (event.key === "Backspace") { taps.pop(); result.hidden = true; tell(); }
    else return;
    event.preventDefault();
  });
  undo.addEventListener("click", () => { taps.pop(); result.hidden = true; tell(); });
  again.addEventListener("click", () => { taps = []; video.currentTime = 0; result.hidden = true; tell(); });
  speed.addEventListener("change", () => { video.playbackRate = Number(speed.value); });
  done.addEventListener("click", () => {
    video.pause();
    const repetitions = timedSet(taps, plan);
    drawBars(bars, repetitions, plan, "Timed by hand");
    sentence.textContent = repetitions.length ? sentenceOf(repetitions, plan) : "No whole rep was tapped.";
    hint.textContent = `Finished after ${taps.length} taps. Play on and tap to add a rep, or take the last tap back.`;
    result.hidden = false;
    result.focus();
  });
  tell();
}

// The camera is offered only where the browser has one to offer; a file always works.
function makeCamera(root, plan, showClip, kept = "Recorded. It stays in this browser until the page is closed.") {
  const at = (name) => root.querySelector(`[data-part="${name}"]`);
  if (!navigator.mediaDevices || !navigator.mediaDevices.getUserMedia || !window.MediaRecorder) return;
  root.hidden = false;
  const view = at("view"), start = at("start"), stop = at("stop"), say = at("say");
  let stream = null, recorder = null;
  start.addEventListener("click", async () => {
    try {
      stream = await navigator.mediaDevices.getUserMedia({ video: { facingMode: "user" }, audio: false });
    } catch (problem) {
      say.textContent = "The camera cannot be used: allow it in the browser, or film with the camera app and choose the file.";
      return;
    }
    const parts = [];
    recorder = new MediaRecorder(stream);
    recorder.addEventListener("dataavailable", (event) => parts.push(event.data));
    recorder.addEventListener("stop", () => {
      stream.getTracks().forEach((t) => t.stop());
      view.hidden = true;
      showClip(new Blob(parts, { type: recorder.mimeType }));
      say.textContent = kept;
    });
    view.srcObject = stream;
    view.hidden = false;
    recorder.start();
    start.disabled = true;
    stop.disabled = false;
    say.textContent = "Recording, without sound.";
  });
  stop.addEventListener("click", () => { recorder.stop(); start.disabled = false; stop.disabled = true; });
}
