// Makes forms answer while figures are typed, and keeps a reading that cannot be sent.
// Every page works without this.

const $ = (id) => document.getElementById(id);

// Puts the parts of an answer in the place of those with the same id.
// What is being typed in is never replaced, and nothing is judged while it is typed.
function put(text, typing) {
  const made = new DOMParser().parseFromString(text, "text/html");
  for (const part of made.querySelectorAll("[data-part]")) {
    const old = $(part.id);
    if (!old) continue;
    if (typing && part.classList.contains("judges") && part.childElementCount) continue;
    if (typing && part.classList.contains("says")) continue;
    if (typing && old.contains(document.activeElement)) continue;
    // What a finger is pressing stays until it is lifted, else the press would be lost.
    if (old.querySelector(":active")) continue;
    old.replaceWith(document.importNode(part, true));
  }
  for (const name of ["live", "note", "poll"]) ready(name);
}

// ---- forms that answer: at most one request under way, the newest state wins.
function live(form) {
  let under = false, again = null;
  const ask = async (typing) => {
    if (under) { again = again === false ? false : typing; return; }
    under = true;
    const query = new URLSearchParams(new FormData(form));
    try {
      const answer = await fetch(form.dataset.live + "?" + query, { headers: { "x-part": "1" } });
      const text = await answer.text();
      // Once it is sent, what the book answers stands: a check that comes late is let go.
      if (answer.ok && !form.is_sent) put(text, typing);
      if (form.method === "get") history.replaceState(null, "", form.getAttribute("action") + "?" + query);
    } catch { /* the last good figures stay */ }
    under = false;
    if (again !== null) { const next = again; again = null; ask(next); }
  };
  if (!form.hasAttribute("data-patient")) form.addEventListener("input", () => ask(true));
  form.addEventListener("change", () => ask(false));
  if (form.method === "get") form.addEventListener("submit", (e) => { e.preventDefault(); ask(false); });
  form.addEventListener("click", (e) => {
    const guess = e.target.closest("button[name=take]");
    if (!guess) return;
    e.preventDefault();
    const [name, value] = guess.value.split("=");
    const field = form.elements[name];
    field.value = value;
    field.focus();
    ask(false);
  });
}

// ---- cuts: a mark follows the finger at once, the server says what comes of it.
// Nothing is reckoned here: a place is sent as its share of the axis, a value as it is typed.
function cuts(form) {
  const grips = () => $("grips");
  let under = false, next = null, held = null;
  const send = async (more) => {
    if (under) { next = more; return; }
    under = true;
    const data = new FormData(form);
    for (const name in more) data.set(name, more[name]);
    try {
      const answer = await fetch(form.dataset.cuts + "?" + new URLSearchParams(data), { headers: { "x-part": "1" } });
      if (answer.ok) took(await answer.text(), more);
    } catch { /* the last good figures stay */ }
    under = false;
    if (next) { const again = next; next = null; send(again); }
  };
  const took = (text, more) => {
    put(text, "typed" in more);
    const made = new DOMParser().parseFromString(text, "text/html");
    for (const grip of made.querySelectorAll(".grip")) {
      const old = $(grip.id);
      if (!old) continue;
      for (const { name, value } of grip.attributes) {
        if (name === "x" && old === held) continue;
        old.setAttribute(name, value);
      }
      grip.querySelectorAll("text").forEach((words, i) => {
        const said = old.querySelectorAll("text")[i];
        for (const { name, value } of words.attributes) said.setAttribute(name, value);
        said.textContent = words.textContent;
      });
      const field = form.elements[grip.dataset.field];
      // What was changed since is not written over by what was asked before.
      if (!next && (!("typed" in more) || field !== document.activeElement)) {
        if (!made.querySelector("#why-" + grip.dataset.field + " .why")) field.value = grip.getAttribute("aria-valuenow");
      }
    }
    const keep = form.elements;
    history.replaceState(null, "", "?" + new URLSearchParams(
      [...new FormData(form)].filter(([name]) => keep[name] && name !== "id")));
  };
  for (const grip of grips().querySelectorAll(".grip")) {
    const hold = grip.querySelector(".hold");
    const share = (e) => {
      const box = grips().getBoundingClientRect();
      return Math.min(1, Math.max(0, (e.clientX - box.left) / box.width));
    };
    hold.addEventListener("pointerdown", (e) => {
      e.preventDefault();
      held = grip; grip.classList.add("held"); grip.focus({ preventScroll: true });
      hold.setPointerCapture(e.pointerId);
    });
    hold.addEventListener("pointermove", (e) => {
      if (held !== grip) return;
      const at = share(e);
      grip.setAttribute("x", at * 100 + "%");
      send({ ["at_" + grip.dataset.field]: at.toFixed(5) });
    });
    const drop = (e) => {
      if (held !== grip) return;
      held = null; grip.classList.remove("held");
      send({ ["at_" + grip.dataset.field]: share(e).toFixed(5) });
    };
    hold.addEventListener("pointerup", drop);
    hold.addEventListener("pointercancel", drop);
    grip.addEventListener("keydown", (e) => {
      const way = "falls" in grip.dataset ? -1 : 1;
      const step = Number(grip.dataset.step);
      const low = Number(grip.getAttribute("aria-valuemin")), high = Number(grip.getAttribute("aria-valuemax"));
      const field = form.elements[grip.dataset.field];
      const by = { ArrowRight: way, ArrowLeft: -way, ArrowUp: 1, ArrowDown: -1, PageUp: 10, PageDown: -10 }[e.key];
      let value;
      if (by) value = Number(field.value.replace(",", ".")) + by * step;
      else if (e.key === "Home") value = way > 0 ? low : high;
      else if (e.key === "End") value = way > 0 ? high : low;
      else return;
      e.preventDefault();
      field.value = Math.min(high, Math.max(low, value)).toFixed((grip.dataset.step.split(".")[1] || "").length);
      send({});
    });
  }
  form.addEventListener("input", (e) => { if (e.target.matches("input")) send({ typed: "1" }); });
  form.addEventListener("change", () => send({}));
  form.addEventListener("submit", (e) => {
    if (e.submitter && e.submitter.dataset.keep !== undefined) return;
    e.preventDefault();
    send({});
  });
  form.querySelector("[data-plain]").hidden = true;
  for (const take of document.querySelectorAll("[data-take]")) {
    take.addEventListener("click", (e) => {
      e.preventDefault();
      for (const [name, value] of new URLSearchParams(take.dataset.take)) form.elements[name].value = value;
      send({});
    });
  }
  // The readout shows the place under a pointer, and now when there is none.
  const picture = document.querySelector("#picture .picture");
  let asking = false, want = null;
  const look = async (at) => {
    want = at;
    if (asking) return;
    asking = true;
    while (want !== null) {
      const place = want; want = null;
      const data = new FormData(form);
      if (place !== "") data.set("look", place);
      try {
        const answer = await fetch(form.dataset.look + "?" + new URLSearchParams(data), { headers: { "x-part": "1" } });
        if (answer.ok) put(await answer.text(), true);
      } catch { break; }
    }
    asking = false;
  };
  picture.addEventListener("pointermove", (e) => {
    const box = grips().getBoundingClientRect();
    if (!held) look(Math.min(1, Math.max(0, (e.clientX - box.left) / box.width)).toFixed(4));
  });
  picture.addEventListener("pointerleave", () => look(""));
}

// ---- a slider and a field that hold the same figure.
function twin(slide) {
  const field = $(slide.dataset.twin);
  slide.hidden = false;
  slide.addEventListener("input", () => { field.value = slide.value; });
  field.addEventListener("input", () => { slide.value = field.value.replace(",", "."); });
}

// ---- readings: sent once, kept while the network is away.
const waiting = [];

function tell() {
  const line = $("wait");
  if (!line) return;
  line.hidden = waiting.length === 0;
  const one = waiting.length === 1;
  line.querySelector("b").textContent = waiting.length + (one ? " reading waits" : " readings wait") + " on this device.";
  line.querySelector("span span").textContent = one
    ? " It goes once, when the network is back. Keep this page open."
    : " They go once, when the network is back. Keep this page open.";
}

async function send(note) {
  const stop = new AbortController();
  const late = setTimeout(() => stop.abort(), 8000);
  try {
    const answer = await fetch(note.to, {
      method: "POST", body: note.body, signal: stop.signal,
      headers: { "content-type": "application/x-www-form-urlencoded", "x-part": "1" },
    });
    if (answer.status === 502 || answer.status === 503 || answer.status === 504) return false;
    const then = answer.headers.get("x-then");
    if (then && waiting.length === 0) { location.assign(then); return true; }
    put(await answer.text(), false);
    return true;
  } catch { return false; } finally { clearTimeout(late); }
}

let going = false;
async function go() {
  if (going) return;
  going = true;
  while (waiting.length && await send(waiting[0])) { waiting.shift(); tell(); }
  going = false;
}

function note(form) {
  form.addEventListener("submit", async (e) => {
    const by = e.submitter;
    if (by && by.name === "take") { e.preventDefault(); return; }
    e.preventDefault();
    for (const b of form.querySelectorAll("button")) b.disabled = true;
    const data = new FormData(form);
    if (by && by.name) data.set(by.name, by.value);
    form.is_sent = true;
    const one = { to: form.getAttribute("action"), body: new URLSearchParams(data).toString() };
    if (waiting.length === 0 && await send(one)) return;
    waiting.push(one);
    tell();
    const kept = $("kept");
    form.before(document.importNode(kept.content, true));
    form.hidden = true;
    const mark = form.closest("li")?.querySelector(".mark");
    if (mark) mark.replaceWith(document.importNode($("sentmark").content, true));
  });
}

addEventListener("online", go);
setInterval(go, 2000);
addEventListener("beforeunload", (e) => { if (waiting.length) e.preventDefault(); });

// ---- long work: its part of the page is asked for until it is done.
function poll(part) {
  setTimeout(async () => {
    try {
      const answer = await fetch(part.dataset.poll, { headers: { "x-part": "1" } });
      const then = answer.headers.get("x-then");
      if (then) { location.replace(then); return; }
      put(await answer.text(), false);
    } catch { poll(part); }
  }, 400);
}

const kinds = { live, note, poll, cuts, twin };
function ready(name) {
  for (const found of document.querySelectorAll("[data-" + name + "]")) {
    if (found["is_" + name]) continue;
    found["is_" + name] = true;
    kinds[name](found);
  }
}
for (const name in kinds) ready(name);
for (const b of document.querySelectorAll("[data-print]")) {
  b.hidden = false;
  b.addEventListener("click", () => print());
}
