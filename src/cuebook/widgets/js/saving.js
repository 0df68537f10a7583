// Every change goes to the notebook's kernel at once and stays in this browser until the kernel says it is on disk.

export function makeSaving({ model, name, shown, refused, told }) {
  const place = `cuebook-unsaved:${name}`;
  let waiting = read(), timer = null;

  function read() {
    try { return JSON.parse(localStorage.getItem(place)) || []; } catch { return []; }
  }
  function write() {
    try {
      if (waiting.length) localStorage.setItem(place, JSON.stringify(waiting)); else localStorage.removeItem(place);
    } catch { /* a browser without storage keeps them in memory only */ }
  }
  function tell() {
    clearTimeout(timer);
    const count = waiting.length, what = count === 1 ? "1 change" : `${count} changes`;
    if (!count) { shown("saved", "All changes saved"); return; }
    shown("saving", `Saving ${what}`);
    timer = setTimeout(() => shown("waiting",
      `${what} not saved yet: the notebook's kernel does not answer. Kept in this browser; run the cell again.`), 2500);
  }
  function send(entry) { model.send({ type: "edit", key: entry.key, edit: entry.edit }); }

  const onMessage = (msg) => {
    if (msg.type === "still") { told(msg.words); return; }
    if (msg.type !== "done") return;
    if (msg.failed) {                                   // nothing was written: it stays here and is sent again
      clearTimeout(timer);
      shown("waiting", `Not saved yet: ${msg.failed}`);
      timer = setTimeout(() => { const entry = waiting.find((e) => e.key === msg.key); if (entry) send(entry); }, 3000);
      return;
    }
    waiting = waiting.filter((e) => e.key !== msg.key);
    write();
    tell();
    if (msg.refused) refused(msg.refused);
  };
  model.on("msg:custom", onMessage);

  return {
    edit(edit) {
      const entry = { key: crypto.randomUUID(), edit };
      waiting.push(entry);
      write();
      tell();
      send(entry);
      return entry.key;
    },
    keep(values) { model.send({ type: "keep", values }); },
    still(at_s, bytes) { model.send({ type: "still", at_s }, undefined, [bytes]); },
    again() { waiting.forEach(send); tell(); },
    pending: () => waiting.length,
    stop() { clearTimeout(timer); model.off("msg:custom", onMessage); },
  };
}
