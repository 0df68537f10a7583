
// The notebook's view: the guide, a way to film or choose the clip, and the bars of the set that was measured.
const PIECE_BYTES = 256 * 1024;

function stamp(now) {
  const two = (n) => String(n).padStart(2, "0");
  return `${now.getFullYear()}-${two(now.getMonth() + 1)}-${two(now.getDate())}-${two(now.getHours())}${two(now.getMinutes())}${two(now.getSeconds())}`;
}

// Hands a clip to the kernel in pieces: a whole set as one message would be refused.
async function handOver(model, blob, name) {
  const parts = Math.max(1, Math.ceil(blob.size / PIECE_BYTES)), take = `${Date.now()}-${Math.random().toString(36).slice(2)}`;
  for (let part = 0; part < parts; part += 1) {
    const piece = await blob.slice(part * PIECE_BYTES, (part + 1) * PIECE_BYTES).arrayBuffer();
    model.send({ type: "clip", take, name, part, parts }, undefined, [piece]);
  }
}

const AFTER = `<h4>After: measure the clip of the set</h4>
<div class="camera" role="region" aria-label="Film here" data-part="camera" hidden><div class="row">
<button type="button" data-part="start">Film with this device</button>
<button type="button" data-part="stop" disabled>Stop and measure</button></div>
<video data-part="view" muted playsinline autoplay hidden></video><p role="status" data-part="say"></p></div>
<div class="row"><label>Or choose a clip <input type="file" accept="video/*" data-part="file"></label></div>
<p role="status" data-part="measuring"></p>`;

// The guide, and below it how the clip gets here; returns what ends both.
function makeBefore(model, guide, after, plan) {
  after.innerHTML = AFTER;
  const at = (name) => after.querySelector(`[data-part="${name}"]`);
  const ending = (type) => (type.includes("mp4") ? "mp4" : "webm");
  makeCamera(at("camera"), plan, (blob) => handOver(model, blob, `set-${stamp(new Date())}.${ending(blob.type)}`),
    "Recorded. It is measured on this machine.");
  at("file").addEventListener("change", (event) => {
    const [file] = event.target.files;
    if (file) handOver(model, file, file.name);
  });
  const tell = () => { at("measuring").textContent = model.get("measuring"); };
  model.on("change:measuring", tell);
  tell();
  const finish = makeGuide(guide, plan);
  return () => { model.off("change:measuring", tell); finish(); };
}

function render({ model, el }) {
  const plan = model.get("plan");
  const region = (name, className) => {
    const made = Object.assign(document.createElement("div"), { className });
    made.setAttribute("role", "region");
    made.setAttribute("aria-label", name);
    return made;
  };
  const guide = region("Tempo guide", ""), result = region("Measured tempo", "tempo-result");
  const after = region("After the set", "timing tempo-after");
  const caution = Object.assign(document.createElement("p"), { className: "tempo-caution", textContent: model.get("caution") });
  const guided = model.get("guided");
  el.append(...(guided ? [guide, after] : []), result, caution);
  const finish = guided ? makeBefore(model, guide, after, plan) : () => {};
  const show = () => {
    const measured = model.get("measured");
    result.replaceChildren();
    if (!measured.sentence) return;
    const sentence = document.createElement("p");
    sentence.append(Object.assign(document.createElement("b"), { textContent: measured.sentence }));
    const bars = document.createElement("div");
    drawBars(bars, measured.repetitions, plan, `Measured by the camera in ${measured.clip}`);
    const rest = measured.lines.map((text) => Object.assign(document.createElement("p"), { textContent: text }));
    result.append(sentence, bars, ...rest);
    el.dataset.ready = "1";
  };
  model.on("change:measured", show);
  show();
  return () => { model.off("change:measured", show); finish(); };
}

export default { render };
