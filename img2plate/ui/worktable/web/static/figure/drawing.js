// The drawing of a figure, and what is done with it: turned, pulled apart, put together, pressed.
import { at, make, many } from "/static/ask.js";
import { Levers } from "/static/figure/levers.js";
import { Solid } from "/static/figure/solid.js";
import { Turning } from "/static/figure/turning.js";
import { View, hit, project } from "/static/figure/view.js";

const SLIDE_MS = 450;
const SAID_MS = 400;  // after the last turn, until it is said
const SMALL = 150;  // pixels of the picture on the strip
const MOST_FINE = 2;  // pixels of the canvas in one of the style's
const SLOW_MS = 45;  // a frame from which on turning is drawn coarser
const still = matchMedia("(prefers-reduced-motion: reduce)");
const dark = matchMedia("(prefers-color-scheme: dark)");

export class Drawing {
  constructor(desk) {
    this.desk = desk;
    this.canvas = at("solid-canvas");
    this.view = new View();
    this.solid = Solid.on(this.canvas);
    this.coarse = 1;
    this.facts = null;
    this.levers = new Levers(desk, this);
    this.canvas.hidden = !this.solid;
    at("solid-turns").hidden = !this.solid;
    at("solid-picture").hidden = Boolean(this.solid);
    if (!this.solid) return;
    this.turning = new Turning(this.canvas, {
      by: (yaw, pitch) => { this.view.by(yaw, pitch); this.turned(); },
      nearer: (by) => { this.view.nearer(by); this.turned(); },
      home: () => { this.view.home(); this.turned(); },
      tap: (x, y) => this.#tap(x, y),
    });
    const acts = { left: () => this.view.by(-15, 0), right: () => this.view.by(15, 0), nearer: () => this.view.nearer(1.25), farther: () => this.view.nearer(0.8), home: () => this.view.home() };
    for (const [name, act] of Object.entries(acts)) at(`solid-${name}`).addEventListener("click", () => { act(); this.turned(); });
    new ResizeObserver(() => this.soon()).observe(this.canvas);
    dark.addEventListener("change", () => this.soon());
  }

  open() {
    this.soon();
  }

  show(state, facts) {
    at("solid").classList.toggle("old", this.desk.isOld() && state.made.state === "failed" && Boolean(facts));
    at("solid-old").hidden = !at("solid").classList.contains("old");
    if (facts && facts !== this.facts) {
      this.facts = facts;
      this.solid?.show(facts);
      this.#tell();
    }
    this.levers.show(state, facts);
    if (facts) this.soon();
    else at("drawing-facts").textContent = state.made.state === "failed" ? "There is nothing to draw yet: see what is said below the text." : "Reading …";
  }

  #tell() {
    const { plates, beads, colours, size, pitch_mm, loose, steps, remarks } = this.facts;
    const cm = size.map((side) => (side * pitch_mm / 10).toLocaleString("en", { maximumFractionDigits: 1 })).join(" x ");
    at("drawing-facts").textContent = `${many(plates.length, "plate")}, ${many(beads, "bead")} in ${many(colours.length, "colour")}, ${cm} cm wide, deep and high`;
    const hangs = loose.map((name) => ` Part ${name} hangs on nothing: no [[join]] with strips ties it.`).join("");
    at("drawing-checked").textContent = `Checked: each bead in one plate, plates in one piece, joints that hold, together in ${many(steps.length, "step")}.${hangs}`;
    at("drawing-remarks").replaceChildren(...remarks.map((line) => make("li", {}, line)));
    this.turned();
  }

  // Something about the view changed.
  turned() {
    this.soon();
    clearTimeout(this.saying);
    this.saying = setTimeout(() => { at("solid-at").textContent = this.words(); }, SAID_MS);
  }

  words() {
    const { pull, step } = this.levers;
    const how = step >= 0 ? `at step ${step + 1}` : pull ? `pulled apart by ${pull} %` : "together";
    return this.solid ? `${this.view.words()}, ${how}.` : `A picture of it, ${how}: this browser has no WebGL to turn it.`;
  }

  soon() {
    if (!this.solid) { this.#picture(); return; }
    document.body.dataset.still = "no";
    if (this.wanted) return;
    this.wanted = true;
    requestAnimationFrame((now) => this.#frame(now));
  }

  // How a plate is drawn now; null when it is not.
  how(number) {
    const { step, pull, fit, chosen } = this.levers;
    const plate = this.facts.plates[number];
    const [mm, hole] = plate.is_lid ? [fit.lid_mm, fit.lid_hole_mm] : [fit.mm, fit.hole_mm];
    const told = { shift: plate.apart.map((side) => side * pull / 100), thick: mm / this.facts.pitch_mm, hole: hole / 2 / this.facts.pitch_mm, pale: 0, chosen: Number(number === chosen) };
    if (step < 0) return told;
    const { there, coming, shift } = this.facts.steps[step];
    const [from, share] = [this.slide?.step === step ? this.slide : null, this.slide?.share ?? 1];
    if (coming.includes(number)) return { ...told, shift: (shift ?? [0, 0, 0]).map((side) => side * (from ? 2 - share : 1)) };
    if (!there.includes(number)) return null;
    const before = step > 0 && from && this.facts.steps[step - 1].coming.includes(number) ? this.facts.steps[step - 1].shift ?? [0, 0, 0] : [0, 0, 0];
    return { ...told, shift: before.map((side) => side * (1 - share)), pale: 0.45 };
  }

  // Another step: what came before slides in, what comes next stands off.
  slideTo(step) {
    this.slide = step < 0 || still.matches ? null : { step, from: performance.now(), share: 0 };
    this.turned();
  }

  // Middle and radius of all that is seen.
  #ball() {
    const low = [Infinity, Infinity, Infinity], high = [-Infinity, -Infinity, -Infinity];
    const { step } = this.levers;
    this.facts.plates.forEach((plate, number) => {
      const slide = this.slide;
      this.slide = null;
      const told = this.how(number);
      this.slide = slide;
      if (!told) return;
      const [w, h] = plate.size;
      for (const [column, row] of [[0, 0], [w - 1, h - 1]]) {
        for (let i = 0; i < 3; i += 1) {
          const side = plate.origin[i] + column * plate.across[i] + row * plate.down[i] + told.shift[i];
          low[i] = Math.min(low[i], side);
          high[i] = Math.max(high[i], side + 1);
        }
      }
    });
    const radius = Math.max(2, Math.hypot(...high.map((side, i) => side - low[i])) / 2);
    return { centre: high.map((side, i) => (side + low[i]) / 2), radius: step >= 0 ? radius * 1.05 : radius };
  }

  #frame(now) {
    this.wanted = false;
    const { clientWidth: width, clientHeight: height } = this.canvas;
    if (!this.facts || !width) return;
    if (this.slide) {
      this.slide.share = Math.min(1, Math.max(0, (now - this.slide.from) / SLIDE_MS));
      if (this.slide.share === 1) this.slide = null;
      else setTimeout(() => this.soon());
    }
    this.#pace(now);
    const seen = this.view.seen(this.#ball(), width, height);
    this.seen = seen;
    this.solid.draw(seen, (number) => this.how(number), colours(), Math.min(MOST_FINE, devicePixelRatio || 1) * this.coarse);
    this.#letters();
    document.body.dataset.drawn = this.facts.key;
    document.body.dataset.still = this.coarse < 1 || this.slide ? "no" : "yes";
    if (this.coarse < 1) { clearTimeout(this.resting); this.resting = setTimeout(() => { this.coarse = 1; this.before = 0; this.soon(); }, 250); }
  }

  // Where frames that follow each other are slow, as without a graphics card, fewer pixels are drawn until it rests.
  #pace(now) {
    const took = now - (this.before ?? 0);
    this.before = now;
    if (took < 250 && took > SLOW_MS) this.coarse = Math.max(0.5, this.coarse - 0.25);
  }

  // Letters of the joints of the chosen plate, on it and on those that it meets.
  #letters() {
    const { chosen } = this.levers;
    const marks = [];
    for (const { letter, plate: other, at: [column, row] } of this.facts.plates[chosen]?.meets ?? []) {
      marks.push([letter, chosen, column, row]);
      const back = this.facts.plates[other].meets.find((each) => each.letter === letter);
      if (this.levers.pull >= 25 && back) marks.push([letter, other, ...back.at]);
    }
    at("solid-letters").replaceChildren(...marks.flatMap(([letter, number, column, row]) => {
      const plate = this.facts.plates[number], told = this.how(number);
      if (!told) return [];
      const place = plate.origin.map((side, i) => side + told.shift[i] + 0.5 + column * plate.across[i] + row * plate.down[i]);
      const [x, y] = project(this.seen, place);
      const mark = make("span", {}, letter);
      mark.style.left = `${x}px`;
      mark.style.top = `${y}px`;
      return [mark];
    }));
  }

  #tap(x, y) {
    if (!this.seen) return;
    const found = hit(this.seen, this.facts.plates, (number) => this.how(number), x, y);
    this.levers.choose(found ? found[0] : -1);
  }

  // A small picture for the strip; null where there is no WebGL.
  small() {
    if (!this.solid || !this.facts) return null;
    const { width, height } = this.canvas;
    const paper = document.createElement("canvas");
    [paper.width, paper.height] = [SMALL, SMALL];
    const view = new View();
    const levers = { ...this.levers, step: -1, pull: 0, chosen: -1, fit: this.levers.fit };
    const real = this.levers;
    this.levers = levers;
    const seen = view.seen(this.#ball(), 1, 1);
    [this.canvas.width, this.canvas.height] = [SMALL, SMALL];
    this.solid.draw(seen, (number) => this.how(number), colours(), 0, SMALL);
    paper.getContext("2d").drawImage(this.canvas, 0, 0);
    this.levers = real;
    [this.canvas.width, this.canvas.height] = [width, height];
    this.soon();
    return paper;
  }

  // Without WebGL: the pictures that the pack has.
  #picture() {
    if (!this.facts) return;
    const { step, pull } = this.levers;
    const name = step >= 0 ? step + 1 : pull ? "exploded" : "assembled";
    const src = `${this.desk.address}/made/${this.facts.key}/${name}.png`;
    const picture = at("solid-picture");
    if (picture.getAttribute("src") !== src) picture.src = src;
    picture.alt = `${this.desk.state().name}, ${pull && step < 0 ? "pulled apart, with the numbers of its plates" : this.words()}`;
    document.body.dataset.drawn = this.facts.key;
  }
}

// The page's colours in linear light, as the drawing mixes them.
function colours() {
  const style = getComputedStyle(document.documentElement);
  return Object.fromEntries(["ground", "accent"].map((name) => {
    const hex = style.getPropertyValue(`--${name}`).trim();
    return [name, [1, 3, 5].map((i) => (parseInt(hex.slice(i, i + 2), 16) / 255) ** 2.2)];
  }));
}
