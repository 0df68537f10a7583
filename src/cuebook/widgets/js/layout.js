// The parts of the desk and where they stand.
import { el } from "./dom.js";

export function makeLayout(facts) {
  const set = [facts.file, `filmed ${facts.view}`, facts.tempo && `tempo ${facts.tempo}`,
    facts.person && "the person pointed at"].filter(Boolean).join(" · ");
  const part = {
    saved: el("span", { class: "cb-saved", role: "status" }),
    video: el("video", { "aria-hidden": "true", tabindex: -1 }),
    over: el("canvas", { class: "cb-over", "aria-hidden": "true" }),
    wait: el("p", { class: "cb-wait", role: "status", text: "The picture is on its way." }),
    mirror: el("span", { class: "cb-mirror", text: "mirrored clip, turned back" }),
    status: el("p", { class: "cb-status", "aria-live": "off" }),
    beside: el("div", { class: "cb-beside", hidden: true }),
    cues: el("section", { class: "cb-cues", "aria-label": "Cues" }),
    marking: el("section", { class: "cb-marking", "aria-label": "Marks on a still", hidden: true }),
    trace: el("div", { class: "cb-trace", role: "slider", tabindex: 0, "aria-label": "Time in the clip", "aria-valuemin": 0 },
      el("canvas", { class: "cb-still", "aria-hidden": "true" }), el("canvas", { class: "cb-live", "aria-hidden": "true" })),
    traceName: el("p", { class: "cb-trace-name" }),
    strip: el("ol", { class: "cb-strip", "aria-label": "Repetitions" }),
    notes: el("section", { class: "cb-notes", "aria-label": "Notes" }),
    writing: el("div", { class: "cb-writing" }),
    row: facts.row && el("span", { class: "cb-row", text: `Clip ${facts.row.place} of ${facts.row.total}` }),
    said: el("p", { class: "cb-said", role: "status", "aria-live": "polite" }),
    keys: el("dialog", { class: "cb-keys", "aria-label": "Keys" }),
    alert: facts.alert ? el("p", { class: "cb-alert", role: "alert", text: facts.alert }) : "",
    more: el("details", { class: "cb-more", open: facts.warnings.length ? "" : null },
      el("summary", { text: facts.warnings.length ? `Warnings (${facts.warnings.length}) and cautions` : "Cautions" }),
      el("ul", {}, ...[...facts.warnings, ...facts.cautions].map((t) => el("li", { text: t })))),
  };
  part.video.muted = true;
  part.video.playsInline = true;
  part.mirror.hidden = !facts.flipped;
  if (facts.flipped) part.video.classList.add("cb-flipped");
  part.stage = el("div", { class: "cb-stage" }, part.video, part.over, part.wait, part.mirror);
  part.stage.style.setProperty("--w", facts.width);
  part.stage.style.setProperty("--h", facts.height);
  part.picture = el("div", { class: "cb-picture" }, part.stage);
  part.top = el("div", { class: "cb-top" }, part.picture, part.beside, part.cues, part.marking);
  part.head = el("header", { class: "cb-head" }, el("h2", { text: facts.title }), el("span", { class: "cb-set", text: set }), part.saved);
  part.root = el("div", { class: "cb-desk", tabindex: 0, role: "application", "data-lm-suppress-shortcuts": "true",
    "aria-label": `Desk for ${facts.file}. H shows the list of keys.` });
  return part;
}

// Colours of the notebook's theme for what is drawn on a canvas.
export function themeColours(root) {
  const style = getComputedStyle(root), read = (name) => style.getPropertyValue(name).trim();
  const names = ["paper", "text", "quiet", "grid", "band", "band2", "now", "phase", "phase2", "stay", "asked", "limit", "spread",
    "line", "hatch", "cursor", "note", "plate"];
  const ink = Object.fromEntries(names.map((n) => [n, read(`--cb-${n}`)]));
  return { ...ink, limitText: read("--cb-limit"), cursorCase: read("--cb-paper"), font: style.fontFamily };
}
