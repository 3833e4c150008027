// The one board of the workbench, over a drawing that the server makes: an ARIA grid with one
// tab stop.  https://www.w3.org/WAI/ARIA/apg/patterns/grid/
//   const board = new Board(element);  board.onchange = (placement, words) => …
// It knows where men stand and nothing of the rules.

const NAMES = { k: "king", q: "queen", r: "rook", b: "bishop", n: "knight", p: "pawn" };
const FILES = "abcdefgh";

export function manName(letter) {
  return `${letter === letter.toUpperCase() ? "white" : "black"} ${NAMES[letter.toLowerCase()]}`;
}

export function readMen(fen) {
  const men = new Map();
  fen.split(" ")[0].split("/").forEach((row, down) => {
    let file = 0;
    for (const sign of row) {
      if (/\d/.test(sign)) file += Number(sign);
      else men.set(`${FILES[file++]}${8 - down}`, sign);
    }
  });
  return men;
}

export function writeMen(men) {
  const rows = [];
  for (let rank = 8; rank >= 1; rank--) {
    let row = "", empty = 0;
    for (const file of FILES) {
      const man = men.get(`${file}${rank}`);
      if (!man) { empty++; continue; }
      row += (empty || "") + man;
      empty = 0;
    }
    rows.push(row + (empty || ""));
  }
  return rows.join("/");
}

export class Board {
  constructor(element) {
    this.element = element;
    this.drawing = element.querySelector(".drawing");
    this.still = element.dataset.use === "show";
    this.seen = element.dataset.seen;
    this.men = readMen(element.dataset.fen);
    this.side = element.dataset.fen.split(" ")[1] || "w";
    this.castling = "-";   // who may still castle, as FEN writes it; only a page may say so
    this.taken = null;     // the square whose man is taken in hand
    this.inHand = null;    // a man from the tray
    this.onchange = () => {};
    this.live = document.createElement("p");
    this.live.className = "unseen";
    this.live.setAttribute("role", "status");
    element.append(this.live);
    this.makeGrid();
  }

  get fen() { return `${writeMen(this.men)} ${this.side} ${this.castling} - 0 1`; }

  say(text) { this.live.textContent = text; }

  makeGrid() {
    const kept = this.focused || (this.seen === "white" ? "e1" : "e8");
    this.grid?.remove();
    const grid = document.createElement("div");
    grid.className = "squares";
    grid.setAttribute("role", "grid");
    grid.setAttribute("aria-label", this.element.getAttribute("aria-label"));
    if (this.still) grid.setAttribute("aria-readonly", "true");
    this.cells = new Map();
    const ranks = this.seen === "white" ? [8, 7, 6, 5, 4, 3, 2, 1] : [1, 2, 3, 4, 5, 6, 7, 8];
    const files = this.seen === "white" ? [...FILES] : [...FILES].reverse();
    for (const rank of ranks) {
      const row = document.createElement("div");
      row.setAttribute("role", "row");
      for (const file of files) {
        const cell = document.createElement("div");
        cell.setAttribute("role", "gridcell");
        cell.dataset.square = `${file}${rank}`;
        cell.tabIndex = -1;
        this.cells.set(cell.dataset.square, cell);
        row.append(cell);
      }
      grid.append(row);
    }
    this.order = { ranks, files };
    this.grid = grid;
    this.element.append(grid);
    this.label();
    this.cells.get(kept).tabIndex = 0;
    this.focused = kept;
    grid.addEventListener("keydown", (event) => this.key(event));
    grid.addEventListener("focusin", (event) => this.focusOn(event.target.dataset.square));
    if (!this.still) grid.addEventListener("pointerdown", (event) => this.press(event));
  }

  label() {
    for (const [square, cell] of this.cells) {
      const man = this.men.get(square);
      cell.setAttribute("aria-label", man ? `${square}, ${manName(man)}` : `${square}, empty`);
      cell.toggleAttribute("data-man", Boolean(man));
      cell.setAttribute("aria-selected", String(square === this.taken));
    }
  }

  focusOn(square) {
    if (!square) return;
    this.cells.get(this.focused).tabIndex = -1;
    this.cells.get(square).tabIndex = 0;
    this.focused = square;
  }

  key(event) {
    const { ranks, files } = this.order;
    const square = this.focused;
    let column = files.indexOf(square[0]), row = ranks.indexOf(Number(square[1]));
    const steps = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
    if (event.key in steps) {
      column += steps[event.key][0];
      row += steps[event.key][1];
    } else if (event.key === "Home") { column = 0; if (event.ctrlKey) row = 0; }
    else if (event.key === "End") { column = 7; if (event.ctrlKey) row = 7; }
    else if (this.still || event.ctrlKey || event.altKey || event.metaKey) return;
    else if (event.key === "Enter" || event.key === " ") this.choose(square);
    else if (event.key === "Delete" || event.key === "Backspace") this.takeOff(square);
    else if (event.key === "Escape") this.letGo();
    else if (/^[kqrbnpKQRBNP]$/.test(event.key)) this.put(event.key, square);
    else return;
    event.preventDefault();
    column = Math.min(7, Math.max(0, column));
    row = Math.min(7, Math.max(0, row));
    this.cells.get(`${files[column]}${ranks[row]}`).focus();
  }

  press(event) {
    const square = event.target.dataset?.square;
    if (!square || event.button) return;
    event.preventDefault();
    this.cells.get(square).focus();
    if (this.inHand || this.taken || !this.men.has(square)) { this.choose(square); return; }
    this.choose(square);
    this.drag(event, square);
  }

  // A drag is a man taken in hand whose pointer goes up over another square.
  drag(start, from) {
    let ghost = null, over = null;
    const at = (event) => document.elementFromPoint(event.clientX, event.clientY)?.closest?.("[role=gridcell]");
    const move = (event) => {
      if (!ghost && Math.hypot(event.clientX - start.clientX, event.clientY - start.clientY) < 6) return;
      if (!ghost) {
        const size = this.cells.get(from).clientWidth;
        ghost = document.createElementNS("http://www.w3.org/2000/svg", "svg");
        ghost.setAttribute("class", "held");
        ghost.setAttribute("viewBox", "0 0 100 100");
        ghost.setAttribute("width", size);
        ghost.setAttribute("height", size);
        const man = this.men.get(from);
        const use = document.createElementNS("http://www.w3.org/2000/svg", "use");
        use.setAttribute("href", `#book-${man === man.toUpperCase() ? "w" : "b"}${man.toLowerCase()}`);
        ghost.append(use);
        document.body.append(ghost);
      }
      ghost.style.left = `${event.clientX}px`;
      ghost.style.top = `${event.clientY}px`;
      over?.classList.remove("over");
      over = at(event);
      over?.classList.add("over");
    };
    const done = (event) => {
      removeEventListener("pointermove", move);
      removeEventListener("pointerup", done);
      removeEventListener("pointercancel", done);
      over?.classList.remove("over");
      if (!ghost) return;
      ghost.remove();
      if (event.type === "pointercancel") { this.letGo(); return; }
      const square = at(event)?.dataset.square;
      if (!square) this.takeOff(from);
      else if (square === from) this.letGo();
      else this.move(from, square);
    };
    addEventListener("pointermove", move);
    addEventListener("pointerup", done);
    addEventListener("pointercancel", done);
  }

  choose(square) {
    if (this.inHand) { this.put(this.inHand, square); return; }
    if (this.taken === square) { this.letGo(); return; }
    if (this.taken) { this.move(this.taken, square); return; }
    const man = this.men.get(square);
    if (!man) { this.say(`${square} is empty`); return; }
    this.taken = square;
    this.label();
    this.say(`${manName(man)} from ${square} in hand`);
  }

  letGo() {
    if (this.taken) this.say("put back");
    this.taken = null;
    this.label();
  }

  move(from, to) {
    const man = this.men.get(from), there = this.men.get(to);
    this.men.delete(from);
    this.men.set(to, man);
    this.changed(`${manName(man)} from ${from} to ${to}${there ? `, in place of the ${manName(there)}` : ""}`);
  }

  put(man, square) {
    if (man.toLowerCase() === "k") {
      for (const [other, there] of this.men) if (there === man) this.men.delete(other);
    }
    this.men.set(square, man);
    this.changed(`${manName(man)} on ${square}`);
  }

  takeOff(square) {
    const man = this.men.get(square);
    if (!man) { this.say(`${square} is empty`); return; }
    this.men.delete(square);
    this.changed(`${manName(man)} taken off ${square}`);
  }

  set(fen, words) {
    this.men = readMen(fen);
    this.side = fen.split(" ")[1] || "w";
    this.changed(words);
  }

  otherSide() {
    this.side = this.side === "w" ? "b" : "w";
    this.changed(`${this.side === "w" ? "White" : "Black"} to move`);
  }

  turn() {
    this.seen = this.seen === "white" ? "black" : "white";
    this.makeGrid();
    this.changed(`seen from ${this.seen === "white" ? "White" : "Black"}`);
  }

  changed(words) {
    this.taken = null;
    this.label();
    this.say(words);
    this.onchange(this.fen, words);
  }

  // The server's drawing of what stands there now; our own markup, from our own origin.
  draw(svg) { this.drawing.innerHTML = svg; }
}
