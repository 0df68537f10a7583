
// The notebook's view: the guide, and under it the bars of the set that was measured.
function render({ model, el }) {
  const plan = model.get("plan");
  const guide = document.createElement("div");
  guide.setAttribute("role", "region");
  guide.setAttribute("aria-label", "Tempo guide");
  const result = document.createElement("div");
  result.className = "tempo-result";
  result.setAttribute("role", "region");
  result.setAttribute("aria-label", "Measured tempo");
  const caution = document.createElement("p");
  caution.className = "tempo-caution";
  caution.textContent = model.get("caution");
  el.append(guide, result, caution);
  const finish = makeGuide(guide, plan);
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
