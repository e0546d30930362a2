// Several plates and figures at once: what is picked lies in the address, so that reload and back keep it.
import { ask, at, make, many } from "/static/ask.js";

const TEXT = "text ";  // before what is picked: the field with the words on it
const SOON = 400;  // milliseconds between two looks at how far it is
const address = new URL(location.href);
const picked = () => address.searchParams.getAll("p");
const turn = { publish: 0, layout: 0 };

function pending(more) {
  document.body.dataset.pending = Number(document.body.dataset.pending) + more;
}

const isFigure = (pick) => pick.startsWith("f/");

function pictureOf({ id, key, is_figure: figure }) {
  if (figure) return key ? make("img", { src: `/api/figures/${id}/made/${key}/assembled.png`, alt: "" }) : make("span", {});
  return make("img", { src: key ? `/api/projects/${id}/plates/${key}/near.png` : `/api/projects/${id}/picture.png`, alt: "" });
}

// What is picked, each to be left out again.
function plate(each) {
  const { id, name, pick } = each;
  const leave = make("button", { type: "button" }, "Leave out");
  leave.setAttribute("aria-label", `Leave out ${name}`);
  const item = make("li", {}, pictureOf(each), make("a", { href: isFigure(pick) ? `/f/${id}` : `/p/${id}` }, name), leave);
  item.dataset.pick = pick;
  leave.addEventListener("click", () => {
    address.searchParams.delete("p", pick);
    history.replaceState(null, "", address);
    item.remove();
    document.querySelector(`#each-words textarea[name="${TEXT}${pick}"]`)?.parentElement.remove();
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
  at("said").textContent = none ? "Nothing is picked. Go to all plates and pick some." : "";
  at("each").hidden = picked().length < 2;  // of one alone, "Your words" are on it
  at("layout-not").hidden = !picked().some(isFigure);
  document.querySelector("#publish .main").disabled = none;
  document.querySelector("#layout .main").disabled = picked().every(isFigure);
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

// The author's words on one of several.
function eachWords({ name, pick }) {
  return make("label", { className: "wide" }, `On ${name} `, make("textarea", { name: TEXT + pick, rows: 3 }));
}

function words(form) {
  const written = [...new FormData(form)], each = written.filter(([name]) => name.startsWith(TEXT));
  const found = { picked: picked(), ...Object.fromEntries(written.filter(([name]) => !name.startsWith(TEXT))) };
  if (form.id === "publish" && picked().length > 1) found.texts = Object.fromEntries(each.map(([name, text]) => [name.slice(TEXT.length), text]));
  if (form.id === "layout") found.picked = picked().filter((pick) => !isFigure(pick));
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
  const forms = [...document.forms].map((form) => {
    const fields = [...form.elements].filter(({ name }) => name).map((field) => [field.name, field.type === "checkbox" ? field.checked : field.value]);
    return [form.id, Object.fromEntries(fields)];
  });
  sessionStorage.setItem("together", JSON.stringify(Object.fromEntries(forms)));
}

function bringBack(wanted) {
  for (const [id, fields] of Object.entries(JSON.parse(sessionStorage.getItem("together") ?? "{}"))) {
    for (const [name, value] of Object.entries(fields).filter(([each]) => wanted(each))) {
      const field = document.forms[id]?.elements[name];
      if (field?.type === "checkbox") field.checked = value;
      else if (field) field.value = value;
    }
  }
}
bringBack((name) => !name.startsWith(TEXT));

try {
  const found = await ask(`/api/together?${new URLSearchParams(picked().map((pick) => ["p", pick]))}`);
  at("plates").append(...found.map(plate));
  at("each-words").append(...found.map(eachWords));
  bringBack((name) => name.startsWith(TEXT));
  addEventListener("input", keep);
  address.search = new URLSearchParams(found.map(({ pick }) => ["p", pick]));
  ready();
} catch (error) {
  at("said").textContent = error.message;
}
pending(-1);
