// What happens to the ground behind the subject: choices, a colour, a box round a photo's subject.
import { make } from "/static/ask.js";

const WAYS = { keep: "Keep it", clear: "Take the ground away", "clear-all": "Take it away inside the subject too" };
const FILL = "Fill what is see-through";
const USUAL = "#ffffff";

export class Ground {
  // element: where the choices go; change(patch) makes settings of them; image: to pick a colour from.
  constructor(element, image, change) {
    Object.assign(this, { image, change });
    this.ways = new Map(Object.entries({ ...WAYS, fill: FILL }).map(([value, words]) => [value, this.#way(value, words)]));
    this.colour = make("input", { type: "color", id: "fill-colour", value: USUAL });
    this.colour.addEventListener("change", () => change({ background: this.colour.value }));
    this.pick = make("button", { type: "button" }, "Take a colour from the picture");
    this.pick.setAttribute("aria-pressed", "false");
    this.pick.addEventListener("click", () => this.picking(this.pick.getAttribute("aria-pressed") !== "true"));
    this.filling = make("div", { className: "filling", hidden: true }, make("label", { htmlFor: "fill-colour" }, "Colour"), this.colour, this.pick);
    this.box = make("button", { type: "button", hidden: true });
    element.append(make("div", { className: "ways" }, ...[...this.ways.values()].map((radio) => radio.parentElement)), this.filling, this.box);
    image.addEventListener("click", (event) => this.#picked(event));
    addEventListener("keydown", (event) => { if (event.key === "Escape") this.picking(false); });
  }

  // settings; seeThrough: whether the picture is anywhere; subject: words of the box's button and what it does.
  show(settings, seeThrough, subject) {
    const background = settings.background ?? "keep";
    const isFill = !(background in WAYS);
    for (const [value, radio] of this.ways) radio.checked = isFill ? value === "fill" : value === background;
    this.ways.get("fill").parentElement.hidden = !seeThrough && !isFill;
    this.filling.hidden = !isFill;
    if (isFill) this.colour.value = background;
    this.box.hidden = !subject;
    if (!subject) return;
    this.box.textContent = subject.words;
    this.box.onclick = subject.does;
  }

  // Whether the next click on the picture takes a colour from it.
  picking(on) {
    this.pick.setAttribute("aria-pressed", String(on));
    this.pick.textContent = on ? "Now click on the picture" : "Take a colour from the picture";
    this.image.parentElement.classList.toggle("picking", on);
  }

  #picked({ offsetX, offsetY }) {
    if (this.pick.getAttribute("aria-pressed") !== "true") return;
    const { naturalWidth, naturalHeight, clientWidth, clientHeight } = this.image;
    const canvas = make("canvas", { width: 1, height: 1 });
    const draw = canvas.getContext("2d");
    draw.drawImage(this.image, -Math.floor(offsetX * naturalWidth / clientWidth), -Math.floor(offsetY * naturalHeight / clientHeight));
    const [red, green, blue, alpha] = draw.getImageData(0, 0, 1, 1).data;
    this.picking(false);
    if (alpha) this.change({ background: `#${[red, green, blue].map((part) => part.toString(16).padStart(2, "0")).join("")}` });
  }

  #way(value, words) {
    const radio = make("input", { type: "radio", name: "ground", value });
    radio.addEventListener("change", () => this.change({ background: value === "fill" ? this.colour.value : value }));
    make("label", {}, radio, make("span", {}, words));
    return radio;
  }
}
