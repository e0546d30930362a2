// Several plates at once: what is picked lies in the address, so that reload and back keep it.
import { ask, at, make, many } from "/static/ask.js";

const SOON = 400;  // milliseconds between two looks at how far it is
const address = new URL(location.href);
const picked = () => address.searchParams.getAll("p");
const turn = { publish: 0, layout: 0 };

function pending(more) {
  document.body.dataset.pending = Number(document.body.dataset.pending) + more;
}

// The plates, each to be left out again.
function plate({ id, name, key }) {
  const leave = make("button", { type: "button" }, "Leave out");
  leave.setAttribute("aria-label", `Leave out ${name}`);
  const at = `/api/projects/${id}`;
  const item = make("li", {}, make("img", { src: key ? `${at}/plates/${key}/near.png` : `${at}/picture.png`, alt: "" }), make("a", { href: `/p/${id}` }, name), leave);
  leave.addEventListener("click", () => {
    address.searchParams.delete("p", id);
    history.replaceState(null, "", address);
    item.remove();
    for (const [what, shown] of [["publish", "pages"], ["layout", "laid"]]) {  // they were of other plates
      turn[what] += 1;
      at(shown).hidden = true;
      at(`${what}-said`).textContent = "";
    }
    ready();
  });
  return item;
}

function ready() {
  const none = !picked().length;
  at("said").textContent = none ? "No plate is picked. Go to all plates and pick some." : "";
  for (const button of document.querySelectorAll(".wish .main")) button.disabled = none;
}

const wait = () => new Promise((done) => setTimeout(done, SOON));

// Have something made, and look until it is there; only what was asked last is shown.
async function have(what, words, show) {
  const mine = turn[what] += 1, said = at(`${what}-said`);
  const tell = (text) => { if (mine === turn[what]) said.textContent = text; };
  pending(1);
  try {
    let found = { state: "waiting" };
    while (["waiting", "working"].includes(found.state) && mine === turn[what]) {
      found = await ask(found.key ? `/api/together/${found.key}` : `/api/together/${what}`, found.key ? {} : { method: "POST", words });
      if (found.error) throw new Error(found.error.words);
      if (found.state === "done") break;
      tell(found.words ? `${found.words} …` : found.stage ? `${found.stage} … ${Math.round(100 * found.share)} %` : "Begun …");
      await wait();
    }
    if (mine !== turn[what]) return;
    tell("");
    show(found);
  } catch (error) {
    tell(error.message);
  } finally {
    pending(-1);
  }
}

function showPages({ key, about }) {
  at("pages").hidden = false;
  at("publish-said").textContent = `${many(about.patterns.length, "pattern")}: ${about.patterns.map(({ title, level }) => `${title} (level ${level})`).join(", ")}.`;
  at("pages-notes").replaceChildren(...about.notes.map((note) => make("li", {}, note)));
  at("pages-zip").href = `/together/${key}/saved/${about.zip}`;
  at("pages-frame").src = `/together/${key}/shown/patterns/index.html`;
}

function showLayout({ key, about }) {
  at("laid").hidden = false;
  at("laid-notes").replaceChildren(...about.notes.map((note) => make("li", {}, note)));
  at("laid-sheets").href = `/together/${key}/saved/layout/sheets.pdf`;
  at("laid-zip").href = `/together/${key}/saved/${about.zip}`;
  at("laid-picture").src = `/together/${key}/shown/layout/preview.png`;
  at("layout-said").textContent = `${many(about.beads, "bead")}.`;
}

function words(form) {
  const found = { picked: picked(), ...Object.fromEntries(new FormData(form)) };
  for (const box of form.querySelectorAll("input[type=checkbox]")) found[box.name] = box.checked;
  return found;
}

for (const [what, show] of [["publish", showPages], ["layout", showLayout]]) {
  at(what).addEventListener("submit", (event) => {
    event.preventDefault();
    have(what, words(event.target), show);
  });
}
at("pages-wide").addEventListener("change", () => at("pages-frame").classList.toggle("phone", at("pages-wide").value === "phone"));

// What was written stays over a reload, in this tab.
function keep() {
  const forms = [...document.forms].map((form) => [form.id, { ...words(form), picked: undefined }]);
  sessionStorage.setItem("together", JSON.stringify(Object.fromEntries(forms)));
}

for (const [id, fields] of Object.entries(JSON.parse(sessionStorage.getItem("together") ?? "{}"))) {
  for (const [name, value] of Object.entries(fields)) {
    const field = document.forms[id]?.elements[name];
    if (field?.type === "checkbox") field.checked = value;
    else if (field) field.value = value;
  }
}
addEventListener("input", keep);

try {
  at("plates").append(...(await ask(`/api/together?${new URLSearchParams(picked().map((id) => ["p", id]))}`)).map(plate));
  const there = [...document.querySelectorAll("#plates a")].map(({ pathname }) => pathname.slice(3));
  address.search = new URLSearchParams(there.map((id) => ["p", id]));
  ready();
} catch (error) {
  at("said").textContent = error.message;
}
pending(-1);
