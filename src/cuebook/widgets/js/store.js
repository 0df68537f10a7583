// What is shown now. Parts of the desk read it and are told when something in it changed.
import { begin, finish, repetitionAt } from "./time.js";

export function makeStore(facts, live) {
  const heard = {};
  const store = {
    facts, live, arrays: null, frame: 0, cue: 0, whole: false, lines: true, zoomed: false,
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
    verdict(cue, rep) {
      const found = store.live.verdicts.filter((v) => v.cue === cue.name && v.repetition === (rep ? rep.number : null));
      const worse = (v) => (v.uncertainty === null ? Infinity : v.uncertainty);
      return found.sort((a, b) => worse(a) - worse(b))[0] || null;
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
    // One line over the whole clip: where sides take turns, each repetition shows the side that works.
    joined(cue) {
      const { times } = store.arrays;
      const value = new Float32Array(times.length).fill(NaN), sigma = new Float32Array(times.length);
      const state = new Uint8Array(times.length);
      const usual = store.signalName(cue, null);
      const take = (name, from, to) => {
        if (!name) return;
        const { [`value:${name}`]: v, [`sigma:${name}`]: s, [`state:${name}`]: d } = store.arrays;
        for (let i = from; i < to; i++) { value[i] = v[i]; sigma[i] = s[i]; state[i] = d[i]; }
      };
      take(usual, 0, times.length);
      const names = new Set();
      for (const rep of store.repetitions()) {
        const name = store.signalName(cue, rep);
        if (name) names.add(name);
        if (!name || name === usual) continue;
        const from = times.findIndex((t) => t >= begin(rep) - 1e-6);
        const end = times.findIndex((t) => t >= finish(rep));
        if (from >= 0) take(name, from, end < 0 ? times.length : end);
      }
      return { value, sigma, state, name: names.size > 1 || !usual ? usual : [...names][0] || usual, sides: names.size > 1 };
    },
  };
  return store;
}
