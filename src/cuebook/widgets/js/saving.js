// Every change goes to the notebook's kernel at once and stays in this browser until the kernel says it is on disk.
// Each change is an entry of its own in the browser's storage, so that two views of one desk cannot write over each
// other's; they are sent one after the other, so that none overtakes one that could not be written yet.

// A page that is not served safely, such as one from another machine in the club, has no randomUUID.
const freshKey = () => [...crypto.getRandomValues(new Uint8Array(16))].map((b) => b.toString(16).padStart(2, "0")).join("");
const AGAIN_MS = 5000, LONGEST_AGAIN_MS = 60000;

export function makeSaving({ model, name, shown, refused, told }) {
  const place = `cuebook-unsaved:${name}:`, half = `cuebook-half:${name}`;
  let waiting = read(), timer = null, resend = null, pause = AGAIN_MS, count = 0, settled = [];

  function stored() {
    try { return Object.keys(localStorage).filter((k) => k.startsWith(place)).sort(); } catch { return []; }
  }
  function entryAt(at) {
    try { return { ...JSON.parse(localStorage.getItem(at)), at }; } catch { return null; }
  }
  function read() { return stored().map(entryAt).filter((e) => e && e.key && e.edit); }
  function store(at, value) {
    try {
      if (value === null) localStorage.removeItem(at); else localStorage.setItem(at, JSON.stringify(value));
    } catch { /* a browser without storage keeps them in memory only */ }
  }

  function tell() {
    clearTimeout(timer);
    const left = waiting.length, what = left === 1 ? "1 change" : `${left} changes`;
    if (!left) {
      shown("saved", "All changes saved");
      for (const call of settled.splice(0)) call();
      return;
    }
    shown("saving", `Saving ${what}`);
    timer = setTimeout(() => shown("waiting",
      `${what} not saved yet: the notebook's kernel does not answer. Kept in this browser; run the cell again.`), 2500);
  }
  function post(message, buffers) {                     // a line that is cut is no reason to lose what was meant
    try { model.send(message, undefined, buffers); return true; } catch { return false; }
  }
  // Sends the oldest change; the same one again, with longer and longer pauses, until it is answered.
  function send() {
    clearTimeout(resend);
    const [first] = waiting;
    if (!first) return;
    post({ type: "edit", key: first.key, edit: first.edit, keep: first.keep || null });
    resend = setTimeout(send, pause);
    pause = Math.min(LONGEST_AGAIN_MS, 2 * pause);
  }

  const onMessage = (msg) => {
    if (msg.type === "still") { told(msg.words); return; }
    if (msg.type !== "done") return;
    const entry = waiting.find((e) => e.key === msg.key);
    if (!entry) return;
    pause = AGAIN_MS;
    if (msg.failed) {                                   // nothing was written: it stays here and is sent again
      clearTimeout(timer);
      clearTimeout(resend);
      shown("waiting", `Not saved yet: ${msg.failed}`);
      resend = setTimeout(send, 3000);
      return;
    }
    waiting = waiting.filter((e) => e !== entry);
    store(entry.at, null);
    send();
    tell();
    if (msg.refused) refused(msg.refused, entry.edit);
    else if (msg.words || entry.words) told(msg.words || entry.words);
  };
  model.on("msg:custom", onMessage);

  return {
    // `keep` is kept by name in the same breath as the edit; `words` are said once it is on disk.
    edit(edit, { keep = null, words = null } = {}) {
      const key = freshKey();
      const when = `${String(Date.now()).padStart(15, "0")}-${String(count++).padStart(6, "0")}`;
      const entry = { key, edit, keep, words };
      store(`${place}${when}-${key}`, entry);
      waiting.push({ ...entry, at: `${place}${when}-${key}` });
      tell();
      if (waiting.length === 1) send();
      return key;
    },
    keep(values) { post({ type: "keep", values }); },
    // The note being typed is in this browser with every letter, and in the record as soon as the typing rests.
    half(note) { store(half, note); },
    halfKept() { try { return JSON.parse(localStorage.getItem(half)); } catch { return null; } },
    still(at_s, bytes) { if (!post({ type: "still", at_s }, [bytes])) told("The picture was not saved: run the cell again first."); },
    again() { send(); tell(); },
    pending: () => waiting.length,
    // Resolves once nothing waits any more.
    settled: () => new Promise((done) => { if (waiting.length) settled.push(done); else done(); }),
    stop() { clearTimeout(timer); clearTimeout(resend); model.off("msg:custom", onMessage); },
  };
}
