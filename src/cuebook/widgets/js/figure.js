// The athlete's lines over the picture: near side strong, far side faint, doubtful parts dashed with hollow joints;
// the angle that is judged as a thin arc with its number beside the joint.
import { degrees } from "./time.js";

const NEAR = "#56b4e9", FAR = "#d6dade", CASING = "#181c22", ANGLE = "#ffce46";
const LIMB = [["shoulder", "elbow"], ["elbow", "wrist"], ["shoulder", "hip"], ["hip", "knee"], ["knee", "ankle"],
  ["heel", "foot_index"], ["ankle", "heel"]];
const JOINTS = ["shoulder", "elbow", "wrist", "hip", "knee", "ankle"];

export function makeFigure(facts, arrays) {
  const at = Object.fromEntries(facts.landmarks.map((name, i) => [name, i]));
  const count = facts.landmarks.length;
  const bones = (side) => LIMB.map(([a, b]) => [at[`${side}_${a}`], at[`${side}_${b}`]]);
  const girdles = ["shoulder", "hip"].map((n) => [at[`left_${n}`], at[`right_${n}`]]);
  const unit = Math.max(1, Math.min(facts.width, facts.height) / 360);

  function point(frame, mark) {
    const i = 2 * (frame * count + mark);
    return [arrays.body[i], arrays.body[i + 1]];
  }
  const known = (p) => p[0] === p[0];

  function doubtful(seconds) {
    const found = new Set();
    for (const d of facts.doubts) {
      if (d.start_s <= seconds && seconds <= d.end_s) d.landmarks.forEach((m) => found.add(m));
    }
    return found;
  }

  function lines(ctx, frame, pairs, doubt, strong) {
    const width = (strong ? 2.4 : 1.3) * unit;
    const coats = strong ? [[CASING, width + 1.6 * unit], [NEAR, width]] : [[CASING, width + unit], [FAR, width]];
    for (const [colour, wide] of coats) {
      ctx.strokeStyle = colour;
      ctx.lineWidth = wide;
      for (const [a, b] of pairs) {
        const p = point(frame, a), q = point(frame, b);
        if (!known(p) || !known(q)) continue;
        ctx.setLineDash(doubt.has(a) || doubt.has(b) ? [5 * unit, 5 * unit] : []);
        ctx.beginPath();
        ctx.moveTo(...p);
        ctx.lineTo(...q);
        ctx.stroke();
      }
    }
    ctx.setLineDash([]);
  }

  function joint(ctx, p, hollow) {
    if (!known(p)) return;
    ctx.beginPath();
    ctx.arc(p[0], p[1], 3.6 * unit, 0, 2 * Math.PI);
    ctx.lineWidth = 1.6 * unit;
    ctx.strokeStyle = CASING;
    ctx.fillStyle = hollow ? "transparent" : NEAR;
    ctx.fill();
    ctx.stroke();
    if (hollow) { ctx.lineWidth = 0.9 * unit; ctx.strokeStyle = NEAR; ctx.stroke(); }
  }

  function body(ctx, frame) {
    const doubt = doubtful(arrays.times[frame]);
    lines(ctx, frame, girdles, doubt, !facts.facing);
    for (const side of facts.facing === "left" ? ["right", "left"] : ["left", "right"]) {
      const strong = !facts.facing || facts.facing === side;
      lines(ctx, frame, bones(side), doubt, strong);
      if (strong) for (const n of JOINTS) joint(ctx, point(frame, at[`${side}_${n}`]), doubt.has(at[`${side}_${n}`]));
    }
  }

  function arc(ctx, corner, zero, limb) {
    const toZero = [zero[0] - corner[0], zero[1] - corner[1]], toLimb = [limb[0] - corner[0], limb[1] - corner[1]];
    const length = Math.hypot(...toLimb), reach = Math.hypot(...toZero);
    if (!(length > 4 * unit) || !(reach > 1)) return 0;
    const radius = Math.min(46 * unit, Math.max(16 * unit, 0.42 * length));
    const from = Math.atan2(toZero[1], toZero[0]);
    let turn = Math.atan2(toLimb[1], toLimb[0]) - from;
    turn = turn - 2 * Math.PI * Math.round(turn / (2 * Math.PI));
    for (const [colour, width] of [[CASING, 3.4 * unit], [ANGLE, 1.7 * unit]]) {
      ctx.strokeStyle = colour;
      ctx.lineWidth = width;
      ctx.setLineDash([4 * unit, 4 * unit]);
      ctx.beginPath();
      ctx.moveTo(...corner);
      ctx.lineTo(corner[0] + (toZero[0] / reach) * radius * 1.25, corner[1] + (toZero[1] / reach) * radius * 1.25);
      ctx.stroke();
      ctx.setLineDash([]);
      ctx.beginPath();
      ctx.arc(corner[0], corner[1], radius, from, from + turn, turn < 0);
      ctx.stroke();
    }
    return radius * 1.25;
  }

  function plate(ctx, text, corner, toward, reach, mirrored) {
    const size = Math.max(15, 0.05 * Math.min(facts.width, facts.height)), pad = 4 * unit;
    ctx.font = `600 ${size}px "DejaVu Sans", system-ui, sans-serif`;
    const width = ctx.measureText(text).width + 2 * pad, height = size * 1.35;
    const gap = Math.max(14 * unit, reach);
    let x = corner[0] + gap * toward[0] + ((toward[0] - 1) * width) / 2;
    let y = corner[1] + gap * toward[1] + ((toward[1] - 1) * height) / 2;
    x = Math.min(Math.max(0, x), facts.width - width);
    if (x <= corner[0] && corner[0] <= x + width && y - 6 * unit <= corner[1] && corner[1] <= y + height + 6 * unit) {
      y = corner[1] > facts.height / 2 ? corner[1] - height - 14 * unit : corner[1] + 14 * unit;
    }
    y = Math.min(Math.max(0, y), facts.height - height);
    ctx.save();
    if (mirrored) {                                     // only the picture is mirrored, never its figures
      ctx.translate(2 * x + width, 0);
      ctx.scale(-1, 1);
    }
    ctx.fillStyle = CASING;
    ctx.beginPath();
    ctx.roundRect(x, y, width, height, 3 * unit);
    ctx.fill();
    ctx.fillStyle = ANGLE;
    ctx.textBaseline = "middle";
    ctx.fillText(text, x + pad, y + height / 2 + 0.5 * unit);
    ctx.restore();
  }

  function reading(name, frame) {
    const value = arrays[`value:${name}`][frame], state = arrays[`state:${name}`][frame];
    if (!(value === value)) return null;
    const shown = name.endsWith("trunk_rotation") ? Math.abs(value) : value;
    return { value, spread: arrays[`sigma:${name}`][frame], doubtful: state === 2,
      words: degrees(shown, arrays[`sigma:${name}`][frame]) };
  }

  function angle(ctx, frame, name, numbered, mirrored) {
    const rays = arrays[`rays:${name}`], i = 6 * frame;
    const corner = [rays[i + 2], rays[i + 3]], read = reading(name, frame);
    if (!known(corner) || !read) return;
    const reach = arc(ctx, corner, [rays[i], rays[i + 1]], [rays[i + 4], rays[i + 5]]);
    if (!numbered) return;
    plate(ctx, read.doubtful ? `${read.words} in doubt` : read.words, corner, facts.signals[name].toward, reach, mirrored);
  }

  return {
    point, reading, mark: at, unit,
    // Draws one frame into a canvas whose size in pixels may differ from that of the clip.
    draw(canvas, frame, { names, lines: wanted, mirrored = false }) {
      const ctx = canvas.getContext("2d");
      ctx.setTransform(1, 0, 0, 1, 0, 0);
      ctx.clearRect(0, 0, canvas.width, canvas.height);
      if (!wanted) return;
      const across = canvas.width / facts.width;
      ctx.setTransform(mirrored ? -across : across, 0, 0, canvas.height / facts.height, mirrored ? canvas.width : 0, 0);
      ctx.lineCap = ctx.lineJoin = "round";
      body(ctx, frame);
      names.forEach((name, i) => angle(ctx, frame, name, i === 0, mirrored));
    },
  };
}
