// The plate on a canvas, near or whole: beads, rows to count by, where the hand is.
const MOST_ZOOM = 48;  // pixels of a bead
const LINES_FROM = 7;  // pixels of a bead from which on rows can be counted
const HOLES_FROM = 12;
const TEN = 10;
const INK = "#1d2b33", ACCENT = "#b5452e";  // on paper by day and by night: the plate has its own ground

export class Drawn {
  constructor(canvas) {
    this.canvas = canvas;
    this.paper = canvas.getContext("2d");
    this.tiny = document.createElement("canvas");  // a pixel a bead
    this.zoom = 0;
    this.left = this.top = 0;  // of the plate on the canvas, in CSS pixels
    this.wanted = false;
    this.cells = null;
    this.picture = null;  // { image, box: [x, y, width, height] of what the plate shows, in the image's pixels, share }
    this.marks = { hand: null, box: null, lost: null, loose: [], picked: null };
  }

  // Show a plate in the colours of a way of seeing; the view stays when it has the same size.
  show(cells, sight) {
    const isNew = !this.cells || this.cells.width !== cells.width || this.cells.height !== cells.height;
    this.cells = cells;
    this.table = Uint32Array.from([...cells.beads.map(({ hex, seen }) => pixel(seen[sight] ?? hex)), 0]);  // last: no bead
    [this.tiny.width, this.tiny.height] = [cells.width, cells.height];
    this.small = this.tiny.getContext("2d");
    this.image = this.small.createImageData(cells.width, cells.height);
    this.pixels = new Uint32Array(this.image.data.buffer);
    this.touch();
    if (isNew) this.whole();
  }

  // Draw anew all beads, or these.
  touch(stroke) {
    const { at } = this.cells, none = this.table.length - 1;
    const put = (cell) => { this.pixels[cell] = this.table[at[cell] < 0 ? none : at[cell]]; };
    if (stroke) for (const cell of stroke.keys()) put(cell);
    else for (let cell = 0; cell < at.length; cell += 1) put(cell);
    this.small.putImageData(this.image, 0, 0);
    this.soon();
  }

  // All of the plate in view.
  whole() {
    const { clientWidth, clientHeight } = this.canvas;
    this.zoom = Math.max(1, Math.min(MOST_ZOOM, clientWidth / this.cells.width, clientHeight / this.cells.height));
    this.left = (clientWidth - this.zoom * this.cells.width) / 2;
    this.top = (clientHeight - this.zoom * this.cells.height) / 2;
    this.soon();
  }

  // Nearer or farther, with one point of the canvas staying where it is.
  nearer(by, x = this.canvas.clientWidth / 2, y = this.canvas.clientHeight / 2) {
    const zoom = Math.max(1, Math.min(MOST_ZOOM, this.zoom * by));
    this.left = x - (x - this.left) * zoom / this.zoom;
    this.top = y - (y - this.top) * zoom / this.zoom;
    this.zoom = zoom;
    this.soon();
  }

  move(byX, byY) {
    this.left += byX;
    this.top += byY;
    this.soon();
  }

  // Have a cell in view.
  reach(x, y) {
    const { clientWidth, clientHeight } = this.canvas;
    const cellX = this.left + x * this.zoom, cellY = this.top + y * this.zoom;
    this.left -= Math.min(0, cellX) + Math.max(0, cellX + this.zoom - clientWidth);
    this.top -= Math.min(0, cellY) + Math.max(0, cellY + this.zoom - clientHeight);
    this.soon();
  }

  // The column and row at a point of the canvas.
  cell(x, y) {
    return [Math.floor((x - this.left) / this.zoom), Math.floor((y - this.top) / this.zoom)];
  }

  soon() {
    if (this.wanted) return;
    this.wanted = true;
    requestAnimationFrame(() => { this.wanted = false; this.draw(); });
  }

  draw() {
    const { canvas, paper, cells, zoom } = this;
    const fine = devicePixelRatio || 1;
    const [width, height] = [Math.round(canvas.clientWidth * fine), Math.round(canvas.clientHeight * fine)];
    if (canvas.width !== width || canvas.height !== height) [canvas.width, canvas.height] = [width, height];
    paper.setTransform(fine, 0, 0, fine, 0, 0);
    paper.clearRect(0, 0, width, height);
    if (!cells || !width) return;
    paper.imageSmoothingEnabled = false;
    paper.translate(this.left, this.top);
    paper.fillStyle = "#e9ecec";
    paper.fillRect(0, 0, zoom * cells.width, zoom * cells.height);
    paper.drawImage(this.tiny, 0, 0, zoom * cells.width, zoom * cells.height);
    if (this.picture?.share) this.#given();
    if (zoom >= HOLES_FROM) this.#holes();
    if (zoom >= LINES_FROM) this.#lines();
    this.#marks();
  }

  // The picture that was given, as much of it as is wanted, over the beads.
  #given() {
    const { paper, zoom, cells, picture: { image, box, share } } = this;
    paper.globalAlpha = share;
    paper.imageSmoothingEnabled = box[2] > 2 * cells.width;
    paper.drawImage(image, ...box, 0, 0, zoom * cells.width, zoom * cells.height);
    paper.globalAlpha = 1;
  }

  // Columns and rows in view.
  #view() {
    const { cells, zoom, left, top, canvas } = this;
    return [
      Math.max(0, Math.floor(-left / zoom)), Math.max(0, Math.floor(-top / zoom)),
      Math.min(cells.width, Math.ceil((canvas.clientWidth - left) / zoom)), Math.min(cells.height, Math.ceil((canvas.clientHeight - top) / zoom)),
    ];
  }

  #holes() {
    const { cells, zoom, paper } = this, [fromX, fromY, toX, toY] = this.#view();
    paper.beginPath();
    for (let y = fromY; y < toY; y += 1) {
      for (let x = fromX; x < toX; x += 1) {
        if (cells.at[cells.number(x, y)] < 0) continue;
        paper.moveTo((x + 0.62) * zoom, (y + 0.5) * zoom);
        paper.arc((x + 0.5) * zoom, (y + 0.5) * zoom, 0.12 * zoom, 0, 2 * Math.PI);
      }
    }
    paper.fillStyle = "rgb(255 255 255 / 0.45)";
    paper.fill();
  }

  #lines() {
    const { zoom, paper } = this, [fromX, fromY, toX, toY] = this.#view();
    for (const [step, colour] of [[1, "rgb(29 43 51 / 0.16)"], [TEN, "rgb(29 43 51 / 0.55)"]]) {
      paper.beginPath();
      for (let x = Math.ceil(fromX / step) * step; x <= toX; x += step) { paper.moveTo(x * zoom, fromY * zoom); paper.lineTo(x * zoom, toY * zoom); }
      for (let y = Math.ceil(fromY / step) * step; y <= toY; y += step) { paper.moveTo(fromX * zoom, y * zoom); paper.lineTo(toX * zoom, y * zoom); }
      paper.strokeStyle = colour;
      paper.lineWidth = 1;
      paper.stroke();
    }
  }

  #marks() {
    const { hand, box, lost, loose, picked } = this.marks, { width } = this.cells;
    const places = (numbers) => [...numbers].map((cell) => [cell % width, Math.floor(cell / width)]);
    if (picked?.size) this.#frames(places(picked), INK, 2);
    if (loose.length) this.#frames(places(loose), ACCENT, 2);
    if (lost) {
      this.#frames(lost.inside, ACCENT, 2, true);
      this.#edges(lost.edge);
    }
    if (box) this.#frame(...box, ACCENT, 3);
    if (hand) this.#frame(hand[0], hand[1], 1, 1, INK, 3);
  }

  // A frame round each of many cells, crossed out or not.
  #frames(places, colour, thick, isCrossed = false) {
    const path = new Path2D(), { zoom } = this, [fromX, fromY, toX, toY] = this.#view();
    for (const [column, row] of places) {
      if (column < fromX || row < fromY || column >= toX || row >= toY) continue;
      const [x, y, right, below] = [column * zoom, row * zoom, (column + 1) * zoom, (row + 1) * zoom];
      path.rect(x, y, zoom, zoom);
      if (!isCrossed) continue;
      path.moveTo(x, y);
      path.lineTo(right, below);
      path.moveTo(right, y);
      path.lineTo(x, below);
    }
    this.#twice(path, colour, thick);
  }

  // Bars at the plate's right and lower edge, for cells that lie beyond them.
  #edges(places) {
    const path = new Path2D(), { zoom, cells } = this;
    for (const [column, row] of places) {
      if (column < cells.width) { path.moveTo(column * zoom, cells.height * zoom - 4); path.lineTo((column + 1) * zoom, cells.height * zoom - 4); continue; }
      const last = Math.min(row, cells.height - 1);
      path.moveTo(cells.width * zoom - 4, last * zoom);
      path.lineTo(cells.width * zoom - 4, (last + 1) * zoom);
    }
    this.#twice(path, ACCENT, 6);
  }

  // A frame that is seen on dark and on light beads.
  #frame(x, y, width, height, colour, thick) {
    const path = new Path2D(), { zoom } = this;
    path.rect(x * zoom, y * zoom, width * zoom, height * zoom);
    this.#twice(path, colour, thick);
  }

  #twice(path, colour, thick) {
    for (const [style, wide] of [["#ffffff", thick + 2], [colour, thick]]) {
      this.paper.strokeStyle = style;
      this.paper.lineWidth = wide;
      this.paper.stroke(path);
    }
  }
}

// #rrggbb as a pixel of canvas data on a machine of little end first, as all browsers' are today.
function pixel(hex) {
  const value = parseInt(hex.slice(1), 16);
  return (0xff000000 | ((value & 0xff) << 16) | (value & 0xff00) | (value >> 16)) >>> 0;
}
