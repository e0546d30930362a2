// How the plate under the hand is looked at: near or whole, its colours as others see them, the picture over it.
import { ask, at, make } from "/static/ask.js";

const VIEWS = [["", "as they are"], ["grey", "in grey"], ["protanopia", "without red cones"], ["deuteranopia", "without green cones"], ["tritanopia", "without blue cones"]];
const CLOSER = 1.5;

export class Sight {
  constructor(desk, drawn) {
    Object.assign(this, { desk, drawn, view: "" });
    const select = at("hand-view");
    select.append(...VIEWS.map(([value, words]) => make("option", { value }, words)));
    select.addEventListener("change", () => {
      this.view = select.value;
      if (drawn.cells) drawn.show(drawn.cells, this.view);
    });
    at("hand-given").addEventListener("input", () => this.given());
    at("hand-nearer").addEventListener("click", () => drawn.nearer(CLOSER));
    at("hand-farther").addEventListener("click", () => drawn.nearer(1 / CLOSER));
    at("hand-whole").addEventListener("click", () => drawn.whole());
  }

  // Lay the picture over the plate, where it shows what the plate shows.
  async given() {
    const share = Number(at("hand-given").value) / 100;
    const laid = this.desk.state().hand.facts?.laid;
    const placed = laid?.moved ? null : laid?.placed;
    if (!placed) return;
    if (!this.image) {
      this.image = new Image();
      this.image.src = `${this.desk.address}/picture.png`;
      const [{ size: [width] }] = await Promise.all([ask(`${this.desk.address}/picture`), this.image.decode()]);
      this.shrunk = this.image.naturalWidth / width;
    }
    const [left, top, right, bottom] = placed;
    this.drawn.picture = { image: this.image, box: [left, top, right - left, bottom - top].map((side) => side * this.shrunk), share };
    this.drawn.soon();
  }
}
