// Files dropped on the page of games, and the progress of one harvest (server-sent events).
const drop = document.querySelector(".drop");
if (drop) {
  const field = drop.querySelector("input[type=file]");
  drop.addEventListener("dragover", (event) => { event.preventDefault(); drop.classList.add("over"); });
  drop.addEventListener("dragleave", () => drop.classList.remove("over"));
  drop.addEventListener("drop", (event) => {
    event.preventDefault();
    drop.classList.remove("over");
    if (event.dataTransfer.files.length) field.files = event.dataTransfer.files;
  });
}

const reading = document.querySelector(".reading");
if (reading && ["waiting", "running"].includes(reading.dataset.stage)) {
  const source = new EventSource(reading.dataset.events);
  const bar = reading.querySelector("progress");
  const counts = reading.querySelector(".counts");
  let shown = Number(reading.dataset.finds);
  source.onmessage = (event) => {
    const now = JSON.parse(event.data);
    bar.value = now.part;
    counts.textContent = `${now.games} games read, ${now.finds} finds.`;
    const over = !["waiting", "running"].includes(now.stage);
    const ticked = document.querySelector("input[name=id]:checked");
    // The first finds are shown as soon as there are any; later ones must not take ticks away.
    if (over || (!shown && now.finds && !ticked)) {
      source.close();
      location.reload();
    }
  };
}
