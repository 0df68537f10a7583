// The clip: exact frames by time stamp, one seek in flight, the newest wish wins.
import { frameAt } from "./time.js";

export const SPEEDS = [0.25, 0.5, 1];

export function makePlayer({ video, times, painted, changed, signal }) {
  const last = times.length - 1;
  const middle = (i) => (i < last ? (times[i] + times[i + 1]) / 2 : times[i] + 0.004);
  const before = (i) => (i > 0 ? (times[i - 1] + times[i]) / 2 : -1);
  const player = { frame: 0, want: 0, speed: 1, playing: false, backward: false, loop: null, ready: false, shown: -1 };
  let busy = false, runs = 0;

  const clamp = (i) => Math.max(0, Math.min(last, Math.round(i)));
  function paint(i) { player.frame = i; painted(i); }

  // Resolves when the wanted frame is on the screen; a late frame of an earlier seek is not the wanted one.
  function seek(i) {
    return new Promise((done) => {
      const end = () => { clearTimeout(timer); video.removeEventListener("seeked", landed); done(); };
      const timer = setTimeout(end, 1500);              // a hidden tab gets no frames
      const landed = () => requestAnimationFrame(() => requestAnimationFrame(() => setTimeout(end, 60)));
      const seen = (_now, meta) => {
        if (meta.mediaTime > before(i) && meta.mediaTime < middle(i)) end();
        else if (busy) video.requestVideoFrameCallback(seen);
      };
      video.requestVideoFrameCallback(seen);
      video.addEventListener("seeked", landed, { once: true });
      video.currentTime = middle(i);
    });
  }

  async function settle() {
    if (busy) return;
    busy = true;
    while (player.want !== player.shown && !(player.playing && !player.backward)) {
      const i = player.want;
      await seek(i);
      player.shown = i;
      paint(i);
    }
    busy = false;
  }

  player.show = (i) => {
    player.want = clamp(i);
    if (!player.ready) { paint(player.want); return; }
    if (player.playing && !player.backward) { player.shown = -1; video.currentTime = middle(player.want); return; }
    settle();
  };
  player.showAt = (seconds) => player.show(frameAt(times, seconds + 1e-4));
  player.step = (by) => { if (player.playing) player.pause(); player.show(player.want + by); };

  function running(run) {
    video.requestVideoFrameCallback((_now, meta) => {
      if (run !== runs || !player.playing) return;
      const i = frameAt(times, meta.mediaTime + 0.002);
      player.want = player.shown = i;
      paint(i);
      if (player.loop && (meta.mediaTime >= player.loop[1] - 0.01 || i === last)) {
        video.currentTime = player.loop[0] + 0.001;
        if (video.paused) video.play();
      }
      running(run);
    });
  }

  player.play = () => {
    if (!player.ready) return;
    player.backward = false;
    if (player.want >= last) video.currentTime = player.loop ? player.loop[0] : 0;
    video.playbackRate = player.speed;
    if (!player.playing) {
      player.playing = true;
      runs += 1;
      running(runs);
      video.play();
    }
    changed();
  };
  player.pause = () => {
    if (!player.playing) return;
    player.playing = player.backward = false;
    runs += 1;
    video.pause();
    player.shown = -1;                                  // what stands still is shown exactly
    settle();
    changed();
  };
  player.toggle = () => (player.playing ? player.pause() : player.play());
  player.back = () => {
    if (!player.ready) return;
    player.pause();
    player.playing = player.backward = true;
    const run = ++runs;
    let then = performance.now(), at = times[player.want];
    const tick = (now) => {
      if (run !== runs || !player.backward) return;
      at -= ((now - then) / 1000) * player.speed;
      then = now;
      if (player.loop && at <= player.loop[0]) at = player.loop[1];
      if (at <= 0) { player.show(0); player.pause(); return; }
      const i = frameAt(times, at);
      if (i !== player.want) player.show(i);
      requestAnimationFrame(tick);
    };
    requestAnimationFrame(tick);
    changed();
  };
  player.setSpeed = (speed) => { player.speed = speed; video.playbackRate = speed; changed(); };
  player.setLoop = (range) => { player.loop = range; changed(); };

  player.load = async (url) => {
    video.src = url;
    await new Promise((ok, bad) => {
      video.onloadeddata = ok;
      video.onerror = () => bad(new Error((video.error && video.error.message) || "the picture cannot be decoded"));
    });
    player.ready = true;
    player.shown = -1;
    await settle();
  };
  video.addEventListener("ended", () => { if (!player.loop) player.pause(); }, { signal });
  return player;
}
