// A project's page: the plate in hand, its settings, the proofs, the pack.
import { ask, make } from "/static/ask.js";
import { Form } from "/static/settings.js";
import { Proofs, figures } from "/static/proofs.js";

const at = (id) => document.getElementById(id);
const project = location.pathname.split("/").pop();
const address = `/api/projects/${project}`;
let state = null;
let shown = "";  // key of the plate whose picture is on the page
let stale = false;
let asking = Promise.resolve();
let pending = 0;  // changes that the server has not answered: until then the form knows better

const proofs = new Proofs(at("proofs"), address, {
  take: (proof) => { change("settings", { settings: proof.settings }); at("work-title").scrollIntoView({ block: "start" }); },
  stop: (proof) => change("stop", { key: proof.key }),
  again: (proof) => change("again", { settings: proof.settings }),
});
const { fields, palettes } = await ask("/api/form");
const form = new Form(fields, palettes, (settings) => change("settings", { settings }));
form.draw(at("sentence"), at("rest"));
at("form").addEventListener("submit", (event) => event.preventDefault());

// One request after the other, so that each knows the newest version.
function change(what, words = {}) {
  pending += 1;
  asking = asking.then(async () => {
    at("trouble").textContent = "";
    form.forgive();
    try {
      const newer = await ask(`${address}/${what}`, { method: "POST", words: { ...words, version: state.version } });
      pending -= 1;
      show(newer);
    } catch (error) {
      pending -= 1;
      if (error.status === 409) seeStale();
      else if (!form.blame(error.field, error.message)) at("trouble").textContent = error.message;
    }
  });
  return asking;
}

async function look() {
  try { show(await ask(address)); } catch (error) { at("trouble").textContent = error.message; }
}

let soon = 0;
function lookSoon() {
  if (soon) return;
  soon = setTimeout(() => { soon = 0; asking = asking.then(() => stale || look()); }, 60);
}

function seeStale() {
  stale = true;
  at("stale").hidden = false;
}

at("take-over").addEventListener("click", async () => {
  stale = false;
  at("stale").hidden = true;
  await look();
  at("work-title").scrollIntoView({ block: "start" });
});

function show(newer) {
  state = newer;
  document.title = `${state.name} on the worktable`;
  at("name").textContent = state.name;
  at("undo").disabled = !state.can_undo;
  at("redo").disabled = !state.can_redo;
  at("command").textContent = state.command;
  if (!pending) form.show(state.settings);
  showKind();
  showHand();
  proofs.show(state.proofs, state.hand.key);
  showProofsSaid();
  showPack();
}

function showKind() {
  const source = form.fields.get("source");
  if (!source?.element || !state.kind) return;
  const { words, reason, sure } = state.kind;
  const hint = source.element.querySelector(".hint");
  hint.textContent = `Taken for ${words}${sure ? "" : ", not sure"}: ${reason}.`;
  form.name("source", "auto", state.settings.source ? "as it looks" : `as it looks: ${words}`);
}

// The plate in hand; while it is made, what is nearest to it stays in view.
function showHand() {
  const { hand } = state;
  const made = hand.facts ? hand : state.proofs.find((proof) => proof.key === shown && proof.facts) ?? state.proofs.find((proof) => proof.facts);
  const isOld = made !== hand;
  at("work").querySelector(".places").classList.toggle("older", isOld);
  if (made && made.key !== shown) {
    shown = made.key;
    at("near").src = `${address}/plates/${made.key}/near.png`;
    at("far").src = `${address}/plates/${made.key}/far.png`;
  }
  if (made) {
    at("near").alt = `The pressed plate: ${made.words}, ${made.facts.size[0]} by ${made.facts.size[1]} beads`;
    at("far").alt = `The plate as it looks from ${made.facts.metres} m`;
    at("near-words").textContent = isOld ? `so far: ${made.words}` : made.words;
    at("far-words").textContent = `from ${made.facts.metres} m`;
    at("numbers").replaceChildren(...figures(made.facts).map(([value, words]) => make("li", {}, make("b", {}, value), words)));
    if (made.facts.price) at("numbers").append(make("li", {}, make("b", {}, made.facts.price), "for the bags"));
    at("notes").replaceChildren(...made.facts.notes.map((note) => make("li", {}, note)));
    at("colours").replaceChildren(...made.facts.colours.map(colour));
  }
  showMaking(hand);
}

function showMaking(hand) {
  const isOpen = hand.state === "waiting" || hand.state === "working";
  at("making").hidden = !isOpen;
  if (isOpen) {
    at("making-share").value = hand.share ?? 0;
    at("making-words").textContent = hand.stage || "your plate waits its turn";
  }
  const seen = `${hand.key} ${hand.state}`;
  if (at("hand-said").dataset.seen === seen) return;
  at("hand-said").dataset.seen = seen;
  at("hand-said").replaceChildren();
  if (hand.state === "failed" && !form.blame(hand.error.field, hand.error.words)) at("hand-said").textContent = hand.error.words;
  if (hand.state === "stopped") {
    const again = make("button", { type: "button" }, "Make it");
    again.addEventListener("click", () => change("again", { settings: hand.settings }));
    at("hand-said").append("Stopped before it was ready. ", again);
  }
}

function colour({ code, name, hex, beads }) {
  const bead = make("span", { className: "bead" });
  bead.style.backgroundColor = hex;
  bead.setAttribute("aria-hidden", "true");
  return make("li", {}, bead, `${code} ${name}`, make("span", { className: "count" }, beads.toLocaleString("en")));
}

function showProofsSaid() {
  const open = state.proofs.filter((proof) => proof.state === "waiting" || proof.state === "working").length;
  at("stop-all").hidden = !open && !state.proposing;
  const all = state.proofs.length;
  at("choice-said").textContent = state.proposing ? "Looking at the picture …"
    : open ? `${all - open} of ${all} are ready` : `${all} plates of this picture; take the one you like best`;
}

function showPack() {
  const { pack } = state;
  const busy = pack.state === "waiting" || pack.state === "working";
  at("make-pack").disabled = busy || !state.hand.facts;
  at("make-pack").textContent = pack.state === "done" ? "Make it anew" : "Make the pack";
  at("pack-said").textContent = pack.state === "failed" ? pack.error.words
    : busy ? `${pack.stage || "waits its turn"} …` : !state.hand.facts ? "The plate has to be ready first." : "";
  at("pack-said").className = pack.state === "failed" ? "said" : "";
  const files = pack.state === "done" ? pack.files : [];
  const seen = files.length ? pack.key : "";
  if (at("pack-files").dataset.seen === seen) return;  // a link is not to be taken from under a hand
  at("pack-files").dataset.seen = seen;
  at("pack-files").replaceChildren(...files.map((name) => make("li", {}, make("a",
    { className: "button", href: `${address}/packs/${pack.key}/${encodeURIComponent(name)}`, download: name },
    name.endsWith(".zip") ? `All of it: ${name}` : name))));
}

at("undo").addEventListener("click", () => change("undo"));
at("redo").addEventListener("click", () => change("redo"));
at("making-stop").addEventListener("click", () => change("stop", { key: state.hand.key }));
at("stop-all").addEventListener("click", () => change("stop"));
at("make-pack").addEventListener("click", () => change("pack"));
at("copy").addEventListener("click", async () => {
  try {
    await navigator.clipboard.writeText(state.command);
    at("copy").textContent = "Copied";
  } catch {
    getSelection().selectAllChildren(at("command"));
    at("copy").textContent = "Selected: copy it with Ctrl+C";
  }
  setTimeout(() => { at("copy").textContent = "Copy"; }, 2500);
});
addEventListener("keydown", (event) => {
  if (!(event.ctrlKey || event.metaKey) || event.target.matches("input[type=text]")) return;
  const key = event.key.toLowerCase();
  if (key !== "z" && key !== "y") return;
  event.preventDefault();
  change(key === "y" || event.shiftKey ? "redo" : "undo");
});

at("given").addEventListener("load", ({ target }) => target.classList.toggle("tiny", target.naturalWidth <= 128));
at("given").src = `${address}/picture.png`;
await look();

const events = new EventSource(`${address}/events`);
events.addEventListener("message", ({ data }) => {
  const event = JSON.parse(data);
  if (event.what === "saved") {
    asking = asking.then(() => { if (event.version > state.version) seeStale(); });
  } else if (event.state === "working" && event.what === "plate" && !stale) {
    for (const card of [state.hand, ...state.proofs]) {
      if (card.key === event.key && !card.facts) Object.assign(card, { state: "working", share: event.share, stage: event.stage });
    }
    proofs.show(state.proofs, state.hand.key);
    showMaking(state.hand);
  } else {
    lookSoon();  // also at "listening": what happened before
  }
});
