"""The contact sheet on a page without a notebook; a stand-in for the kernel keeps what was sent, hands out strips."""

from __future__ import annotations

import base64
import json
from datetime import date
from pathlib import Path

import cv2
import numpy as np

from cuebook.inbox.entries import REASONS, STATES, Inbox
from cuebook.movements.cautions import CAUTION
from cuebook.sheet.rows import sheet_rows
from cuebook.widgets.assets import joined, style

_PAGE = """<!DOCTYPE html><html lang="en"><meta charset="utf-8"><title>sheet</title><style>%(css)s</style>
<body style="margin:12px"><div id="host"></div><script type="module">
import widget from "data:text/javascript;base64,%(module)s";
const values = %(values)s, heard = {};
values.people = (clip) => ({ type: "people", clip, width_px: 960, height_px: 540, stills: [
  { time_s: 4.2, people: [{ x: 240, y: 300, r: 200 }, { x: 700, y: 320, r: 190 }] }, { time_s: 9, people: [] }] });
const strip = Uint8Array.from(atob("%(strip)s"), (c) => c.charCodeAt(0));
window.sent = [];
window.model = {
  get: (name) => values[name],
  on: (name, run) => { (heard[name] ||= new Set()).add(run); },
  off: (name, run) => { heard[name]?.delete(run); },
  set(name, value) { values[name] = value; for (const run of heard[`change:${name}`] || []) run(); },
  hear(message, buffers = []) { for (const run of heard["msg:custom"] || []) run(message, buffers); },
  send(message) {
    window.sent.push(message);
    for (const clip of message.type === "strips" ? message.clips : []) {
      setTimeout(() => window.model.hear({ type: "strip", clip }, [strip]), 5);
    }
    if (message.type === "people") setTimeout(() => window.model.hear(values.people(message.clip), [strip, strip]), 5);
    if (message.type === "decide") setTimeout(() => window.model.set("decisions", { ...values.decisions,
      [message.clip]: { state: message.state, reason: message.reason, who: "Dov Hessel", at: "" } }), 5);
  },
};
window.ended = await widget.render({ model: window.model, el: document.getElementById("host") });
</script>"""


def sheet_page(inbox: Inbox, path: Path) -> Path:
    """Write a page with the sheet of an inbox and return it."""
    ramp = np.tile(np.linspace(60, 220, 310, dtype=np.uint8), (78, 1))
    values = {
        "rows": sheet_rows(inbox, today=date(2026, 1, 14)), "decisions": {}, "scoring": {}, "results": {},
        "unopened": ["notes.mp4"],
        "following": {},
        "words": {"states": STATES, "reasons": REASONS, "caution": CAUTION},
    }  # fmt: skip
    filled = _PAGE % {
        "css": style("sheet.css"),
        "module": base64.b64encode(joined("sheet.js").encode()).decode(),
        "values": json.dumps(values).replace("</", "<\\/"),
        "strip": base64.b64encode(cv2.imencode(".jpg", ramp)[1].tobytes()).decode(),
    }
    path.write_text(filled, encoding="utf-8")
    return path
