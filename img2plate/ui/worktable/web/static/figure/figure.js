// The page of a figure: keeps its state, and the places at which something is done with it.
import { ask, at, make } from "/static/ask.js";
import { Drawing } from "/static/figure/drawing.js";
import { Faces } from "/static/figure/faces.js";
import { Pack } from "/static/figure/pack.js";
import { Text } from "/static/figure/text.js";

const SOON = 60;  // milliseconds in which several events become one look
const project = location.pathname.split("/").pop();
const address = `/api/figures/${project}`;
const wide = matchMedia("(min-width: 1000px)");
let state = null;
let facts = null;  // of the figure that is drawn: the newest that could be built
let stale = false;
let asking = Promise.resolve();
let pending = 0;
let here = "";

const desk = { project, address, change, look, state: () => state, facts: () => facts, isOld: () => state.made.key !== state.drawn };
const places = { text: new Text(desk), drawing: new Drawing(desk), hand: new Faces(desk), pack: new Pack(desk) };

// One request after the other, so that each knows the newest version.
function change(what, words = {}, where = address) {
  wait(1);
  asking = asking.then(async () => {
    at("trouble").textContent = "";
    try {
      const newer = await ask(`${where}/${what}`, { method: "POST", words: { ...words, version: state.version } });
      wait(-1);
      await show(newer);
      return true;
    } catch (error) {
      wait(-1);
      if (error.status === 409) seeStale();
      else at("trouble").textContent = error.message;
      return false;
    }
  });
  return asking;
}

function wait(more) {
  pending += more;
  document.body.dataset.pending = pending;
}

async function look() {
  try { await show(await ask(address)); } catch (error) { at("trouble").textContent = error.message; }
}

let soon = 0;
function lookSoon() {
  if (soon) return;
  soon = setTimeout(() => { soon = 0; asking = asking.then(() => stale || look()); }, SOON);
}

function seeStale() {
  stale = true;
  at("stale").hidden = false;
}

async function drawnFacts(key) {
  const found = await ask(`${address}/made/${key}/figure.json`);
  for (const plate of found.plates) plate.cells = new Int16Array(Uint8Array.from(atob(plate.cells), (letter) => letter.charCodeAt(0)).buffer);
  return { ...found, key };
}

async function show(newer) {
  state = newer;
  let newFacts = false;
  if (state.drawn && facts?.key !== state.drawn) {
    try { facts = await drawnFacts(state.drawn); } catch (error) { at("trouble").textContent = error.message; }
    newFacts = true;
  }
  document.body.dataset.made = state.made.state;
  document.title = `${state.name} on the worktable`;
  at("name").textContent = state.name;
  at("undo").disabled = !state.can_undo;
  at("redo").disabled = !state.can_redo;
  for (const place of Object.values(places)) place.show(state, facts);
  if (newFacts) small();
}

// The figure in small on the strip: as it is drawn there, else as the pack has it.
function small() {
  const picture = places.drawing.small();
  for (const place of document.querySelectorAll("[data-picture]")) {
    if (picture) {
      const paper = make("canvas", { width: picture.width, height: picture.height });
      paper.getContext("2d").drawImage(picture, 0, 0);
      place.replaceChildren(paper);
    } else place.replaceChildren(make("img", { alt: "", src: `${address}/made/${facts.key}/assembled.png` }));
  }
}

// Go to the place that the address names. On a wide screen text and drawing lie side by side.
function go() {
  const named = location.hash.slice(1);
  const name = named in places ? named : "drawing";
  const both = wide.matches && (name === "text" || name === "drawing");
  for (const each of Object.keys(places)) {
    at(`place-${each}`).hidden = !(each === name || (both && (each === "text" || each === "drawing")));
    const link = document.querySelector(`#strip a[href='#${each}']`);
    if (each === (both ? "drawing" : name)) link.setAttribute("aria-current", "true");
    else link.removeAttribute("aria-current");
  }
  at("face-bar").hidden = name !== "hand";
  document.body.dataset.here = name;
  if (here && here !== name) {
    places[here].close?.();
    if (!both || here === "hand" || here === "pack") scrollTo(0, 0);
    at(`place-${name}`).querySelector("h2").focus({ preventScroll: true });
  }
  if (here !== name) { here = name; places[name].open?.(); }
  if (both) places.drawing.open();
}

addEventListener("hashchange", go);
wide.addEventListener("change", go);
at("undo").addEventListener("click", () => change("undo"));
at("redo").addEventListener("click", () => change("redo"));
at("take-over").addEventListener("click", async () => {
  stale = false;
  at("stale").hidden = true;
  await look();
  places.text.again();
});
addEventListener("keydown", (event) => {
  if (!(event.ctrlKey || event.metaKey) || event.target.matches("textarea, input[type=text]")) return;
  const key = event.key.toLowerCase();
  if (key !== "z" && key !== "y") return;
  event.preventDefault();
  change(key === "y" || event.shiftKey ? "redo" : "undo");
});

wait(0);
await look();
if (state) go();

const events = new EventSource(`${address}/events`);
events.addEventListener("message", ({ data }) => {
  const event = JSON.parse(data);
  if (event.what === "saved") asking = asking.then(() => { if (event.version > state.version) seeStale(); });
  else if (event.what === "listening" || event.state !== "working") lookSoon();
  else if (event.what === "pack_figure") places.pack.making(event);
});
