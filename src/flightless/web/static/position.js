// A position's page: the board and its tray, and the answer of the desk to each change.
import { Board } from "./board.js";

for (const element of document.querySelectorAll(".board:not(.still)")) begin(element);

function begin(element) {
  const board = new Board(element);
  if (board.still) return;
  const what = element.dataset.use;
  const first = element.dataset.fen;
  const tray = document.querySelector(".tray");
  const doings = document.querySelector(".doings");
  const answer = document.querySelector(".answer");
  const keep = doings.querySelector("[data-do=keep]");
  const field = document.querySelector("#fen-in");
  const rights = [...document.querySelectorAll("[data-castle]")];
  let asked = 0;
  tray.hidden = doings.hidden = false;

  board.onchange = async (fen) => {
    const number = ++asked;
    const query = new URLSearchParams({ from: first, to: fen, seen: board.seen });
    let told;
    try {
      const reply = await fetch(`/position/${what}?${query}`);
      told = await reply.json();
    } catch {
      told = { error: "The desk does not answer. Is 'flightless open' still running?" };
    }
    if (number !== asked) return;
    show(told);
  };

  function show(told) {
    answer.querySelector(".verdict").textContent = told.error || told.verdict;
    const said = answer.querySelector(".said");
    if (said) {
      said.replaceChildren(...(told.sentences || []).map((sentence) => {
        const line = document.createElement("p");
        line.textContent = sentence;
        return line;
      }));
    }
    const after = document.querySelector(".ledger-after");
    if (after) {
      after.innerHTML = told.ledger || "";
      after.hidden = !told.ledger;
      const before = document.querySelector(".ledger-before");
      if (before) before.hidden = Boolean(told.ledger);
    }
    if (told.svg) board.draw(told.svg);
    if (keep) {
      keep.hidden = !told.fen;
      keep.href = `/position?${new URLSearchParams({ fen: told.fen || "" })}`;
    }
    if (field && !told.error) field.value = told.fen || board.fen;
    if ("castling" in told) {
      const lost = rights.filter((one) => one.checked && !told.castling.includes(one.dataset.castle));
      for (const one of lost) one.checked = false;
      if (lost.length) {
        board.castling = told.castling || "-";
        answer.querySelector(".verdict").textContent += " Who castles needs king and rook where they began.";
      }
    }
    answer.dataset.number = String(asked);
  }

  for (const box of rights) {
    box.closest("fieldset").hidden = false;
    box.addEventListener("change", () => {
      board.castling = rights.filter((one) => one.checked).map((one) => one.dataset.castle).join("") || "-";
      board.onchange(board.fen);
    });
  }

  doings.addEventListener("click", (event) => {
    const what = event.target.dataset?.do;
    if (what === "turn") board.turn();
    if (what === "side") board.otherSide();
    if (what === "clear") board.set("8/8/8/8/8/8/8/8 w", "the board is empty");
    if (what === "back") board.set(first, "as it was");
    if (what === "off") {
      if (board.taken) board.takeOff(board.taken);
      else board.say("Take a man in hand first.");
    }
  });

  const buttons = [...tray.querySelectorAll("button")];
  tray.addEventListener("click", (event) => {
    const button = event.target.closest("button");
    if (!button) return;
    board.letGo();
    board.inHand = board.inHand === button.dataset.man ? null : button.dataset.man;
    for (const one of buttons) one.setAttribute("aria-pressed", String(one.dataset.man === board.inHand));
  });
  tray.addEventListener("keydown", (event) => {
    const step = { ArrowRight: 1, ArrowLeft: -1 }[event.key];
    if (!step) return;
    const next = buttons[(buttons.indexOf(document.activeElement) + step + buttons.length) % buttons.length];
    for (const one of buttons) one.tabIndex = one === next ? 0 : -1;
    next.focus();
    event.preventDefault();
  });
}
