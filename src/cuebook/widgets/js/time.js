// Time stamps: the only clock of the desk. Frames are found by their stamps, never by a rate.

export function frameAt(times, seconds) {
  let low = 0, high = times.length - 1;
  while (low < high) {
    const middle = (low + high + 1) >> 1;
    if (times[middle] <= seconds) low = middle; else high = middle - 1;
  }
  return low;
}

export function nearestFrame(times, seconds) {
  const before = frameAt(times, seconds);
  const after = Math.min(before + 1, times.length - 1);
  return seconds - times[before] <= times[after] - seconds ? before : after;
}

export function repetitionAt(repetitions, seconds) {
  return repetitions.find((r) => seconds >= begin(r) - 1e-6 && seconds < finish(r) - 1e-6) || null;
}

export const begin = (rep) => (rep.start_s === null ? 0 : rep.start_s);
export const finish = (rep) => (rep.end_s === null ? Infinity : rep.end_s);

// The phases of one repetition on the time line, those of zero length left out.
export function stretches(rep, phases) {
  const found = [];
  let at = rep.start_s;
  for (const phase of phases) {
    if (at === null) break;
    const seconds = rep.phases[`${phase.name}_s`];
    if (seconds === null || seconds > 0) {
      const end = seconds === null ? null : at + seconds;
      found.push({ phase, start: at, end });
      at = end;
    }
  }
  return found;
}

export function seconds(value, places = 2) {
  return value === null || value === undefined ? "–" : `${value.toFixed(places)} s`;
}

// A number with a real minus sign, and never a minus before nothing.
export const plain = (value) => (value < 0 ? `\u2212${-value}` : `${value + 0}`);

export function degrees(value, spread) {
  return `${plain(Math.round(value))}° ± ${Math.max(1, Math.round(spread))}°`;
}
