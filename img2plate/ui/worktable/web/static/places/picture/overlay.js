// What is laid over the picture: what is cut off, where boards meet, pegs that stay empty.
const SVG = "http://www.w3.org/2000/svg";
const PEG = 8;  // pixels of a cell of which no bead is made, on the canvas
const MOST_PEGS = 40000;  // cells beyond which pegs are too small to be seen

export class Overlay {
  constructor(sheet) {
    this.pegs = sheet.appendChild(document.createElement("canvas"));
    this.pegs.setAttribute("aria-hidden", "true");
    this.pegs.className = "pegs";
    this.drawing = sheet.appendChild(document.createElementNS(SVG, "svg"));
    this.drawing.setAttribute("aria-hidden", "true");
    this.drawing.setAttribute("preserveAspectRatio", "none");
    [this.off, this.halo, this.seams, this.edge] = ["off", "halo", "seams", "edge"].map((name) => {
      const path = this.drawing.appendChild(document.createElementNS(SVG, "path"));
      path.setAttribute("class", name);
      return path;
    });
    this.shown = "";
  }

  // box: what is kept of a picture of `size`, both in its pixels.
  cut([x, y, w, h], [width, height]) {
    this.drawing.setAttribute("viewBox", `0 0 ${width} ${height}`);
    this.off.setAttribute("d", `M0 0H${width}V${height}H0Z M${x} ${y}V${y + h}H${x + w}V${y}Z`);
    this.edge.setAttribute("d", `M${x} ${y}H${x + w}V${y + h}H${x}Z`);
  }

  // Where boards meet on a plate that is estimated; dashed where it is told by beads not chosen yet.
  boards({ placed: [left, top, right, bottom], size, seams: [columns, rows], quiet }) {
    const [across, down] = [(right - left) / size[0], (bottom - top) / size[1]];
    const path = columns.map((n) => `M${left + n * across} ${top}V${bottom}`).join("")
      + rows.map((n) => `M${left} ${top + n * down}H${right}`).join("");
    this.seams.classList.toggle("dashed", quiet);
    this.halo.setAttribute("d", path);
    this.seams.setAttribute("d", path);
  }

  // Show the pegs of a plate that stay empty; picture: its address; placed: where it lies.
  async empty(picture, facts, size) {
    const key = facts ? `${picture} ${facts.laid?.placed}` : "";
    if (key === this.shown) return;
    this.shown = key;
    const isBare = facts?.laid && !facts.laid.moved && facts.beads < facts.size[0] * facts.size[1];
    this.pegs.hidden = true;
    if (!isBare) return;
    const image = new Image();
    image.src = picture;
    await image.decode();
    if (this.shown !== key) return;
    const [left, top, right, bottom] = facts.laid.placed;
    this.pegs.style.left = `${100 * left / size[0]}%`;
    this.pegs.style.top = `${100 * top / size[1]}%`;
    this.pegs.style.width = `${100 * (right - left) / size[0]}%`;
    this.pegs.style.height = `${100 * (bottom - top) / size[1]}%`;
    this.#draw(image, facts.size);
    this.pegs.hidden = false;
  }

  #draw(image, [width, height]) {
    const small = document.createElement("canvas");
    Object.assign(small, { width, height });
    const read = small.getContext("2d");
    read.drawImage(image, 0, 0);
    const { data } = read.getImageData(0, 0, width, height);
    const each = width * height > MOST_PEGS ? 1 : PEG;
    Object.assign(this.pegs, { width: width * each, height: height * each });
    const draw = this.pegs.getContext("2d");
    const look = getComputedStyle(this.pegs);
    const [ground, peg] = [look.getPropertyValue("--ground"), look.getPropertyValue("--quiet")];
    for (let cell = 0; cell < width * height; cell += 1) {
      if (data[cell * 4 + 3]) continue;
      const [x, y] = [(cell % width) * each, Math.floor(cell / width) * each];
      draw.fillStyle = ground;
      draw.fillRect(x, y, each, each);
      if (each === 1) continue;
      draw.fillStyle = peg;
      draw.fillRect(x + 3, y + 3, 2, 2);
    }
  }
}
