// The picture as it was given, with what is taken of it and how large, as handles on the picture.
import { ask, at, make } from "/static/ask.js";
import { Estimates, lines } from "/static/places/picture/estimate.js";
import { Frame } from "/static/places/picture/frame.js";
import { Ground } from "/static/places/picture/ground.js";
import { Overlay } from "/static/places/picture/overlay.js";
import { Sizer, many } from "/static/places/picture/sizer.js";

const SMALL = 128;  // pixels; a picture of fewer is shown as the squares that it is made of
const SCREEN = 400;  // pixels of the shorter side from which on a picture may be a screenshot
const MARGIN = 0.15;  // share of each side that a new box round the subject leaves out
const HELP = "picture-help";
const GAP = 26;  // pixels of the screen between a handle and what is said beside it
const PART = ["source", "cells", "cell_px", "crop", "background", "subject", "trim"];  // settings of what lies on a plate
const NARROW = 560;  // pixels of a stage beside whose handles there is no room
const SIZES = ["width", "height", "size", "boards", "mm", "fit"];

export class Picture {
  constructor(desk) {
    Object.assign(this, { desk, about: null, found: null, isOpen: false, held: null });
    this.image = at("given");
    this.sheet = at("sheet");
    this.image.addEventListener("load", () => this.#draw());
    this.overlay = new Overlay(this.sheet);
    this.estimates = new Estimates(desk.address, (found) => this.#estimated(found), (error) => this.#refused(error));
    this.crop = new Frame(this.sheet, { name: "Crop", className: "crop", help: HELP }, {
      moving: (box, handle) => this.#moving(handle, this.#cropped(box)),
      done: (box) => this.#change(this.#cropped(box)),
      left: () => this.#left(),
    });
    this.subject = new Frame(this.sheet, { name: "Subject", className: "subject", help: HELP }, {
      moving: () => {},
      done: (box) => this.#change({ subject: this.#within(box) }),
      left: () => this.#left(),
    });
    this.sizer = new Sizer(at("stage"), this.sheet, HELP, {
      moving: (size, handle) => this.#moving(handle, sized(size)),
      done: (size) => this.#change(sized(size)),
      left: () => this.#left(),
    });
    this.ground = new Ground(at("ground"), this.image, (patch) => this.#change(patch));
    at("crop-whole").addEventListener("click", () => this.#change(this.#cropped(this.#whole())));
    at("crop-auto").addEventListener("click", () => this.#change({ crop: "auto", subject: "" }));
    for (const radio of at("size-ways").querySelectorAll("input")) {
      radio.addEventListener("change", () => { this.sizer.bead = radio.value === "bead"; this.#draw(); });
    }
    new ResizeObserver(() => this.#draw()).observe(this.sheet);
  }

  async open() {
    this.isOpen = true;
    try {
      this.about ??= await ask(`${this.desk.address}/picture`);
    } catch (error) {
      at("picture-said").textContent = error.message;
      return;
    }
    const [width, height] = this.about.size;
    this.sheet.style.setProperty("--w", width);
    this.sheet.style.setProperty("--h", height);
    if (!this.image.getAttribute("src")) this.image.src = `${this.desk.address}/picture.png`;
    at("crop-auto").hidden = Math.min(width, height) < SCREEN;
    this.show(this.desk.state());
  }

  close() { this.isOpen = false; }

  show(state) {
    if (!this.isOpen || !this.about || !state) return;
    this.#draw();
    this.estimates.ask(this.held ?? this.#settings());
    const made = this.desk.made();
    const isNow = made && PART.every((name) => made.settings[name] === state.settings[name]);
    this.overlay.empty(made && `${this.desk.address}/plates/${made.key}/plate.png`, isNow ? made.facts : null, this.about.size);
    at("picture-notes").replaceChildren(...(isNow ? made.facts.notes : []).map((note) => make("li", {}, note)));
    this.#failed(state);
  }

  #failed({ hand }) { at("picture-said").textContent = hand.state === "failed" ? hand.error.words : ""; }

  #settings() { return this.desk.form.settings; }
  #whole() { return [0, 0, ...this.about.size]; }

  // The part of the picture that is taken: as settings say, or as it was found.
  #part() {
    const { crop } = this.#settings();
    const made = this.desk.made();
    if (crop === "auto") return made?.settings.crop === "auto" && made.facts.laid?.crop || this.#whole();
    return crop ? crop.split(",").map(Number) : this.#whole();
  }

  #draw() {
    if (!this.isOpen || !this.about) return;
    const { size } = this.about;
    const settings = this.#settings();
    const isFill = String(settings.background ?? "").startsWith("#");
    this.image.classList.toggle("tiny", Boolean(this.found?.sprite) || this.image.naturalWidth <= SMALL);
    this.image.style.backgroundColor = isFill ? settings.background : "";
    const [step, corner] = this.#pixels();
    const snap = (axis, value) => Math.round(step[axis] >= 2 ? corner[axis] + Math.round((value - corner[axis]) / step[axis]) * step[axis] : value);
    this.crop.show({ box: this.#part(), limits: this.#whole(), size, step, snap });
    const part = this.crop.box;
    this.overlay.cut(part, size);
    const clears = String(settings.background ?? "").startsWith("clear");
    const isPhoto = this.desk.state()?.kind?.name === "PHOTO";
    if (settings.subject) {
      const [x, y, w, h] = settings.subject.split(",").map(Number);
      const limits = [part[0], part[1], part[0] + part[2], part[1] + part[3]];
      this.subject.show({ box: [x + part[0], y + part[1], w, h], limits, size, step: [1, 1], snap: (_, value) => Math.round(value) });
    } else this.subject.hide();
    this.sizer.show(this.found, part, size);
    this.ground.show(settings, this.about.see_through, clears && (isPhoto || settings.subject) ? this.#boxed(settings, part) : null);
    at("crop-whole").disabled = !settings.crop;
    at("crop-auto").setAttribute("aria-pressed", String(settings.crop === "auto"));
    at("size-ways").hidden = Boolean(this.found?.sprite);
    at("size-sprite").hidden = !this.found?.sprite;
  }

  // What an arrow key moves by, and where pixels of a sprite begin.
  #pixels() {
    const { sprite, cell_px: cell, corner } = this.found ?? {};
    return sprite && Math.min(...cell) >= 2 ? [cell, corner] : [[1, 1], [0, 0]];
  }

  #boxed(settings, [, , w, h]) {
    if (settings.subject) return { words: "Without the box round the subject", does: () => this.#change({ subject: "" }) };
    const box = [w * MARGIN, h * MARGIN, w * (1 - 2 * MARGIN), h * (1 - 2 * MARGIN)].map(Math.round).join();
    return { words: "Draw a box round the subject", does: () => this.#change({ subject: box }) };
  }

  // Settings of another part; the box round the subject stays where it is on the picture.
  #cropped(box) {
    const isWhole = `${box}` === `${this.#whole()}`;
    const patch = { crop: isWhole ? "" : box.join() };
    const { subject } = this.#settings();
    if (!subject) return patch;
    const [x, y, w, h] = subject.split(",").map(Number);
    const old = this.#part();
    return { ...patch, subject: this.#within([x + old[0], y + old[1], w, h], box) };
  }

  // A box on the picture as one on a part of it; nothing when it does not lie there.
  #within([x, y, w, h], part = this.#part()) {
    const [left, top] = [Math.max(x, part[0]), Math.max(y, part[1])];
    const [right, bottom] = [Math.min(x + w, part[0] + part[2]), Math.min(y + h, part[1] + part[3])];
    return right > left && bottom > top ? [left - part[0], top - part[1], right - left, bottom - top].join() : "";
  }

  // A handle is in a hand: what its settings would take is said beside it.
  #moving(handle, patch) {
    this.held = patched(this.#settings(), patch);
    this.handle = handle;
    this.overlay.cut(this.crop.box, this.about.size);
    this.sizer.show(this.found, this.crop.box, this.about.size);
    at("stage").classList.add("moving");
    at("takes-beside").hidden = false;
    this.#beside();
    this.estimates.ask(this.held);
  }

  #left() {
    this.held = null;
    at("stage").classList.remove("moving");
    at("takes-beside").hidden = true;
    this.#draw();
    this.estimates.ask(this.#settings());
  }

  #change(patch) {
    const settings = patched(this.#settings(), patch);
    this.desk.change("settings", { settings });
    this.#left();
  }

  #estimated(found) {
    this.found = found;
    this.#failed(this.desk.state());
    this.overlay.boards(found);
    this.#draw();
    const said = lines(found, many);
    at("takes-beside").replaceChildren(...said.map((line, number) => make(number ? "span" : "b", {}, line)));
    if (this.held) this.#beside(); else at("picture-takes").textContent = `${said[0]}: ${said.slice(1).join(", ")}.`;
  }

  #refused(error) {
    if (this.held) at("takes-beside").replaceChildren(make("b", {}, error.message));
    else at("picture-said").textContent = error.message;
  }

  // Put what is said beside the handle, inside the stage.
  #beside() {
    const card = at("takes-beside");
    const stage = at("stage").getBoundingClientRect();
    const handle = this.handle.getBoundingClientRect();
    const { offsetWidth: width, offsetHeight: height } = card;
    const left = handle.left - GAP / 2 - width;
    const isBeside = this.handle === this.sizer.handle && left >= stage.left;
    const x = isBeside || handle.right + GAP / 2 + width > stage.right ? left : handle.right + GAP / 2;
    const above = handle.top - GAP - height;
    const sheet = this.sheet.getBoundingClientRect();
    const isUpper = stage.width < NARROW && handle.bottom < (sheet.top + sheet.bottom) / 2 + handle.height;
    const y = isUpper ? sheet.bottom + GAP / 2 : isBeside ? handle.top : above >= stage.top ? above : handle.bottom + GAP;
    card.style.left = `${Math.max(0, Math.min(x - stage.left, stage.width - width))}px`;
    card.style.top = `${Math.max(0, Math.min(y - stage.top, stage.height - height))}px`;
  }
}

// Settings of another size. How a size is filled goes with one that has both measures.
function sized(size) {
  const others = SIZES.filter((name) => name !== "fit" || !size.boards);
  return { ...Object.fromEntries(others.map((name) => [name, ""])), ...size };
}

// Settings with others in their place; what is empty has its default.
// Seams that were put by hand belong to the plate's size.
function patched(settings, patch) {
  const isSized = [...PART, ...SIZES].some((name) => name in patch);
  if (isSized) patch = { ...patch, rounds: "" };
  if (isSized && settings.seams?.includes("/")) patch = { ...patch, seams: "" };
  return Object.fromEntries(Object.entries({ ...settings, ...patch }).filter(([, value]) => value !== ""));
}
