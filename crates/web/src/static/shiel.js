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
      if (answer.ok) put(await answer.text(), typing);
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

const kinds = { live, note, poll };
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
