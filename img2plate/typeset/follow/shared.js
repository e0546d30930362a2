"use strict";
// Stands after the page's own script where the worktable serves the page: ticks go there and come
// back, so that the table and every phone see the same. Without an answer the page works on, and
// what the worktable has not heard yet is kept as such, so that it is neither lost nor overruled.
const EVERY = 2000, SOON = 150, MOST = 3000; // milliseconds, milliseconds, steps sent at a time
const UNSENT = STORE + ":unsent";
const numberOf = new Map(tiles.map((tile, number) => [tile.name, number]));
const agreed = done.map((steps) => new Set(steps)); // what the worktable had when it was last heard
let version = 0, busy = false, ended = false;
let isOurs = false; // what is kept as unsent: another page of this phone must not forget it
const linked = document.createElement("p");
linked.id = "linked";
linked.className = "quiet";
linked.setAttribute("role", "status");
document.querySelector("header").append(linked);
function tellLink(text) { if (linked.textContent !== text) linked.textContent = text; }

const without = (some, others) => [...some].filter((key) => !others.has(key));
const isEmpty = ({ on, off }) => !Object.keys(on).length && !Object.keys(off).length;
// The steps that were ticked and unticked here since.
function news(most = Infinity) {
  const on = {}, off = {};
  let left = most;
  tiles.forEach((tile, number) => {
    for (const [to, some, others] of [[on, done[number], agreed[number]], [off, agreed[number], done[number]]]) {
      const keys = without(some, others).slice(0, left);
      left -= keys.length;
      if (keys.length) to[tile.name] = keys;
    }
  });
  return { on, off };
}
function keepNews(unsent) {
  try {
    if (!isEmpty(unsent)) localStorage.setItem(UNSENT, JSON.stringify(unsent));
    else if (isOurs) localStorage.removeItem(UNSENT);
    isOurs = !isEmpty(unsent);
  } catch { /* the page has said that nothing is remembered */ }
}
function recallNews() {
  const { on, off } = JSON.parse(localStorage.getItem(UNSENT) || '{"on":{},"off":{}}');
  isOurs = true;
  for (const [name, keys] of Object.entries(on)) for (const key of keys) agreed[numberOf.get(name)].delete(key);
  for (const [name, keys] of Object.entries(off)) for (const key of keys) agreed[numberOf.get(name)].add(key);
}
// Take what the worktable has, and keep on top of it what was ticked here while it was asked.
function takeOver(boards, asked) {
  const changed = [];
  for (const [name, keys] of Object.entries(boards)) {
    const number = numberOf.get(name), known = new Set(agreed[number]);
    for (const key of asked.on[name] || []) known.add(key);
    for (const key of asked.off[name] || []) known.delete(key);
    const wanted = new Set([...keys, ...without(done[number], known)]);
    for (const key of without(known, done[number])) wanted.delete(key);
    const put = without(wanted, done[number]), away = without(done[number], wanted);
    for (const [some, on] of [[put, true], [away, false]]) {
      for (const key of some) mark(number, ...key.split(":").map(Number), on);
    }
    agreed[number] = new Set(keys);
    if (put.length || away.length) changed.push(number);
  }
  return changed;
}
async function exchange() {
  if (busy || ended) return;
  busy = true;
  let more = false;
  try {
    const asked = news(MOST);
    const answer = await fetch("ticks", { method: "POST", body: JSON.stringify({ after: version, ...asked }) });
    if (answer.status === 404) {
      ended = true;
      tellLink("The worktable has ended this. Ticks stay on this phone; save them to a file to go on elsewhere.");
      return;
    }
    if (!answer.ok) throw new Error(answer.status);
    const told = await answer.json(), isFirst = !version;
    const changed = takeOver(told.boards, asked);
    version = told.version;
    if (isFirst) toFirstOpenRow();
    if (isFirst || changed.length) { keep(...changed); show(); }
    const unsent = news();
    more = !isEmpty(unsent);
    keepNews(unsent);
    tellLink("Ticks are seen on the worktable.");
  } catch {
    tellLink("The worktable does not answer. Ticks are kept here and sent later.");
  } finally {
    busy = false;
  }
  if (more) setTimeout(exchange, SOON);
}

try { recallNews(); } catch { isOurs = true; keepNews({ on: {}, off: {} }); }
ticked = () => { keepNews(news()); exchange(); };
setInterval(() => { if (!document.hidden) exchange(); }, EVERY);
document.addEventListener("visibilitychange", () => { if (!document.hidden) exchange(); });
exchange();
