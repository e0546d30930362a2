// A project's page: keeps its state, and the places at which something is done with it.
import { ask, at } from "/static/ask.js";
import { Form } from "/static/settings.js";
import { Beads } from "/static/places/beads.js";
import { Boards } from "/static/places/boards.js";
import { Colours } from "/static/places/colours.js";
import { Hand } from "/static/places/hand.js";
import { Picture } from "/static/places/picture.js";
import { Plate } from "/static/places/plate.js";
import { Proofs } from "/static/places/proofs.js";
import { Sheets } from "/static/places/sheets.js";
import { Strip } from "/static/places/strip.js";

const PLACES = { picture: Picture, proofs: Proofs, plate: Plate, hand: Hand, colours: Colours, beads: Beads, boards: Boards, sheets: Sheets };
const SOON = 60;  // milliseconds in which several events become one look

const project = location.pathname.split("/").pop();
const address = `/api/projects/${project}`;
let state = null;
let made = null;  // the plate that is shown: that in hand, or while it is made what is nearest to it
let stale = false;
let asking = Promise.resolve();
let pending = 0;  // changes that the server has not answered: until then the form knows better

const first = ask(address).catch((error) => error);  // work begins while the page is drawn
const { fields, palettes } = await ask("/api/form");
const form = new Form(fields, palettes, (settings, name) => name === "palette"
  ? change("palette", { palette: settings.palette ?? "" })  // with what goes with it of the rest
  : change("settings", { settings }));
form.draw(at("sentence"), at("rest"));
at("form").addEventListener("submit", (event) => event.preventDefault());
const desk = { project, address, fields, palettes, form, change, state: () => state, made: () => made };
const places = new Map(Object.entries(PLACES).map(([name, Place]) => [name, new Place(desk)]));
const strip = new Strip(at("strip"), desk, [...places.keys()]);
let here = "";

// One request after the other, so that each knows the newest version; `words` may be a function that makes
// them when their turn comes. `told` says beside what caused it what went wrong, and returns whether it could.
function change(what, words = {}, told = () => false) {
  wait(1);
  if (words.settings && what === "settings") form.settings = words.settings;  // a change that follows at once builds on it
  asking = asking.then(async () => {
    at("trouble").textContent = "";
    form.forgive();
    try {
      const said = typeof words === "function" ? words() : words;
      const newer = await ask(`${address}/${what}`, { method: "POST", words: { ...said, version: state.version } });
      wait(-1);
      show(newer);
    } catch (error) {
      wait(-1);
      if (!pending) form.settings = state.settings;
      if (error.status === 409) seeStale();
      else if (!told(error) && !blame(error.field, error.message)) at("trouble").textContent = error.message;
    }
  });
  return asking;
}

// Count what is asked; the page says it, for whoever watches it work.
function wait(more) {
  pending += more;
  document.body.dataset.pending = pending;
}

// Say beside what is in view what is wrong with it; false when that is not in view.
function blame(field, words) {
  return here === "plate" ? form.blame(field, words) : places.get(here)?.blame?.(field, words) ?? false;
}

async function look() {
  try { show(await ask(address)); } catch (error) { at("trouble").textContent = error.message; }
}

let soon = 0;
function lookSoon() {
  if (soon) return;
  soon = setTimeout(() => { soon = 0; lookNow(); }, SOON);
}

function lookNow() {
  asking = asking.then(() => stale || look());
}

function seeStale() {
  stale = true;
  at("stale").hidden = false;
}

function show(newer) {
  state = newer;
  document.body.dataset.plate = state.hand.facts ? "done" : state.hand.state;
  const ready = state.proofs.filter((proof) => proof.facts);
  made = state.hand.facts ? state.hand : ready.find((proof) => proof.key === made?.key) ?? ready[0] ?? made;
  document.title = `${state.name} on the worktable`;
  at("name").textContent = state.name;
  at("undo").disabled = !state.can_undo;
  at("redo").disabled = !state.can_redo;
  if (!pending) form.show(state.settings);
  strip.show(state, made);
  for (const place of places.values()) place.show(state);
}

// Go to the place that the address names; else where work begins, or went on.
function go() {
  const named = location.hash.slice(1);
  const name = places.has(named) ? named : state.can_undo ? "plate" : "proofs";
  if (name === here) return;
  if (here) { places.get(here).close(); at(`place-${here}`).hidden = true; }
  at(`place-${name}`).hidden = false;
  strip.mark(name);
  places.get(name).open();
  if (here) {
    scrollTo(0, 0);
    at(`place-${name}`).querySelector("h2").focus({ preventScroll: true });
  }
  here = name;
}

addEventListener("hashchange", go);
at("undo").addEventListener("click", () => change("undo"));
at("redo").addEventListener("click", () => change("redo"));
at("take-over").addEventListener("click", async () => {
  stale = false;
  at("stale").hidden = true;
  await look();
});
addEventListener("keydown", (event) => {
  if (!(event.ctrlKey || event.metaKey) || event.target.matches("input[type=text]")) return;
  const key = event.key.toLowerCase();
  if (key !== "z" && key !== "y") return;
  event.preventDefault();
  change(key === "y" || event.shiftKey ? "redo" : "undo");
});

const found = await first;
if (found instanceof Error) at("trouble").textContent = found.message;
else show(found);
if (state) go();

// How far work is comes by itself; anything else that happens is looked at.
const events = new EventSource(`${address}/events`);
events.addEventListener("message", ({ data }) => {
  const event = JSON.parse(data);
  if (event.what === "saved") {
    asking = asking.then(() => { if (event.version > state.version) seeStale(); });
  } else if (event.state === "working" && event.what === "plate" && !stale) {
    for (const card of [state.hand, ...state.proofs]) {
      if (card.key === event.key && !card.facts) Object.assign(card, { state: "working", share: event.share, stage: event.stage, seen: event.seen });
    }
    places.get("proofs").show(state);
    places.get("plate").making(state.hand);
  } else if (event.what === "phone") {
    places.get("sheets").phone.show(event);
  } else {
    if (event.what === "listening") places.get("sheets").phone.look();
    if (event.facts && event.key === state.hand.key && !state.hand.facts) {  // somebody waits for it
      new Image().src = `${address}/plates/${event.key}/near.png`;  // it comes while the rest is asked for
      lookNow();
    } else lookSoon();  // also at "listening": what happened before
  }
});
