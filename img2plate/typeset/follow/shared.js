"use strict";
// Stands after the page's own script where the worktable serves the page: ticks go there and come
// back, so that the table and every phone see the same. Without an answer the page works on alone.
const EVERY = 2000, MOST = 3000; // milliseconds between looks; steps sent at a time
const ALONE = STORE + ":alone"; // set while ticks are here that the worktable has not seen
const agreed = tiles.map(() => new Set()); // what the worktable has, as far as it is known here
const numberOf = new Map(tiles.map((tile, number) => [tile.name, number]));
let version = 0, busy = false, ended = false, first = true;
const linked = document.createElement("p");
linked.id = "linked";
linked.className = "quiet";
linked.setAttribute("role", "status");
document.querySelector("header").append(linked);
function tellLink(text) { if (linked.textContent !== text) linked.textContent = text; }

const without = (some, others) => [...some].filter((key) => !others.has(key));
// The steps that were ticked or unticked here since the worktable was last heard.
function news() {
  const on = {}, off = {};
  let left = MOST;
  tiles.forEach((tile, number) => {
    for (const [to, some, others] of [[on, done[number], agreed[number]], [off, agreed[number], done[number]]]) {
      const keys = without(some, others).slice(0, left);
      left -= keys.length;
      if (keys.length) to[tile.name] = keys;
    }
  });
  return { on, off, full: left === 0 };
}
// Take what the worktable has, and keep on top of it what was ticked here in the meantime.
function takeOver(boards, asked) {
  const changed = [];
  for (const [name, keys] of Object.entries(boards)) {
    const number = numberOf.get(name), theirs = new Set(keys);
    const known = new Set(agreed[number]);
    for (const key of asked.on[name] || []) known.add(key);
    for (const key of asked.off[name] || []) known.delete(key);
    const later = without(done[number], known), taken = without(known, done[number]);
    const wanted = new Set([...theirs, ...later]);
    for (const key of taken) wanted.delete(key);
    const put = without(wanted, done[number]), away = without(done[number], wanted);
    for (const key of put) mark(number, ...key.split(":").map(Number), true);
    for (const key of away) mark(number, ...key.split(":").map(Number), false);
    agreed[number] = theirs;
    if (put.length || away.length) changed.push(number);
  }
  if (changed.length) { keep(...changed); show(); }
}
async function exchange() {
  if (busy || ended) return;
  busy = true;
  let more = false;
  try {
    const asked = version ? news() : { on: {}, off: {} };
    const answer = await fetch("ticks", { method: "POST", body: JSON.stringify({ after: version, on: asked.on, off: asked.off }) });
    if (answer.status === 404) {
      ended = true;
      tellLink("The worktable has ended this. Ticks stay on this phone; save them to a file to go on elsewhere.");
      return;
    }
    if (!answer.ok) throw new Error(answer.status);
    const told = await answer.json();
    if (!version && !wasAlone()) tiles.forEach((tile, number) => forget(number)); // the worktable knows better
    version = told.version;
    takeOver(told.boards, asked);
    const { on, off } = news();
    more = Object.keys(on).length + Object.keys(off).length > 0;
    alone(more);
    tellLink("Ticks are seen on the worktable.");
    if (first) { first = false; toFirstOpenRow(); keep(...tiles.keys()); show(); }
  } catch {
    tellLink("The worktable does not answer. Ticks are kept here and sent later.");
  } finally {
    busy = false;
  }
  if (more) setTimeout(exchange, 150);
}
function alone(is) {
  try { if (is) localStorage.setItem(ALONE, "yes"); else localStorage.removeItem(ALONE); } catch { /* kept nowhere */ }
}
function wasAlone() {
  try { return localStorage.getItem(ALONE) === "yes"; } catch { return false; }
}
ticked = () => { alone(true); exchange(); };
setInterval(() => { if (!document.hidden) exchange(); }, EVERY);
document.addEventListener("visibilitychange", () => { if (!document.hidden) exchange(); });
exchange();
