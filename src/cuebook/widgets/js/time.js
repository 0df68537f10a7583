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

// Boundaries are kept to the millisecond: a frame that is nearer to one than that lies on it.
const ON_IT = 1e-3;

export function repetitionAt(repetitions, seconds) {
  return repetitions.find((r) => seconds >= begin(r) - ON_IT && seconds < finish(r) - ON_IT) || null;
}

// The first and the last frame that belong to a repetition.
export function firstFrame(times, rep) {
  const frame = frameAt(times, begin(rep) + ON_IT);
  return times[frame] < begin(rep) - ON_IT ? Math.min(frame + 1, times.length - 1) : frame;
}
export const lastFrame = (times, rep) => frameAt(times, finish(rep) - 2 * ON_IT);

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
