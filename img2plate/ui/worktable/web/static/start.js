// The first page: a picture becomes a project; earlier ones are listed.
import { ask, make } from "/static/ask.js";

const drop = document.getElementById("drop");
const file = document.getElementById("file");
const said = document.getElementById("said");
let busy = false;
let most = Infinity;  // bytes

async function begin(words, address, body) {
  if (busy) return;
  busy = true;
  drop.classList.add("busy");
  said.textContent = words;
  try {
    const project = await ask(address, { method: "POST", body });
    location.assign(`/p/${project.id}`);
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
  begin(`Reading ${picture.name || "the picture"} …`, `/api/projects?name=${name}`, picture);
}

file.addEventListener("change", () => { take(file.files[0]); file.value = ""; });
addEventListener("dragover", (event) => { event.preventDefault(); drop.classList.add("over"); });
addEventListener("dragleave", (event) => { if (!event.relatedTarget) drop.classList.remove("over"); });
addEventListener("drop", (event) => {
  event.preventDefault();
  drop.classList.remove("over");
  if (event.dataTransfer.files.length) take(event.dataTransfer.files[0]);
  else said.textContent = "That was no file. Save the picture first, then drop the file here.";
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

function project(each) {
  const at = `/api/projects/${each.id}`;
  const picture = make("img", { src: each.key ? `${at}/plates/${each.key}/near.png` : `${at}/picture.png`, alt: "", loading: "lazy" });
  const remove = make("button", { type: "button", className: "drop-it" }, "Remove");
  remove.setAttribute("aria-label", `Remove ${each.name}`);
  const item = make("li", {}, make("a", { href: `/p/${each.id}` }, picture, each.name), remove);
  remove.addEventListener("click", async () => {
    if (!confirm(`Remove ${each.name} and its plates for good?`)) return;
    try {
      await ask(at, { method: "DELETE" });
      item.remove();
      document.getElementById("earlier").hidden = !document.querySelector("#projects li");
    } catch (error) { said.textContent = error.message; }
  });
  return item;
}

try {
  const found = await ask("/api/start");
  most = found.most;
  document.getElementById("samples").append(...found.samples.map(sample));
  document.getElementById("projects").append(...found.projects.map(project));
  document.getElementById("earlier").hidden = !found.projects.length;
} catch (error) {
  said.textContent = error.message;
}
