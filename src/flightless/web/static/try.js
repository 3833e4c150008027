// An exercise: a move made on the board is written into the answer, and the board stays as it was.
import { Board } from "./board.js";

const element = document.querySelector('.board[data-use="answer"]');
const field = document.querySelector("#answer");
if (element && field) {
  const first = element.dataset.fen;
  const board = new Board(element);
  board.put = () => {};
  board.takeOff = () => board.letGo();
  board.move = (from, to) => {
    const man = board.men.get(from);
    const last = to[1] === (board.side === "w" ? "8" : "1");
    field.value = from + to + (man.toLowerCase() === "p" && last ? "q" : "");
    board.set(first, `${from} to ${to} is your answer`);
  };
}
