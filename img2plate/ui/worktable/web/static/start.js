// The first page: a picture becomes a project; earlier ones are listed.
import { ask, make, many } from "/static/ask.js";

const drop = document.getElementById("drop");
const file = document.getElementById("file");
const said = document.getElementById("said");
let busy = false;
let most = Infinity;  // bytes

async function begin(words, address, { body, page = "/p", words: told, then } = {}) {
  if (busy) return;
  busy = true;
  drop.classList.add("busy");
  said.textContent = words;
  try {
    const project = await ask(address, { method: "POST", body, words: told });
    await then?.(project.id);
    location.assign(`${page}/${project.id}`);
  } catch (error) {
    said.textContent = error.message;
  }
  drop.classList.remove("busy");
  busy = false;
}

function take(picture) {
  if (!picture) return;
  if (picture.size > most) {
    said.textContent = `The file is over ${most >> 20} MB; make the picture smaller.`;
    return;
  }
  const name = encodeURIComponent(picture.name || "pasted.png");
  begin(`Reading ${picture.name || "the picture"} …`, `/api/projects?name=${name}`, { body: picture });
}

// A figure, when a description is among some files; the others go beside it.
function describe(files) {
  const description = files.find(({ name }) => /\.toml$/i.test(name));
  if (!description) return false;
  const add = async (id) => {
    for (const each of files) if (each !== description) await ask(`/api/figures/${id}/files?name=${encodeURIComponent(each.name)}`, { method: "POST", body: each });
  };
  begin(`Reading ${description.name} …`, `/api/figures?name=${encodeURIComponent(description.name)}`, { body: description, page: "/f", then: add });
  return true;
}

const description = document.getElementById("description");
description.addEventListener("change", () => {
  const files = [...description.files];
  if (!describe(files) && files.length) said.textContent = "None of these is a description: a .toml file.";
  description.value = "";
});
document.getElementById("box").addEventListener("submit", (event) => {
  event.preventDefault();
  const { wide, deep, high } = event.target.elements;
  begin("Making a box …", "/api/figures/box", { words: { size: [wide, deep, high].map((each) => Number(each.value)) }, page: "/f" });
});

file.addEventListener("change", () => { take(file.files[0]); file.value = ""; });
addEventListener("dragover", (event) => { event.preventDefault(); drop.classList.add("over"); });
addEventListener("dragleave", (event) => { if (!event.relatedTarget) drop.classList.remove("over"); });
addEventListener("drop", (event) => {
  event.preventDefault();
  drop.classList.remove("over");
  if (!describe([...event.dataTransfer.files]) && event.dataTransfer.files.length) take(event.dataTransfer.files[0]);
  else if (!event.dataTransfer.files.length) said.textContent = "That was no file. Save the picture first, then drop the file here.";
});
addEventListener("paste", (event) => {
  const picture = [...event.clipboardData.files].find((each) => each.type.startsWith("image/"));
  if (picture) take(picture);
  else said.textContent = "There is no picture on the clipboard.";
});

function sample(name) {
  const words = name.replace(/\.\w+$/, "");
  const picture = make("img", { src: `/samples/${name}`, alt: "", className: name.endsWith(".png") ? "tiny" : "" });
  const button = make("button", { type: "button" }, picture, words);
  button.addEventListener("click", () => begin(`Reading ${words} …`, `/api/samples/${name}`));
  return make("li", {}, button);
}

function figureSample([name, words]) {
  const picture = make("img", { src: `/figures/${name}.png`, alt: "" });
  const button = make("button", { type: "button" }, picture, words);
  button.addEventListener("click", () => begin(`Reading ${words} …`, `/api/figures/samples/${name}`, { page: "/f" }));
  return make("li", {}, button);
}

// What may be published, or a plate laid on boards with others. What is picked is not kept.
function pick({ id, name, page }) {
  const box = make("input", { type: "checkbox", value: page === "f" ? `f/${id}` : id });
  box.setAttribute("aria-label", `Pick ${name}`);
  box.addEventListener("change", countPicked);
  return make("label", { className: "pick" }, box, "pick");
}

function countPicked() {
  const picked = [...document.querySelectorAll(".pick input:checked")].map(({ value }) => value);
  document.getElementById("picked").hidden = !picked.length;
  const figures = picked.filter((pick) => pick.startsWith("f/")).length, plates = picked.length - figures;
  const counted = [plates && many(plates, "plate"), figures && many(figures, "figure")].filter(Boolean);
  document.getElementById("picked-words").textContent = `${counted.join(" and ")} picked.`;
  document.getElementById("picked-go").textContent = !plates ? "Publish them" : figures ? "Publish them, or lay the plates on shared boards" : "Publish them, or lay them on shared boards";
  document.getElementById("picked-go").href = `/together?${new URLSearchParams(picked.map((id) => ["p", id]))}`;
}

function project(each) {
  const at = `/api/${each.page === "f" ? "figures" : "projects"}/${each.id}`;
  const drawn = each.page === "f" ? `${at}/made/${each.key}/assembled.png` : each.key ? `${at}/plates/${each.key}/near.png` : `${at}/picture.png`;
  const picture = each.page === "f" && !each.key ? make("span", {}) : make("img", { src: drawn, alt: "", loading: "lazy" });
  const remove = make("button", { type: "button", className: "drop-it" }, "Remove");
  remove.setAttribute("aria-label", `Remove ${each.name}`);
  const item = make("li", {}, make("a", { href: `/${each.page}/${each.id}` }, picture, each.name), pick(each), remove);
  remove.addEventListener("click", async () => {
    if (!confirm(`Remove ${each.name} and its plates for good?`)) return;
    try {
      await ask(at, { method: "DELETE" });
      item.remove();
      countPicked();
      document.getElementById("earlier").hidden = !document.querySelector("#projects li");
    } catch (error) { said.textContent = error.message; }
  });
  return item;
}

try {
  const found = await ask("/api/start");
  most = found.most;
  document.getElementById("samples").append(...found.samples.map(sample));
  document.getElementById("figure-samples").append(...Object.entries(found.figure_samples).map(figureSample));
  const earlier = [...found.projects.map((each) => ({ ...each, page: "p" })), ...found.figures.map((each) => ({ ...each, page: "f" }))];
  earlier.sort((one, other) => other.saved - one.saved);
  document.getElementById("projects").append(...earlier.map(project));
  document.getElementById("earlier").hidden = !earlier.length;
  countPicked();  // a browser may come back to boxes that are ticked
} catch (error) {
  said.textContent = error.message;
}
