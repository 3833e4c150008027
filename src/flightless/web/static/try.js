// An exercise: a move made on the board is written into the answer, and the board stays as it was.
import { Board } from "./board.js";

const NAMES = { q: "queen", r: "rook", b: "bishop", n: "knight" };
const element = document.querySelector('.board[data-use="answer"]');
const field = document.querySelector("#answer");
if (element && field) {
  const first = element.dataset.fen;
  const board = new Board(element);
  const becomes = document.querySelector(".becomes");
  const buttons = [...becomes.querySelectorAll("button")];
  const press = (man) => { for (const one of buttons) one.setAttribute("aria-pressed", String(one.dataset.man === man)); };
  board.put = () => {};
  board.takeOff = () => board.letGo();
  board.move = (from, to) => {
    const man = board.men.get(from);
    const pawn = man.toLowerCase() === "p" && to[1] === (board.side === "w" ? "8" : "1");
    field.value = from + to + (pawn ? "q" : "");
    becomes.hidden = !pawn;
    press("q");
    const more = pawn ? ", and the pawn becomes a queen; buttons below make it another man" : "";
    board.set(first, `${from} to ${to} is your answer${more}`);
  };
  becomes.addEventListener("click", (event) => {
    const man = event.target.closest("button")?.dataset.man;
    if (!man) return;
    field.value = field.value.slice(0, 4) + man;
    press(man);
    board.say(`the pawn becomes a ${NAMES[man]}`);
  });
  field.addEventListener("input", () => { becomes.hidden = true; });
}
