// The picture as it was given.
const SMALL = 128;  // pixels; a picture of fewer is shown as the squares that it is made of

export class Picture {
  constructor(desk) {
    this.desk = desk;
    this.image = document.getElementById("given");
    this.image.addEventListener("load", () => this.image.classList.toggle("tiny", this.image.naturalWidth <= SMALL));
  }

  open() {
    if (!this.image.src) this.image.src = `${this.desk.address}/picture.png`;
  }

  close() {}
  show() {}
}
