// The cues of the repetition in view, or of the whole set: outcome in words, value with uncertainty, why and source on
// demand; an outcome that the coach overrules stands beside the measured one.
import { button, el, keepFocus } from "./dom.js";

export const OUTCOMES = [["met", "1"], ["near", "2"], ["not_met", "3"], ["not_measurable", "0"]];
export const OUTCOME_WORDS = { met: "met", near: "too close to call", not_met: "not met", not_measurable: "not measurable" };

export function makeCues({ store, box, choose, overrule, toggleWhole }) {
  const { facts } = store;
  const title = el("h3");
  const whole = button("Whole set", toggleWhole, { key: "G", pressed: false, class: "cb-small" });
  const list = el("ul", { "aria-label": "Cues" });
  box.append(el("div", { class: "cb-cues-head" }, title, whole), list);
  const cues = { open: false };

  function outcome(v, rep) {
    if (!v && rep && !rep.complete) return ["", "not judged: not a whole repetition", ""];
    if (!v) return ["", facts.tempo ? "left to the tempo" : "not judged here", ""];
    const own = v.overruled;
    if (!own) return [v.mark, v.words, v.measured];
    return [own.mark, `${own.words}, by ${own.who || "the coach"}`, `measured: ${v.short} ${v.measured}`.trim()];
  }

  function row(index, place, rep) {
    const cue = facts.cues[index], v = store.verdict(cue, rep, place), [mark, words, value] = outcome(v, rep);
    const now = index === store.cue && (place === null || place === store.side);
    const side = v && v.side !== "both" && facts.sides !== "both" ? `, ${v.side}` : "";
    const head = el("button", {
      type: "button", class: "cb-cue", "aria-expanded": String(now && cues.open), "aria-current": now ? "true" : null,
      tabindex: now ? 0 : -1, onclick: () => choose(index, place, now ? !cues.open : cues.open),
    },
    el("span", { class: "cb-mark", "aria-hidden": "true", text: mark }),
    el("span", { class: "cb-cue-name", text: cue.title + side }),
    el("span", { class: "cb-cue-outcome", text: words }),
    el("span", { class: "cb-cue-value", text: value }),
    rep ? null : byEye(cue, place));
    const item = el("li", { "data-cue": cue.name }, head);
    if (now) item.append(tools(cue, v));
    if (now && cues.open) item.append(reasons(cue, rep, place));
    return item;
  }

  // What the coach said of single repetitions stands beside what was measured of the whole set.
  function byEye(cue, place) {
    const own = store.live.verdicts.filter((v) => v.cue === cue.name && v.repetition !== null && v.overruled
      && (place === null || v.side === place));
    const sided = (v) => (v.side === "both" || facts.sides === "both" ? "" : ` ${v.side}`);
    const said = own.sort((a, b) => a.repetition - b.repetition)
      .map((v) => `rep ${v.repetition}${sided(v)} by eye: ${v.overruled.words}`);
    return said.length ? el("span", { class: "cb-cue-eye", text: [...new Set(said)].join("; ") }) : null;
  }

  function tools(cue, v) {
    const own = v && v.overruled;
    const said = own ? own.outcome : v ? v.outcome : null;
    const line = el("div", { class: "cb-overrule", role: "group", "aria-label": `Outcome of ${cue.title} by eye` });
    for (const [name, key] of OUTCOMES) {
      line.append(button(OUTCOME_WORDS[name], () => overrule(name), { key, pressed: said === name && Boolean(own), class: "cb-small",
        label: `By eye: ${OUTCOME_WORDS[name]}`, disabled: !v }));
    }
    line.append(button("as measured", () => overrule(null), { key: "9", class: "cb-small", disabled: !own }));
    if (own) {
      line.append(el("label", { class: "cb-reason" }, "reason ", el("input", {
        type: "text", value: own.reason || "", "aria-label": "Reason for this outcome",
        onchange: (e) => overrule(own.outcome, e.target.value),
        onkeydown: (e) => { if (e.key === "Enter") box.closest(".cb-desk").focus({ preventScroll: true }); },
      })));
    }
    return line;
  }

  function reasons(cue, rep, place) {
    const lines = el("dl", { class: "cb-why" });
    const add = (name, text) => { if (text) lines.append(el("dt", { text: name }), el("dd", { text })); };
    add("Aim", cue.target);
    add("Judged by", `${cue.what} ${cue.asked}${cue.granted ? `, ${cue.granted} granted` : ""}`);
    for (const one of store.verdicts(cue, rep).filter((o) => place === null || o.side === place)) {
      const side = one.side === "both" ? "" : `${one.side}: `;
      if (one.value === null) { add("Not measured", `${side}${one.reason}`); add("To film it", one.refilm); }
      else add("Measured", `${side}${one.measured}, ${one.chance_words}${one.method ? `, ${one.method}` : ""}`);
    }
    add("Say", cue.say);
    add("Why", cue.why);
    add("Source", cue.source);
    return lines;
  }

  cues.redraw = () => {
    const rep = store.whole ? null : store.rep();
    title.textContent = rep ? `Repetition ${rep.number}${rep.side === "both" ? "" : `, ${rep.side}`}` : "Whole set";
    whole.setAttribute("aria-pressed", String(store.whole));
    const places = store.places();
    if (!places.some(([cue, side]) => cue === store.cue && (side === null || side === store.side))) {
      store.side = (places.find(([cue]) => cue === store.cue) || [0, null])[1];
    }
    const onCue = list.contains(document.activeElement) && document.activeElement.className === "cb-cue";
    keepFocus(list, () => list.replaceChildren(...places.map(([cue, side]) => row(cue, side, rep)), ...others(rep)));
    if (onCue) list.querySelector(".cb-cue[aria-current]")?.focus();
  };

  // What belongs to no cue of the movement: the phases, and for the whole set the number of repetitions.
  function others(rep) {
    return (rep ? phaseLines(rep) : store.live.lines).map((line) => el("li", { class: "cb-line" },
      el("span", { class: "cb-mark", "aria-hidden": "true", text: line.mark }),
      el("span", { class: "cb-cue-name", text: line.title }),
      el("span", { class: "cb-cue-outcome", text: line.words }),
      el("span", { class: "cb-cue-value", text: line.value })));
  }
  function phaseLines(rep) {
    return facts.phases.map((phase) => {
      const v = rep.phases[`${phase.name}_s`], u = rep.phases_u[`${phase.name}_s`] || 0;
      const value = v === null ? "not in the clip" : `${v.toFixed(1)} ± ${Math.max(0.1, u).toFixed(1)} s`;
      return { mark: "", title: phase.word[0].toUpperCase() + phase.word.slice(1), words: phase.asked === "rest" ? "– rest" : phase.asked ? `asked ${phase.asked}` : "", value };
    });
  }
  return cues;
}
