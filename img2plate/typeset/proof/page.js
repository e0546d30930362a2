"use strict";
const proof = JSON.parse(document.getElementById("data").textContent);
const get = (id) => document.getElementById(id);
const state = { far: false, ticked: [] };

function make(tag, text, parent, name) {
  const element = document.createElement(tag);
  if (text !== undefined) element.textContent = text;
  if (name) element.className = name;
  if (parent) parent.append(element);
  return element;
}

function choices(select, names) {
  for (const [value, name] of names) make("option", name, select).value = value;
  select.addEventListener("change", draw);
}

const picture = (variant) => (state.far ? variant.far : variant.near);
const title = (variant) => `${variant.number} ${variant.palette}, ${variant.shading}, ${variant.size}`;

function frame(variant, card, words) {
  const image = make("img", undefined, make("div", undefined, card, "frame"));
  image.src = picture(variant);
  image.alt = words;
  image.style.width = `${variant.share[0] * 100}%`;
}

function card(variant) {
  const article = make("article", undefined, get("cards"));
  const head = make("h2", undefined, article);
  make("b", variant.number, head);
  const words = make("span", variant.palette, head);
  make("br", undefined, words);
  make("small", `${variant.shading}, ${variant.size}`, words);
  frame(variant, article, title(variant));
  const list = make("dl", undefined, article);
  for (const [key, label, , text] of variant.figures) {
    make("dt", label, list);
    make("dd", text, list, proof.best[key].includes(variant.number) ? "best" : "");
  }
  const label = make("label", undefined, article, "tick");
  const box = make("input", undefined, label);
  box.type = "checkbox";
  box.dataset.number = variant.number;
  box.checked = state.ticked.includes(variant.number);
  box.addEventListener("change", () => tick(variant.number, box.checked));
  label.append("Compare with the slider");
}

function tick(number, on) {
  state.ticked = state.ticked.filter((other) => other !== number);
  if (on) state.ticked = [...state.ticked, number].slice(-2);
  for (const box of document.querySelectorAll(".tick input"))
    box.checked = state.ticked.includes(Number(box.dataset.number));
  drawTwo();
  if (state.ticked.length === 2) get("two").scrollIntoView({ block: "nearest" });
}

function drawTwo() {
  get("two").hidden = state.ticked.length < 2;
  if (get("two").hidden) return;
  const [one, two] = state.ticked.map((n) => proof.variants.find((v) => v.number === n));
  get("two-name").textContent = `Left: ${title(one)}. Right: ${title(two)}.`;
  get("over").src = picture(one);
  get("under").src = picture(two);
  get("over").alt = title(one);
  get("under").alt = title(two);
  slide();
}

function slide() {
  const at = get("slider").value;
  get("over").style.clipPath = `inset(0 ${100 - at}% 0 0)`;
  get("edge").style.left = `${at}%`;
}

function draw() {
  const key = get("sort").value;
  const value = (v) => {
    if (key === "number") return v.number;
    const found = v.figures.find((figure) => figure[0] === key)[2];
    return key === "similarity" ? -found : found;
  };
  const shown = proof.variants
    .filter((v) => !get("palette").value || v.palette === get("palette").value)
    .filter((v) => !get("shading").value || v.shading === get("shading").value)
    .sort((a, b) => value(a) - value(b) || a.number - b.number);
  get("cards").replaceChildren();
  const first = make("article", undefined, get("cards"));
  make("small", "as it is", make("span", "The picture", make("h2", undefined, first)));
  first.querySelector("small").before(document.createElement("br"));
  frame(proof.source, first, "The picture");
  shown.forEach(card);
  get("said").textContent = `${shown.length} of ${proof.variants.length} variants`;
  drawTwo();
}

function view(far) {
  state.far = far;
  get("near").setAttribute("aria-pressed", String(!far));
  get("far").setAttribute("aria-pressed", String(far));
  draw();
}

const each = (name) => [...new Set(proof.variants.map((v) => v[name]))].map((n) => [n, n]);
choices(get("sort"), [["number", "number"], ...proof.variants[0].figures.map((f) => [f[0], `${f[1].toLowerCase()}, best first`])]);
choices(get("palette"), [["", "all"], ...each("palette")]);
choices(get("shading"), [["", "all"], ...each("shading")]);
get("near").addEventListener("click", () => view(false));
get("far").addEventListener("click", () => view(true));
get("slider").addEventListener("input", slide);
for (const [name, why] of proof.failed) make("p", `Could not be made: ${name}: ${why}`, get("failed"));
draw();
