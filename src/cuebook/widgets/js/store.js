// What is shown now. Parts of the desk read it and are told when something in it changed.
import { begin, firstFrame, repetitionAt } from "./time.js";

export function makeStore(facts, live) {
  const heard = {};
  const store = {
    facts, live, arrays: null, frame: 0, cue: 0, side: null, whole: false, lines: true, zoomed: false,
    on(name, call) { (heard[name] ||= []).push(call); },
    tell(name) { for (const call of heard[name] || []) call(); },
    set(name, value) { store[name] = value; store.tell(name); },
    time: () => (store.arrays ? store.arrays.times[store.frame] : 0),
    currentCue: () => facts.cues[store.cue] || null,
    repetitions: () => store.live.repetitions,
    // The repetition the picture is in; between two, the one that was last.
    rep(at = store.time()) {
      const all = store.live.repetitions;
      return repetitionAt(all, at) || all.filter((r) => begin(r) <= at).at(-1) || all[0] || null;
    },
    inside: (at = store.time()) => repetitionAt(store.live.repetitions, at),
    // What can be chosen among the cues: of a whole set each side by itself, where a movement has sides.
    places: () => facts.cues.flatMap((cue, i) => {
      const sides = store.whole && facts.sides !== "both" ? [...new Set(store.verdicts(cue, null).map((v) => v.side))] : [];
      return sides.length > 1 ? sides.sort().map((side) => [i, side]) : [[i, null]];
    }),
    verdict(cue, rep, side = rep ? null : store.side) {
      const found = store.live.verdicts.filter((v) => v.cue === cue.name && v.repetition === (rep ? rep.number : null));
      const worse = (v) => (v.uncertainty === null ? Infinity : v.uncertainty);
      found.sort((a, b) => worse(a) - worse(b));
      return (side && found.find((v) => v.side === side)) || found[0] || null;
    },
    verdicts: (cue, rep) => store.live.verdicts.filter(
      (v) => v.cue === cue.name && v.repetition === (rep ? rep.number : null)),
    // The signal a cue is judged on in one repetition; the driver for a cue that is a time.
    signalName(cue, rep) {
      for (const base of [cue && cue.signal, facts.driver]) {
        if (!base) continue;
        const judged = cue && rep ? store.verdict(cue, rep) : null;
        const wanted = [judged && judged.side, rep && rep.side, facts.facing, "left", "right"];
        const names = [base, ...wanted.filter((s) => s === "left" || s === "right").map((s) => `${s}_${base}`)];
        const found = names.find((n) => n in facts.signals);
        if (found) return found;
      }
      return null;
    },
    // One line over the whole clip: where sides take turns, each repetition and what follows it shows the side that works.
    joined(cue) {
      const { times } = store.arrays;
      const value = new Float32Array(times.length).fill(NaN), sigma = new Float32Array(times.length);
      const state = new Uint8Array(times.length);
      const all = store.repetitions();
      const take = (name, from, to) => {
        if (!name) return;
        const { [`value:${name}`]: v, [`sigma:${name}`]: s, [`state:${name}`]: d } = store.arrays;
        for (let i = from; i < to; i++) { value[i] = v[i]; sigma[i] = s[i]; state[i] = d[i]; }
      };
      const names = all.map((rep) => store.signalName(cue, rep));
      if (!all.length) names.push(store.signalName(cue, null));
      names.forEach((name, k) => {
        const next = all[k + 1];
        take(name, k === 0 ? 0 : firstFrame(times, all[k]), next ? firstFrame(times, next) : times.length);
      });
      const known = [...new Set(names.filter(Boolean))];
      return { value, sigma, state, name: known[0] || null, sides: known.length > 1 };
    },
  };
  return store;
}
